"""Rests found in a continuous recording: hold, move, hold; what was logged on the way is left out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.stretches import true_runs

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAST_ROWS = 8  # rows of a rest (common practice, no source) [1]
LEAST_S = 0.25  # time of a rest (common practice, no source) [s]
NOISE = 4.0  # times the usual spread within a rest, that a rest may have [1]
SETTLED = 3.5  # standard deviations within which a reading has settled [1]
APART = 0.01  # of the whole way, that two rests must be apart to be two places [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """A stretch in which the axis stood still: its first row, the one after its last, the side it came from.

    `side` is +1 where it was reached going up, -1 coming down, 0 where nothing moved before. [1]
    """

    first: int
    end: int
    side: int


def find_rests(
    reference: Array, raw: Array, *, time_s: Array | None = None, period: float | None = None
) -> tuple[Rest, ...]:
    r"""Stretches in which reference and reading stand still.

    Parameters
    ----------
    reference : array, (R,)
        Position by the reference. [rad or m]
    raw : array, (R,)
        Readings. [count]
    time_s : array, (R,), or None
        Time of each row. [s]
    period : float or None
        After so many codes the reading comes round again. [count]

    Returns
    -------
    tuple of Rest
        In their order; none where the recording is no sequence of holds and moves.

    Notes
    -----
    A row is at rest where some window of 8 rows, or a quarter of a second, keeps both columns within a limit:
    four times the tenth part of all windows that is quietest, at least a five-hundredth of the whole way.
    A stretch that creeps on by more than twice that is no rest. The first quarter window of a rest and its
    last are left out, and so is everything up to where the reading comes within 3.5 standard deviations of
    where the second half of the rest lies. The side is that of the motion just before, so that an overshoot
    that is taken back counts as coming down.

    References
    ----------
    practice

    Examples
    --------
    Twenty rows at 0, a quick move, twenty rows at 1:

    >>> import numpy as np
    >>> way = np.concatenate([np.zeros(20), np.linspace(0.1, 0.9, 9), np.ones(20)])
    >>> [(rest.first, rest.end, rest.side) for rest in find_rests(way, 1000.0 * way)]
    [(2, 18, 0), (31, 47, 1)]
    """
    window = _window(len(reference), time_s)
    if len(reference) < 4 * window:
        return ()
    reading = raw if period is None else np.unwrap(raw, period=period)
    limit = _limit(reference, window)
    still = (_spread(reference, window) <= limit) & (_spread(reading, window) <= _limit(reading, window))
    rests = []
    for first, end in true_runs(_whole(still, window, len(reference))):
        trimmed = _trimmed(reading, first, end, window)
        if trimmed and np.ptp(_halves(reference[slice(*trimmed)])) <= 2.0 * limit:
            side = _side(reference, first, window, limit)
            rests.append(Rest(first=trimmed[0], end=trimmed[1], side=side))
    return tuple(rests) if _is_sequence(rests, reference) else ()


def _window(rows: int, time_s: Array | None) -> int:
    """Rows over which nothing may move. [1]"""
    if time_s is None or rows < 2:
        return LEAST_ROWS
    steps = np.diff(time_s)
    usual = float(np.median(steps[np.isfinite(steps)])) if np.isfinite(steps).any() else 0.0
    return max(LEAST_ROWS, round(LEAST_S / usual)) if usual > 0.0 else LEAST_ROWS


def _spread(column: Array, window: int) -> Array:
    """Largest less smallest value of each window, by its first row. [unit of the column]"""
    from scipy.ndimage import maximum_filter1d, minimum_filter1d

    begin = -(window // 2)
    high = maximum_filter1d(column, size=window, origin=begin)
    low = minimum_filter1d(column, size=window, origin=begin)
    return np.asarray(high - low, dtype=float)[: len(column) - window + 1]


def _limit(column: Array, window: int) -> float:
    """Spread that a rest may have. [unit of the column]"""
    quiet = float(np.quantile(_spread(column, window), 0.1))
    return max(NOISE * quiet, 0.002 * float(np.ptp(column)))


def _whole(still: Flags, window: int, rows: int) -> Flags:
    """Rows that lie in some window that is still."""
    ends = np.zeros(rows + 1, dtype=np.int64)
    first = np.flatnonzero(still)
    np.add.at(ends, first, 1)
    np.add.at(ends, first + window, -1)
    return np.asarray(np.cumsum(ends[:-1]) > 0)


def _trimmed(reading: Array, first: int, end: int, window: int) -> tuple[int, int] | None:
    """A stretch without its unsettled beginning and its end; None where nothing worth is left."""
    first, end = first + window // 4, end - window // 4
    rows = reading[first:end]
    if len(rows) < 2:
        return None
    later = rows[len(rows) // 2 :]
    near = np.abs(rows - np.mean(later)) <= SETTLED * float(np.std(later)) + 1.0
    begin = first + int(np.argmax(near))
    return (begin, end) if end - begin >= window // 2 else None


def _halves(values: Array) -> Array:
    """Means of the first and of the second half. [unit of the values]"""
    half = len(values) // 2
    return np.array([float(np.mean(values[:half])), float(np.mean(values[half:]))])


def _side(reference: Array, first: int, window: int, limit: float) -> int:
    """Side of the motion just before a rest. [1]"""
    at = float(np.mean(reference[first : first + window // 2]))
    for back in (window, 2 * window, 4 * window):
        before = reference[max(first - back, 0) : first]
        if len(before) and abs(at - float(before[0])) > limit:
            return 1 if at > float(before[0]) else -1
    return 0


def _is_sequence(rests: Sequence[Rest], reference: Array) -> bool:
    """Whether there are rests at two places or more."""
    return rest_places(rests, reference) >= 2


def rest_places(rests: Sequence[Rest], reference: Array) -> int:
    """At how many different places there are rests. [1]

    Parameters
    ----------
    rests : sequence of Rest
        The rests of a recording.
    reference : array, (R,)
        Position by the reference. [rad or m]

    Returns
    -------
    int
        Places nearer than a hundredth of the whole way are one. [1]

    References
    ----------
    practice
    """
    means = np.sort([float(np.mean(reference[rest.first : rest.end])) for rest in rests])
    return int(np.count_nonzero(np.diff(means) > APART * float(np.ptp(reference)))) + bool(len(means))
