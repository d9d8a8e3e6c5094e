"""A bench of the tests' own: a joint, gears, play, a bent track and a noisy converter, by plain arithmetic.

Numbers of the greenhouse rover's shoulder (invented, simulated): 2 turns of sensor per turn of the joint,
340 deg of track with its middle at 47.5 deg of the joint, 12 bit, -20 to 115 deg. It calls no chain.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from anglewright.quantities.units import Kind, Unit, unit_named
from anglewright.recording import Recording

Curve = Callable[[NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """One joint as it was built; angles in degrees."""

    play_deg: float = 0.0  # total, at the sensor's shaft
    bend: Curve = np.zeros_like
    noise_lsb: float = 1.5
    fresh_deg: float = 0.1 / math.sqrt(3.0)  # standard deviation of the reference, new at each point
    shared_deg: float = 0.1 / math.sqrt(3.0)  # the same, one for all points
    loading: float = 0.14  # track over load: departs by about 2 % of travel
    low: float = -20.0
    high: float = 115.0
    direction: float = 1.0

    def code(
        self, joint_deg: NDArray[np.float64] | float, side: int, rng: np.random.Generator
    ) -> NDArray[np.float64]:
        """Codes at a true position, reached from a side."""
        shaft = self.direction * (2.0 * (np.asarray(joint_deg) - 47.5) - side * self.play_deg / 2)
        travel = 0.5 + shaft / 340.0
        bent = travel + self.bend(travel)
        loaded = bent / (1.0 + self.loading * bent * (1.0 - bent))
        noisy = 4096.0 * loaded + self.noise_lsb * rng.standard_normal(loaded.shape)
        return np.clip(np.floor(noisy), 0.0, 4095.0)

    def sweep(
        self,
        rng: np.random.Generator,
        *,
        points: int = 9,
        readings: int = 4,
        runs: int = 1,
        sides: str = "ud",
    ) -> Recording:
        """Up and down over the motion; the reference shows the nominal, and the joint stands beside it."""
        shared = rng.normal(0.0, self.shared_deg)
        nominal = np.linspace(self.low, self.high, points)
        rows: list[tuple[float, float, int]] = []
        for way in sides * runs:
            side = 1 if way == "u" else -1
            for target in nominal[::side]:
                true = target + shared + rng.normal(0.0, self.fresh_deg)
                rows += [(code, target, side) for code in self.code(np.full(readings, true), side, rng)]
        raw, reference, approach = np.array(rows).T
        return Recording(
            raw=raw, reference=np.radians(reference), approach=approach.astype(np.int8), source="run3.csv"
        )


@pytest.fixture(scope="session")
def make_bench() -> type[Bench]:
    return Bench


@pytest.fixture(scope="session")
def deg() -> Unit:
    return unit_named("deg", kinds=Kind.ANGLE)


@pytest.fixture(scope="session")
def bent_by_polynomial() -> Callable[[np.random.Generator], Curve]:
    """A smooth departure of up to 1 % of travel with up to three waves, its best straight line taken out."""

    def draw(rng: np.random.Generator) -> Curve:
        waves = np.concatenate([[0.0, 0.0], rng.standard_normal(5) / np.arange(3, 8)])
        return _scaled(lambda x: chebyshev.chebval(2.0 * x - 1.0, waves), rng.uniform(0.0, 0.01))

    return draw


@pytest.fixture(scope="session")
def bent_by_sine() -> Callable[[np.random.Generator], Curve]:
    """A sine of up to 1 % of travel and 1 to 2.5 whole waves (2 to 5 bows), its line taken out."""

    def draw(rng: np.random.Generator) -> Curve:
        waves, phase = rng.uniform(1.0, 2.5), rng.uniform(0.0, 2.0 * math.pi)
        return _scaled(lambda x: np.sin(2.0 * math.pi * waves * x + phase), rng.uniform(0.0, 0.01))

    return draw


def _scaled(shape: Curve, size: float) -> Curve:
    grid = np.linspace(0.0, 1.0, 201)
    line = np.polyfit(grid, shape(grid), 1)
    largest = np.abs(shape(grid) - np.polyval(line, grid)).max()
    return lambda x: size * (shape(x) - np.polyval(line, x)) / largest
