"""A motion without rests, up and down, gathered into places that both ways have in common."""

import itertools
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.points import CalibrationPoint

Array = NDArray[np.float64]

MANY = 100  # points, from which they may be a sweep on the move (common practice, no source) [1]
CLOSE = 0.02  # of the span: a usual step of more is one between places (common practice, no source) [1]
PLACES = 32  # into which the span is divided [1]
TURNING = 0.03  # of the span behind a turning point, where play is still being taken up [1]
LEAST = 3  # points that make a place [1]


def is_sweep(points: Sequence[CalibrationPoint]) -> bool:
    """Whether points are so many and so close that the axis moved while they were taken.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [rad or m]

    Returns
    -------
    bool
        True for more than a hundred whose usual step is less than a fiftieth of their span.

    References
    ----------
    practice
    """
    if len(points) <= MANY:
        return False
    position = np.array([point.reference for point in points])
    return bool(np.median(np.abs(np.diff(position))) <= CLOSE * np.ptp(position))


def gathered(points: Sequence[CalibrationPoint]) -> tuple[CalibrationPoint, ...]:
    """Points of a sweep as means over a thirty-second of the span each, every way apart.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of a sweep, in the order in which they were taken. [count, rad or m]

    Returns
    -------
    tuple of CalibrationPoint
        Way after way; their standard deviation is that about the local slope. [count, rad or m]

    Notes
    -----
    Two ways through the same range never stop at the same positions. Within a thirty-second of the span a
    curve is straight, so the mean reading belongs to the mean position. What was taken in the first 3 % of
    the span behind a turning point is left out: there the play is not yet taken up.

    References
    ----------
    practice

    Examples
    --------
    A thousand points up and a thousand down become 31 places each way:

    >>> way = np.linspace(0.0, 1.0, 1000)
    >>> up = [CalibrationPoint(reference=q, raw=1000.0 * q, approach=1) for q in way]
    >>> down = [CalibrationPoint(reference=q, raw=1000.0 * q, approach=-1) for q in way[::-1]]
    >>> len(gathered([*up, *down]))
    62
    """
    position = np.array([point.reference for point in points])
    raw = np.array([point.raw for point in points])
    low, span = float(position.min()), float(np.ptp(position))
    bins = np.minimum(((position - low) / span * PLACES).astype(int), PLACES - 1)
    slope = float(np.polyfit(position, raw, 1)[0])
    return tuple(
        _mean_of(points, rows, side, raw[rows] - slope * (position[rows] - position[rows].mean()))
        for way, side in _ways(position)
        for rows in _places_of(way, bins, side)
        if len(rows) >= LEAST
    )


def _ways(position: Array) -> Iterator[tuple[NDArray[np.intp], int]]:
    """Rows of each way between two turning points, those behind its beginning left out, and its side."""
    far = TURNING * float(np.ptp(position))
    ends = [0, *_turning_points(position.tolist(), far), len(position) - 1]
    for first, last in itertools.pairwise(ends):
        rows = np.arange(first, last + 1)
        side = 1 if position[last] > position[first] else -1
        behind = side * (np.maximum.accumulate(side * position[rows]) - side * position[first])
        kept = rows[np.abs(behind) > far]
        if len(kept):
            yield kept, side


def _turning_points(position: Sequence[float], far: float) -> Iterator[int]:
    """Rows at which the axis turned round: from there on it goes back by more than `far`."""
    lowest = highest = extreme = 0
    side = 0
    for row, here in enumerate(position):
        if not side:
            lowest = row if here < position[lowest] else lowest
            highest = row if here > position[highest] else highest
            if position[highest] - position[lowest] > far:
                side, extreme = (1, highest) if highest > lowest else (-1, lowest)
                if min(lowest, highest):
                    yield min(lowest, highest)
        elif side * (here - position[extreme]) >= 0.0:
            extreme = row
        elif side * (position[extreme] - here) > far:
            yield extreme
            side, extreme = -side, row


def _places_of(rows: NDArray[np.intp], bins: NDArray[np.int_], side: int) -> Iterator[NDArray[np.intp]]:
    """Rows of one way in each place that it passes, one after the other."""
    for number in np.unique(bins[rows])[::side]:
        yield rows[bins[rows] == number]


def _mean_of(
    points: Sequence[CalibrationPoint], rows: NDArray[np.intp], side: int, level: Array
) -> CalibrationPoint:
    """One place; `level` are its readings with the motion within the place taken out. [count]"""
    return CalibrationPoint(
        reference=float(np.mean([points[k].reference for k in rows])),
        raw=float(np.mean(level)),
        readings=len(rows),
        raw_sd=float(np.std(level, ddof=1)),
        approach=side,
        row=points[int(rows[0])].row,
    )
