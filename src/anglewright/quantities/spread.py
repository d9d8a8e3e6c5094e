"""A number that is not known exactly: its size, its shape, and how long it stays what it is."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SIGMAS_OF_A_LIMIT = 3.0  # a normal spread has no limit; its worst case is taken here [1]


class Shape(Enum):
    """Distribution of a number about its middle."""

    RECTANGULAR = "rectangular"
    NORMAL = "normal"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"


class Persistence(Enum):
    """How long a number stays what it is; decides what calibration and averaging can remove."""

    BUILD = "build"
    CONDITION = "condition"
    READING = "reading"
    MOTION = "motion"


_DIVISORS: Mapping[Shape, float] = {
    Shape.RECTANGULAR: math.sqrt(3.0),
    Shape.TRIANGULAR: math.sqrt(6.0),
    Shape.ARCSINE: math.sqrt(2.0),
    Shape.NORMAL: 1.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A nominal value with its limits below and above, in SI units.

    For a bounded shape `below` and `above` are distances from `nominal` to the limits, both at
    least zero; they may differ (``3600 deg +10 / -0``). For a normal one both are the standard deviation.
    """

    nominal: float
    below: float = 0.0
    above: float = 0.0
    shape: Shape = Shape.RECTANGULAR
    persistence: Persistence = Persistence.BUILD
    dof: float = math.inf

    @property
    def mean(self) -> float:
        """Middle of the distribution; differs from `nominal` where the limits do. [SI]"""
        return self.nominal + (self.above - self.below) / 2

    @property
    def half_width(self) -> float:
        """Half the distance between the limits, or one standard deviation of a normal. [SI]"""
        return (self.above + self.below) / 2

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation. [SI]

        References
        ----------
        gum
        """
        return self.half_width / _DIVISORS[self.shape]

    @property
    def limits(self) -> tuple[float, float]:
        """Lowest and highest value; three standard deviations for a normal. [SI]"""
        reach = SIGMAS_OF_A_LIMIT if self.shape is Shape.NORMAL else 1.0
        return (self.mean - reach * self.half_width, self.mean + reach * self.half_width)

    @property
    def is_exact(self) -> bool:
        """True where the number has no spread at all."""
        return self.half_width == 0.0

    def draw(self, rng: "np.random.Generator", shape: tuple[int, ...]) -> "NDArray[np.float64]":
        """Random values of the number, one per virtual build or reading. [SI]"""
        import numpy as np

        middle, reach = self.mean, self.half_width
        if reach == 0.0:
            return np.full(shape, middle)
        if self.shape is Shape.NORMAL:
            unit = rng.standard_normal(shape)
        elif self.shape is Shape.RECTANGULAR:
            unit = rng.uniform(-1.0, 1.0, shape)
        elif self.shape is Shape.TRIANGULAR:
            unit = rng.uniform(-0.5, 0.5, shape) + rng.uniform(-0.5, 0.5, shape)
        else:
            unit = np.cos(np.pi * rng.uniform(0.0, 1.0, shape))
        unit *= reach
        if middle:
            unit += middle
        return unit

    @property
    def nudges(self) -> tuple[tuple[float, float], ...]:
        """The number moved down and up by one standard uncertainty, for a first-order budget. [SI]"""
        u = self.standard_uncertainty
        return ((self.mean - u, self.mean + u),)
