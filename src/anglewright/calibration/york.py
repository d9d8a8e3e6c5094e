"""A straight line with errors in both variables, each point with its own."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from anglewright.calibration.line import fit_line
from anglewright.errors import DataError, Problem
from anglewright.links.protocol import Array

STEPS = 100  # after which the iteration must stand still [1]
STILL = 1e-14  # change of the slope from one step to the next, as a share of it [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class BothLine:
    """Offset, slope and their standard uncertainties, by the stated errors. [unit of y, per unit of x]"""

    offset: float
    slope: float
    offset_u: float
    slope_u: float


def fit_both(x: ArrayLike, y: ArrayLike, *, u_x: ArrayLike, u_y: ArrayLike) -> BothLine:
    r"""The line of least weighted squares where both variables have independent errors.

    Parameters
    ----------
    x, y : array, (n,)
        The points. [any units]
    u_x, u_y : array, (n,)
        Standard uncertainties of both; not both 0 at one point. [unit of x, unit of y]

    Returns
    -------
    BothLine
        The line. [unit of y, per unit of x]

    Raises
    ------
    DataError
        A point is exact in both, or the slope does not come to rest.

    Notes
    -----
    With :math:`W_i = 1 / (u_{y,i}^2 + b^2 u_{x,i}^2)` and deviations U, V from the weighted means,
    :math:`\beta_i = W_i (u_{y,i}^2 U_i + b u_{x,i}^2 V_i)` and
    :math:`b = \sum W \beta V / \sum W \beta U`, repeated until b stands still.

    References
    ----------
    york
    """
    across, up, var_x, var_y = (np.asarray(each, dtype=float) for each in (x, y, u_x, u_y))
    var_x, var_y = np.square(var_x), np.square(var_y)
    slope = fit_line(across, up).slope
    if not (var_x + var_y > 0.0).all():
        found = "a point is exact in both variables"
        raise DataError(Problem("line", found, remedy="Give each point an uncertainty."))
    for _ in range(STEPS):
        last = slope
        weights, beta, u, v = _deviations(across, up, var_x, var_y, slope)
        slope = float(np.sum(weights * beta * v) / np.sum(weights * beta * u))
        if abs(slope - last) <= STILL * abs(slope):
            return _line(across, up, var_x, var_y, slope)
    found = f"the slope does not come to rest in {STEPS} steps"
    raise DataError(Problem("line", found, remedy="Give the errors of both variables in their own units."))


def _deviations(
    x: Array, y: Array, var_x: Array, var_y: Array, slope: float
) -> tuple[Array, Array, Array, Array]:
    weights = 1.0 / (var_y + slope**2 * var_x)
    u, v = x - np.average(x, weights=weights), y - np.average(y, weights=weights)
    return weights, weights * (var_y * u + slope * var_x * v), u, v


def _line(x: Array, y: Array, var_x: Array, var_y: Array, slope: float) -> BothLine:
    weights, beta, _, _ = _deviations(x, y, var_x, var_y, slope)
    middle = float(np.average(x, weights=weights))
    adjusted = middle + beta
    centre = float(np.average(adjusted, weights=weights))
    slope_u = 1.0 / math.sqrt(float(np.sum(weights * np.square(adjusted - centre))))
    return BothLine(
        offset=float(np.average(y, weights=weights)) - slope * middle,
        slope=slope,
        offset_u=math.sqrt(1.0 / float(np.sum(weights)) + (centre * slope_u) ** 2),
        slope_u=slope_u,
    )
