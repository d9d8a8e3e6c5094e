"""Two absolute sensors on gears: range, the turn that is told, play, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from anglewright.rig import at_nominal, drawn, nudged, realise

PAIR = (
    '{{ kind = "gear-pair", driving_teeth = {driving}, first_teeth = {first}, '
    "second_teeth = {second}{more} }}"
)
FRAME = """
[axis.head]
motion = {{ from = "{low}", to = "{high}"{motion} }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
sensor = {sensor}
mount = {mount}
"""


def pair(driving=40, first=16, second=17, more=""):
    """The table of a pair."""
    return PAIR.format(driving=driving, first=first, second=second, more=f", {more}" if more else "")


@pytest.fixture
def head(built):
    """An axis that turns twice either way, unless said otherwise."""

    def build(sensor, **given):
        usual = {"low": "-720 deg", "high": "720 deg", "motion": "", "mount": "{}"} | given
        return built(FRAME.format(sensor=sensor, **usual))

    return build


@pytest.fixture
def refused(complaints):
    """The lines with which a head is refused."""

    def lines(sensor, **given):
        usual = {"low": "-720 deg", "high": "720 deg", "motion": "", "mount": "{}"} | given
        return complaints(FRAME.format(sensor=sensor, **usual))

    return lines


def sensor_of(axis, pick=at_nominal):
    rooms = [part.room for part in axis.chain_parts]
    return realise(axis, pick).links[rooms.index("sensor")]


def test_the_range_is_that_of_the_least_common_multiple(head):
    # 272 teeth of a driving gear of 40 are 6.8 turns, plain arithmetic
    part = head(pair()).part("sensor")
    assert part.range_turns == pytest.approx(6.8, rel=1e-12)
    assert part.describe() == "Gear pair, 40 on 16 and 17 teeth, 6.8 turns"


def test_a_turn_of_the_range_reads_the_same_as_the_next(head):
    sensor = sensor_of(head(pair()))
    turn = 2.0 * math.pi
    assert sensor.forward(0.3 + 6.8 * turn) == pytest.approx(sensor.forward(0.3), abs=1e-9)
    assert sensor.forward(1.3 * turn) - sensor.forward(0.0) == pytest.approx(1.3 / 6.8, abs=1e-4)


def test_what_is_sent_is_the_middle_of_a_position_of_the_first_sensor(head):
    # 17 turns of the first gear of 4096 positions each
    sensor = sensor_of(head(pair()))
    turned = np.linspace(-12.0, 12.0, 501)
    places = np.asarray(sensor.forward(turned)) * 17 * 4096 - 0.5
    assert np.allclose(places, np.round(places), atol=1e-6)
    exact = 17 * 4096 * (0.5 + 40.0 * turned / (2.0 * math.pi) / 272.0)
    assert np.all(np.abs(places - np.floor(exact)) <= 1e-6)


def test_an_error_of_the_first_sensor_counts_by_the_teeth_of_its_gear(head):
    # 1 deg at a gear of 16 teeth is 16/40 deg at the driving gear, and lasts whatever the second reads
    axis = head(pair())
    high = axis.part("sensor").waves.limits[1]
    moved = [sensor_of(axis, nudged("sensor.first_error", value)) for value in (high, 0.0 * high)]
    one, none = (replace(sensor, rounded=False) for sensor in moved)
    turned = none.backward(one.forward(1.0)) - 1.0
    assert math.degrees(turned) == pytest.approx(16.0 / 40.0, rel=1e-9)


def test_drawn_errors_within_their_limits_never_tell_a_wrong_turn(head):
    # 16 * 5.3 + 17 * 5.3 + 33 * 0.044 = 176.3 deg, just within 180
    axis = head(pair(more='first_error = "5.3 deg", second_error = "5.3 deg"'))
    sensor = sensor_of(axis, drawn(np.random.default_rng(3), builds=400))
    turned = np.linspace(-2.0 * math.pi * 2.0, 2.0 * math.pi * 2.0, 301)
    off = np.asarray(sensor.forward(turned)) - (0.5 + 40.0 * turned / (2.0 * math.pi) / 272.0)
    assert np.max(np.abs(off)) * 272.0 / 16.0 * 360.0 < 5.3 + 0.3  # its own error, its noise and its step


def test_play_of_the_meshes_lags_either_way(head):
    sensor = sensor_of(head(pair(more='play = "0.6 deg"')))
    assert math.degrees(sensor.lag) == pytest.approx(0.3, rel=1e-12)
    ends = [float(sensor.backward(sensor.forward(0.0, side=side))) for side in (-1, 1)]
    assert math.degrees(ends[0] - ends[1]) == pytest.approx(0.6, abs=0.08)  # 0.035 deg a position


def test_errors_beyond_half_a_step_are_refused(refused):
    assert refused(pair(more='first_error = "6 deg", second_error = "6 deg"')) == [
        "sensor: teeth times errors, 16 x 6 + 17 x 6 + 33 x 0.04395, make 199.5 deg, and a wrong turn may "
        "be told, they must stay below 1 x 180 deg, by the common divisor of the teeth. Take sensors well "
        "within 5.45 deg each, or teeth with a larger common divisor."
    ]


def test_a_larger_common_divisor_cures_it_and_pays_with_range(head, refused):
    loose = 'first_error = "20 deg", second_error = "20 deg"'
    assert head(pair(18, 18, 24, loose)).part("sensor").range_turns == 4.0  # 72 teeth of 18
    assert len(refused(pair(18, 17, 16, loose))) == 1


def test_play_counts_with_the_teeth_of_the_driving_gear(head, refused):
    errors = 'first_error = "5 deg", second_error = "5 deg"'  # 165 + 1.45 deg
    assert head(pair(more=errors)).part("sensor").play_rad is None
    assert refused(pair(more=f'{errors}, play = "0.4 deg"')) == [
        "sensor: teeth times errors, 16 x 5 + 17 x 5 + 33 x 0.04395 + 40 x 0.4, make 182.5 deg, and a wrong "
        "turn may be told, they must stay below 1 x 180 deg, by the common divisor of the teeth. Take "
        "sensors well within 5.45 deg each, or teeth with a larger common divisor."
    ]


def test_a_motion_longer_than_the_range_is_refused(refused):
    assert refused(pair(), low="-1300 deg", high="1300 deg") == [
        "sensor: the motion turns the driving gear 7.222 times, the pair of 16 and 17 teeth repeats after "
        "6.8 turns. Take teeth with a smaller common divisor, more of them, or divide the ratio by "
        "at least 1.06."
    ]


def test_a_motion_over_an_end_of_the_range_is_refused(refused):
    assert refused(pair(), mount='{ reading = "10 %" }') == [
        "sensor: clamped where it reads 10 %, the motion takes the pair from -19.4 % to 39.4 %, its range "
        "ends at 0 % and 100 %. Clamp it where it reads 50 % at the same mark: that centres the motion."
    ]


def test_an_endless_axis_needs_a_range_of_whole_turns(head, refused):
    endless = {"low": "-180 deg", "high": "180 deg", "motion": ", endless = true"}
    assert head(pair(68, 16, 17), **endless).motion.endless  # 272 / 68: four turns
    assert refused(pair(40, 16, 17), **endless) == [
        "sensor: the pair comes round after 6.8 turns of an endless axis, it must be a whole number of them. "
        "Take a driving gear whose teeth divide 272, at a ratio of 1."
    ]


@pytest.mark.parametrize(
    ("more", "line"),
    [
        (
            "first_teeth = 3",
            "sensor.first_teeth: it is '3', a whole number from 4 to 1000 belongs here. Give the teeth of "
            "the gear of the sensor that gives the fine position.",
        ),
        (
            "first_teeth = 16.5",
            "sensor.first_teeth: it is '16.5', a whole number from 4 to 1000 belongs here. Give the teeth of "
            "the gear of the sensor that gives the fine position.",
        ),
    ],
)
def test_teeth_that_cannot_be(refused, more, line):
    sensor = f'{{ kind = "gear-pair", driving_teeth = 40, second_teeth = 17, {more} }}'
    assert refused(sensor) == [line]


def test_missing_teeth_are_asked_for(refused):
    assert refused('{ kind = "gear-pair", driving_teeth = 40, first_teeth = 16 }') == [
        "sensor.second_teeth: it is missing. Give the teeth of the gear of the sensor that tells the turn."
    ]
