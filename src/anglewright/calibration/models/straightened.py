"""The converter's table first: its codes are made even before a model sees them."""

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from anglewright.calibration.models.fitted import Fitted, Model
from anglewright.links.protocol import Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Straightened:
    """A model over codes that a table made even.

    Parameters
    ----------
    base : Model
        The model that follows.
    codes, even : array, (k,)
        Codes of the table, rising, and what an even converter would have given. [count]
    """

    base: Model
    codes: Array
    even: Array
    name: str = "straightened"
    through_places: ClassVar[bool] = False

    @property
    def names(self) -> tuple[str, ...]:
        """Parameters of the model that follows."""
        return self.base.names

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """The model through the points with even codes. [count, rad or m, 1]"""
        return replace(self.base.fit(self._even(x), y, weights=weights), model=self)

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return self.base.missed(self._even(x), y, weights=weights)

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return self.base.predict(values, self._even(x))

    def jacobian(self, values: Array, x: Array) -> Array:
        """Columns of the model that follows. [rad or m]"""
        return self.base.jacobian(values, self._even(x))

    def _even(self, x: Array) -> Array:
        return np.interp(x, self.codes, self.even)
