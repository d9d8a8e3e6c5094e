"""What is looked at before a curve is drawn through the points, the gross faults before the fine ones."""

import math
from collections.abc import Callable, Iterator, Sequence

from anglewright.calibration.bending import bent_top, bent_track
from anglewright.calibration.breaks import breaks, two_clusters, two_slopes
from anglewright.calibration.layout import Array, Layout
from anglewright.calibration.misreadings import (
    averaged_across_wrap,
    dead_gap,
    folds,
    run_out,
    standing_still,
    swapped_rows,
    unsigned_reference,
)
from anglewright.calibration.placement import backwards, beyond_motion, wrap_inside, zero_off
from anglewright.calibration.spacing import coarse_reference, coverage, few_positions, sides
from anglewright.calibration.suspicion import Suspicion
from anglewright.calibration.turning import gross_period, scale_off, waves, wrong_period
from anglewright.findings import Severity

Check = Callable[[Layout], Iterator[Suspicion]]

GROSS: tuple[Check, ...] = (
    unsigned_reference,
    backwards,
    swapped_rows,
    gross_period,
    dead_gap,
    wrap_inside,
    folds,
    standing_still,
    run_out,
    averaged_across_wrap,
    bent_track,
    bent_top,
)
"""Faults that explain whatever else the points show; the first found is believed."""

RIVALS: tuple[Check, ...] = (two_slopes, breaks)
"""Faults that can be taken for one another; the likelier is believed."""

FINE: tuple[Check, ...] = (waves, scale_off, sides, zero_off)
"""Faults that show only where nothing else is wrong."""

ALWAYS: tuple[Check, ...] = (beyond_motion, few_positions, coverage, coarse_reference)
"""What is to be said of the points whatever they show."""


def suspicions(layout: Layout, *, readings: Sequence[Array] = ()) -> tuple[Suspicion, ...]:
    """Everything that the points of a calibration make one suspect.

    Parameters
    ----------
    layout : Layout
        The points, with what was expected of them.
    readings : sequence of array
        All readings of each point, where there are several. [count]

    Returns
    -------
    tuple of Suspicion
        The gross faults first.

    Notes
    -----
    Each check that rests on the scatter of the points speaks of sound ones at most twice in a thousand times
    by the statistics that its own notes give, and not at all below a quarter of the permissible error.

    References
    ----------
    practice
    """
    always = [each for check in ALWAYS for each in check(layout)]
    if any(each.key == "beyond-motion" and each.severity is Severity.STOP for each in always):
        return tuple(always)  # so far out the chain tells nothing that a shape could be held against
    gross = next((found for check in GROSS if (found := tuple(check(layout)))), ())
    if gross or not math.isfinite(layout.count_size):  # readings that stand still say nothing finer
        return (*gross, *always)
    mixed = tuple(two_clusters(readings, layout))
    if mixed:
        return (*mixed, *always)
    rivals = [each for check in RIVALS for each in check(layout)]
    surest = max(rivals, key=lambda each: each.surely, default=None)
    period = tuple(wrong_period(layout))
    if period and (surest is None or not layout.paired):  # from one side alone a wrap's step is a step
        return (*period, *always)
    fine = [surest] if surest else [each for check in FINE for each in check(layout)]
    return (*fine, *always)
