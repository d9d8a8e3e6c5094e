"""Codes and their right answers, for a controller to test its own copy of the line with."""

from typing import NamedTuple

from anglewright.handover.plan import Fault, HandoverPlan, judge, position

WORD_TOP = 65_535
"""What a 16-bit register reads when its line is stuck high."""
_LEAST, _MOST = -(1 << 31), (1 << 31) - 1  # of a 32-bit whole number [1]


class Vector(NamedTuple):
    """One raw value, the position it stands for (None where it is not believed) and the fault."""

    raw: int
    position: float | None
    fault: Fault


def vectors(plan: HandoverPlan) -> tuple[Vector, ...]:
    """The raw values at which a wrong copy of the line would show itself.

    Parameters
    ----------
    plan : HandoverPlan
        The plan of the axis.

    Returns
    -------
    tuple of Vector
        In rising order of raw, each value once.

    Notes
    -----
    Both edges of the valid band with their neighbours, the middle, both ends of the converter, one
    beyond each end, and 65535. The positions come from the plan's own double precision.

    References
    ----------
    derived

    Examples
    --------
    The last code before the lower stop is not a position, the stop is:

    >>> from anglewright.handover.plan import example_plan
    >>> [tuple(vector) for vector in vectors(example_plan())[2:4]]
    [(420, None, <Fault.BELOW_BAND: 1>), (421, 200.5, <Fault.OK: 0>)]
    """
    low, high, first, last = plan.lowest_valid, plan.highest_valid, plan.codes.low, plan.codes.high
    edges = {edge + step for edge in (low, high) for step in (-1, 0, 1)}
    ends = {max(first - 1, _LEAST), first, last, min(last + 1, _MOST)}
    raws = sorted(edges | ends | {plan.middle_code, -1, 0, WORD_TOP})
    return tuple(Vector(raw, position(raw, plan), judge(raw, plan)) for raw in raws)
