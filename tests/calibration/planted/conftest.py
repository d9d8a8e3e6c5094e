"""Benches of the planted faults: four invented axes by plain arithmetic, without the project's chains."""

import math
from dataclasses import dataclass, field, replace

import numpy as np
import pytest
from numpy.polynomial import chebyshev
from numpy.typing import NDArray

from anglewright.calibration.layout import Expectation, Layout
from anglewright.calibration.points import CalibrationPoint, calibration_points
from anglewright.calibration.turns import in_turns
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import UNITS
from anglewright.recording import Recording

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """An axis: its sensor as read in codes, its motion, need, noise, linearity; positions in [rad or m]."""

    name: str
    low: float
    high: float
    need: float
    size: float  # position per code
    middle: float  # code at the middle of the motion
    count: int = 4096
    period: float | None = None
    play: float = 0.0  # total
    bend: float = 0.0  # largest departure of the track
    waves: float = 0.0  # largest departure that comes round with the sensor
    noise: float = 1.5  # [count]
    fresh: float = 0.0
    shared: float = 0.0
    points: int = 9
    readings: int = 4
    both: bool = True
    endless: bool = False
    exact: float | None = None

    @property
    def scatter(self) -> float:
        """Standard deviation of one point about the best curve: reference and noise of a mean. [rad or m]"""
        rounded = math.hypot(self.noise, 1.0 / math.sqrt(12.0))
        return math.hypot(self.fresh, self.size * rounded / math.sqrt(self.readings))

    @property
    def planted(self) -> float:
        """Half the permissible error, or three times the residual scatter where that is larger. [rad or m]"""
        return max(self.need / 2.0, 3.0 * self.scatter)


# the shoulder of DESIGN: 2 turns a turn of the joint, 340 deg of track, within 1 deg, 1 % linearity
JOINT = Kind(
    name="joint",
    low=math.radians(-20.0),
    high=math.radians(115.0),
    need=math.radians(1.0),
    size=math.radians(170.0 / 4096.0),
    middle=2048.0,
    play=math.radians(0.3),
    bend=math.radians(1.7),
    fresh=math.radians(0.1 / math.sqrt(3.0)),
    shared=math.radians(0.1 / math.sqrt(3.0)),
)
# a lift of 1.2 m on a ten-turn track of 0.1 %, within 6 mm, points from below only, every 2 cm
LIFT = Kind(
    name="lift",
    low=0.0,
    high=1.2,
    need=0.006,
    size=1.4 / 4096.0,
    middle=2048.0,
    bend=0.001 * 1.4,
    noise=1.0,
    fresh=0.0005,
    shared=0.0005,
    points=61,
    readings=6,
    both=False,
)
# an endless head on a 14-bit magnetic sensor with 0.5 deg of waves, within 2 deg
HEAD = Kind(
    name="head",
    low=-math.pi,
    high=math.pi,
    need=math.radians(2.0),
    size=2.0 * math.pi / 16384.0,
    middle=5000.0,
    count=16384,
    period=16384.0,
    play=math.radians(0.3),
    waves=math.radians(0.5),
    noise=4.0,
    fresh=math.radians(0.2 / math.sqrt(3.0)),
    shared=math.radians(0.2 / math.sqrt(3.0)),
    points=17,
    endless=True,
    exact=0.0,
)
# a carriage on a counter: 4000 counts for each metre of 5, within 20 mm
CARRIAGE = Kind(
    name="carriage",
    low=0.0,
    high=5.0,
    need=0.02,
    size=1.0 / 4000.0,
    middle=30000.0,
    count=65536,
    play=0.002,
    noise=0.3,
    fresh=0.001,
    points=11,
    readings=3,
    exact=0.001,
)
KINDS = (JOINT, LIFT, HEAD, CARRIAGE)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Points as they are taken: true position, side, the reference's reading, all readings in codes."""

    kind: Kind
    rng: np.random.Generator
    true: Array
    side: Array
    reference: Array
    shift: Array  # of the shaft since the start, at the axis [rad or m]
    waves: Array = field(default_factory=lambda: np.zeros(4))
    bend: Array = field(default_factory=lambda: np.zeros(8))

    def rows(self) -> Array:
        """Codes (n, readings), continuous, before rounding and wrapping. [count]"""
        kind = self.kind
        shown = self.true + self.shift - self.side * kind.play / 2.0
        middle, half = (kind.low + kind.high) / 2.0, (kind.high - kind.low) / 2.0
        shown = shown + chebyshev.chebval((self.true - middle) / half, self.bend)
        if kind.period is not None:
            theta = 2.0 * math.pi * (self.true - middle) / (kind.period * kind.size)
            for order, (c, s) in enumerate(self.waves.reshape(2, 2), 1):
                shown = shown + c * np.cos(order * theta) + s * np.sin(order * theta)
        codes = kind.middle + (shown - middle) / kind.size
        return codes[:, None] + kind.noise * self.rng.standard_normal((len(codes), kind.readings))


def sound(kind: Kind, seed: int) -> Run:
    """A run without a fault, over the motion, up and back again where both sides are taken."""
    rng = np.random.default_rng([seed, len(kind.name)])
    up = np.linspace(kind.low, kind.high, kind.points, endpoint=not kind.endless)
    true = np.concatenate([up, up[::-1]]) if kind.both else up
    side = np.where(np.arange(len(true)) < len(up), 1.0, -1.0)
    true = true + rng.normal(0.0, kind.scatter, len(true))  # the axis is set to a place roughly
    reference = true + rng.normal(0.0, kind.fresh, len(true)) + rng.normal(0.0, kind.shared)
    return Run(
        kind=kind,
        rng=rng,
        true=true,
        side=side,
        reference=reference,
        shift=np.zeros(len(true)),
        waves=_drawn_waves(kind, rng),
        bend=_drawn_bend(kind, rng),
    )


def _drawn_bend(kind: Kind, rng: np.random.Generator) -> Array:
    """A smooth departure up to the limit, with up to three waves over the motion."""
    terms = np.concatenate([[0.0, 0.0], rng.standard_normal(5) / np.arange(3, 8)])
    largest = np.abs(chebyshev.chebval(np.linspace(-1.0, 1.0, 101), terms)).max()
    return np.asarray(rng.uniform(0.0, kind.bend) / largest * terms)


def _drawn_waves(kind: Kind, rng: np.random.Generator) -> Array:
    """One or two waves a turn, of a height up to the limit."""
    found = np.zeros((2, 2))
    phase = rng.uniform(0.0, 2.0 * math.pi)
    height = rng.uniform(0.0, kind.waves)
    found[rng.integers(2)] = height * math.cos(phase), height * math.sin(phase)
    return found.reshape(-1)


def layout_of(run: Run, *, codes: Array | None = None) -> tuple[Layout, list[Array]]:
    """The points with their readings, as the checks see them; `codes` (n, readings) where spoiled. [count]"""
    kind = run.kind
    rows = run.rows() if codes is None else codes
    rows = np.floor(rows)
    if kind.period is not None:
        rows = np.mod(rows, kind.period)
    rows = np.clip(rows, 0.0, kind.count - 1.0)
    points = taken(run, rows)
    middle = (kind.low + kind.high) / 2.0
    position = np.array([point.reference for point in points])
    expected = kind.middle + (position - middle) / kind.size
    if kind.period is not None:
        raw = np.array([point.raw for point in points])
        turned = in_turns(raw, expected, period=kind.period)
        points = tuple(replace(point, raw=float(code)) for point, code in zip(points, turned, strict=True))
    return Layout(points, expected, expectation(kind)), list(rows)


def taken(run: Run, rows: Array) -> tuple[CalibrationPoint, ...]:
    """The points of a run by the project's own averaging."""
    recording = Recording(
        raw=rows.reshape(-1),
        reference=np.repeat(run.reference, rows.shape[1]),
        approach=np.repeat(run.side, rows.shape[1]).astype(np.int8),
    )
    kind = run.kind
    return calibration_points(
        recording,
        unit=UNITS["rad"],
        codes=CodeRange(low=0, high=kind.count - 1),
        tolerance=1e-9,
        period=kind.period,
        turn=2.0 * math.pi if kind.endless else None,
    )


def expectation(kind: Kind) -> Expectation:
    """What data sheet and plan say of an axis."""
    return Expectation(
        codes=CodeRange(low=0, high=kind.count - 1, ends_valid=kind.period is not None),
        size=kind.size,
        need=kind.need,
        low=kind.low,
        high=kind.high,
        reference=ReferenceUncertainty(per_point=kind.fresh, shared=kind.shared),
        period=kind.period,
        endless=kind.endless,
        waves=kind.waves,
        exact=kind.exact,
        bend=1.3 * kind.bend,  # at mid-travel, off the line through both ends
        bow=1.3 * kind.bend,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """The axes by name, and how a run of one of them is made and looked at."""

    kinds: dict[str, Kind]

    def sound(self, name: str, seed: int) -> Run:
        """A run without a fault."""
        return sound(self.kinds[name], seed)

    def points(self, run: Run, *, codes: Array | None = None) -> tuple[Layout, list[Array]]:
        """What the checks look at."""
        return layout_of(run, codes=codes)


@pytest.fixture(scope="session")
def workshop() -> Workshop:
    return Workshop(kinds={kind.name: kind for kind in KINDS})
