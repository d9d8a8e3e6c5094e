"""The stated 95 % intervals hold for axes with a magnetic sensor: word, voltage, pulse, and one without ends.

The machines are arithmetic of this file's own, in degrees, clocks and codes; nothing of the chain or its
links is used. A sensor errs round its turn: in one to four waves of one height, as the budget supposes, or in
a mixture of six that it does not know. Each machine is calibrated by its plan and read once at a random
position on another day.
"""

import sys

import numpy as np
import pytest
from scipy.stats import binom

from anglewright.budget.builds import virtual_builds
from anglewright.budget.states import State
from anglewright.budget.trials import HowMany
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

LEAST, MOST, LEAST_UNKNOWN = 0.94, 0.965, 0.90
CHANCE = 1e-4  # that a chain on the very limit fails the plain test
AGAIN = 40  # readings of each machine, for the worst tenth
ANGLES = np.arange(0.0, 360.0)

RIG = """
[axis.pan]
motion = {motion}
need = {{ error = "2 deg" }}
when_unpowered = "holds"
marks = {{ pin = {{ at = "0 deg", within = "0.3 deg" }} }}
drive = {drive}
coupling = {{ kind = "d-bore", play = "0.4 deg" }}
sensor = {{ {sensor}, non_linearity = "1 deg", hysteresis = "0.2 deg", noise = "0.1 deg rms" }}
mount = {{ clamped_at = "pin", within = "3 deg" }}
converter = {{ {converter} }}
plan = {{ points = 9, readings = 4, reference = {{ per_point = "0.2 deg", shared = "0.1 deg" }} }}
"""
DIRECT, ENDS = '{ kind = "direct" }', '{ from = "-110 deg", to = "110 deg" }'


def one_wave(rng):
    """One to four waves of one height: the family that the budget documents."""
    order, phase = rng.integers(1, 5), rng.uniform(0.0, 360.0)
    size = rng.uniform(0.0, 1.0)
    return lambda angle: size * np.cos(np.radians(order * angle - phase))


def six_waves(rng):
    """Up to six waves a turn together, the largest departure drawn evenly below the limit."""
    heights, phases = rng.normal(size=6) / np.arange(1, 7), rng.uniform(0.0, 360.0, 6)

    def shape(angle):
        return sum(h * np.cos(np.radians((k + 1) * angle - phases[k])) for k, h in enumerate(heights))

    size = rng.uniform(0.0, 1.0) / np.max(np.abs(shape(ANGLES)))
    return lambda angle: size * shape(angle)


class Word:
    """A sensor on the shaft itself, read as a word of 12 bits."""

    name, low, high, period = "serial word", -110.0, 110.0, None
    ratio, backlash, once = 1.0, 0.0, 0.0
    text = RIG.format(motion=ENDS, drive=DIRECT, sensor='kind = "serial", bits = 12', converter="")

    def __init__(self, rng, wave):
        self.rng, self.wave = rng, wave
        self.clamped = rng.uniform(-0.3, 0.3)
        self.error = rng.uniform(-3.0, 3.0)
        self.phase = rng.uniform(0.0, 360.0)
        self.built()
        self.another_day()

    def built(self):
        """Whatever else is fixed in this kind of machine."""

    def another_day(self):
        """Whatever changes between days in this kind of machine."""

    def position(self, joint, side):
        """Position within the turn, of 4096, for places reached from a side."""
        lag = self.backlash / 2.0 + 0.4 / 2.0 / self.ratio  # play of the coupling at the shaft
        shaft = self.ratio * (joint - side * lag - self.clamped) + self.error
        angle = 180.0 + shaft - side * 0.1  # half the hysteresis
        read = angle + self.wave(angle) + self.once * np.cos(np.radians(angle - self.phase))
        read = read + self.rng.normal(0.0, 0.1, np.shape(joint))
        return np.floor(read * 4096.0 / 360.0) % 4096.0

    def codes(self, joint, side):
        return self.position(joint, side)

    def mean(self, codes, joint):
        """Mean of readings at one place each, (V, 4)."""
        return codes.mean(axis=1)

    def apart(self, error):
        return error


class Volts(Word):
    """A voltage from 10 to 90 % of the feed, behind gears of 48 to 40 teeth, a magnet off its centre."""

    name, ratio, once = "voltage through gears", 1.2, 0.5
    backlash = np.degrees(2.0 * 0.1 / 48.0)  # 2 j / d, module 1 mm
    text = RIG.format(
        motion=ENDS,
        drive='{ gears = [48, 40], backlash = "0.1 mm", module = "1 mm" }',
        sensor='kind = "magnetic", output_low = "10 % ± 1 %", output_high = "90 % ± 1 %", '
        'once_per_turn = "0.5 deg"',
        converter='noise = "1.5 LSB rms", offset = "2 LSB"',
    )

    def built(self):
        self.bottom, self.top = 0.1 + self.rng.uniform(-0.01, 0.01), 0.9 + self.rng.uniform(-0.01, 0.01)
        self.offset = self.rng.uniform(-2.0, 2.0)

    def codes(self, joint, side):
        share = (self.position(joint, side) + 0.5) / 4096.0
        level = self.bottom + (self.top - self.bottom) * share
        noise = self.rng.normal(0.0, 1.5, np.shape(joint))
        return np.clip(np.floor(4096.0 * level + self.offset + noise), 0.0, 4095.0)


class Pulse(Word):
    """A pulse of 1 to 4096 clocks in 4098, timed by a stopwatch with a coarse tick, ratio taken."""

    name = "pulse in its frame"
    text = RIG.format(motion=ENDS, drive=DIRECT, sensor='kind = "pulse-width"', converter='tick = "5 us"')

    def another_day(self):
        self.clock = self.rng.uniform(0.95, 1.05)

    def codes(self, joint, side):
        start = self.rng.uniform(0.0, 1000.0, np.shape(joint))
        fall = start + (1.0 + self.position(joint, side)) * self.clock
        first, second, third = (np.floor(each / 5.0) for each in (start, fall, start + 4098.0 * self.clock))
        return np.clip(np.round((second - first) * 4098.0 / (third - first) - 1.0), 0.0, 4095.0)


class Endless(Word):
    """The same word on an axis that turns round and round."""

    name, low, high, period = "word without ends", -180.0, 180.0, 4096.0
    text = RIG.format(
        motion='{ from = "-180 deg", to = "180 deg", endless = true }',
        drive=DIRECT,
        sensor='kind = "serial", bits = 12',
        converter="",
    )

    def mean(self, codes, joint):
        """Mean round the circle, in the turn in which the place lies."""
        expected = 2048.0 + joint[:, :1] * 4096.0 / 360.0
        return (expected + ((codes - expected + 2048.0) % 4096.0 - 2048.0)).mean(axis=1)

    def apart(self, error):
        return (error + 180.0) % 360.0 - 180.0


class Turning(Volts):
    """A voltage on an axis that turns round and round; its turn is that of the data sheet."""

    name, low, high, ratio, once, backlash = "voltage without ends", -180.0, 180.0, 1.0, 0.0, 0.0
    text = RIG.format(
        motion='{ from = "-180 deg", to = "180 deg", endless = true }',
        drive=DIRECT,
        sensor='kind = "magnetic", output_low = "10 % ± 0.1 %", output_high = "90 % ± 0.1 %"',
        converter='noise = "1.5 LSB rms", offset = "2 LSB"',
    )

    def built(self):
        self.bottom, self.top = 0.1 + self.rng.uniform(-1e-3, 1e-3), 0.9 + self.rng.uniform(-1e-3, 1e-3)
        self.offset = self.rng.uniform(-2.0, 2.0)

    def mean(self, codes, joint):
        """Mean of readings, each in the turn in which the data sheet expects it."""
        turn = 0.8 * 4096.0
        expected = 2048.0 + joint[:, :1] * turn / 360.0
        return (expected + ((codes - expected + turn / 2.0) % turn - turn / 2.0)).mean(axis=1)

    def apart(self, error):
        return (error + 180.0) % 360.0 - 180.0


@pytest.fixture(params=[Word, Volts, Pulse, Endless, Turning], ids=lambda machine: machine.name)
def machine(request):
    """One kind of machine."""
    return request.param


@pytest.fixture
def stated(machine, long):
    """The product's budget of the calibrated axis."""
    axis = build_rig(parse_document(machine.text, source=machine.name), source="rig.toml").axis("pan")
    how_many = HowMany(most=400_000 if long else 60_000)
    return virtual_builds(axis, how_many=how_many, seed=5, threads=2, states=(State.CALIBRATED,)).states[0]


def calibrated(one):
    """The straight line through the nine places, each from both sides, four readings each. [deg]"""
    places = np.concatenate([np.linspace(one.low, one.high, 9)] * 2)
    sides = np.repeat([1.0, -1.0], 9)
    shown = places + one.rng.uniform(-0.1, 0.1) + one.rng.uniform(-0.2, 0.2, len(places))
    stood = np.repeat(places, 4)
    codes = one.codes(stood, np.repeat(sides, 4)).reshape(-1, 4)
    slope, offset = np.polyfit(one.mean(codes, stood.reshape(-1, 4)), shown, 1)
    return offset, slope


def read_rigs(machine, wave, rigs):
    """Positions and errors (rigs, 1 + AGAIN): the first column is the one reading that counts. [deg]"""
    rng = np.random.default_rng(20260704)
    places, errors = np.empty((2, rigs, 1 + AGAIN))
    for row in range(rigs):
        one = machine(rng, wave(rng))
        offset, slope = calibrated(one)
        one.another_day()
        places[row] = rng.uniform(one.low, one.high, 1 + AGAIN)
        codes = one.codes(places[row], rng.choice([-1.0, 1.0], 1 + AGAIN))
        errors[row] = one.apart(offset + slope * codes - places[row])
    return places, errors


@pytest.mark.slow
@pytest.mark.parametrize("wave", [one_wave, six_waves])
def test_stated_intervals_hold(machine, wave, stated, long, record_property):
    rigs = 10_000 if long else 1_000
    q, errors = read_rigs(machine, wave, rigs)
    at, places = np.radians(q), stated.positions
    low, high = (np.degrees(np.interp(at, places, end)) for end in (stated.low, stated.high))
    held = (low <= errors) & (errors <= high)
    once, share = int(held[:, 0].sum()), np.sort(held[:, 1:].mean(axis=1))
    tenth = float(share[: rigs // 10].mean())
    record_property("worst_tenth", tenth)
    sys.stdout.write(
        f"{machine.name}, {wave.__name__}: {100 * once / rigs:.2f} % of {rigs} held; of all readings "
        f"{100 * share.mean():.2f} %, of those of the worst tenth of machines {100 * tenth:.1f} %\n"
    )
    least, most = (LEAST, MOST) if wave is one_wave else (LEAST_UNKNOWN, 1.0)
    if not long:
        least, most = binom.ppf(CHANCE, rigs, least) / rigs, binom.ppf(1.0 - CHANCE, rigs, most) / rigs
    assert least <= once / rigs <= most


def test_no_machine_reads_in_the_wrong_turn(machine):
    _, errors = read_rigs(machine, one_wave, 100)
    assert np.max(np.abs(errors)) < 6.0
