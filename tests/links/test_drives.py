"""Drives as parts of an axis: travel to turns, play at the axis, stages in a row, the sensor's seat."""

import math

import numpy as np
import pytest

from anglewright.budget.totals import budget_axis
from anglewright.links.ratio import ConstantRatio
from anglewright.rig import at_mean, at_nominal, drawn, fingerprint, nudged, realise

INCH_CHAIN = '{ kind = "chain", pitch = "12.7 mm", teeth = 20 }'


def drive_of(axis):
    return realise(axis, at_nominal).links[1]


def turns(axis, travel):
    """Turns of the shaft over a travel [m or rad] from the position zero, nominal numbers."""
    drive = drive_of(axis)
    return float(drive.forward(travel) - drive.forward(0.0)) / (2.0 * math.pi)


# drive, travel in mm, turns by hand: travel over pi m z, pitch times teeth, pi (D + d), lead or circumference
LINEAR = [
    ('{ kind = "rack", teeth = 20, module = "1 mm" }', 100.0, 100.0 / (20.0 * math.pi)),
    ('{ kind = "rack", teeth = 25, module = "3 mm" }', 235.619449, 1.0),
    (INCH_CHAIN, 254.0, 1.0),
    ('{ kind = "belt", pitch = "2 mm", teeth = 20 }', 100.0, 2.5),
    ('{ kind = "drum", diameter = "50 mm", rope = "4 mm" }', 169.646003, 1.0),
    ('{ kind = "drum", diameter = "50 mm", rope = "4 mm", layer = 2 }', 194.778745, 1.0),
    ('{ kind = "screw", pitch = "2 mm", starts = 4 }', 80.0, 10.0),
    ('{ kind = "screw", pitch = "2 mm" }', 80.0, 40.0),
    ('{ kind = "draw-wire", travel_per_turn = "200 mm" }', 100.0, 0.5),
]


@pytest.mark.parametrize(("drive", "travel_mm", "expected"), LINEAR)
def test_a_travel_turns_the_shaft_as_often_as_by_hand(axis_of, drive, travel_mm, expected):
    assert turns(axis_of(drive), 1e-3 * travel_mm) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize("kind", ["chain", "belt"])
def test_between_two_shafts_only_the_teeth_count(axis_of, kind):
    drive = f'{{ kind = "{kind}", pitch = "5 mm", teeth = 20, axis_teeth = 50 }}'
    axis = axis_of(drive, low="0 deg", high="90 deg", travel="340 deg")
    assert turns(axis, math.radians(90.0)) == pytest.approx(0.625, rel=1e-12)  # 50 / 20 of a quarter


def test_the_chain_travels_its_pitches_and_not_the_circle_of_its_pins(axis_of):
    # pi times the pitch diameter would be 0.41 % more at 20 teeth: 1 / (20 / pi * sin(pi / 20))
    travel = 1.0 / (turns(axis_of(INCH_CHAIN), 1.0))
    circle = math.pi * 12.7e-3 / math.sin(math.pi / 20)
    assert travel == pytest.approx(0.254, rel=1e-12)
    assert circle / travel - 1.0 == pytest.approx(0.00412, abs=1e-5)


# drive, keyword values of the axis, half the play at the axis by hand [m or rad]
PLAYS = [
    ('{ kind = "rack", teeth = 20, module = "1 mm", backlash = "0.2 mm" }', {}, 0.1e-3),
    ('{ kind = "screw", pitch = "2 mm", backlash = "0.06 mm" }', {}, 0.03e-3),
    ('{ kind = "belt", pitch = "2 mm", teeth = 20, backlash = "0.3 mm" }', {}, 0.15e-3),
    # a wheel of 60 teeth of 5 mm on the axis: 300 mm a turn, so 1 mm along the run is 1.2 deg of the axis
    (
        '{ kind = "chain", pitch = "5 mm", teeth = 20, axis_teeth = 60, backlash = "1 mm" }',
        {"low": "0 deg", "high": "90 deg"},
        math.radians(0.6),
    ),
    # 0.1 mm on 50 mm is 0.22918 deg
    (
        '{ gears = [50, 25], module = "1 mm", backlash = "0.1 mm" }',
        {"low": "0 deg", "high": "90 deg"},
        math.radians(0.22918 / 2.0),
    ),
    # 2 * 0.1 / 50 at the axis, and 2 * 0.1 / 40 behind a ratio of 2: 4 mrad + 2.5 mrad
    (
        '{ gears = [50, 25, 40, 20], module = "1 mm", backlash = "0.1 mm" }',
        {"low": "0 deg", "high": "90 deg"},
        6.5e-3 / 2.0,
    ),
    ('{ kind = "drum", diameter = "50 mm", rope = "4 mm" }', {}, 0.0),
    ('{ kind = "draw-wire", travel_per_turn = "200 mm" }', {}, 0.0),
]


@pytest.mark.parametrize(("drive", "given", "half"), PLAYS)
def test_the_play_of_a_drive_at_the_axis_is_as_by_hand(axis_of, drive, given, half):
    assert drive_of(axis_of(drive, **given)).lag == pytest.approx(half, rel=2e-5, abs=1e-15)


RACK_AND_GEARS = (
    '{ kind = "stages", stages = [ { kind = "rack", teeth = 20, module = "1 mm", backlash = "0.1 mm" }, '
    '{ kind = "gears", gears = [20, 60], module = "1 mm", backlash = "0.2 mm" } ] }'
)


def test_stages_multiply_and_their_plays_add_at_the_axis(axis_of):
    drive = drive_of(axis_of(RACK_AND_GEARS))
    assert drive.forward(0.1) == pytest.approx(0.1 / 0.01 / 3.0)  # 100 mm over 10 mm radius, a third of it
    # 0.05 mm, and half of 2 * 0.2 / 20 rad of the pinion, whose pitch radius is 10 mm: 0.1 mm
    assert drive.lag == pytest.approx(0.15e-3, rel=1e-12)


def test_stages_move_as_one_ratio_with_the_sum_of_their_plays(axis_of, there_and_back):
    # play operators in a row are one of the summed play, the laws of play (docs/decisions)
    drive = drive_of(axis_of(RACK_AND_GEARS))
    one = ConstantRatio(ratio=100.0 / 3.0, half_play=0.15e-3, clamped_at=0.0)
    path, t = 1e-3 * there_and_back, np.arange(len(there_and_back)) * 0.01
    assert np.allclose(drive.follow(path, t, None)[0], one.follow(path, t, None)[0], rtol=0.0, atol=1e-12)


def test_every_stage_brings_its_own_numbers_under_its_own_name(axis_of):
    axis = axis_of(RACK_AND_GEARS.replace('module = "1 mm", backlash = "0.1 mm"', 'module = "1 mm ± 1 %"'))
    meanings = {number.key: number.meaning for number in axis.part("drive").numbers}
    assert list(meanings) == [
        "drive.stages.1.module",
        "drive.stages.1.backlash",
        "drive.stages.2.backlash",
        "drive.stages.2.module",
    ]
    assert meanings["drive.stages.1.backlash"] == "backlash of the rack in stage 1, total, along the motion"
    larger = realise(axis, nudged("drive.stages.1.module", 1.01e-3)).links[1]
    assert drive_of(axis).forward(0.1) / larger.forward(0.1) == pytest.approx(1.01, rel=1e-12)


def test_a_calibration_belongs_to_the_stages_it_was_made_with(axis_of):
    base = fingerprint(axis_of(RACK_AND_GEARS))
    assert fingerprint(axis_of(RACK_AND_GEARS.replace('"0.1 mm"', '"0.1 mm ± 0.05 mm"'))) == base
    assert fingerprint(axis_of(RACK_AND_GEARS.replace("[20, 60]", "[20, 61]"))) != base
    assert fingerprint(axis_of(RACK_AND_GEARS.replace("teeth = 20", "teeth = 21"))) != base


def test_a_linkage_may_be_the_last_stage(axis_of):
    gears = '{ kind = "gears", gears = [20, 40], module = "1 mm", backlash = "0.1 mm" }'
    bar = (
        'kind = "four-bar", ground = "100 mm", input = "40 mm", coupler = "100 mm", output = "40 mm", '
        'input_at_zero = "60 deg", play = "0.2 deg"'
    )
    given = {"low": "0 deg", "high": "60 deg", "travel": "340 deg"}
    drive = drive_of(axis_of(f'{{ kind = "stages", stages = [ {gears}, {{ {bar} }} ] }}', **given))
    # a parallelogram passes the turn on as it is; its 0.2 deg count double before the 1 : 2
    q = np.radians([10.0, 35.0, 60.0])
    assert np.allclose(drive.forward(q) - drive.forward(0.0), q / 2.0, rtol=0.0, atol=1e-12)
    assert drive.lag == pytest.approx(0.1e-3 / 20e-3 + 2.0 * math.radians(0.1), rel=1e-12)
    assert np.allclose(drive.backward(drive.forward(q, side=1), side=1), q, rtol=0.0, atol=1e-12)


def test_wear_makes_a_chain_longer_and_stretch_moves_it(axis_of):
    worn = INCH_CHAIN.replace("}", ', wear = "0 % +2 / -0", stretch = "0.5 mm" }')
    axis = axis_of(worn)
    new, worn = (realise(axis, nudged("drive.wear", wear)).links[1] for wear in (0.0, 0.02))
    assert new.forward(0.1) / worn.forward(0.1) == pytest.approx(1.02, rel=1e-12)
    half_worn, moved = (
        realise(axis, at_mean).links[1],
        realise(axis, nudged("drive.stretch", 0.5e-3)).links[1],
    )
    assert moved.forward(0.1) == pytest.approx(half_worn.forward(0.1005), rel=1e-12)
    assert moved.port.at == half_worn.port.at  # clamped without load


def test_the_wire_of_a_draw_wire_has_a_tolerance_of_its_own(axis_of):
    axis = axis_of('{ kind = "draw-wire", travel_per_turn = "200 mm ± 0.2 mm", wire = "0.1 %" }')
    spreads = {number.name: number.variate for number in axis.part("drive").numbers}
    assert spreads["travel_per_turn"].half_width == pytest.approx(0.2e-3)
    assert (spreads["wire"].nominal, spreads["wire"].half_width) == pytest.approx((0.0, 1e-3))


SEATS = [("joint", "friction", 0.05e-3), ("motor", "friction", 0.05e-3), ("motor", "gravity", 0.0)]


@pytest.mark.parametrize(("seat", "flank", "half"), SEATS)
def test_gravity_holds_the_flank_on_the_motors_side_alone(axis_of, seat, flank, half):
    drive = f'{{ kind = "rack", teeth = 20, module = "1 mm", sensor_at = "{seat}", flank = "{flank}" }}'
    axis = axis_of(drive)
    assert drive_of(axis).lag == half
    named = {row.quantity for row in budget_axis(axis).states[0].shares}
    assert ("backlash" in named) == (half > 0.0)


def test_builds_are_drawn_stage_by_stage(axis_of):
    axis = axis_of(RACK_AND_GEARS.replace('"0.1 mm"', '"0.1 mm ± 0.05 mm"'))
    rng = np.random.default_rng(3)
    drive = realise(axis, drawn(rng, builds=500)).links[1]
    assert drive.lag.shape == (500, 1)
    assert drive.lag.min() > 0.125e-3  # by hand: 0.15 mm give or take 0.025 mm
    assert drive.lag.max() < 0.175e-3
    assert np.ptp(drive.lag) > 0.045e-3


def test_a_drive_along_a_line_is_explained_in_millimetres(axis_of):
    travel, turn = drive_of(axis_of('{ kind = "rack", teeth = 20, module = "1 mm" }')).explain(0.05)
    assert (travel.put_in, travel.unit) == ("pi * 1 * 20", "mm")
    assert travel.result == pytest.approx(62.8319, abs=5e-5)  # pi m z
    assert (turn.formula, turn.numbers["q"], turn.unit) == ("360 * q / s", 50.0, "deg")
    assert turn.result == pytest.approx(286.4789, abs=5e-5)  # 50 mm on a radius of 10 mm: 5 rad


def test_a_stretched_drive_says_so_when_it_explains_itself():
    link = ConstantRatio(ratio=100.0, half_play=0.0, clamped_at=0.0, stretch=1e-3, rotary=False)
    (turn,) = link.explain(0.05)
    assert (turn.formula, turn.numbers["e"]) == ("360 * (q + e) / s", 1.0)
    assert turn.result == pytest.approx(math.degrees(5.1), rel=1e-12)
