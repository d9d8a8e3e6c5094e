"""Readings that bend: a logarithmic track, a converter that is not straight near its feed."""

import math
from collections.abc import Iterator

import numpy as np

from anglewright.calibration.layout import Array, Layout
from anglewright.calibration.suspicion import Suspicion
from anglewright.findings import Severity

BEYOND_PARTS = 2.1  # times what the parts likely bend, from which it is hardly theirs [1]
HINGED = 0.25  # of the squares that a line leaves, which a bend at one place must leave at most [1]
KNEES = (0.6, 0.65, 0.7, 0.75, 0.8, 0.85)  # of all codes, from which a converter may bend [1]
BENT = 0.15  # of full scale off the straight line in mid-travel, from which a track is not linear [1]


def bent_track(layout: Layout) -> Iterator[Suspicion]:
    """A reading that is far off the straight line in mid-travel: a logarithmic track.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``taper``, with the share of the reading at mid-travel. [1]

    Notes
    -----
    A linear track is at 50 % in mid-travel, a logarithmic one at 10 to 20 % or, turned round, 80 to 90 %.

    References
    ----------
    practice
    """
    expected, raw = layout.means(layout.expected), layout.means(layout.raw)
    order = np.argsort(expected)
    expected, raw = expected[order], raw[order]
    if len(raw) < 5 or raw[-1] == raw[0]:
        return
    share = (raw - raw[0]) / (raw[-1] - raw[0])
    middle = float(np.interp((expected[0] + expected[-1]) / 2.0, expected, share))
    steady = np.all(np.diff(share) > -0.02)
    if steady and abs(middle - 0.5) > BENT and _smooth(expected, share):
        yield Suspicion(key="taper", severity=Severity.STOP, measured=middle, limit=BENT)


def _smooth(x: Array, y: Array) -> bool:
    """Whether no single step makes most of the rise: a jump is no taper."""
    return bool(np.max(np.diff(y)) < 0.6 or len(x) < 6)


def bent_top(layout: Layout) -> Iterator[Suspicion]:
    r"""A slope that changes towards the top of the converter, by more than the parts' spreads explain.

    Parameters
    ----------
    layout : Layout
        The points of a sensor that does not wrap.

    Yields
    ------
    Suspicion
        ``bent-top``, with what it is worth at the last point. The position and the share of all codes where
        it begins go with it, and how many times as much a step counts beyond. [rad or m]

    Notes
    -----
    :math:`e = a + b n + c \max(0, n - n_0)` with the knee :math:`n_0` at 60 to 85 % of all codes, three
    positions at least below it and two beyond; each step counts more beyond it. It must leave a quarter of
    the squares that a line leaves, and pass a quarter of the permissible error and twice what the spreads of
    the parts likely bend: tracks within their data sheets reach that once in a thousand times. A common
    12-bit converter is straight up to three quarters of its feed and a third steeper above. A track may bend
    the same way: that the points do not tell.

    References
    ----------
    practice
    """
    given, codes = layout.given, layout.given.codes
    if given.period is not None or len(layout.found) < 6:
        return
    raw, off = layout.means(layout.raw), layout.means(layout.departure)
    line = np.column_stack([np.ones_like(raw), raw])
    knees = [codes.low + share * codes.count for share in KNEES]
    found = [(knee, *_hinged(line, raw, off, knee=knee)) for knee in knees if _splits(raw, knee)]
    if not found:
        return
    knee, change, left = min(found, key=lambda each: each[2])
    upward = change * math.copysign(1.0, layout.line[1] * given.size)
    worth = upward * float(raw.max() - knee)
    limit = max(layout.worth, BEYOND_PARTS * given.bend)
    if left < HINGED * _left_by(line, off) and worth > limit:
        order = np.argsort(raw)
        place = float(np.interp(knee, raw[order], layout.means(layout.position)[order]))
        times = 1.0 / max(1.0 - upward / layout.count_size, 0.01)
        share = (knee - codes.low) / codes.count
        yield Suspicion(
            key="bent-top",
            severity=Severity.CAUTION,
            measured=worth,
            limit=limit,
            others=(place, share, times),
        )


def _splits(raw: Array, knee: float) -> bool:
    return bool(np.count_nonzero(raw < knee) >= 3 and np.count_nonzero(raw > knee) >= 2)


def _hinged(line: Array, raw: Array, off: Array, *, knee: float) -> tuple[float, float]:
    """Change of slope at a knee, and the squares that are left. [rad or m per count, squared]"""
    columns = np.column_stack([line, np.maximum(raw - knee, 0.0)])
    change = float(np.linalg.lstsq(columns, off, rcond=None)[0][-1])
    return change, _left_by(columns, off)


def _left_by(columns: Array, off: Array) -> float:
    fitted = columns @ np.linalg.lstsq(columns, off, rcond=None)[0]
    return float(np.sum(np.square(off - fitted)))
