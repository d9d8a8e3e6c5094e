"""Whether the first-order interval may be believed: held against the virtual builds, with the reason."""

from dataclasses import dataclass

import numpy as np

from anglewright.budget.builds import StateBuilds
from anglewright.budget.machines import machines_of, read_once
from anglewright.budget.totals import Share, StateBudget
from anglewright.budget.trials import generator, numerical_tolerance
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Shape, Spread
from anglewright.rig import Axis, datasheet_line

TENTH = 0.1  # of the half-width: a difference beyond it is never called small [1]
PLAY_MATTERS = 0.25  # share of variance from which play shapes the interval [1]
DOMINANT = 0.4  # share of variance from which one part alone shapes the interval [1]
SOME = 0.002  # share of the builds from which standing still or wrapping is worth a word [1]
_LOOKED_AT = 4000  # builds looked at for a reason [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """Whether first order agrees, and why or why not in a sentence; difference and tolerance in m or rad."""

    yes: bool
    because: str
    difference: float
    tolerance: float


def trust_first_order(axis: Axis, first: StateBudget, builds: StateBuilds) -> Trust:
    """First order held against the virtual builds, over the whole range.

    Parameters
    ----------
    axis : Axis
        The axis.
    first : StateBudget
        The first-order budget of a state. [m or rad]
    builds : StateBuilds
        The virtual builds of the same state. [m or rad]

    Returns
    -------
    Trust
        Yes or no, the sentence, the largest difference between the ends of the intervals. [m or rad]

    Notes
    -----
    Clause 8: the ends of both intervals may differ by half a unit of the first significant digit of u.
    That is anything from a twentieth to a half of u; beyond a tenth of the half-width no difference
    is let pass here.

    References
    ----------
    jcgm101
    """
    interval = np.interp(builds.positions, first.positions, first.half_width - np.abs(first.bias))
    bias = np.interp(builds.positions, first.positions, first.bias)
    apart = np.maximum(np.abs(bias - interval - builds.low), np.abs(bias + interval - builds.high))
    place = int(np.argmax(apart))
    u = float(builds.standard_uncertainty[builds.worst])
    tolerance = min(numerical_tolerance(u, digits=1), TENTH * builds.half_width_95)
    difference = float(apart[place])
    at, most = show(float(builds.positions[place]), axis.unit), show(tolerance, axis.unit, digits=2)
    off = f"At {at} the ends of its interval lie {show(difference, axis.unit, digits=2)} off the builds'"
    if difference <= tolerance:
        because = f"{off}, and up to {most} are let pass."
    else:
        wide = float(interval[place] - (builds.high[place] - builds.low[place]) / 2.0)
        way = "too wide" if wide > 0.0 else "too narrow"
        because = f"{off}, more than {most}; it is {way}: {_reason(axis, first, builds, place)}"
    return Trust(yes=difference <= tolerance, because=because, difference=difference, tolerance=tolerance)


def _reason(axis: Axis, first: StateBudget, builds: StateBuilds, place: int) -> str:
    """The first cause that is there, in the order in which they spoil most."""
    standing, wrapped = _standing_and_wrapped(axis, builds.positions)
    if wrapped > SOME:
        return f"the reading wraps round inside the range in {100 * wrapped:.2g} % of the builds."
    if standing[place] > SOME:
        return (
            f"there the reading stands still at an end of the sensor or the converter in "
            f"{100 * standing[place]:.2g} % of the builds."
        )
    lagging = sum(row.share for row in first.shares if row.half)
    if lagging > PLAY_MATTERS:
        much = f"play makes {100 * lagging:.0f} % of the variance at the worst place"
        return (
            f"{much}. It pushes a reading by half of itself to one side or the other and never further, so "
            "no factor of a normal law belongs on it."
        )
    bounded = _dominant(axis, first.shares)
    if bounded is not None:
        much = f"{100 * bounded.share:.0f} % of the variance at the worst place"
        return f"the {bounded.meaning}, {much}, is not spread by a normal law."
    return "the chain bends too much within the spread of its numbers for a straight line to stand for it."


def _dominant(axis: Axis, shares: tuple[Share, ...]) -> Share | None:
    """The largest part where it is dominant and not normal."""
    largest = max(shares, key=lambda row: row.share, default=None)
    if largest is None or largest.share < DOMINANT:
        return None
    variates = {number.key: number.variate for number in axis.numbers}
    variate = variates.get(f"{largest.link}.{largest.quantity}")
    normal = isinstance(variate, Spread) and variate.shape is Shape.NORMAL
    return None if normal else largest


def _standing_and_wrapped(axis: Axis, positions: Array) -> tuple[Array, float]:
    """Share of builds whose reading stands still, by place (P,), and of those that wrap anywhere. [1]"""
    machines = machines_of(axis, datasheet_line(axis), generator(0, 0), count=_LOOKED_AT)
    smooth, step = machines.session(len(positions)).unrounded(), 1e-6 * float(np.ptp(positions))
    moved = np.asarray(smooth.forward(positions + step)) - smooth.forward(positions - step)
    standing = np.mean(np.broadcast_to(moved == 0.0, (_LOOKED_AT, len(positions))), axis=0)
    if axis.motion.endless:
        return standing, 0.0
    return standing, wrapped_share(read_once(machines, positions), count=axis.codes.count)


def wrapped_share(codes: Array, *, count: int) -> float:
    """Share of rows in which the code jumps by more than half the scale between neighbouring places. [1]

    Parameters
    ----------
    codes : array, (B, P)
        Codes of B builds at P places in order. [count]
    count : int
        How many codes the converter has. [1]

    Returns
    -------
    float
        Share of the builds. [1]

    References
    ----------
    derived
    """
    jumps = np.abs(np.diff(codes, axis=1)) > count / 2.0
    return float(np.mean(np.any(jumps, axis=1)))
