"""Straight lines: free, and with the slope that the sensor's counts per turn fix."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.calibration.models.fitted import Fitted, fitted_by_design, missed_by_leverage
from anglewright.links.protocol import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """``position = offset + slope n``."""

    name: str = "line"
    names: tuple[str, ...] = ("offset", "slope")
    through_places: ClassVar[bool] = False

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """The line of least squares. [count, rad or m, 1]"""
        return fitted_by_design(self, x, y, weights=weights)

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return missed_by_leverage(self.fit(x, y, weights=weights))

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return np.asarray(values[0] + values[1] * x)

    def jacobian(self, values: Array, x: Array) -> Array:
        """Columns 1 and n. [rad or m]"""
        return np.stack([np.ones_like(x), x], axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedSlope:
    """``position = offset + slope n`` with a slope that is known, such as 360 deg over 2 to the N."""

    slope: float
    name: str = "fixed slope"
    names: tuple[str, ...] = ("offset",)
    through_places: ClassVar[bool] = False

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """The offset of least squares. [count, rad or m, 1]"""
        return fitted_by_design(self, x, y - self.slope * x, weights=weights)

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return missed_by_leverage(self.fit(x, y, weights=weights))

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return np.asarray(values[0] + self.slope * x)

    def jacobian(self, values: Array, x: Array) -> Array:
        """The column 1. [rad or m]"""
        return np.ones((len(x), 1))
