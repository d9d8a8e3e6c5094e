"""A line that a team already has in its code: how wrong it is on a machine built as the data sheet says."""

from dataclasses import replace

import numpy as np

from anglewright.budget.builds import BuildsBudget, StateBuilds, Workshop
from anglewright.budget.states import State, errors_by
from anglewright.budget.totals import POSITIONS, StateBudget, summed
from anglewright.budget.trials import HowMany, run_trials
from anglewright.links.code import CodeLine
from anglewright.rig import Axis, raw_scale


def line_in_code(axis: Axis, *, slope: float, offset: float) -> CodeLine:
    """The line behind two constants that work on what the controller shows.

    Parameters
    ----------
    axis : Axis
        The axis, which knows what its controller shows.
    slope : float
        Position for one unit of the raw reading. [m or rad per unit of raw]
    offset : float
        Position at a raw reading of 0. [m or rad]

    Returns
    -------
    CodeLine
        The same line over codes. [m or rad, m/count or rad/count]

    Notes
    -----
    With raw = r0 + s n for code n, position = (offset + slope r0) + slope s n.

    References
    ----------
    derived
    """
    at_code_0, per_code = raw_scale(axis)
    return CodeLine(offset=offset + slope * at_code_0, slope=slope * per_code, rotary=axis.motion.rotary)


def judged(axis: Axis, line: CodeLine) -> StateBudget:
    """The first-order budget of a line in the code.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    line : CodeLine
        What the code computes. [m or rad, m/count or rad/count]

    Returns
    -------
    StateBudget
        Bias of the line on the machine in its middle, and what the data sheet leaves open. [m or rad]

    Raises
    ------
    RigError
        A number of it cannot be computed; it is named.

    References
    ----------
    gum
    """
    positions = axis.positions(POSITIONS)
    with np.errstate(over="ignore", invalid="ignore"):  # constants beyond all sense are refused by name
        return summed(errors_by(axis, positions, line=line, state=State.CODE_LINE), axis, positions)


def built_with(found: BuildsBudget, line: CodeLine) -> BuildsBudget:
    """Virtual builds with one state more: as many of the same machine, read by a line in the code.

    Parameters
    ----------
    found : BuildsBudget
        The builds of the other states.
    line : CodeLine
        What the code computes. [m or rad, m/count or rad/count]

    Returns
    -------
    BuildsBudget
        The same, with the line's state behind the others. [m or rad]

    References
    ----------
    jcgm101
    """
    return replace(found, states=(*found.states, _builds_by(found, line)))


def _builds_by(found: BuildsBudget, line: CodeLine) -> StateBuilds:
    """Errors of the line over fresh builds from the same seed; it stands where the data sheet's would."""
    shop = Workshop(
        axis=found.axis, line=line, positions=found.states[0].positions, states=(State.DATASHEET,)
    )
    trials = run_trials(shop.errors, HowMany(most=found.n), seed=found.seed)
    return replace(shop.state(trials, 0), state=State.CODE_LINE)
