"""Magnetic absolute sensors: steps, wrap, hysteresis, delay, an eccentric track, and what is refused."""

import math
from dataclasses import replace

import numpy as np
import pytest

from anglewright.errors import RigError
from anglewright.links.absolute import AbsoluteSensor
from anglewright.links.magnetic import MagneticPart
from anglewright.links.protocol import Port, ReadingPort, VoltagePort
from anglewright.rig import at_nominal, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.reading import build_rig

TURN = 2.0 * math.pi

FRAME = """
[axis.pan]
motion = {{ from = "{low}", to = "{high}", endless = {endless} }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
marks = {{ pin = {{ at = "{pin}" }} }}
drive = {drive}
coupling = {{ kind = "rigid" }}
sensor = {{ kind = "{kind}"{more} }}
mount = {{ clamped_at = "pin", reading = "{reading}" }}
plan = {{ zero_at = "pin" }}
"""
USUAL = {
    "low": "-120 deg",
    "high": "120 deg",
    "endless": "false",
    "pin": "0 deg",
    "drive": '{ kind = "direct" }',
    "kind": "serial",
    "more": "",
    "reading": "50 %",
}


def axis_of(**given):
    text = FRAME.format(**USUAL | given)
    return build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("pan")


def complaint_of(**given):
    with pytest.raises(RigError) as refused:
        axis_of(**given)
    return [str(each) for each in refused.value.problems]


def sensor(**given):
    usual = {
        "positions": 4096,
        "waves": np.zeros(9),
        "off_centre": None,
        "half_hysteresis_rad": 0.0,
        "noise_rad": 0.0,
        "delay_s": 0.0,
        "reading": 0.5,
        "port": Port(),
    }
    return AbsoluteSensor(**usual | given)


def position(share, positions=4096):
    """The whole position behind a share that stands in the middle of its step."""
    return share * positions - 0.5


def test_one_turn_has_as_many_steps_as_the_word_and_no_more():
    link = sensor()
    turn = (np.arange(4096) + 0.5) / 4096 * TURN - math.pi
    assert np.array_equal(position(link.forward(turn)), np.arange(4096.0))
    for share in link.forward(np.linspace(-20.0, 20.0, 5001)):
        assert 0.0 < share < 1.0


@pytest.mark.parametrize(
    ("beyond", "expected"), [(-1e-9, 4095.0), (0.0, 0.0), (1e-9, 0.0), (-1.6e-3, 4094.0)]
)
def test_at_the_wrap_full_scale_is_followed_by_zero(beyond, expected):
    link = sensor(reading=0.0)  # the wrap lies at the clamping
    assert position(link.forward(beyond)) == expected
    assert position(link.forward(np.array([beyond]))[0]) == expected


@pytest.mark.parametrize("positions", [1000, 4096, 4095, 16384])
def test_any_number_of_positions_comes_out_whole(positions):
    turn = (np.arange(positions) + 0.5) / positions * TURN - math.pi
    found = sensor(positions=positions).forward(turn) * positions - 0.5
    assert np.allclose(found, np.arange(positions), rtol=0.0, atol=1e-9)


def test_hysteresis_at_the_wrap_lets_the_direction_decide():
    half = math.radians(0.5)
    link = sensor(half_hysteresis_rad=half)
    just_beyond, just_before = math.pi + half / 2.0, math.pi - half / 2.0
    assert position(link.forward(just_beyond, side=1)) == pytest.approx(4095, abs=6)  # not yet round
    assert position(link.forward(just_beyond, side=-1)) == pytest.approx(8, abs=6)
    assert position(link.forward(just_before, side=1)) == pytest.approx(4087, abs=6)
    assert position(link.forward(just_before, side=-1)) == pytest.approx(0, abs=6)  # not yet back


def test_moving_about_the_wrap_within_the_hysteresis_changes_nothing():
    half = math.radians(0.5)
    link = sensor(half_hysteresis_rad=half)
    t = np.arange(400) * 1e-3
    there = np.linspace(2.5, math.pi + half / 2.0, 200)
    shaking = math.pi + half / 2.0 - half * (1.0 - np.cos(np.arange(200) / 5.0)) / 2.0
    path, _ = link.follow(np.concatenate([there, shaking]), t, None)
    assert len(set(path[200:])) == 1
    assert path[-1] == link.forward(math.pi + half / 2.0, side=1)


def test_without_rounding_there_is_no_wrap():
    smooth = replace(sensor(), rounded=False)
    assert smooth.forward(3.0 * math.pi) == pytest.approx(2.0)
    assert smooth.forward(-3.0 * math.pi) == pytest.approx(-1.0)


def test_a_reading_is_traced_to_the_turn_that_holds_the_clamping():
    link = sensor(reading=0.25)
    assert link.backward(0.25) == 0.0
    assert link.backward(0.0) == pytest.approx(-TURN / 4.0)
    assert link.backward(1.0) == pytest.approx(3.0 * TURN / 4.0)


def test_a_delay_smears_by_speed_times_delay_and_never_across_the_wrap():
    speed, delay = math.radians(360.0), 2e-3
    link = sensor(delay_s=delay, reading=0.0)
    t = np.arange(0.0, 2.0, 1e-3)
    path, _ = link.follow(speed * t, t, None)
    lag = np.mod(speed * t / TURN - path, 1.0)
    # 360 deg/s times 2 ms: 0.72 deg, of which a step of 0.088 deg may hide a half either way
    assert np.degrees(lag[10:] * TURN) == pytest.approx(np.full(len(t) - 10, 0.72), abs=0.05)
    jumps = np.diff(path)
    assert set(np.round(jumps * 4096)) <= {4.0, 5.0, -4092.0, -4091.0, 0.0, 1.0, 2.0, 3.0}


def test_an_eccentric_track_reads_as_geometry_says():
    coefficients = np.zeros(9)
    coefficients[1] = 0.1e-3  # a tenth of a millimetre towards where the sensor reads nothing
    link = replace(sensor(off_centre=coefficients / 10e-3, reading=0.0), rounded=False)
    turn = np.radians(np.arange(1.0, 360.0))
    # the head sees the point at that angle from a centre that lies 0.1 mm aside, on a circle of 10 mm
    seen = np.unwrap(np.arctan2(10.0 * np.sin(turn), 10.0 * np.cos(turn) + 0.1))
    assert np.allclose(np.asarray(link.forward(turn)) * TURN, seen, rtol=0.0, atol=1e-12)
    assert np.max(np.abs(link.departure(turn))) == pytest.approx(math.radians(0.573), abs=1e-5)
    assert np.allclose(link.backward(link.forward(turn)), turn, rtol=0.0, atol=1e-12)


def test_the_sensor_lets_the_wiring_know_its_levels():
    link = part_of({"output_low": "5 %", "output_high": "95 %"}).link(
        nominal_values(), ReadingPort(reading=0.5)
    )
    assert isinstance(link.port, VoltagePort)
    assert (link.port.low, link.port.high, link.port.source_ohm) == (0.1, 0.9, 100.0)  # as the values say


def part_of(table):
    reader = TableReader()
    fields = reader.fields(table, MagneticPart.KEYS, where="sensor")
    assert reader.problems == []
    return MagneticPart(**fields)


def nominal_values():
    return {number.field: number.variate.nominal for number in part_of({}).numbers}


def test_a_voltage_of_a_magnetic_sensor_runs_over_its_window():
    axis = axis_of(kind="magnetic", low="-170 deg", high="170 deg", more=', hysteresis = "0 deg"')
    chain = realise(axis, at_nominal).unrounded()
    # 10 to 90 % of 4096 codes over 360 deg, half a code below the middle of the code
    for at_deg in (-170.0, 0.0, 33.0, 170.0):
        expected = 4096.0 * (0.1 + 0.8 * (0.5 + at_deg / 360.0)) - 0.5
        assert chain.forward(math.radians(at_deg)) == pytest.approx(expected, abs=1e-9)


def test_a_wrap_inside_the_range_is_refused_where_it_falls_with_its_cure():
    assert complaint_of(reading="90 %") == [
        "rover.toml, axis 'pan', sensor: clamped where it reads 90 %, its reading wraps within the motion, "
        "the wrap falls where the shaft has turned 36 deg from the clamping. "
        "Clamp it where it reads 50 % at the same mark: that centres the motion."
    ]


def test_the_cure_of_a_wrap_is_one():
    (sentence,) = complaint_of(low="-10 deg", high="230 deg", reading="80 %")
    assert "reads 19.4 %" in sentence  # 50 % less (110 / 360) of a turn
    assert axis_of(low="-10 deg", high="230 deg", reading="19.4 %")


def test_more_than_one_turn_is_refused_with_the_ratio_that_fits():
    assert complaint_of(drive='{ kind = "gears", gears = [48, 24], module = "1 mm" }') == [
        "rover.toml, axis 'pan', sensor: the motion turns the shaft 480 deg, its reading comes round after "
        "360 deg. Divide the ratio by at least 1.33, or take a sensor with more turns."
    ]


def test_an_endless_motion_wants_a_ratio_of_one():
    endless = {"low": "-180 deg", "high": "180 deg", "endless": "true"}
    assert complaint_of(**endless, drive='{ kind = "gears", gears = [48, 24], module = "1 mm" }') == [
        "rover.toml, axis 'pan', sensor: the shaft turns 2 times per turn of the axis: the reading cannot "
        "tell which. Put the sensor on the axis itself, at a ratio of 1."
    ]
    assert complaint_of(**endless, drive='{ kind = "gears", gears = [24, 48], module = "1 mm" }') == [
        "rover.toml, axis 'pan', sensor: the shaft turns 0.5 times per turn of the axis: the reading cannot "
        "tell which. Put the sensor on the axis itself, at a ratio of 1."
    ]
    assert axis_of(**endless, reading="13 %").motion.endless


@pytest.mark.parametrize(
    ("kind", "more", "complaint"),
    [
        (
            "magnetic",
            ', output_low = "90 %", output_high = "10 %"',
            "sensor: its output runs from 90 % to 10 % of the feed, output_low must lie "
            "below output_high, and both within 0 to 100 %. Mend output_low or output_high.",
        ),
        (
            "magnetic",
            ', output_high = "120 %"',
            "sensor: its output runs from 10 % to 120 % of the feed, output_low must lie "
            "below output_high, and both within 0 to 100 %. Mend output_low or output_high.",
        ),
        (
            "serial",
            ', off_centre = "6 mm"',
            "sensor: its track lies 6 mm off its centre, at a radius of 10 mm, it must stay below half the "
            "radius. Mend off_centre or track_radius.",
        ),
        (
            "pulse-width",
            ", positions = 4098",
            "sensor: its longest pulse is 4098 clocks, the frame ends after 4098. "
            "Mend positions, first or frame.",
        ),
        (
            "serial",
            ', non_linearity = "40 deg"',
            "sensor.non_linearity: '40 deg' cannot be, a limit lies in 0 to 30 deg. Write the limit, as in "
            '"1 deg".',
        ),
        (
            "serial",
            ', track_radius = "12 mm"',
            "sensor.track_radius: it plays no part without 'off_centre'. Give 'off_centre' too, or "
            "leave it out.",
        ),
    ],
)
def test_what_cannot_be_is_refused(kind, more, complaint):
    assert complaint_of(kind=kind, more=more) == [f"rover.toml, axis 'pan', {complaint}"]


def test_wiring_and_converter_follow_the_kind_of_sensor():
    for kind, wiring, converter in (
        ("magnetic", "analogue", "adc"),
        ("pulse-width", "digital", "pulse-timer"),
        ("serial", "digital", "serial-word"),
    ):
        axis = axis_of(kind=kind)
        assert (axis.part("wiring").kind, axis.part("converter").kind) == (wiring, converter)
