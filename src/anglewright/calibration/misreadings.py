"""Points that are wrong at large: a reference without sign, swapped rows, folds, flat ends, dead rows."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import shortest
from anglewright.calibration.layout import Array, Layout
from anglewright.calibration.points import at_an_end
from anglewright.calibration.suspicion import Suspicion
from anglewright.findings import Severity
from anglewright.stretches import true_runs

FAR = 6.0  # robust standard deviations, beyond which a departure is gross [1]
BETTER = 0.1  # of the variance that a reading of the points must leave to be believed [1]
MOVED = 10.0  # codes that a step must be worth to show that the reading stands still [count]
STILL = 0.1  # of a step that should come, below which the reading stands still [1]
NEAR_WRAP = 0.03  # of the period, within which readings of one place may lie on both sides of the wrap [1]


def unsigned_reference(layout: Layout) -> Iterator[Suspicion]:
    """A reference without its sign, which makes a V of the points.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``unsigned``, with the positions that lost their sign.

    Notes
    -----
    No reference lies below zero, and with its sign turned round for all points on one side of a reading the
    points follow a line with a tenth of the variance. Sound points never do better so, as a change of sign
    bends a line.

    References
    ----------
    practice
    """
    period = layout.given.period
    raw = layout.raw if period is None else np.unwrap(layout.raw, period=period)  # in the order of taking
    q, order = layout.position, np.argsort(raw, kind="stable")
    if len(q) < 4 or float(np.min(q)) < -layout.planned_sd * FAR or np.ptp(raw) == 0.0:
        return
    # every cut at once: row k turns the sign of the first k points in the order of their readings
    signs = np.where(np.tri(len(q), k=-1, dtype=bool), -1.0, 1.0)
    both = np.concatenate([signs, -signs[1:]]) * q[order]
    left = 1.0 - _squared_correlation(both, raw[order])
    best = int(np.argmin(left))
    turned = order[both[best] < 0.0]
    if left[best] > BETTER * left[0] or len(turned) in (0, len(q)):
        return
    largest = float(np.max(q[turned]))
    if largest > layout.given.need:
        yield _stop("unsigned", layout, largest, layout.given.need, points=tuple(sorted(turned)))


def _squared_correlation(rows: Array, other: Array) -> Array:
    """Square of the correlation of each row with another row. [1]"""
    rows = rows - rows.mean(axis=1, keepdims=True)
    other = other - other.mean()
    size = np.sum(np.square(rows), axis=1) * np.sum(np.square(other))
    return np.square(rows @ other) / np.where(size > 0.0, size, np.inf)


def swapped_rows(layout: Layout) -> Iterator[Suspicion]:
    """Two points that each read what the other should.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``swapped``, with how far apart the two are. [rad or m]

    Notes
    -----
    Both lie six robust standard deviations off the line, and the departure of each is the way to the other,
    to a quarter of it. An accident of noise would have to hit two such marks at once.

    References
    ----------
    practice
    """
    gross = np.flatnonzero(np.abs(layout.departure) > _gross(layout))
    if not 2 <= len(gross) <= max(2, len(layout.raw) // 3):
        return
    for k, first in enumerate(gross):
        for second in gross[k + 1 :]:
            way = (layout.expected[second] - layout.expected[first]) * layout.given.size
            ways = np.array([way, -way])
            if np.all(np.abs(layout.departure[[first, second]] - ways) < 0.25 * abs(way)):
                yield _stop("swapped", layout, abs(way), layout.given.need, points=(int(first), int(second)))


def _gross(layout: Layout) -> float:
    """Departure beyond which a point is gross: a quarter of the need, six robust deviations. [rad or m]"""
    return max(layout.worth, FAR * layout.spread)


def averaged_across_wrap(layout: Layout) -> Iterator[Suspicion]:
    """A point beside the wrap that is the plain mean of readings from both sides of it.

    Parameters
    ----------
    layout : Layout
        The points, in their turns.

    Yields
    ------
    Suspicion
        ``averaged-wrap``, with how far it lies off. [rad or m]

    Notes
    -----
    It should read within 3 % of the period from the wrap, lies six robust standard deviations off, and is no
    end code: a mean of readings from both sides lies between the ends.

    References
    ----------
    practice
    """
    period = layout.given.period
    offset, slope = layout.line
    if period is None or slope == 0.0:
        return
    should = offset + slope * layout.expected
    beside = np.abs(shortest(should, period=period)) < NEAR_WRAP * period
    gross = np.abs(shortest(layout.raw - should, period=period)) * layout.count_size > _gross(layout)
    within = np.mod(layout.raw - layout.given.codes.low, period)
    between = (within > 1.0) & (within < layout.given.codes.count - 2.0)
    for k in np.flatnonzero(beside & gross & between):
        away = float(shortest(layout.raw[k] - should[k], period=period)) * layout.count_size
        yield _stop("averaged-wrap", layout, abs(away), layout.given.need, points=(int(k),))


def folds(layout: Layout) -> Iterator[Suspicion]:
    """A reading that turns back while the position goes on: two positions that read the same.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``fold``, with how far the reading came back. [rad or m]

    Notes
    -----
    At least two steps in a row between neighbouring positions go against the rest, together by more than six
    robust standard deviations, half the permissible error and twice the play.

    References
    ----------
    practice
    """
    position, raw = _by_position(layout)
    steps = np.diff(raw)
    if len(steps) < 4:
        return
    sign = np.sign(np.median(steps)) or np.sign(steps.sum())
    noise = FAR * layout.planned_sd / layout.count_size
    limit = max(layout.given.need / 2.0, 2.0 * layout.play)
    for begin, end in true_runs(steps * sign < 0.0):
        back = float(np.abs(steps[begin:end].sum()))
        worth = back * layout.count_size
        if end - begin >= 2 and back > noise and worth > limit:
            yield _stop("fold", layout, worth, limit, others=(float(position[begin]),))


def _by_position(layout: Layout) -> tuple[Array, Array]:
    """Mean position and reading of the nominal positions, rising. [rad or m, count]"""
    return layout.means(layout.position), layout.means(layout.raw)


def standing_still(layout: Layout) -> Iterator[Suspicion]:
    """Stretches over which the axis moved and the reading did not: at an end, at both, in between.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``end-code`` at an end of the converter, ``clipped`` short of it, ``end-zones`` at both ends of the
        motion, ``dead-rows`` anywhere else; with how far the axis moved meanwhile. [rad or m]

    Notes
    -----
    A step between neighbours must be worth 10 codes, 6 standard deviations and 3 times the play, through
    which the reading stands still after each turning point; and the reading changes by less than a tenth of
    it. With noise of a tenth of such a step or less that has a chance of one in ten million for each step.

    References
    ----------
    practice
    """
    position, raw = _by_position(layout)
    due = _due(layout)
    still = _stands(np.abs(np.diff(raw)), due, layout)
    runs = true_runs(still)
    ends = [(a, b) for a, b in runs if a == 0 or b == len(still)]
    edge = at_an_end(np.rint(raw), layout.given.codes)
    if len(ends) == 2:
        yield _stretch("end-zones", layout, position, (ends[0], ends[1]))
    for a, b in ends if len(ends) == 1 else ():
        yield _stretch("end-code" if edge[a : b + 1].any() else "clipped", layout, position, ((a, b),))
    if not ends and edge.any():
        at = np.flatnonzero(edge)
        yield _stretch("end-code", layout, position, ((int(at[0]), int(at[-1])),))
    dead = _dead(layout) if not ends else ()
    if len(dead):
        moved = float(np.ptp(layout.position[list(dead)]))
        yield _stop("dead-rows", layout, moved, 0.0, points=dead)


def run_out(layout: Layout) -> Iterator[Suspicion]:
    """Readings that stand at the last of codes that come round, while the line goes on beyond it.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``run-out``, with the points and how far they lie short. [rad or m]

    Notes
    -----
    Two points or more whose readings are all the first or the last code of the period, each short of the line
    by 6 standard deviations of a point and by a quarter of the permissible error.

    References
    ----------
    practice
    """
    period, codes = layout.given.period, layout.given.codes
    if period is None:
        return
    offset, slope = layout.line
    beyond = offset + slope * layout.expected - layout.raw
    within = np.mod(layout.raw - codes.low, period)
    stands = ((within == 0.0) & (beyond < 0.0)) | ((within == codes.count - 1.0) & (beyond > 0.0))
    short = np.abs(beyond) * layout.count_size
    at = np.flatnonzero(stands & (short > max(FAR * layout.planned_sd, layout.worth)))
    if len(at) >= 2:
        points = tuple(int(k) for k in at)
        yield _stop("run-out", layout, float(short[at].max()), 0.0, points=points)


def _due(layout: Layout) -> Array:
    """Codes that each step between neighbouring positions should change. [count]"""
    whole = np.ptp(layout.raw) / max(float(np.ptp(layout.expected)), 1.0)
    slope = max(abs(layout.line[1]), whole)
    return np.asarray(np.abs(np.diff(layout.means(layout.expected))) * slope)


def _stands(change: Array, due: Array, layout: Layout) -> NDArray[np.bool_]:
    least = max(MOVED, max(FAR * layout.planned_sd, 3.0 * layout.play) / max(layout.count_size, 1e-300))
    return (due >= least) & (change < STILL * due)


def _dead(layout: Layout) -> tuple[int, ...]:
    """Points that repeat the reading of the one before although the axis went on the same way."""
    slope = max(abs(layout.line[1]), 1e-300)
    moved = np.abs(np.diff(layout.expected)) * slope
    still = _stands(np.abs(np.diff(layout.raw)), moved, layout)
    still &= layout.side[1:] == layout.side[:-1]
    return tuple(int(k) + 1 for k in np.flatnonzero(still))


def _stretch(key: str, layout: Layout, position: Array, stretches: tuple[tuple[int, int], ...]) -> Suspicion:
    """A suspicion about stretches between positions, whose ends go with it."""
    ends = [float(position[k]) for stretch in stretches for k in stretch]
    moved = sum(abs(position[b] - position[a]) for a, b in stretches)
    raw = layout.means(layout.raw)
    return _stop(key, layout, float(moved), 0.0, others=(*ends, float(raw[stretches[0][0]])))


def dead_gap(layout: Layout) -> Iterator[Suspicion]:
    """Points in the gap at 0/360 of a track, where its output means nothing.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``dead-gap``, with the gap that the points show. [rad or m]

    Notes
    -----
    The line through the others leaves the converter's codes there by half a per cent, and the reading does
    not stand at the end that it left by: it floats, or has gone over to the other end, which is a step of a
    twentieth of all codes against its way.

    References
    ----------
    practice
    """
    codes, period = layout.given.codes, layout.given.period
    if period is not None or layout.line[1] == 0.0:
        return
    offset, slope = layout.line
    should, margin = offset + slope * layout.expected, 0.005 * codes.count
    below, above = should < codes.low - margin, should > codes.high + margin
    at_low, at_high = layout.raw < codes.low + 2.0 * margin, layout.raw > codes.high - 2.0 * margin
    gap = (below & ~at_low) | (above & ~at_high)
    steps = np.diff(_by_position(layout)[1]) * math.copysign(1.0, slope * layout.given.size)
    if gap.any() and float(np.min(steps)) < -0.05 * codes.count:
        within = tuple(int(k) for k in np.flatnonzero(gap))
        reach = float(np.max(np.where(below, codes.low - should, should - codes.high)[gap]))
        yield _stop("dead-gap", layout, reach * layout.count_size, 0.0, points=within)


def _stop(
    key: str,
    layout: Layout,
    measured: float,
    limit: float,
    *,
    points: tuple[int, ...] = (),
    others: tuple[float, ...] = (),
) -> Suspicion:
    return Suspicion(
        key=key,
        severity=Severity.STOP,
        measured=measured,
        limit=limit,
        points=layout.numbered(points),
        others=others,
    )
