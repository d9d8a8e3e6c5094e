"""Straight line by least squares, with everything needed to say how well it is known."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from anglewright.calibration.least_squares import fit_linear
from anglewright.calibration.student import coverage_factor
from anglewright.circuits import Numeric
from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineFit:
    """A fitted line ``y = offset + slope x``; `covariance` is that of offset and slope, (2, 2).

    Two points leave no degrees of freedom: `residual_sd` and `covariance` are then nan.
    """

    offset: float
    slope: float
    covariance: Array
    residuals: Array
    residual_sd: float
    dof: int
    n: int

    @property
    def correlation(self) -> float:
        """Correlation of offset and slope. [1]"""
        variance = self.covariance[0, 0] * self.covariance[1, 1]
        return float(self.covariance[0, 1] / math.sqrt(variance))

    def predict(self, x: Numeric) -> Numeric:
        """Height of the line at `x`. [unit of y]"""
        return self.offset + self.slope * x

    def predict_standard_uncertainty(self, x: Numeric) -> Numeric:
        """Standard uncertainty of the line at `x`, the covariance included. [unit of y]

        References
        ----------
        gum-h3
        """
        return uncertainty_at(self.covariance, x)

    def interval(self, x: Numeric, *, probability: float = 0.95) -> tuple[Numeric, Numeric]:
        """Lower and upper limit of the line at `x`, by Student's distribution. [unit of y]

        References
        ----------
        gum-g
        """
        if not self.dof:
            nothing = np.asarray(x) * np.nan
            return nothing, nothing
        half = coverage_factor(self.dof, probability=probability) * self.predict_standard_uncertainty(x)
        middle = self.predict(x)
        return middle - half, middle + half


def uncertainty_at(covariance: ArrayLike, x: Numeric) -> Numeric:
    r"""Standard uncertainty of a line at `x`.

    Parameters
    ----------
    covariance : array, (2, 2)
        Of offset and slope. [unit of y, squared; per unit of x; per unit of x, squared]
    x : float or array
        Where. [unit of x]

    Returns
    -------
    float or array
        Root of :math:`u_a^2 + 2 x u_{ab} + x^2 u_b^2`. [unit of y]

    References
    ----------
    gum-h3
    """
    (offset, both), (_, slope) = np.asarray(covariance, dtype=float)
    variance = offset + 2.0 * np.asarray(x) * both + np.square(x) * slope
    u = np.sqrt(np.maximum(variance, 0.0))
    return u if np.ndim(u) else float(u)


def fit_line(x: ArrayLike, y: ArrayLike, *, weights: ArrayLike | None = None) -> LineFit:
    r"""Straight line with the least sum of squared (weighted) departures in `y`.

    Parameters
    ----------
    x : array, (n,)
        Where the readings were taken; it is taken as exact. [any unit]
    y : array, (n,)
        What is to be predicted. [any unit]
    weights : array, (n,), or None
        Relative weights, one over the variance of each `y` but for a common factor. [1]

    Returns
    -------
    LineFit
        Offset in the unit of y, slope in that unit per unit of x, with their covariance.

    Raises
    ------
    DataError
        The arrays differ in length, hold something that is no number, or have fewer than two different x.

    Notes
    -----
    By the kernel of every linear model, `fit_linear`. The variance is estimated by the residuals over n - 2
    degrees of freedom: a common error of all y does not show in it.

    References
    ----------
    lawson-hanson
    gum-h3

    Examples
    --------
    Four marks on a dial, 0.1 deg per count:

    >>> line = fit_line([100, 200, 300, 400], [10.0, 20.1, 29.9, 40.0])
    >>> round(line.slope, 4), round(line.offset, 4), line.dof
    (0.0998, 0.05, 2)
    """
    across, up, heavy = _columns(x, y, weights)
    found = fit_linear(np.stack([np.ones_like(across), across], axis=1), up, weights=heavy)
    residuals, covariance = found.residuals, found.covariance
    for array in (residuals, covariance):
        array.flags.writeable = False
    return LineFit(
        offset=float(found.values[0]),
        slope=float(found.values[1]),
        covariance=covariance,
        residuals=residuals,
        residual_sd=found.residual_sd,
        dof=found.dof,
        n=len(up),
    )


def _columns(x: ArrayLike, y: ArrayLike, weights: ArrayLike | None) -> tuple[Array, Array, Array]:
    """The two columns and the weights, held against what a line needs."""
    across, up = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    heavy = np.ones(up.shape) if weights is None else np.asarray(weights, dtype=float)
    if not across.shape == up.shape == heavy.shape or across.ndim != 1:
        shapes = f"x has shape {across.shape}, y {up.shape} and the weights {heavy.shape}"
        raise DataError(Problem("line", shapes, remedy="Give three equally long rows of numbers."))
    if not np.isfinite([across, up, heavy]).all() or (heavy < 0.0).any():
        found = "a value is no finite number, or a weight is below zero"
        raise DataError(Problem("line", found, remedy="Leave such rows out."))
    different = len(set(across[heavy > 0.0].tolist()))
    if different < 2:
        raise DataError(
            Problem("line", f"{different} different x with weight", "a line needs 2", "Take more readings.")
        )
    return across, up, heavy
