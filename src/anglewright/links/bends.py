"""A converter that is not straight, given as a table: straight between its points, and on beyond the ends."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric
from anglewright.links.protocol import Array


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Bend:
    """Mean codes at voltages, both rising, measured with a full scale of `full_v`. [V, count]

    Between two points the code runs straight; beyond the first and the last as between the two next to it.
    """

    volts: Array
    codes: Array
    full_v: float

    def arithmetic(self, volts: float) -> tuple[str, dict[str, float], float]:
        """Formula, numbers and value of the unrounded code, which lies half a code above its mean. [count]"""
        k = int(_piece(self.volts, volts))
        names = ("V_a", "n_a", "V_b", "n_b")
        points = (self.volts[k], self.codes[k], self.volts[k + 1], self.codes[k + 1])
        numbers = {"V": volts} | {name: float(each) for name, each in zip(names, points, strict=True)}
        formula = "(n_a + 0.5 + (V - V_a) * (n_b - n_a) / (V_b - V_a))"
        return formula, numbers, float(self.forward(volts)) + 0.5

    def forward(self, volts: Numeric) -> Numeric:
        """Mean code of a voltage, as if the full scale were that of the table. [count]"""
        return _along(self.volts, self.codes, volts)

    def backward(self, codes: Numeric) -> Numeric:
        """Voltage of a mean code, as if the full scale were that of the table. [V]"""
        return _along(self.codes, self.volts, codes)


def _piece(xs: Array, x: Numeric) -> NDArray[np.intp]:
    return np.clip(np.searchsorted(xs, x, side="right") - 1, 0, len(xs) - 2)


def _along(xs: Array, ys: Array, x: Numeric) -> Numeric:
    k = _piece(xs, x)
    slope = (ys[k + 1] - ys[k]) / (xs[k + 1] - xs[k])
    y = ys[k] + (x - xs[k]) * slope
    return y if np.ndim(y) else float(y)
