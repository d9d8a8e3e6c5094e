"""How far a curve departs from a straight line, by the four definitions of the potentiometer trade."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceLine:
    """A straight line ``offset + slope x`` and the largest departure of the curve from it, [unit of y]."""

    deviation: float
    offset: float
    slope: float


def independent(x: ArrayLike, y: ArrayLike) -> ReferenceLine:
    r"""The line whose slope and offset make the largest departure least.

    Parameters
    ----------
    x : array, (n,)
        Travel, in any order. [any unit]
    y : array, (n,)
        Output. [any unit]

    Returns
    -------
    ReferenceLine
        The line and its largest departure. [unit of y]

    Raises
    ------
    DataError
        Fewer than two different x.

    Notes
    -----
    Exact. The narrowest strip (measured along y) that holds all points has one border along an edge of
    their convex hull, so only the slopes of those edges need be tried. Three points touch the borders in
    turn; least squares overstates this figure.

    References
    ----------
    vrci
    alternation

    Examples
    --------
    A square law over three points departs by 1/8 from its best line:

    >>> independent([0.0, 0.5, 1.0], [0.0, 0.25, 1.0])
    ReferenceLine(deviation=0.125, offset=-0.125, slope=1.0)
    """
    across, up = _curve(x, y)
    slopes = _hull_slopes(across, up)
    rest = up - np.multiply.outer(slopes, across)
    best = int(np.argmin(np.ptp(rest, axis=1)))
    high, low = float(rest[best].max()), float(rest[best].min())
    return ReferenceLine(deviation=(high - low) / 2, offset=(high + low) / 2, slope=float(slopes[best]))


def zero_based(x: ArrayLike, y: ArrayLike) -> ReferenceLine:
    r"""The line through the point of least x whose slope makes the largest departure least.

    Parameters
    ----------
    x : array, (n,)
        Travel, in any order. [any unit]
    y : array, (n,)
        Output. [any unit]

    Returns
    -------
    ReferenceLine
        The line and its largest departure. [unit of y]

    Raises
    ------
    DataError
        Fewer than two different x.

    Notes
    -----
    Exact. Measured from the zero point and mirrored through it, the curve is symmetric, and the best line
    of a symmetric set passes through its centre.

    References
    ----------
    vrci
    alternation

    Examples
    --------
    A square law, held at its zero:

    >>> round(zero_based([0.0, 0.5, 1.0], [0.0, 0.25, 1.0]).deviation, 4)
    0.1667
    """
    across, up = _curve(x, y)
    start = int(np.argmin(across))
    u, v = across - across[start], up - up[start]
    mirrored = independent(np.concatenate([u, -u]), np.concatenate([v, -v]))
    return _measured(across, up, up[start] - mirrored.slope * across[start], mirrored.slope)


def terminal_based(x: ArrayLike, y: ArrayLike) -> ReferenceLine:
    """The line through the measured points of least and greatest x.

    Parameters
    ----------
    x : array, (n,)
        Travel, in any order. [any unit]
    y : array, (n,)
        Output. [any unit]

    Returns
    -------
    ReferenceLine
        The line and its largest departure. [unit of y]

    Raises
    ------
    DataError
        Fewer than two different x.

    References
    ----------
    vrci

    Examples
    --------
    A square law lies a quarter below its chord:

    >>> terminal_based([0.0, 0.5, 1.0], [0.0, 0.25, 1.0]).deviation
    0.25
    """
    across, up = _curve(x, y)
    low, high = int(np.argmin(across)), int(np.argmax(across))
    slope = (up[high] - up[low]) / (across[high] - across[low])
    return _measured(across, up, up[low] - slope * across[low], slope)


def absolute(x: ArrayLike, y: ArrayLike, *, offset: float = 0.0, slope: float = 1.0) -> ReferenceLine:
    """The departure from a line that is given in full.

    Parameters
    ----------
    x : array, (n,)
        Travel, in any order. [any unit]
    y : array, (n,)
        Output. [any unit]
    offset : float
        Output of the given line at x = 0. [unit of y]
    slope : float
        Slope of the given line. [unit of y per unit of x]

    Returns
    -------
    ReferenceLine
        The line and its largest departure. [unit of y]

    Raises
    ------
    DataError
        Fewer than two different x.

    References
    ----------
    vrci

    Examples
    --------
    A square law against its nominal law of 0 to 1:

    >>> absolute([0.0, 0.5, 1.0], [0.0, 0.25, 1.0]).deviation
    0.25
    """
    return _measured(*_curve(x, y), offset, slope)


def _measured(x: Array, y: Array, offset: float, slope: float) -> ReferenceLine:
    """A line with its largest departure."""
    deviation = float(np.abs(y - (offset + slope * x)).max())
    return ReferenceLine(deviation=deviation, offset=float(offset), slope=float(slope))


def _curve(x: ArrayLike, y: ArrayLike) -> tuple[Array, Array]:
    """Both columns sorted by travel; a curve needs two different x."""
    across, up = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if len(np.unique(across)) < 2:
        found = f"{len(np.unique(across))} different positions"
        raise DataError(Problem("linearity", found, "a line needs 2", "Take more readings."))
    order = np.lexsort((up, across))
    return across[order], up[order]


def _hull_slopes(x: Array, y: Array) -> Array:
    """Slopes of the edges of the convex hull of sorted points, edges along y left out."""
    points = list(zip(x.tolist(), y.tolist(), strict=True))
    edges = []
    for turn in (1.0, -1.0):
        chain = _half_hull(points, turn)
        edges += [(b, a) for a, b in pairwise(chain) if b[0] > a[0]]
    return np.array([(b[1] - a[1]) / (b[0] - a[0]) for b, a in edges])


def _half_hull(points: list[tuple[float, float]], turn: float) -> list[tuple[float, float]]:
    """Lower (turn +1) or upper (turn -1) chain of the hull of points sorted by x."""
    chain: list[tuple[float, float]] = []
    for x, y in points:
        while len(chain) > 1:
            (x0, y0), (x1, y1) = chain[-2:]
            if turn * ((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) > 0.0:
                break
            chain.pop()
        chain.append((x, y))
    return chain
