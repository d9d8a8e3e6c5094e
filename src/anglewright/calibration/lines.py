"""Straight lines through many sets of points at once: what one calibration does, for a thousand machines."""

import numpy as np

from anglewright.links.protocol import Array


def fit_lines(x: Array, y: Array) -> tuple[Array, Array]:
    r"""Offset and slope of the least-squares line of each row.

    Parameters
    ----------
    x, y : array, (B, K)
        K points of each of B lines. [any unit]

    Returns
    -------
    array, array
        Offsets and slopes, each (B,); nan where all x of a row are the same. [unit of y, unit of y per x]

    Notes
    -----
    The same line as `fit_line` without weights: :math:`b = S_{xy} / S_{xx}` about the means, which
    loses no digits where the means are taken off first.

    References
    ----------
    lawson-hanson

    Examples
    --------
    Two machines, calibrated at the same three places:

    >>> codes = np.array([[0.0, 100.0, 200.0], [10.0, 110.0, 210.0]])
    >>> offsets, slopes = fit_lines(codes, np.array([[0.0, 10.0, 20.0], [0.0, 10.0, 20.0]]))
    >>> offsets.round(6).tolist(), slopes.round(6).tolist()
    ([0.0, -1.0], [0.1, 0.1])
    """
    across, up = x.mean(axis=1), y.mean(axis=1)
    off = x - across[:, None]
    spread, product = np.sum(off * off, axis=1), np.sum(off * (y - up[:, None]), axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = product / spread
    return up - slope * across, slope
