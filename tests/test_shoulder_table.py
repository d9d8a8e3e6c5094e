"""The numbers worked out beforehand for the shoulder, and the same arithmetic for drawn rigs.

Sources of the expected numbers: the table of the project's issue "the whole path on one joint", worked
out by hand; for the drawn rigs, plain arithmetic written here, which imports no link and no chain.
"""

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.links.code import CodeLine
from anglewright.rig import at_nominal, datasheet_line, realise
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig

DRAWN = range(20)


@pytest.fixture
def shoulder(root):
    """The shoulder of a variant of the rover, after some changes."""

    def read(variant, *changes):
        document = load_document(root / "examples" / "rover" / f"{variant}.toml")
        return build_rig(with_changes(document, changes), source=variant).axis("shoulder")

    return read


def contribution(axis, quantity, play=Play.TWO_SIDED):
    """One contribution under the data-sheet line, over the range."""
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(109))
    return next((each for each in contributions(errors, play) if each.quantity == quantity), None)


def level(axis, degrees):
    """Volts at the pin."""
    chain = realise(axis, at_nominal)
    return chain.trace(math.radians(degrees))[-2]


def largest_departure(axis):
    """Place on the track, share and joint angle [deg] of the largest departure that the pull causes."""
    chain = realise(axis, at_nominal)
    wiring = chain.links[-2]
    found = minimize_scalar(
        lambda x: wiring.forward(float(x)) / wiring.feed_v - x,
        bounds=(0.3, 1.0),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return found.x, -found.fun


def test_counts_per_degree_and_one_count(shoulder):
    axis = shoulder("no-pull")
    per_degree = realise(axis, at_nominal).slope(math.radians(30.0)) * math.pi / 180.0
    assert per_degree == pytest.approx(24.094, abs=5e-4)  # 4096 * 2 / 340
    assert math.degrees(budget_axis(axis).resolution) == pytest.approx(0.041504, abs=5e-7)
    u = contribution(axis, "quantisation").standard_uncertainty
    assert math.degrees(u[0]) == pytest.approx(0.011981, abs=5e-7)  # one count / sqrt 12


@pytest.mark.parametrize(
    ("degrees", "volts", "code"),
    [(-20.0, 0.33971, 421), (0.0, 0.72794, 903), (47.5, 1.65, 2048), (115.0, 2.96029, 3674)],
)
def test_expected_readings(shoulder, degrees, volts, code):
    axis = shoulder("no-pull")
    assert level(axis, degrees) == pytest.approx(volts, abs=5e-6)
    assert realise(axis, at_nominal).forward(math.radians(degrees)) == code


def test_linearity_at_the_joint(shoulder):
    # +-1 % of 340 deg of track over a ratio of 2
    bound = contribution(shoulder("no-pull"), "linearity").worst
    assert np.allclose(np.degrees(bound), 1.700, atol=5e-4)


@pytest.mark.parametrize(("settles", "u"), [("two-sided", 0.75), ("dithered", 0.4330), ("one-sided", 0.0)])
def test_play_at_the_joint(shoulder, settles, u):
    # 3 deg in all at the sensor's shaft is +-0.75 deg at the joint; over sqrt 3 when dithered
    axis = shoulder("no-pull", f"shoulder.motion.settles={settles}")
    found = contribution(axis, "play", Play(axis.motion.settles))
    if u == 0.0:
        assert found is None
    else:
        assert np.allclose(np.degrees(found.standard_uncertainty), u, atol=5e-5)
        assert np.allclose(np.degrees(found.worst), 0.75, atol=1e-6)


def test_a_pull_down_at_the_lead(shoulder):
    # k = 0.1: 1.44933 % of travel, 2.4639 deg of joint, always low
    axis = shoulder("rig", "shoulder.wiring.pull.at=lead")
    x, share = largest_departure(axis)
    assert x == pytest.approx(0.66911, abs=6e-6)
    assert 100.0 * share == pytest.approx(1.44933, abs=6e-6)
    assert share * 340.0 / 2.0 == pytest.approx(2.4639, abs=5e-5)
    bias = np.degrees(budget_axis(axis).of(State.DATASHEET).bias)
    assert bias.max() < 0.0
    # the range reaches x = 0.66911 at 76.2 deg; half a place of the 109 looked at costs less than 1e-3
    assert bias.min() == pytest.approx(-2.4639, abs=1e-3)


def test_a_pull_down_at_the_pin_behind_the_series_resistor(shoulder):
    axis = shoulder("rig")
    x, share = largest_departure(axis)
    assert x == pytest.approx(0.71739, abs=6e-6)
    assert 100.0 * share == pytest.approx(2.10802, abs=6e-6)
    assert share * 340.0 / 2.0 == pytest.approx(3.5836, abs=5e-5)
    assert np.degrees(budget_axis(axis).of(State.DATASHEET).bias).min() == pytest.approx(-3.5836, abs=1e-3)


def test_source_resistance_corner_and_lag(shoulder):
    axis = shoulder("no-pull")
    chain = realise(axis, at_nominal)
    ohms, farads = chain.links[-2].at_pin(0.5).ohms, chain.links[-2].capacitor_f
    assert ohms == pytest.approx(3500.0, rel=1e-12)  # 10 k / 4 + 1 k
    assert 1.0 / (2.0 * math.pi * ohms * farads) == pytest.approx(454.7, abs=0.05)
    # at 90 deg/s through mid travel the filtered level is 0.0315 deg of joint behind: 90 * 3.5 k * 100 n
    t = np.arange(0.0, 0.2, 2e-6)
    shares = 0.5 + 2.0 * 90.0 / 340.0 * (t - 0.1)
    path, _ = chain.links[-2].follow(shares, t, None)
    behind = shares[50_000] - path[50_000] / 3.3
    assert behind * 340.0 / 2.0 == pytest.approx(0.0315, abs=1e-4)


class Arithmetic:
    """A rig worked out in plain degrees and volts."""

    def __init__(self, seed):
        rng = np.random.default_rng(seed)
        self.teeth = [int(count) for count in rng.integers(12, 61, 2)]
        self.ratio = self.teeth[0] / self.teeth[1]
        self.track = float(rng.uniform(200.0, 350.0))
        self.span = float(rng.uniform(0.4, 0.9)) * self.track / self.ratio
        self.low = float(rng.uniform(-90.0, 30.0))
        self.high = self.low + self.span
        self.mark = float(rng.uniform(self.low, self.high))
        self.sign = int(rng.choice([-1, 1]))
        ends = [self.sign * self.ratio * (q - self.mark) / self.track for q in (self.low, self.high)]
        self.reading = float(rng.uniform(0.01 - min(ends), 0.99 - max(ends)))
        self.feed = float(rng.uniform(2.5, 12.0))
        self.bits = int(rng.integers(8, 17))
        self.play = float(rng.uniform(0.0, 5.0))
        self.backlash = float(rng.uniform(0.0, 0.3))

    @property
    def changes(self):
        """The rig as changes to the rover without pull."""
        rounded = {"low": self.low, "high": self.high, "mark": self.mark}
        text = {name: repr(value) for name, value in rounded.items()}
        return (
            f"shoulder.motion.from={text['low']} deg",
            f"shoulder.motion.to={text['high']} deg",
            f"shoulder.stops.low={text['low']} deg",
            f"shoulder.stops.high={text['high']} deg",
            f'shoulder.marks={{ m = {{ at = "{text["mark"]} deg" }} }}',
            "shoulder.plan.zero_at=m",
            "shoulder.mount.clamped_at=m",
            f"shoulder.mount.reading={self.reading!r}",
            f"shoulder.mount.output={'rises' if self.sign > 0 else 'falls'}",
            f"shoulder.drive.gears={self.teeth}",
            f"shoulder.drive.backlash={self.backlash!r} mm",
            "shoulder.drive.module=1 mm",
            f"shoulder.coupling.play={self.play!r} deg",
            f"shoulder.sensor.electrical_travel={self.track!r} deg",
            f"shoulder.wiring.feed={self.feed!r} V",
            f"shoulder.converter.bits={self.bits}",
        )

    def volts(self, degrees, side=0):
        """Feed times reading plus turn over track; play and backlash take the joint back by their halves."""
        backlash = math.degrees(2.0 * self.backlash / self.teeth[0])  # 2 j / (m z)
        late = side * (backlash / 2.0 + self.play / 2.0 / self.ratio)
        turn = self.sign * self.ratio * (degrees - late - self.mark)
        return self.feed * (self.reading + turn / self.track)

    def code(self, degrees, side=0):
        """floor(2^N V / V_ref), within the codes there are."""
        code = math.floor(2**self.bits * self.volts(degrees, side) / self.feed)
        return min(max(code, 0), 2**self.bits - 1)

    @property
    def degrees_per_count(self):
        """Track over ratio over codes."""
        return self.sign * self.track / self.ratio / 2**self.bits


@pytest.mark.parametrize("seed", DRAWN)
def test_a_drawn_rig_agrees_with_the_arithmetic(shoulder, seed):
    by_hand = Arithmetic(seed)
    axis = shoulder("no-pull", *by_hand.changes)
    chain = realise(axis, at_nominal)
    rng = np.random.default_rng(1000 + seed)
    for degrees in rng.uniform(by_hand.low, by_hand.high, 25):
        for side in (-1, 0, 1):
            trace = chain.trace(math.radians(degrees), side=side)
            volts = by_hand.volts(degrees, side)
            if 0.0 <= volts <= by_hand.feed:
                assert trace[-2] == pytest.approx(volts, abs=1e-9 * by_hand.feed)
                assert trace[-1] == by_hand.code(degrees, side)


@pytest.mark.parametrize("seed", DRAWN)
def test_the_line_of_a_drawn_rig_is_that_of_the_data_sheet(shoulder, seed):
    by_hand = Arithmetic(seed)
    axis = shoulder("no-pull", *by_hand.changes)
    line = datasheet_line(axis)
    assert isinstance(line, CodeLine)
    assert math.degrees(line.slope) == pytest.approx(by_hand.degrees_per_count, rel=1e-9)
    # half a code past code n the level is (n + 1/2) / 2^N of the feed
    offset = (
        by_hand.mark
        + (0.5 / 2**by_hand.bits - by_hand.reading) * by_hand.sign * by_hand.track / by_hand.ratio
    )
    assert math.degrees(line.offset) == pytest.approx(offset, abs=1e-8)
    assert math.degrees(budget_axis(axis).resolution) == pytest.approx(
        abs(by_hand.degrees_per_count), rel=1e-9
    )


@pytest.mark.parametrize("seed", DRAWN)
def test_the_play_of_a_drawn_rig_is_that_of_the_arithmetic(shoulder, seed):
    by_hand = Arithmetic(seed)
    axis = shoulder("no-pull", *by_hand.changes, "shoulder.wiring.series=0 ohm")
    coupling, backlash = contribution(axis, "play"), contribution(axis, "backlash")
    middle = slice(54, 55)  # away from the ends of the track, where the level cannot follow
    halves = by_hand.play / 2.0 / by_hand.ratio, math.degrees(by_hand.backlash / by_hand.teeth[0])
    for found, half in zip((coupling, backlash), halves, strict=True):
        assert np.degrees(found.standard_uncertainty[middle]) == pytest.approx(half, rel=1e-6)
