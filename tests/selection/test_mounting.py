"""What to read while a sensor is clamped, the room at both ends, the wrap, turns from a stop.

Expected values are worked out by hand from the geometry, or stand in the table worked out for the rover's
shoulder: 340 deg of track, 2 : 1, half of it at 47.5 deg, 3.3 V, 12 bit, no pull.
"""

import math
import re
from pathlib import Path
from typing import Any

import pytest

from anglewright.errors import RangeError, UsageError
from anglewright.jobs.opening import open_rig
from anglewright.rig import Axis
from anglewright.rigfile.reading import build_rig
from anglewright.selection.instructions import instructions, other_targets, reading_text, start_text
from anglewright.selection.margins import margins, repeat_step, sign_step
from anglewright.selection.mounting import (
    Ends,
    Mounting,
    clamp_target,
    ends_of_output,
    expected_at,
    mounting_at,
    reaches,
)
from anglewright.steps import Step

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"
DEG = math.pi / 180.0


def evaluated(step: Step) -> float:
    """A step's formula with its numbers."""
    assert re.fullmatch(r"[\w\s.+\-*/()]+", step.formula)
    return float(eval(step.formula, {"__builtins__": {}}, dict(step.numbers)))


@pytest.fixture(scope="module")
def shoulder() -> Axis:
    """The rover's shoulder without a pull."""
    return open_rig(ROVER / "no-pull.toml").axis("shoulder")


def axis(sensor: dict[str, Any], *, low: str, high: str, **tables: Any) -> Axis:
    """An axis that is clamped at mark 'a', and has a mark 'b'."""
    marks = {"a": {"at": tables.pop("at", "0 deg"), "how": "pin"}, "b": {"at": tables.pop("b", high)}}
    table = {
        "motion": {"from": low, "to": high, **tables.pop("motion", {})},
        "need": {"error": tables.pop("error", "1 deg")},
        "when_unpowered": "holds",
        "marks": marks,
        "sensor": sensor,
        "mount": {"clamped_at": "a", **tables.pop("mount", {})},
        "plan": {"zero_at": "a"},
        **tables,
    }
    return build_rig({"rig": "r", "axis": {"x": table}}, source="r.toml").axis("x")


def lift() -> Axis:
    """560 mm on a pinion of 20 teeth of 1 mm, a ten-turn track with stops 20 deg beyond its ends."""
    sensor = {"electrical_travel": "3600 deg", "mechanical_travel": "3640 deg"}
    drive = {"kind": "rack", "teeth": 20, "module": "1 mm"}
    mount = {"reading": "52 %"}
    return axis(
        sensor, low="0 mm", high="560 mm", at="300 mm", b="0 mm", drive=drive, mount=mount, error="2 mm"
    )


def steer(reading: str) -> Axis:
    """A wheel of 120 deg on an absolute sensor that sends words."""
    stops = {"low": "-66 deg", "high": "66 deg"}
    return axis({"kind": "serial"}, low="-60 deg", high="60 deg", mount={"reading": reading}, stops=stops)


def test_the_shoulder_is_clamped_at_the_readings_worked_out_for_it(shoulder: Axis) -> None:
    at_pin, at_stow = (clamp_target(mounting_at(shoulder, mark)) for mark in ("pin", "stow"))
    assert (at_pin.code, at_stow.code) == (2048, 421)
    assert [at_pin.volts, at_stow.volts] == [pytest.approx(1.65, abs=1e-6), pytest.approx(0.33971, abs=5e-6)]
    assert at_stow.angle == pytest.approx(35.0 * DEG)  # 10.29 % of 340 deg


def test_the_band_of_the_clamping_is_as_wide_as_its_error(shoulder: Axis) -> None:
    target = clamp_target(mounting_at(shoulder, "stow"))
    # 3 deg either way of 35 deg, on 340 deg of track at 3.3 V; by hand.
    assert target.volts_within == pytest.approx((3.3 * 32 / 340, 3.3 * 38 / 340), abs=1e-9)
    assert target.codes == (math.floor(4096 * 32 / 340), math.floor(4096 * 38 / 340))


def test_clamped_at_another_mark_every_position_reads_as_designed(shoulder: Axis) -> None:
    designed, moved = (mounting_at(shoulder, mark) for mark in ("pin", "stow"))
    for q in shoulder.positions(28):
        assert moved.angle(q) == pytest.approx(designed.angle(q), abs=1e-12)
        assert moved.chain.forward(q) == pytest.approx(designed.chain.forward(q), abs=1e-8)


def test_what_to_expect_at_the_other_mark_holds_the_designed_reading(shoulder: Axis) -> None:
    (target,) = other_targets(mounting_at(shoulder, "stow"))
    assert (target.mark, target.code) == ("pin", 2048)
    assert target.volts_within is not None
    low, high = target.volts_within
    # 3 deg of clamping alone are 29 mV of 3.3 V over 340 deg, and the play adds to them.
    assert low < 1.65 - 0.030
    assert high > 1.65 + 0.030


def test_the_limits_hold_more_where_more_is_unknown(shoulder: Axis) -> None:
    loose, tight = (
        open_rig(ROVER / "no-pull.toml", changes=[f"coupling.play={play} deg"]).axis("shoulder")
        for play in (6, 0)
    )
    (wide,), (narrow,) = (reaches(mounting_at(each, "pin"), (0.0,)) for each in (loose, tight))
    assert wide > narrow > 0.0


def test_room_at_both_ends_of_the_shoulder(shoulder: Axis) -> None:
    found = margins(mounting_at(shoulder, "pin"))
    # Shortest track 335 deg, half of it less 2 * 67.5 deg of shaft. Over-travel 2 * 8 deg; play 3 deg and the
    # backlash, 0.1 mm on a radius of 12 mm; clamping 3 deg; 5 deg to spare. By hand.
    needed = 16.0 + 3.0 + math.degrees(0.1 / 12.0) + 3.0 + 5.0
    for margin in found:
        assert margin.left.result == pytest.approx(335.0 / 2.0 - 135.0, abs=1e-9)
        assert margin.needed.result == pytest.approx(needed, abs=1e-3)
        assert margin.fine


def test_every_step_gives_its_result_when_evaluated(shoulder: Axis) -> None:
    for mounting in (
        mounting_at(shoulder, "stow"),
        mounting_at(lift(), "b"),
        mounting_at(steer("20 %"), "a"),
    ):
        steps = [step for margin in margins(mounting) for step in (margin.left, margin.needed)]
        steps += [sign_step(mounting), *filter(None, [repeat_step(mounting)])]
        assert [evaluated(step) for step in steps] == pytest.approx([step.result for step in steps])


def test_an_output_that_falls_is_told_with_its_sign(shoulder: Axis) -> None:
    falling = open_rig(ROVER / "no-pull.toml", changes=["mount.output=falls"]).axis("shoulder")
    mounting = mounting_at(falling, "stow")
    assert clamp_target(mounting).angle == pytest.approx(305.0 * DEG)
    assert sign_step(mounting).result == pytest.approx(-2 * 4096 / 340, rel=1e-9)
    assert mounting.sense == -1
    assert any("the reading falls." in line for line in instructions(mounting, ()))


def test_a_ten_turn_sensor_is_set_by_counting_turns_from_its_stop() -> None:
    lines = instructions(mounting_at(lift(), "a"), ())
    # 52 % of 10 turns, and 20 deg from the stop to the track: 5 turns and 0.2 * 360 + 20 deg; by hand.
    assert lines[1] == (
        "Loosen the clamp, turn the sensor's shaft by hand gently against its stop at the low end of its "
        "reading, then 5 turns and 92 deg back (5.26 turns)."
    )


def test_at_the_foot_of_the_lift_the_shaft_stands_where_the_pinion_took_it() -> None:
    target = clamp_target(mounting_at(lift(), "b"))
    # A turn is pi * 20 mm of travel.
    assert target.angle / (360 * DEG) == pytest.approx(5.2 - 300 / (20 * math.pi), abs=1e-9)


def test_without_a_stop_turns_are_counted_from_where_the_reading_begins() -> None:
    sensor = {"electrical_travel": "3600 deg", "mechanical_travel": "endless"}
    slipping = axis(sensor, low="0 deg", high="1800 deg", mount={"reading": "25 %"})
    assert instructions(mounting_at(slipping, "a"), ())[1] == (
        "Loosen the clamp, turn the sensor's shaft by hand to where the reading begins to rise at the low "
        "end of its reading, then 2 turns and 180 deg back (2.50 turns)."
    )


def test_an_absolute_sensor_tells_where_it_wraps_and_how_to_move_that() -> None:
    mounting = mounting_at(steer("20 %"), "a")
    assert mounting.ends is Ends.WRAP
    # A fifth of a turn below the mark, and a turn on; by hand.
    assert sorted(ends_of_output(mounting)) == pytest.approx([-72 * DEG, 288 * DEG])
    assert instructions(mounting, ())[3] == (
        "The reading wraps at -72 deg and 288 deg. That is too near: turn the sensor 108 deg on, so that it "
        "reads 50.0 % of full output here; the wrap then lies opposite the range."
    )


def test_moved_as_told_the_wrap_lies_opposite_the_range() -> None:
    mounting = mounting_at(steer("50 %"), "a")
    assert mounting.centred == pytest.approx(0.0, abs=1e-12)
    assert instructions(mounting, ())[3].endswith("That lies clear of the range.")
    assert [margin.left.result for margin in margins(mounting)] == pytest.approx([120.0, 120.0])


def test_at_power_up_a_reading_means_one_place_where_the_stops_allow_no_other() -> None:
    assert start_text(mounting_at(steer("50 %"), "a")) == (
        "At power-up each reading means one place only: the same one comes again 360 deg on, and the stops "
        "are 132 deg apart."
    )


def test_behind_a_gear_a_reading_can_mean_two_places() -> None:
    geared = axis(
        {"kind": "serial"},
        low="-40 deg",
        high="40 deg",
        drive={"gears": [80, 20]},
        stops={"low": "-46 deg", "high": "46 deg"},
    )
    assert start_text(mounting_at(geared, "a")) == (
        "At power-up a reading can mean two places: the same one comes again 90 deg on, and the stops are 92 "
        "deg apart. Start within the working range."
    )


def test_an_endless_axis_has_no_ends_and_keeps_its_wrap() -> None:
    motion = {"endless": True}
    head = axis({"kind": "magnetic"}, low="-180 deg", high="180 deg", motion=motion, b="90 deg")
    mounting = mounting_at(head, "a")
    assert margins(mounting) == ()
    assert repeat_step(mounting) is None
    assert instructions(mounting, ())[3].startswith(
        "The axis turns endlessly and so crosses the wrap, at -180"
    )


def test_a_sensor_that_counts_is_homed_not_clamped() -> None:
    reel = axis(
        {"kind": "incremental", "lines": 100},
        low="0 deg",
        high="3000 deg",
        mount={"kind": "homed"},
        need={"error": "5 deg", "homing": "allowed"},
    )
    mounting = mounting_at(reel, "a")
    lines = instructions(mounting, other_targets(mounting))
    assert mounting.ends is Ends.NONE
    assert (margins(mounting), list(ends_of_output(mounting))) == ((), [])
    assert lines[2].startswith(
        "Home it here from the rising side onto the switch; the counter is set to 0 there."
    )
    # 3000 deg are 8 1/3 turns of 400 counts.
    assert expected_at(mounting, 3000 * DEG, reach=0.0).code == 3333


def test_readings_are_told_in_volts_where_a_meter_shows_them(shoulder: Axis) -> None:
    assert reading_text(clamp_target(mounting_at(shoulder, "stow"))) == "0.34 V (0.31 to 0.37 V)"
    # 16384 positions a turn, half of them, and 3 deg either way.
    assert reading_text(clamp_target(mounting_at(steer("50 %"), "a"))) == "code 8192 (8055 to 8328)"


def test_a_narrow_band_is_told_to_a_millivolt() -> None:
    assert reading_text(clamp_target(mounting_at(lift(), "a"))).startswith("1.716 V (1.713 to 1.719 V)")


def test_a_mark_off_the_track_is_refused_with_where_the_shaft_would_stand() -> None:
    sensor = {"electrical_travel": "270 deg", "mechanical_travel": "300 deg"}
    arm = axis(sensor, low="-60 deg", high="60 deg", b="140 deg", stops={"low": "-60 deg", "high": "140 deg"})
    with pytest.raises(RangeError) as caught:
        mounting_at(arm, "b")
    assert str(caught.value) == (
        "axis 'x': at 'b' the sensor's shaft would stand 275 deg from the start of its track, the track is "
        "270 deg long. Clamp it at another mark."
    )


def test_an_unknown_mark_is_answered_with_the_nearest(shoulder: Axis) -> None:
    with pytest.raises(UsageError) as caught:
        mounting_at(shoulder, "pim")
    assert str(caught.value) == "axis 'shoulder': there is no mark 'pim'. Did you mean 'pin'?"


def test_the_witness_line_comes_last(shoulder: Axis) -> None:
    mounting: Mounting = mounting_at(shoulder, "pin")
    lines = instructions(mounting, other_targets(mounting))
    assert lines[0] == "Bring shoulder to the mark 'pin' at 47.5 deg: 6 mm pin through both plates."
    assert lines[-1].startswith("Paint a witness line over shaft, hub and body")
