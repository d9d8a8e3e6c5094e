"""Codes and their right answers, for a controller to test its own copy of the curve with."""

from collections.abc import Iterator
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
    beyond each end, and 65535; of a curve also the codes at and between the nodes of its table, and both
    edges of the calibrated codes with their neighbours. The positions come from the plan's own double
    precision.

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
    raws = sorted(edges | ends | _on_curve(plan) | {plan.middle_code, -1, 0, WORD_TOP})
    return tuple(Vector(raw, position(raw, plan), judge(raw, plan)) for raw in raws)


def _on_curve(plan: HandoverPlan) -> set[int]:
    """Edges of the calibrated codes, and codes at and between the nodes of the table, of the valid band."""
    points, low, high = plan.points, plan.lowest_valid, plan.highest_valid
    edges = () if points is None else (points.low, points.high, (points.low + points.high) // 2)
    found = {edge + step for edge in edges for step in (-1, 0, 1)}
    found |= {code for node in _halves(plan) for code in (int(node), int(node) + 1)}
    return {code for code in found if low <= code <= high}


def _halves(plan: HandoverPlan) -> Iterator[float]:
    """Nodes and the middles between them; where the table comes round in the first turn and the last."""
    table = plan.corrections
    if table is None:
        return
    codes = [table.first + table.step * half / 2.0 for half in range(2 * len(table.values))]
    if table.period is None:
        yield from codes
        return
    for edge in (plan.lowest_valid, plan.highest_valid - table.period):
        yield from (edge + (code - edge) % table.period for code in codes)
