"""The law of propagation of uncertainty, for any function of several inputs with several outputs."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from anglewright.calibration.student import coverage_factor, effective_dof
from anglewright.errors import Problem, RangeError
from anglewright.links.protocol import Array

Function: TypeAlias = Callable[[Array], ArrayLike]
"""Outputs (M,), or one number, of inputs (N,)."""

_ASYMMETRY = 1e-9  # largest difference of a matrix from its mirror image that is rounding [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Inputs:
    """N quantities that a function takes: their values, how well they are known, how they hang together.

    Parameters
    ----------
    values : array, (N,)
        Best values. [each in its own unit]
    covariance : array, (N, N)
        Variances on the diagonal, covariances beside it. [products of their units]
    dof : array, (N,)
        Degrees of freedom of each standard uncertainty; infinite where it is not from few readings. [1]
    """

    values: Array
    covariance: Array
    dof: Array

    @property
    def standard_uncertainty(self) -> Array:
        """Roots of the diagonal, shape (N,). [each in its own unit]"""
        return np.asarray(np.sqrt(np.diagonal(self.covariance)))

    @property
    def independent(self) -> bool:
        """True where no two of them hang together."""
        return not np.any(self.covariance - np.diag(np.diagonal(self.covariance)))


def inputs_of(
    values: ArrayLike,
    *,
    uncertainties: ArrayLike,
    correlation: ArrayLike | None = None,
    dof: ArrayLike | None = None,
) -> Inputs:
    """Inputs from their standard uncertainties and correlations.

    Parameters
    ----------
    values, uncertainties : array, (N,)
        Best values and standard uncertainties. [each in its own unit]
    correlation : array, (N, N), or None
        Correlation coefficients, ones on the diagonal; None where the inputs are independent. [1]
    dof : array, (N,), or None
        Degrees of freedom; None where all are infinite. [1]

    Returns
    -------
    Inputs
        Ready to be propagated.

    Raises
    ------
    RangeError
        Lengths differ, an uncertainty is below zero, or the correlations cannot be.

    References
    ----------
    gum
    """
    middle, u = np.asarray(values, dtype=float), np.asarray(uncertainties, dtype=float)
    matrix = np.eye(middle.size) if correlation is None else np.asarray(correlation, dtype=float)
    freedom = np.full(middle.shape, math.inf) if dof is None else np.asarray(dof, dtype=float)
    _check_inputs(middle, u, matrix, freedom)
    return Inputs(values=middle, covariance=u[:, None] * matrix * u, dof=freedom)


def _check_inputs(middle: Array, u: Array, matrix: Array, freedom: Array) -> None:
    """Refuse what no set of quantities can have."""
    n = middle.size
    if middle.ndim != 1 or u.shape != (n,) or freedom.shape != (n,) or matrix.shape != (n, n):
        found = f"{n} values, {u.size} uncertainties, {freedom.size} degrees of freedom and "
        found += f"correlations of shape {matrix.shape} do not go together"
        raise RangeError(Problem("inputs", found, "", "Give one of each for every input."))
    if not np.all(np.isfinite(middle)) or not np.all(u >= 0.0) or not np.all(freedom > 0.0):
        found = "a value is no number, an uncertainty is below zero, or degrees of freedom are not above it"
        raise RangeError(Problem("inputs", found, "", "Correct it."))
    proper = np.allclose(matrix, matrix.T, rtol=0.0, atol=_ASYMMETRY) and np.all(np.diagonal(matrix) == 1.0)
    if not proper or np.linalg.eigvalsh(matrix)[0] < -_ASYMMETRY * n:
        found = "these correlations cannot all hold at once"
        limit = "the matrix is its own mirror image, has ones on its diagonal and no eigenvalue below zero"
        raise RangeError(Problem("inputs", found, limit, "Take them from simultaneous readings."))


def inputs_from_readings(readings: ArrayLike) -> Inputs:
    r"""Means of quantities that were read together, with the covariance of these means.

    Parameters
    ----------
    readings : array, (n, N)
        One row a simultaneous reading, one column an input. [each in its own unit]

    Returns
    -------
    Inputs
        Means, and covariances with n - 1 degrees of freedom.

    Raises
    ------
    RangeError
        There are fewer than two rows.

    Notes
    -----
    :math:`s(\bar q, \bar r) = \frac{1}{n (n - 1)} \sum_k (q_k - \bar q)(r_k - \bar r)`.

    References
    ----------
    gum
    """
    rows = np.asarray(readings, dtype=float)
    if rows.ndim != 2 or len(rows) < 2:
        found = f"the readings have shape {rows.shape}"
        raise RangeError(Problem("inputs", found, "a scatter needs 2 rows", "Read each quantity again."))
    n, count = rows.shape
    off = rows - rows.mean(axis=0)
    return Inputs(
        values=rows.mean(axis=0),
        covariance=off.T @ off / (n * (n - 1)),
        dof=np.full(count, float(n - 1)),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Propagation:
    """What the inputs do to the outputs.

    Parameters
    ----------
    values : array, (M,)
        Outputs at the best values. [each in its own unit]
    sensitivities : array, (M, N)
        Change of each output per unit of each input. [unit of output per unit of input]
    covariance : array, (M, M)
        Of the outputs, to first order. [products of their units]
    beyond : array, (M,)
        Variance of the terms of second order; zero where they were not asked for. [squares of their units]
    dof : array, (M,)
        Effective degrees of freedom; nan where inputs hang together, for which there is no formula. [1]
    """

    values: Array
    sensitivities: Array
    covariance: Array
    beyond: Array
    dof: Array

    @property
    def standard_uncertainty(self) -> Array:
        """Of each output, second order included where asked for, shape (M,). [each in its own unit]"""
        return np.asarray(np.sqrt(np.diagonal(self.covariance) + self.beyond))

    @property
    def correlation(self) -> Array:
        """Correlation coefficients of the outputs, to first order, shape (M, M). [1]"""
        u = np.sqrt(np.diagonal(self.covariance))
        return np.asarray(self.covariance / (u[:, None] * u))

    def parts(self, inputs: Inputs) -> Array:
        """What each input alone does to each output, shape (M, N). [unit of the output]"""
        return np.asarray(np.abs(self.sensitivities) * inputs.standard_uncertainty)

    def half_width(self, *, probability: float = 0.95) -> Array:
        r"""Half-width of the interval of each output. [each in its own unit]

        Parameters
        ----------
        probability : float
            Share of cases that the interval is to hold. [1]

        Returns
        -------
        array, (M,)
            Coverage factor times standard uncertainty; the effective degrees of freedom are cut down
            to a whole number first. [each in its own unit]

        References
        ----------
        gum-g
        """
        whole = [dof if math.isinf(dof) else math.floor(dof) for dof in self.dof.tolist()]
        factors = [coverage_factor(dof, probability=probability) for dof in whole]
        return np.asarray(factors * self.standard_uncertainty)


def propagate(function: Function, inputs: Inputs, *, second_order: bool = False) -> Propagation:
    r"""Standard uncertainties and correlations of what is computed from uncertain inputs.

    Parameters
    ----------
    function : callable
        Outputs of a row of inputs. [each in its own unit]
    inputs : Inputs
        Values, covariances, degrees of freedom. [each in its own unit]
    second_order : bool
        Add the variance of the terms of second order.

    Returns
    -------
    Propagation
        Values, sensitivities, covariance, effective degrees of freedom.

    Raises
    ------
    RangeError
        Terms of second order were asked for, and the inputs are not independent.

    Notes
    -----
    :math:`U_y = C\,U_x C^T`, with each column of :math:`C` the change of the outputs while one input goes
    from one standard uncertainty below its value to one above, over twice that (5.1.4). The terms of
    second order are those of the note to 5.1.2,

    .. math::
        \sum_i \sum_j \left[\frac{1}{2} f_{ij}^2 + f_i f_{ijj}\right] u_i^2 u_j^2,

    right for independent inputs that are spread symmetrically, and by a normal law where i and j are the
    same. The value itself is not moved by the curvature.

    References
    ----------
    gum

    Examples
    --------
    12 V ± 0.1 V over 3 ohm ± 0.05 ohm, and the power that goes with it:

    >>> known = inputs_of([12.0, 3.0], uncertainties=[0.1, 0.05])
    >>> found = propagate(lambda x: [x[0] / x[1], x[0] ** 2 / x[1]], known)
    >>> found.standard_uncertainty.round(2)
    array([0.07, 1.13])
    >>> round(float(found.correlation[0, 1]), 2)
    0.95
    """
    if second_order and not inputs.independent:
        found = "terms of second order were asked for, and the inputs hang together"
        remedy = "Leave them out, or let virtual trials decide."
        raise RangeError(Problem("propagation", found, "the formula holds for independent inputs", remedy))
    middle, halves = _nudges(function, inputs)
    u = inputs.standard_uncertainty
    sensitivities = np.divide(halves, u, out=np.zeros_like(halves), where=u > 0.0)
    beyond = _second_order(function, inputs, middle, halves) if second_order else np.zeros_like(middle)
    return Propagation(
        values=middle,
        sensitivities=sensitivities,
        covariance=sensitivities @ inputs.covariance @ sensitivities.T,
        beyond=beyond,
        dof=_effective(halves, inputs),
    )


def _outputs(function: Function, x: Array) -> Array:
    return np.atleast_1d(np.asarray(function(x), dtype=float))


def _steps(inputs: Inputs) -> Array:
    """One row an input: a step of one standard uncertainty, shape (N, N)."""
    return np.asarray(np.diag(inputs.standard_uncertainty))


def _nudges(function: Function, inputs: Inputs) -> tuple[Array, Array]:
    """Outputs in the middle (M,), and half of what a nudge of each input both ways changes (M, N)."""
    columns = [
        (_outputs(function, inputs.values + step) - _outputs(function, inputs.values - step)) / 2.0
        for step in _steps(inputs)
    ]
    return _outputs(function, inputs.values), np.stack(columns, axis=1)


def _bend(function: Function, x: Array, step: Array) -> Array:
    """Second difference of the outputs along a step."""
    return _outputs(function, x + step) - 2.0 * _outputs(function, x) + _outputs(function, x - step)


def _second_order(function: Function, inputs: Inputs, middle: Array, halves: Array) -> Array:
    """Variance of the terms of second order; differences over steps of one u hold the powers of u."""
    total, x, steps = np.zeros_like(middle), inputs.values, _steps(inputs)
    for i, first in enumerate(steps):
        for j, second in enumerate(steps):
            if i == j:
                mixed = _bend(function, x, first)
            else:
                mixed = (
                    _outputs(function, x + first + second)
                    - _outputs(function, x + first - second)
                    - _outputs(function, x - first + second)
                    + _outputs(function, x - first - second)
                ) / 4.0
            third = (_bend(function, x + first, second) - _bend(function, x - first, second)) / 2.0
            total = total + mixed**2 / 2.0 + halves[:, i] * third
    return total


def _effective(halves: Array, inputs: Inputs) -> Array:
    """Effective degrees of freedom of each output."""
    if not inputs.independent:
        return np.full(len(halves), math.nan)
    return np.array([effective_dof(zip(np.abs(row), inputs.dof, strict=True)) for row in halves])
