"""The stated 95 % intervals hold for a counted axis that is homed, and for one with a pair of gears.

The machines are arithmetic of this file's own, in degrees, teeth and counts; nothing of the chain or its
links is used. A disc and a gear err in waves round the turn, one to four of equal chances, at any phase, up
to a size drawn evenly below the limit. The counted axis is homed anew between its calibration and its use,
from the rising side, play taken up. The turn of the pair is told by trying every turn there is. Each machine
is calibrated by its plan and read once at a random position on another day.
"""

import sys
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.stats import binom

from anglewright.budget.builds import virtual_builds
from anglewright.budget.states import State
from anglewright.budget.trials import HowMany
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

LEAST, MOST = 0.94, 0.965
CHANCE = 1e-4  # that a chain on the very limit fails the plain test
AGAIN = 40  # readings of each machine, for the worst tenth

COUNTED = """
[axis.joint]
motion = { from = "-10 deg", to = "290 deg" }
need = { error = "3 deg" }
when_unpowered = "holds"
marks = { home = { at = "0 deg", within = "0.3 deg" } }
drive = { gears = [40, 20], backlash = "0.1 mm", module = "1 mm" }
coupling = { kind = "d-bore", play = "1 deg" }
sensor = { kind = "incremental", lines = 50, line_error = "1 deg", once_per_turn = "0.6 deg",\
 edge_jitter = "0.2 deg rms" }
mount = { kind = "homed", clamped_at = "home", within = "3 deg", repeatability = "1 deg" }
converter = { kind = "counter", width = "16 bit" }
plan = { points = 9, readings = 4, reference = { per_point = "0.2 deg", shared = "0.1 deg" } }
"""

PAIRED = """
[axis.joint]
motion = { from = "-700 deg", to = "700 deg" }
need = { error = "3 deg" }
when_unpowered = "holds"
marks = { home = { at = "0 deg", within = "0.3 deg" } }
drive = { kind = "direct" }
coupling = { kind = "rigid" }
sensor = { kind = "gear-pair", driving_teeth = 40, first_teeth = 16, second_teeth = 17, resolution = 8,\
 first_error = "1.5 deg", second_error = "2 deg", noise = "0.2 deg rms", play = "0.4 deg" }
mount = { clamped_at = "home", within = "3 deg" }
plan = { points = 9, readings = 4, reference = { per_point = "0.2 deg", shared = "0.1 deg" } }
"""


class Waves:
    """A departure in waves round the turn, at angles in degrees."""

    def __init__(self, rng, limit, *, orders=(1, 2, 3, 4), sure=False):
        self.order, self.phase = rng.choice(orders), rng.uniform(0.0, 360.0)
        self.size = limit * (1.0 if sure else rng.uniform())

    def __call__(self, angle):
        return self.size * np.cos(np.radians(self.order * angle - self.phase))


class Counted:
    """A joint of 40 to 20 teeth with a disc of 50 lines."""

    name, low, high = "homed and counted", -10.0, 290.0

    def __init__(self, rng):
        self.rng = rng
        self.home = rng.uniform(-0.3, 0.3) + rng.uniform(-3.0, 3.0) / 2.0  # where it is homed, at the joint
        self.lines, self.centre = Waves(rng, 1.0), Waves(rng, 0.6, orders=(1,), sure=True)
        self.half = (
            np.degrees(2.0 * 0.1 / 40.0) / 2.0 + 1.0 / 2.0 / 2.0
        )  # backlash 2 j / d, then the coupling
        self.another_day()

    def another_day(self):
        """The axis is homed again: it stops a little elsewhere, anywhere within a count."""
        self.found = self.home + self.rng.uniform(-1.0, 1.0) / 2.0
        self.phase = self.rng.uniform()

    def _disc(self, joint, side):
        """Angle of the disc since it was first homed."""
        return 2.0 * (joint - self.half * side - (self.home - self.half))

    def _lines_passed(self, angle):
        return angle + self.lines(angle) + self.centre(angle)

    def codes(self, joint, side):
        start = self._lines_passed(self._disc(self.found, 1.0))
        passed = self._lines_passed(self._disc(joint, side)) - start
        jitter = self.rng.normal(0.0, 0.2, np.shape(joint))
        return np.floor(200.0 * (passed + jitter) / 360.0 + self.phase)


class Paired:
    """A joint that turns gears of 16 and 17 teeth by one of 40."""

    name, low, high = "a pair of gears", -700.0, 700.0

    def __init__(self, rng):
        self.rng = rng
        self.clamped = rng.uniform(-0.3, 0.3) + rng.uniform(-3.0, 3.0)
        self.first, self.second = Waves(rng, 1.5), Waves(rng, 2.0)

    def another_day(self):
        """Nothing changes from day to day."""

    def _seen(self, teeth, passed, waves, noise=0.0):
        angle = 360.0 * passed / teeth
        return np.floor((angle + waves(angle) + noise) * 256.0 / 360.0) % 256.0

    def codes(self, joint, side):
        passed = 136.0 + 40.0 * (joint - 0.2 * side - self.clamped) / 360.0
        noise = self.rng.normal(0.0, 0.2, np.shape(joint))
        own, other = self._seen(16, passed, self.first, noise), self._seen(17, passed, self.second)
        tried = 16.0 * (np.arange(17.0)[:, None] + (own + 0.5) / 256.0)  # teeth, for every turn there is
        apart = (tried / 17.0 - (other + 0.5) / 256.0 + 0.5) % 1.0 - 0.5
        return 256.0 * np.argmin(np.abs(apart), axis=0) + own


@dataclass(frozen=True)
class Chain:
    """A machine, and the rig file that says the same."""

    machine: type
    text: str


CHAINS = (Chain(Counted, COUNTED), Chain(Paired, PAIRED))


@pytest.fixture(params=CHAINS, ids=lambda chain: chain.machine.name)
def chain(request):
    """One of the two."""
    return request.param


@pytest.fixture
def stated(chain, long):
    """The product's budget of the calibrated axis."""
    axis = build_rig(parse_document(chain.text, source=chain.machine.name), source="rig.toml").axis("joint")
    how_many = HowMany(most=400_000 if long else 60_000)
    return virtual_builds(axis, how_many=how_many, seed=5, threads=2, states=(State.CALIBRATED,)).states[0]


def calibrated(machine):
    """The straight line through the nine places, each from both sides, four readings each. [deg]"""
    rng = machine.rng
    places = np.concatenate([np.linspace(machine.low, machine.high, 9)] * 2)
    sides = np.repeat([1.0, -1.0], 9)
    shown = places + rng.uniform(-0.1, 0.1) + rng.uniform(-0.2, 0.2, len(places))
    codes = machine.codes(np.repeat(places, 4), np.repeat(sides, 4)).reshape(-1, 4).mean(axis=1)
    slope, offset = np.polyfit(codes, shown, 1)
    return offset, slope


def read_rigs(kind, rigs):
    """Positions and errors (rigs, 1 + AGAIN): the first column is the one reading that counts. [deg]"""
    rng = np.random.default_rng(20260613)
    places, errors = np.empty((2, rigs, 1 + AGAIN))
    for row in range(rigs):
        machine = kind(rng)
        offset, slope = calibrated(machine)
        machine.another_day()
        places[row] = rng.uniform(machine.low, machine.high, 1 + AGAIN)
        codes = machine.codes(places[row], rng.choice([-1.0, 1.0], 1 + AGAIN))
        errors[row] = offset + slope * codes - places[row]
    return places, errors


@pytest.mark.slow
def test_stated_intervals_hold(chain, stated, long, record_property):
    rigs = 10_000 if long else 1_000
    q, errors = read_rigs(chain.machine, rigs)
    at, places = np.radians(q), stated.positions
    low, high = (np.degrees(np.interp(at, places, end)) for end in (stated.low, stated.high))
    held = (low <= errors) & (errors <= high)
    once, share = int(held[:, 0].sum()), np.sort(held[:, 1:].mean(axis=1))
    tenth = float(share[: rigs // 10].mean())
    record_property("worst_tenth", tenth)
    sys.stdout.write(
        f"{chain.machine.name}: {100 * once / rigs:.2f} % of {rigs} held; of all readings "
        f"{100 * share.mean():.2f} %, of those of the worst tenth of machines {100 * tenth:.1f} %\n"
    )
    least, most = LEAST, MOST
    if not long:
        least, most = binom.ppf(CHANCE, rigs, least) / rigs, binom.ppf(1.0 - CHANCE, rigs, most) / rigs
    assert least <= once / rigs <= most


def test_no_machine_tells_a_wrong_turn(chain):
    _, errors = read_rigs(chain.machine, 200)
    assert np.max(np.abs(errors)) < 5.0
