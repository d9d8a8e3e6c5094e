"""A budget that cannot be computed says which number is missing, and where."""

from collections.abc import Iterable

import numpy as np

from anglewright.budget.contributions import Contribution
from anglewright.errors import Problem, RigError
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.rig import Axis

_STILL = 1e-15  # less than that moves no code [unit of the signal]


def hold_moving(axis: Axis, places: Array, traced: list[Array]) -> None:
    """Refuse a chain that gives no numbers, or the same one everywhere; the first part that does is named.

    Parameters
    ----------
    axis : Axis
        The axis.
    places : array, (K,)
        The positions of its plan. [m or rad]
    traced : list of array, (K,)
        What leaves each part there. [unit of each signal]

    Returns
    -------
    None
        Nothing, where a line can be found.

    Raises
    ------
    RigError
        A value is no finite number, or the codes are all the same.
    """
    rooms = [part.room for part in axis.chain_parts]
    for room, values in zip(rooms, traced, strict=True):
        if not np.all(np.isfinite(values)):
            place = show(float(places[np.flatnonzero(~np.isfinite(values))[0]]), axis.unit)
            found = f"what leaves the {room} is no finite number at {place}"
            raise _cannot(axis, found, "", f"Look at the numbers of the {room}.")
    if np.ptp(traced[-1]) > 0.0:
        return
    still = next(room for room, values in zip(rooms, traced, strict=True) if np.ptp(values) <= _STILL)
    found = f"the code is {traced[-1][0]:.5g} at all {len(places)} planned positions"
    remedy = f"Look at the numbers of the {still}: what leaves it does not change."
    raise _cannot(axis, found, "a line needs codes that differ", remedy)


def hold_finite(axis: Axis, positions: Array, *, bias: Array, parts: Iterable[Contribution]) -> None:
    """Refuse to add up what is no finite number.

    Parameters
    ----------
    axis : Axis
        The axis.
    positions : array, (P,)
        Where the error is looked at. [m or rad]
    bias : array, (P,)
        Error with every number in its middle. [m or rad]
    parts : iterable of Contribution
        What each number does to it. [m or rad]

    Returns
    -------
    None
        Nothing, where all can be added up.

    Raises
    ------
    RigError
        A curve holds such a value; the number behind it is named, with the place.
    """
    curves = [("the position that the code computes", bias)]
    curves += [
        (f"the effect of the {part.meaning} ({part.link})", part.worst + part.standard_uncertainty)
        for part in parts
    ]
    for what, curve in curves:
        wrong = np.flatnonzero(~np.isfinite(curve))
        if len(wrong):
            place = show(float(positions[wrong[0]]), axis.unit)
            remedy = "Look at the numbers of that part, and at where the axis was clamped."
            raise _cannot(axis, f"{what} is no finite number at {place}", "", remedy)


def _cannot(axis: Axis, found: str, limit: str, remedy: str) -> RigError:
    said = f"the budget cannot be computed: {found}"
    return RigError(Problem(f"axis '{axis.name}'", said, limit, remedy))
