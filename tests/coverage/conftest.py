"""Machines that the budget has to be right about, drawn by arithmetic of the tests' own.

A joint, a pair of gears with backlash, a coupling with play, a clamped potentiometer with a bent track,
perhaps wound and with a wiper that lags, a pull, a converter: in degrees, ohms and volts, written out here.
Nothing of the chain or its links is used.
The numbers are those of the rover's shoulder (invented, simulated) with what each chain changes.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import linprog

from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig

PIN_DEG, PIN_WITHIN_DEG = 47.5, 0.05
LOW_DEG, HIGH_DEG = -20.0, 115.0
MODULE_MM, SENSOR_TEETH = 1.0, 24


@dataclass(frozen=True, kw_only=True)
class Kind:
    """What a chain is made of: spreads as half-widths of rectangular laws, noise as a standard deviation."""

    name: str
    changes: tuple[str, ...] = ()
    variant: str = "no-pull"
    pull_ohm: float = np.inf
    pull_at_pin: bool = True
    series_ohm: float = 1e3
    feed_within: float = 0.0  # of 3.3 V, relative; matters where the reference is not the feed
    ratiometric: bool = True
    reference_within: float = 0.0  # of 3.3 V, relative
    travel_deg: float = 340.0
    travel_within: float = 5.0
    travel_beyond: float = 0.0  # longer than stated by up to so much, never shorter
    axis_teeth: int = 48
    turns: int = 0  # of wire, none where the track is not wound
    hysteresis: float = 0.0  # total, at the shaft
    end_ohm: float = 0.0
    wiper_ohm: float = 0.0
    contact: float = 0.0  # of full output, either way
    track_within: float = 0.2
    linearity: float = 0.01
    clamp_within: float = 3.0  # at the shaft
    play_deg: float = 3.0  # total, at the shaft
    play_within: float = 0.0
    backlash_mm: float = 0.1
    settles: str = "two-sided"
    both_sides: bool = True
    points: int = 9
    readings: int = 4
    noise: float = 1.5
    offset: float = 0.0
    bits: int = 12
    sense: float = 1.0
    per_point: float = 0.1
    shared: float = 0.1
    scale: float = 0.0


class Joint:
    """One machine of a kind, with every number drawn; angles of the joint in degrees."""

    def __init__(self, kind, rng, bend):
        self.kind, self.rng, self.bend = kind, rng, bend
        self.track = 10e3 * (1.0 + self._within(kind.track_within))
        self.travel = kind.travel_deg + self._within(kind.travel_within)
        if kind.travel_beyond:
            self.travel += rng.uniform(0.0, kind.travel_beyond)
        self.first_turn = rng.uniform(0.0, 1.0) if kind.turns else 0.0  # where it lies, in turns
        self.clamped = PIN_DEG + self._within(PIN_WITHIN_DEG)
        self.clamp_error = self._within(kind.clamp_within)
        self.play = kind.play_deg + self._within(kind.play_within)
        self.ratio = kind.axis_teeth / SENSOR_TEETH
        pitch_mm = MODULE_MM * kind.axis_teeth
        self.backlash = np.degrees(2.0 * kind.backlash_mm / pitch_mm)  # 2 j / d, at the joint
        self.offset = self._within(kind.offset)
        self.shared, self.scale = self._within(kind.shared), self._within(kind.scale)
        self.another_day()

    def _within(self, reach):
        return self.rng.uniform(-reach, reach)

    def another_day(self):
        """Feed and reference may have changed."""
        self.feed = 3.3 * (1.0 + self._within(self.kind.feed_within))
        self.full = (
            self.feed if self.kind.ratiometric else 3.3 * (1.0 + self._within(self.kind.reference_within))
        )

    def volts(self, joint, side):
        """Level at the pin, for positions reached from a side: +1 rising, -1 falling."""
        lag = self.backlash / 2.0 + (self.play + self.kind.hysteresis) / 2.0 / self.ratio
        shaft = self.kind.sense * self.ratio * (joint - side * lag - self.clamped) + self.clamp_error
        straight = np.clip(0.5 + shaft / self.travel, 0.0, 1.0)
        x = np.clip(straight + self.bend(straight), 0.0, 1.0)
        if self.kind.turns:
            x = np.clip(np.floor(x * self.kind.turns + self.first_turn) / self.kind.turns, 0.0, 1.0)
        whole = self.track + 2.0 * self.kind.end_ohm
        x = (x * self.track + self.kind.end_ohm) / whole
        if self.kind.contact:
            x = np.clip(x + self.rng.uniform(-self.kind.contact, self.kind.contact, np.shape(x)), 0.0, 1.0)
        before = self.kind.series_ohm if self.kind.pull_at_pin else 0.0
        source = whole * x * (1.0 - x) + self.kind.wiper_ohm + before
        loaded = x if np.isinf(self.kind.pull_ohm) else x * self.kind.pull_ohm / (self.kind.pull_ohm + source)
        return self.feed * loaded

    def codes(self, joint, side):
        """One reading each, a whole code."""
        top = 2.0**self.kind.bits
        exact = top * self.volts(joint, side) / self.full + self.offset
        return np.clip(
            np.floor(exact + self.rng.normal(0.0, self.kind.noise, np.shape(exact))), 0.0, top - 1.0
        )

    def bench(self):
        """The planned readings: reference, code, side of approach, one row each."""
        places, repeats = np.linspace(LOW_DEG, HIGH_DEG, self.kind.points), self.kind.readings
        stood = np.concatenate([places, places[::-1]]) if self.kind.both_sides else places
        sides = np.repeat([1, -1], len(places))[: len(stood)]
        fresh = self.rng.uniform(-self.kind.per_point, self.kind.per_point, len(stood))
        shown = stood * (1.0 + self.scale) + self.shared + fresh
        codes = self.codes(np.repeat(stood, repeats), np.repeat(sides, repeats))
        return np.repeat(shown, repeats), codes, np.repeat(sides, repeats)

    def side_of_use(self, count):
        """From where it comes to rest when it is used."""
        if self.kind.settles == "one-sided":
            return np.ones(count)
        if self.kind.settles == "dithered":
            return self.rng.uniform(-1.0, 1.0, count)
        return self.rng.choice([-1.0, 1.0], count)


KINDS = (
    Kind(name="pull at the pin", variant="rig", pull_ohm=100e3),
    Kind(name="no pull"),
    Kind(
        name="fixed reference",
        feed_within=0.01,
        ratiometric=False,
        reference_within=0.005,
        changes=(
            "shoulder.wiring.feed=3.3 V ± 1 %",
            "shoulder.converter.reference=3.3 V ± 0.5 %",
        ),
    ),
    Kind(
        name="one-sided",
        settles="one-sided",
        both_sides=False,
        changes=("shoulder.motion.settles=one-sided", "shoulder.plan.approach=one side"),
    ),
    Kind(
        name="calibrated rising, used from either side",
        both_sides=False,
        changes=("shoulder.plan.approach=one side",),
    ),
    Kind(
        name="calibrated from both sides, used rising",
        settles="one-sided",
        changes=("shoulder.motion.settles=one-sided",),
    ),
    Kind(
        name="dithered, play known within 1 deg",
        settles="dithered",
        play_within=1.0,
        changes=("shoulder.motion.settles=dithered", "shoulder.coupling.play=3 deg ± 1 deg"),
    ),
    Kind(
        name="five points, one reading, coarse reference",
        play_deg=0.0,
        backlash_mm=0.0,
        points=5,
        readings=1,
        per_point=1.0,
        shared=0.5,
        scale=0.005,
        changes=(
            "shoulder.coupling.play=0 deg",
            "shoulder.drive.backlash=0 mm",
            "shoulder.plan.points=5",
            "shoulder.plan.readings=1",
            "shoulder.plan.reference.per_point=1 deg",
            "shoulder.plan.reference.shared=0.5 deg",
            "shoulder.plan.reference.scale=0.5 %",
        ),
    ),
    Kind(
        name="bent track, pull at the lead, falling",
        pull_ohm=47e3,
        pull_at_pin=False,
        linearity=0.03,
        play_deg=0.5,
        sense=-1.0,
        offset=3.0,
        variant="rig",
        changes=(
            "shoulder.wiring.pull.down=47 kohm",
            "shoulder.wiring.pull.at=lead",
            "shoulder.sensor.linearity=3 %",
            "shoulder.coupling.play=0.5 deg",
            "shoulder.mount.output=falls",
            "shoulder.converter.offset=3 LSB",
        ),
    ),
    Kind(
        name="eight quiet bits",
        bits=8,
        noise=0.2,
        linearity=0.0025,
        play_deg=0.2,
        readings=2,
        changes=(
            "shoulder.converter.bits=8",
            "shoulder.converter.noise=0.2 LSB rms",
            "shoulder.sensor.linearity=0.25 %",
            "shoulder.coupling.play=0.2 deg",
            "shoulder.plan.readings=2",
        ),
    ),
    Kind(
        name="ten turns of wire, pull at the pin",
        variant="rig",
        pull_ohm=1e6,
        axis_teeth=480,
        travel_deg=3600.0,
        travel_within=0.0,
        travel_beyond=10.0,
        track_within=0.05,
        linearity=0.0005,
        turns=1000,
        hysteresis=2.0,
        end_ohm=5.0,
        wiper_ohm=100.0,
        contact=0.0002,
        play_deg=1.0,
        changes=(
            "shoulder.drive.gears=[480, 24]",
            "shoulder.wiring.pull.down=1 Mohm",
            "shoulder.coupling.play=1 deg",
            "shoulder.sensor.electrical_travel=3600 deg +10 deg / -0 deg",
            "shoulder.sensor.track=10 kohm ± 5 %",
            "shoulder.sensor.linearity=0.05 %",
            "shoulder.sensor.windings=1000",
            "shoulder.sensor.hysteresis=2 deg",
            "shoulder.sensor.end_resistance=5 ohm",
            "shoulder.sensor.wiper_resistance=100 ohm",
            "shoulder.sensor.contact_noise=0.02 %",
        ),
    ),
)


@pytest.fixture(params=KINDS, ids=lambda kind: kind.name)
def kind(request):
    """One kind of chain."""
    return request.param


@pytest.fixture
def axis(kind, root):
    """The same chain as the product reads it from a rig file."""
    document = load_document(root / "examples" / "rover" / f"{kind.variant}.toml")
    return build_rig(with_changes(document, kind.changes), source=kind.name).axis("shoulder")


@pytest.fixture(scope="session")
def joint():
    """A machine of a kind."""
    return Joint


def _best_line(x, y):
    """The straight line whose largest departure is least, by linear programming, and that departure."""
    rows = np.concatenate(
        [np.c_[x, np.ones_like(x), -np.ones_like(x)], np.c_[-x, -np.ones_like(x), -np.ones_like(x)]]
    )
    found = linprog([0.0, 0.0, 1.0], A_ub=rows, b_ub=np.concatenate([y, -y]), bounds=[(None, None)] * 3)
    slope, offset, size = found.x
    return slope, offset, size


def _bent(shape):
    """A shape without its best line, its size one by the data sheet's definition."""
    grid = (1.0 - np.cos(np.linspace(0.0, np.pi, 121))) / 2.0
    slope, offset, whole = _best_line(grid, shape(grid))
    return lambda x: (shape(x) - slope * x - offset) / whole


def equal_waves(rng):
    """The family that the budget documents: Chebyshev polynomials of degree 2 to 6, stretched and shifted."""
    degree, stretch = rng.integers(2, 7), rng.uniform(0.8, 1.0)
    shift = (1.0 - stretch) * rng.uniform(-1.0, 1.0)
    return lambda x: np.cos(degree * np.arccos(stretch * (2.0 * x - 1.0) + shift))


def sine(rng):
    """One to two and a half whole waves over the track, at any phase: the budget does not know them."""
    waves, phase = rng.uniform(1.0, 2.5), rng.uniform(0.0, 2.0 * np.pi)
    return lambda x: np.sin(2.0 * np.pi * waves * x + phase)


@pytest.fixture(scope="session", params=[equal_waves, sine], ids=["known family", "unknown family"])
def family(request, long):
    """Ready shapes of a linearity of one, and whether the budget knows their family."""
    rng = np.random.default_rng(404)
    return [_bent(request.param(rng)) for _ in range(4000 if long else 800)], request.param is equal_waves
