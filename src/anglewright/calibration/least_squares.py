"""Weighted linear least squares by orthogonal triangularisation: the kernel of every linear model."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LinearFit:
    """Parameters (p,), their covariance for residuals of one unit (p, p), residuals and leverages (n,).

    `residual_sd` is nan where no degrees of freedom are left. [unit of y]
    """

    values: Array
    spread: Array
    residuals: Array
    leverage: Array
    residual_sd: float

    @property
    def dof(self) -> int:
        """Degrees of freedom that the residuals have. [1]"""
        return len(self.residuals) - len(self.values)

    @property
    def covariance(self) -> Array:
        """Covariance of the parameters, the variance taken from the residuals. [unit of y, squared]"""
        return np.asarray(self.residual_sd**2 * self.spread)


def fit_linear(design: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None) -> LinearFit:
    r"""Parameters with the least sum of squared (weighted) departures.

    Parameters
    ----------
    design : array, (n, p)
        Each column is what one parameter of size one does to `y`. [unit of y]
    y : array, (n,)
        What is to be matched. [unit of y]
    weights : array, (n,), or None
        Relative weights, one over the variance of each `y` but for a common factor. [1]

    Returns
    -------
    LinearFit
        Parameters, covariance for unit residuals, residuals, leverages. [unit of y]

    Raises
    ------
    DataError
        Fewer rows than parameters, or a parameter that the data do not tell from the others.

    Notes
    -----
    The columns are scaled to length one before the triangularisation :math:`A = QR`, so that codes in the
    thousands beside a one cost no digits. The leverages are the squared lengths of the rows of Q: with them
    a row left out would depart by :math:`e_i / (1 - h_i)`.

    References
    ----------
    lawson-hanson

    Examples
    --------
    A line through three readings:

    >>> fit = fit_linear([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]], [0.0, 1.1, 1.9])
    >>> fit.values.round(3).tolist(), fit.dof
    ([0.05, 0.95], 1)
    """
    matrix, up = np.asarray(design, dtype=float), np.asarray(y, dtype=float)
    root = np.ones(len(up)) if weights is None else np.sqrt(np.asarray(weights, dtype=float))
    weighted = root[:, None] * matrix
    scale = np.linalg.norm(weighted, axis=0)
    _held(weighted, scale)
    q, r = np.linalg.qr(weighted / scale)
    if np.min(np.abs(np.diag(r))) < np.finfo(float).eps * max(matrix.shape):
        raise DataError(_alike(matrix.shape[1]))
    values = np.linalg.solve(r, q.T @ (root * up)) / scale
    residuals = up - matrix @ values
    inverse = np.linalg.inv(r) / scale[:, None]
    dof = len(up) - matrix.shape[1]
    square = float(np.sum(np.square(root * residuals)))
    return LinearFit(
        values=values,
        spread=inverse @ inverse.T,
        residuals=residuals,
        leverage=np.sum(q * q, axis=1),
        residual_sd=math.sqrt(square / dof) if dof else math.nan,
    )


def _held(weighted: Array, scale: Array) -> None:
    rows, columns = weighted.shape
    if np.count_nonzero(np.any(weighted != 0.0, axis=1)) < columns:
        limit = f"and {columns} parameters need as many"
        raise DataError(Problem("fit", f"{rows} points have weight", limit, "Take more points."))
    if not (scale > 0.0).all():
        raise DataError(_alike(columns))


def _alike(columns: int) -> Problem:
    found = f"the points do not tell {columns} parameters from one another"
    return Problem("fit", found, remedy="Take more points, spread over the motion, or a simpler model.")
