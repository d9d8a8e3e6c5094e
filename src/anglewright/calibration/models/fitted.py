"""What every model of a calibration offers, and a model that was fitted."""

from dataclasses import dataclass
from typing import ClassVar, Protocol

import numpy as np

from anglewright.calibration.least_squares import fit_linear
from anglewright.links.protocol import Array


class Model(Protocol):
    """A curve of position over reading with a few parameters; codes in [count], positions in [rad or m].

    `through_places` says that it goes through every place, so that what it leaves there tells nothing of it.
    """

    through_places: ClassVar[bool]

    @property
    def name(self) -> str:
        """Short name, as in `model = "line"`."""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the parameters, in the order of their values."""

    def fit(self, x: Array, y: Array, *, weights: Array) -> "Fitted":
        """The model with the parameters that suit the points best. [count, rad or m, 1]"""

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""

    def jacobian(self, values: Array, x: Array) -> Array:
        """What a change of one of each parameter does at each code, shape (len(x), p). [rad or m]"""

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fitted:
    """A model with parameters (p,), their covariance for residuals of one unit, residuals, leverages (n,).

    `residuals` are reference less curve. [rad or m]
    """

    model: Model
    values: Array
    spread: Array
    residuals: Array
    leverage: Array

    @property
    def count(self) -> int:
        """Number of parameters. [1]"""
        return len(self.values)

    def predict(self, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return self.model.predict(self.values, np.asarray(x, dtype=float))

    def gain(self, x: Array) -> Array:
        """Standard uncertainty of the curve at each code where that of a point is one. [1]"""
        act = self.model.jacobian(self.values, np.asarray(x, dtype=float))
        return np.asarray(np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", act, self.spread, act), 0.0)))

    def slope(self, x: Array) -> Array:
        """Slope of the curve at each code, by a difference over two counts. [rad or m per count]"""
        at = np.asarray(x, dtype=float)
        return (self.predict(at + 1.0) - self.predict(at - 1.0)) / 2.0


def missed_by_leverage(fitted: Fitted) -> Array:
    """Departures of points that the curve had not seen; exact for a model that is linear. [rad or m]

    Not finite where a point alone decides about a parameter.

    References
    ----------
    lawson-hanson
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(fitted.residuals / (1.0 - fitted.leverage))


def fitted_by_design(model: Model, x: Array, y: Array, *, weights: Array) -> Fitted:
    """A model that is linear in its parameters, through points.

    Parameters
    ----------
    model : Model
        The model.
    x, y : array, (n,)
        Codes, and what the parameters are to make of them. [count, rad or m]
    weights : array, (n,)
        Relative weights of the points. [1]

    Returns
    -------
    Fitted
        The model with the parameters of least squares. [rad or m]

    References
    ----------
    lawson-hanson
    """
    found = fit_linear(model.jacobian(np.empty(0), x), y, weights=weights)
    return Fitted(
        model=model,
        values=found.values,
        spread=found.spread,
        residuals=found.residuals,
        leverage=found.leverage,
    )
