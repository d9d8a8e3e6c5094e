"""Incremental sensors, their counter and the homing they need: counts by hand, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from anglewright.links.counter import Counter
from anglewright.rig import at_nominal, drawn, nudged, realise

FRAME = """
[axis.reel]
motion = {{ from = "{low}", to = "{high}" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
marks = {{ home = {{ at = "{home}" }} }}
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
sensor = {{ kind = "incremental", {sensor} }}
mount = {{ kind = "{mount}", clamped_at = "home"{more} }}
converter = {{ kind = "counter"{counter} }}
"""


def text_of(sensor="lines = 100", **given):
    """The rig file of a reel that turns from 0 to 720 deg, unless said otherwise."""
    usual = {"low": "0 deg", "high": "720 deg", "home": "0 deg", "mount": "homed", "more": "", "counter": ""}
    return FRAME.format(sensor=sensor, **(usual | given))


@pytest.fixture
def reel(built):
    return lambda *args, **given: built(text_of(*args, **given))


@pytest.fixture
def refused(complaints):
    return lambda *args, **given: complaints(text_of(*args, **given))


def link_of(axis, room, pick=at_nominal):
    rooms = [part.room for part in axis.chain_parts]
    return realise(axis, pick).links[rooms.index(room)]


def counts(axis, places_deg, pick=at_nominal):
    return np.asarray(realise(axis, pick).forward(np.radians(places_deg)))


# ---- counts by hand: 100 lines are 400 counts a turn, 0.9 deg each; home lies in the middle of its count


def test_a_turn_is_four_counts_a_line(reel):
    assert counts(reel(), [0.0, 0.44, 0.46, 360.1, 719.0]).tolist() == [0, 0, 1, 400, 799]


@pytest.mark.parametrize(("decode", "turn"), [(1, 100), (2, 200), (4, 400)])
def test_fewer_edges_are_fewer_counts(reel, decode, turn):
    axis = reel(counter=f", decode = {decode}")
    assert counts(axis, [360.01]).tolist() == [turn]
    assert axis.part("converter").describe() == f"32 bit counter, {decode} counts a line"


def test_an_output_that_falls_counts_down(reel):
    assert counts(reel(more=', output = "falls"'), [360.1]).tolist() == [-400]


def test_the_count_is_set_where_the_axis_was_homed(reel):
    assert counts(reel(home="360 deg"), [0.1, 360.1, 719.9]).tolist() == [-400, 0, 400]
    assert counts(reel(more=', reading = "300 %"'), [0.1]).tolist() == [1200]  # three turns put in at home


def test_where_within_a_count_home_lies_moves_every_count_alike(reel):
    places = np.arange(0.0, 700.0, 1.37)
    low, high = (counts(reel(counter=f', home_phase = "{phase} LSB"'), places) for phase in ("0", "0.999"))
    assert set((high - low).tolist()) <= {0.0, 1.0}
    # homed at the very start of a count: whole counts by the floor of the angle
    assert np.array_equal(low, np.floor(places / 0.9 + 1e-12))


def test_the_mean_count_of_any_homing_is_the_angle(reel):
    chain = realise(reel(), drawn(np.random.default_rng(2), builds=20_000))
    links = chain.links
    sensor = np.linspace(0.2, 0.21, 5)  # turns
    found = np.asarray(links[-1].forward(sensor)).mean(axis=0)
    assert np.allclose(found, 400.0 * sensor, atol=0.02)  # 0.29 / sqrt 20000, ten times over


def test_a_counter_of_sixteen_bits_goes_round():
    counter = Counter(width=16, per_turn=4, phase_counts=0.5)
    turns = np.array([8191.75, 8192.0, 8192.25, -8192.0, -8192.25])
    # 4 counts a turn: 32767, then -32768 and on; the same the other way
    assert counter.forward(turns).tolist() == [32767, -32768, -32767, -32768, 32767]
    assert (counter.codes.low, counter.codes.high, counter.codes.period) == (-32768, 32767, 65536)
    assert counter.codes.ends_valid
    assert replace(counter, rounded=False).forward(8192.25) == pytest.approx(32769.0, rel=1e-12)


# ---- errors of the lines


def test_an_eccentric_disc_errs_from_where_it_was_homed(reel):
    axis = reel('lines = 100000, line_error = "0 deg", once_per_turn = "0.5 deg"')
    waves = np.zeros(9)
    waves[1] = math.radians(0.5)  # a cosine: largest at home, and taken off everywhere
    sensor = replace(link_of(axis, "sensor"), waves=waves)
    places = np.radians([0.0, 90.0, 180.0, 360.0])
    error = np.degrees(2.0 * np.pi * np.asarray(sensor.forward(places)) - places)
    assert error == pytest.approx([0.0, -0.5, -1.0, 0.0], abs=1e-9)


def test_the_worst_disc_errs_by_twice_its_limit(reel):
    axis = reel('lines = 1000, line_error = "0.4 deg"')
    high = axis.part("sensor").waves.limits[1]
    moved = link_of(axis, "sensor", nudged("sensor.line_error", high))
    # at its limit one way at home and the other way here: 0.8 deg
    turns = moved.forward(1.0) - link_of(axis, "sensor").forward(1.0)
    assert 360.0 * turns == pytest.approx(0.8, rel=1e-9)


def test_no_drawn_disc_errs_more_than_that(reel):
    axis = reel('lines = 1000, line_error = "0.4 deg"')
    turns = link_of(axis, "sensor", drawn(np.random.default_rng(8), builds=2000)).forward(
        np.linspace(0.0, 6.0, 200)
    )
    error = 360.0 * (np.asarray(turns) - np.linspace(0.0, 6.0, 200) / (2.0 * np.pi))
    assert 0.6 < np.max(np.abs(error)) <= 0.8


def test_jitter_is_fresh_in_each_reading(reel):
    axis = reel('lines = 1000, line_error = "0 deg", edge_jitter = "0.1 deg rms"')
    pick = drawn(np.random.default_rng(4), builds=40, readings=500)
    turns = np.asarray(link_of(axis, "sensor", pick).forward(np.ones(500)))
    assert 360.0 * turns.std() == pytest.approx(0.1, rel=0.03)
    assert abs(360.0 * (turns - 1.0 / (2.0 * np.pi)).mean()) < 0.004


# ---- homing


def test_each_homing_finds_its_place_anew(reel):
    axis = reel(more=', within = "0 deg", repeatability = "0.5 deg"')
    (number,) = (each for each in axis.numbers if each.name == "repeatability")
    assert (number.variate.persistence.value, number.variate.half_width) == ("condition", math.radians(0.5))
    late = realise(axis, nudged(number.key, math.radians(0.5))).unrounded()
    assert late.forward(1.0) - realise(axis, at_nominal).unrounded().forward(1.0) == pytest.approx(0.5 / 0.9)


def test_an_index_ends_the_homing_within_a_count(reel):
    axis = reel('lines = 100, index = "yes"', more=', onto = "index"')
    assert "mount.repeatability" not in {number.key for number in axis.numbers}
    phase = next(number for number in axis.numbers if number.name == "home_phase").variate
    assert (phase.limits, phase.persistence.value) == ((0.0, 1.0), "condition")  # one count in all


def test_the_mount_says_that_it_is_homed_and_from_where(reel):
    mount = reel(more=', side = "falling", onto = "switch"').part("mount")
    assert (mount.needs_homing, mount.homing_side, mount.onto_index) == (True, -1, False)
    assert mount.describe() == "Homed falling onto the switch, output rises"
    assert reel().part("mount").homing_side == 1


def test_the_explanation_speaks_of_the_homing(reel):
    (step,) = link_of(reel(), "mount").explain(1.0)
    assert step.meaning == "turn of the sensor since it was homed"


def test_the_parts_that_go_with_it_need_not_be_named(built):
    text = text_of().replace('kind = "homed", ', "").replace('kind = "counter"', "")
    kinds = {part.room: part.kind for part in built(text).chain_parts}
    assert kinds["mount"] == "homed"
    assert kinds["wiring"] == "digital"
    assert kinds["converter"] == "counter"


# ---- what is refused


def test_a_sensor_that_is_only_clamped_is_refused(refused):
    assert refused(mount="clamp") == [
        "sensor: an incremental sensor forgets where it is when it loses its supply, and is never homed. "
        'Write kind = "homed" in the mount, with the mark it is homed at.'
    ]


def test_an_index_that_is_not_there_is_refused(refused):
    assert refused(more=', onto = "index"') == [
        'sensor: the homing ends at an index, and it has none. Write index = "yes" if the sensor has one, '
        'else onto = "switch" in the mount.'
    ]


def test_a_switch_that_cannot_tell_one_index_from_the_next_is_refused(refused):
    found = refused('lines = 100, index = "yes"', more=', onto = "index", repeatability = "200 deg"')
    assert found == [
        "mount: the switch repeats within 200 deg of the sensor's shaft, an index comes once in 360 deg and "
        "cannot be told from the next beyond 180 deg. Take a better switch, or a lower ratio."
    ]


def test_more_counts_than_the_counter_holds_are_refused(refused):
    # 100 turns of 400 counts
    assert refused(high="36000 deg", counter=', width = "16 bit"') == [
        "converter: the motion takes the count from 0 to 40000, the 16-bit counter goes round at -32768 and "
        "32767. Take a counter of 17 bits or more, or home at a mark nearer to the middle of the range."
    ]


def test_homed_in_the_middle_the_same_counter_holds_them(reel):
    assert reel(high="36000 deg", home="18000 deg", counter=', width = "16 bit"').codes.high == 32767


def test_more_counts_than_any_counter_holds_are_refused(refused):
    assert refused("lines = 1000000", high="360000 deg") == [
        "converter: the motion takes the count from 0 to 4000000000, the 32-bit counter goes round at "
        "-2147483648 and 2147483647. Take fewer lines or a smaller ratio, or home at a mark nearer to the "
        "middle of the range."
    ]


def test_three_edges_of_a_line_are_refused(refused):
    assert refused(counter=", decode = 3") == [
        "converter: 3 edges of a line cannot be counted. Write decode = 1, 2 or 4."
    ]


def test_lines_are_asked_for(refused):
    assert refused('index = "no"') == [
        "sensor.lines: it is missing. Give the lines of one turn, on each of its two tracks."
    ]


def test_a_counter_behind_a_track_is_refused(complaints):
    text = text_of(mount="clamp", high="90 deg", home="45 deg").replace(
        '"incremental", lines = 100', '"potentiometer"'
    )
    assert complaints(text) == [
        "converter: a counter must follow a sensor with lines to count. Change the sensor's or "
        "converter's kind."
    ]
