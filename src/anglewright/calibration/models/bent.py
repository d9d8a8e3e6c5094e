"""Curves that are linear in their parameters: a polynomial, and waves once and twice in a sensor turn."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.polynomial import chebyshev

from anglewright.calibration.models.fitted import Fitted, fitted_by_design, missed_by_leverage
from anglewright.links.protocol import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Polynomial:
    """Chebyshev polynomial over a span of codes: its terms hardly disturb one another.

    Parameters
    ----------
    degree : int
        Highest power. [1]
    span : tuple of float
        Lowest and highest code, which become -1 and +1. [count]
    """

    degree: int
    span: tuple[float, float]
    through_places: ClassVar[bool] = False

    @property
    def name(self) -> str:
        """The degree is in the name."""
        return f"polynomial {self.degree}"

    @property
    def names(self) -> tuple[str, ...]:
        """Coefficients of the terms from degree 0."""
        return tuple(f"c{power}" for power in range(self.degree + 1))

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """The curve of least squares. [count, rad or m, 1]"""
        return fitted_by_design(self, x, y, weights=weights)

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return missed_by_leverage(self.fit(x, y, weights=weights))

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return np.asarray(chebyshev.chebval(self._scaled(x), values))

    def jacobian(self, values: Array, x: Array) -> Array:
        """The terms themselves. [rad or m]"""
        return np.asarray(chebyshev.chebvander(self._scaled(x), self.degree))

    def _scaled(self, x: Array) -> Array:
        low, high = self.span
        return (2.0 * x - low - high) / (high - low)


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmonics:
    """A line and waves once and twice in a sensor turn: an off-centre or tilted magnet, a wobbling disc.

    ``position = offset + slope n + a1 cos t + b1 sin t + a2 cos 2t + b2 sin 2t`` with ``t = 2 pi n / turn``.

    Parameters
    ----------
    turn : float
        Codes of one turn of the sensor. [count]
    slope : float or None
        The slope where it is known; None fits it. [rad or m per count]
    """

    turn: float
    slope: float | None = None
    name: str = "harmonics"
    through_places: ClassVar[bool] = False

    @property
    def names(self) -> tuple[str, ...]:
        """Offset, slope where it is free, and the four waves."""
        return ("offset", *(("slope",) if self.slope is None else ()), "a1", "b1", "a2", "b2")

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """The curve of least squares. [count, rad or m, 1]"""
        return fitted_by_design(self, x, y - (self.slope or 0.0) * x, weights=weights)

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return missed_by_leverage(self.fit(x, y, weights=weights))

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return np.asarray(self.jacobian(values, x) @ values + (self.slope or 0.0) * x)

    def jacobian(self, values: Array, x: Array) -> Array:
        """Columns of the offset, the free slope and the waves. [rad or m]"""
        free = [x] if self.slope is None else []
        return np.stack([np.ones_like(x), *free, *turn_columns(x, turn=self.turn)], axis=1)


def turn_columns(codes: Array, *, turn: float) -> tuple[Array, Array, Array, Array]:
    """Cosine and sine once, then twice, in a turn of the sensor.

    Parameters
    ----------
    codes : array, (n,)
        Where. [count]
    turn : float
        Codes of one turn. [count]

    Returns
    -------
    tuple of array, (n,)
        Four columns. [1]

    References
    ----------
    derived
    """
    t = 2.0 * np.pi * codes / turn
    return np.cos(t), np.sin(t), np.cos(2.0 * t), np.sin(2.0 * t)
