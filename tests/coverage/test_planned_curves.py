"""The stated 95 % intervals hold for axes whose plan calibrates by a curve: a linkage, a polynomial, a table.

The machines are arithmetic of this file's own: the linkage by the crossing of two circles, the track, the
codes; nothing of the chain, its links or its fits is used. Each machine is calibrated by its plan, by numpy's
polynomial or scipy's monotone cubic, and read once at a random position. Invented, simulated.
"""

import sys

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.stats import binom

from anglewright.budget.builds import virtual_builds
from anglewright.budget.states import State
from anglewright.budget.trials import HowMany
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

LEAST, MOST = 0.94, 0.965
CHANCE = 1e-4  # that an axis on the very limit fails the plain test
LOW, HIGH, PIN, POINTS, READINGS = -15.0, 90.0, 40.0, 9, 4
TRAVEL, LINEARITY = 340.0, 0.002
RIG = """
[axis.lift]
motion = { from = "-15 deg", to = "90 deg" }
need = { error = "1 deg" }
when_unpowered = "holds"
marks = { pin = { at = "40 deg", within = "0.05 deg" } }
coupling = { kind = "d-bore", play = "0.2 deg" }
mount = { clamped_at = "pin", reading = "50 %", within = "2 deg" }
wiring = { feed = "3.3 V" }
[axis.lift.drive]
kind = "four-bar"
ground = "100 mm"
input = "30 mm"
coupler = "95 mm"
output = "45 mm"
input_at_zero = "60 deg"
play = "0.2 deg"
[axis.lift.sensor]
kind = "potentiometer"
track = "10 kohm"
electrical_travel = "340 deg ± 5 deg"
linearity = "0.2 %"
[axis.lift.converter]
bits = 12
reference = "feed"
noise = "1.5 LSB rms"
offset = "0 LSB"
[axis.lift.plan]
points = 9
readings = 4
reference = { per_point = "0.1 deg", shared = "0.1 deg" }
model = """


def output_angle(joint):
    """Angle of the output lever, 45 mm on a shaft 100 mm away, behind levers of 30 and 95 mm. [deg]"""
    input_lever = np.radians(60.0 + joint)
    x, y = 30.0 * np.cos(input_lever) - 100.0, 30.0 * np.sin(input_lever)
    far = np.hypot(x, y)
    inner = np.arccos((far**2 + 45.0**2 - 95.0**2) / (2.0 * far * 45.0))
    return np.degrees(np.arctan2(y, x) - inner)  # both levers on the same side of the line of the shafts


class Lift:
    """One machine, every number drawn."""

    def __init__(self, rng):
        self.rng = rng
        self.travel = TRAVEL + rng.uniform(-5.0, 5.0)
        self.clamped = PIN + rng.uniform(-0.05, 0.05)
        self.error = rng.uniform(-2.0, 2.0)
        self.waves, self.size = rng.integers(2, 7), LINEARITY * rng.uniform(-1.0, 1.0)
        self.shared = rng.uniform(-0.1, 0.1)

    def codes(self, joint, side):
        lagged = joint - 0.1 * side  # half the play of the linkage, then half that of the coupling
        turned = output_angle(lagged) - output_angle(self.clamped) - 0.1 * side + self.error
        x = np.clip(0.5 + turned / self.travel, 0.0, 1.0)
        x = x + self.size * np.cos(self.waves * np.arccos(2.0 * x - 1.0))
        return np.clip(np.floor(4096.0 * x + self.rng.normal(0.0, 1.5, np.shape(x))), 0.0, 4095.0)

    def bench(self):
        """Mean codes and what the reference shows, up and then down again, each (2, 9)."""
        places, sides = np.linspace(LOW, HIGH, POINTS), np.array([[[1.0]], [[-1.0]]])
        codes = self.codes(np.broadcast_to(places, (2, READINGS, POINTS)), sides).mean(axis=1)
        return codes, places + self.shared + self.rng.uniform(-0.1, 0.1, (2, POINTS))


def polynomial(codes, shown):
    return np.polynomial.Polynomial.fit(codes.ravel(), shown.ravel(), 4)


def table(codes, shown):
    """The cubic through the means of up and down; positions in the plan do not reach beyond its ends."""
    nodes, heights = codes.mean(axis=0), shown.mean(axis=0)
    return PchipInterpolator(nodes, heights, extrapolate=True)


FITS = {"polynomial 4": polynomial, "table": table}


def test_the_linkage_of_this_file_turns_as_its_bars_say():
    # the coupler must be 95 mm long at every angle
    q = np.linspace(LOW, HIGH, 50)
    ends = np.radians(60.0 + q), np.radians(output_angle(q))
    x = 100.0 + 45.0 * np.cos(ends[1]) - 30.0 * np.cos(ends[0])
    y = 45.0 * np.sin(ends[1]) - 30.0 * np.sin(ends[0])
    assert np.allclose(np.hypot(x, y), 95.0)
    assert np.all(np.diff(output_angle(q)) > 0.0)


@pytest.mark.slow
@pytest.mark.parametrize("model", FITS)
def test_stated_intervals_hold_for_a_planned_curve(model, long, record_property):
    document = parse_document(RIG + f'"{model}"\n', source="lift.toml")
    axis = build_rig(document, source="lift.toml").axis("lift")
    how_many = HowMany(most=200_000 if long else 40_000)
    stated = virtual_builds(axis, how_many=how_many, seed=6, threads=2, states=(State.CALIBRATED,)).states[0]
    rng, rigs, held = np.random.default_rng(20260601), 10_000 if long else 1_000, 0
    for _ in range(rigs):
        machine = Lift(rng)
        curve = FITS[model](*machine.bench())
        q, side = rng.uniform(LOW, HIGH), rng.choice([-1.0, 1.0])
        low, high = np.degrees(stated.interval_at(np.radians(q)))
        held += bool(low <= curve(machine.codes(np.array(q), side)) - q <= high)
    record_property("share held", held / rigs)
    sys.stdout.write(f"{model}: {100 * held / rigs:.2f} % of {rigs} held\n")
    least, most = LEAST, MOST
    if not long:
        least, most = binom.ppf(CHANCE, rigs, least) / rigs, binom.ppf(1.0 - CHANCE, rigs, most) / rigs
    assert least <= held / rigs <= most
