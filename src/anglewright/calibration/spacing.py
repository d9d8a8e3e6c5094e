"""How many positions there are, where they lie, how they were reached, how good the reference is."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from anglewright.calibration.layout import Layout, threshold
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.suspicion import Suspicion
from anglewright.calibration.verdict import COVERED, TIMES_BETTER
from anglewright.findings import Severity

FEWEST = 5  # positions, below which there is little to judge by (common practice, no source) [1]
WIDEST = 0.5  # of the motion that may lie between two neighbours (common practice, no source) [1]


def few_positions(layout: Layout) -> Iterator[Suspicion]:
    """Two positions, or fewer than five.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``two-points`` or ``few-points``, with their number; how far the parts may bend goes with it. [1]

    References
    ----------
    practice
    """
    count = len(layout.found)
    if count < FEWEST:
        key = "two-points" if count == 2 else "few-points"
        yield Suspicion(
            key=key,
            severity=Severity.CAUTION,
            measured=float(count),
            limit=float(FEWEST),
            others=(layout.given.bow,),
        )


def coverage(layout: Layout) -> Iterator[Suspicion]:
    """Points that leave out much of the motion, at an end or in between.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``coverage`` where they span less than four fifths of the motion, ``gap`` where half of it lies
        between two neighbours. [rad or m]

    References
    ----------
    practice
    """
    motion = layout.given.high - layout.given.low
    position = np.sort(layout.position)
    span = float(np.ptp(position))
    ends = (float(position[0]), float(position[-1]))
    if span < COVERED * motion:
        yield Suspicion(
            key="coverage", severity=Severity.CAUTION, measured=span, limit=COVERED * motion, others=ends
        )
    steps = np.diff(position)
    widest = int(np.argmax(steps))
    if steps[widest] > WIDEST * motion and len(layout.found) > 2:
        between = (float(position[widest]), float(position[widest + 1]))
        yield Suspicion(
            key="gap",
            severity=Severity.CAUTION,
            measured=float(steps[widest]),
            limit=WIDEST * motion,
            others=between,
        )


def coarse_reference(layout: Layout) -> Iterator[Suspicion]:
    """A reference that is not three times better than the need.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``coarse-reference``, with what it may be off at 95 %. [rad or m]

    References
    ----------
    practice
    """
    ends = (float(layout.position.min()), float(layout.position.max()))
    reference_95 = coverage_factor(math.inf) * max(layout.given.reference.at(end) for end in ends)
    limit = layout.given.need / TIMES_BETTER
    if reference_95 > limit:
        yield Suspicion(key="coarse-reference", severity=Severity.CAUTION, measured=reference_95, limit=limit)


def coarse_readings(values: Sequence[float], *, need: float, scatter: float) -> float:
    r"""Step in which a reference was read, where it is coarser than the need bears; else 0.

    Parameters
    ----------
    values : sequence of float
        Positions of the reference in the user's unit, one a place, rising. [unit of the axis]
    need : float
        Permissible error in the same unit. [unit of the axis]
    scatter : float
        Standard deviation of one reference, from positions reached from both sides. [unit of the axis]

    Returns
    -------
    float
        The common divisor of all values, where half of it is beyond a third of the need. [unit of the axis]

    Notes
    -----
    Round numbers alone say nothing: an axis can be set to 10, 20, 30. So evenly spaced ones are passed over,
    fewer than six tell nothing, and the points must scatter by half of what such rounding makes,
    :math:`d / \sqrt{12}`.

    References
    ----------
    practice

    Examples
    --------
    A dial read to the nearest 5 deg, while the axis stood anywhere:

    >>> coarse_readings([0.0, 15.0, 25.0, 45.0, 50.0, 70.0, 90.0], need=2.0, scatter=1.4)
    5.0
    """
    whole = np.rint(np.asarray(values) * 1000.0).astype(np.int64)
    if len(whole) < 6:
        return 0.0
    steps = np.diff(whole)
    step = math.gcd(*whole.tolist()) / 1000.0
    uneven = np.ptp(steps) > 0.5 * float(np.median(steps))
    rounded = uneven and scatter > step / math.sqrt(12.0) / 2.0
    return step if rounded and step / 2.0 > need / TIMES_BETTER else 0.0


def sides(layout: Layout) -> Iterator[Suspicion]:
    """Sides of approach that are turned round: the readings lead, or the order contradicts what is stated.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``turned-round``, with what the readings lead by. [rad or m]

    Notes
    -----
    Play can only make a reading lag. The mean of the gaps between the way up and the way down stands below
    zero by the factor that sound points pass twice in a thousand times, and is worth a quarter of the
    permissible error.

    References
    ----------
    play-operator
    """
    gaps = layout.gaps
    if len(gaps) < 3:
        return
    sd = max(layout.pair_sd, layout.planned_sd) * math.sqrt(2.0 / len(gaps))
    lead = -float(np.mean(gaps))
    if lead > threshold(len(gaps) - 1.0, trials=1) * sd and lead > layout.worth:
        yield Suspicion(key="turned-round", severity=Severity.CAUTION, measured=lead, limit=layout.worth)
