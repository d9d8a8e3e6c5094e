"""Travel: the motion on the track, room at its ends, the sensor's own stop, codes per permissible error."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]


def test_the_rover_uses_a_tenth_to_nine_tenths_of_its_track(found: Found) -> None:
    use = found()["use-of-track"]
    # By hand: 67.5 deg either side of mid-track at 2 turns a turn is 135 of 340 deg: 50 % - 39.706 %.
    assert use.measured == pytest.approx(50.0 - 100.0 * 135.0 / 340.0)
    assert (use.severity, use.limit) == (Severity.NOTE, 10.0)
    assert use.text == "The track is used from 10.3 % to 89.7 %, inside the usual 10 % to 90 %."


def test_an_off_centre_clamping_is_told_where_to_clamp(found: Found) -> None:
    use = found("mount.reading=42 %")["use-of-track"]
    assert use.severity is Severity.CAUTION
    assert use.text.startswith("The track is used from 2.29 % to 81.7 %: less than 5 % is left at an end")
    assert use.remedy == "Clamp the sensor where it reads 50 % at 'pin': that centres the motion."


def test_a_motion_too_long_for_the_track_is_told_how_much_ratio_to_take_off(found: Found) -> None:
    use = found("sensor.electrical_travel=300 deg")["use-of-track"]
    # By hand: 270 of 300 deg is 90 %, allowed are 80 %: 1.125 times too much.
    assert use.severity is Severity.CAUTION
    assert use.remedy == "Divide the ratio of the drive by at least 1.12, or take a sensor with more travel."


def test_the_room_at_the_end_is_counted_as_the_rule_says(found: Found) -> None:
    margin = found()["end-margin"]
    # By hand, of the shaft: track at its shortest 335 deg, half of it less 135 deg leaves 32.5 deg; needed
    # 8 deg of over-travel times 2, 3 deg of play and 0.2387 deg of backlash times 2, 3 deg clamping, 5 deg.
    backlash = 2.0 * 0.1 / 48.0 * 180.0 / 3.141592653589793
    assert margin.measured == pytest.approx(32.5)
    assert margin.limit == pytest.approx(16.0 + 3.0 + 2.0 * backlash + 3.0 + 5.0)
    assert margin.severity is Severity.NOTE


@pytest.mark.parametrize(
    ("stop", "severity"),
    # By hand: 32.5 deg left, 11.4775 deg needed beside the over-travel, which may be 21.02 deg of the
    # shaft = 10.51 deg of the joint; beyond 16.25 deg the wiper is off the track.
    [("-30.5 deg", Severity.NOTE), ("-30.6 deg", Severity.CAUTION), ("-36.2 deg", Severity.CAUTION),
     ("-36.3 deg", Severity.STOP)],
)  # fmt: skip
def test_the_further_the_mechanism_goes_the_worse_it_is(found: Found, stop: str, severity: Severity) -> None:
    margin = found(f"stops.low={stop}")["end-margin"]
    assert margin.severity is severity
    assert ("leaves the track" in margin.text) == (severity is Severity.STOP)


def test_an_endless_sensor_has_no_stop_to_break(found: Found) -> None:
    assert found()["sensor-stop"].severity is Severity.NOTE


@pytest.mark.parametrize(
    ("travel", "severity"),
    # By hand: half of 340 deg less 135 deg is 35 deg to the track's end, plus half the rest of the mechanical
    # travel; needed 27.48 deg, of which 5 deg to spare; a shorter track of 320 deg leaves 25 deg.
    [("360 deg", Severity.NOTE), ("324 deg", Severity.CAUTION), ("314 deg", Severity.STOP)],
)
def test_the_sensors_own_stop_is_kept_out_of_reach(found: Found, travel: str, severity: Severity) -> None:
    changes = (f"sensor.mechanical_travel={travel}", "sensor.electrical_travel=310 deg")
    stop = found(*changes)["sensor-stop"]
    assert stop.severity is severity
    # By hand: the wiper's room is half the mechanical travel less 135 deg.
    assert stop.measured == pytest.approx(float(travel.split()[0]) / 2.0 - 135.0)


def test_assumed_stops_are_said_to_be_assumed(found: Found) -> None:
    assert "(assumed)" in found("stops={}")["end-margin"].text
    assert "(assumed)" not in found()["end-margin"].text


def test_codes_per_permissible_error_without_a_pull(found: Found) -> None:
    counts = found(rig="no-pull")["counts"]
    # Worked out beforehand: 4096 * 2 / 340 = 24.094 counts per degree, and the need is 1 deg.
    assert counts.measured == pytest.approx(4096.0 * 2.0 / 340.0, rel=1e-9)
    assert "24.094 codes per deg" in counts.text


@pytest.mark.parametrize(("bits", "severity"), [(11, Severity.NOTE), (10, Severity.CAUTION)])
def test_fewer_than_ten_codes_per_permissible_error_are_a_caution(
    found: Found, bits: int, severity: Severity
) -> None:
    # By hand: 12 codes a degree with 11 bits, 6 with 10.
    assert found(f"converter.bits={bits}", rig="no-pull")["counts"].severity is severity


@pytest.mark.parametrize(
    ("strength", "severity", "says"),
    # Typical data sheets, from memory: such a stop holds 0.3 to 0.6 N m. By hand: half of it arrives at a
    # shaft that turns twice as fast.
    [("0.62 N m", Severity.STOP, "with 0.31 N m at its shaft: no weaker than such a stop"),
     ("0.58 N m", Severity.CAUTION, "with 0.29 N m at its shaft: weaker than such a stop"),
     (None, Severity.STOP, "which holds 0.3 to 0.6 N m: any gearmotor beats that")],
)  # fmt: skip
def test_the_motor_is_held_against_the_strength_of_the_stop(
    found: Found, strength: str | None, severity: Severity, says: str
) -> None:
    changes = ["sensor.mechanical_travel=314 deg", "sensor.electrical_travel=310 deg"]
    changes += [f"motion.strength={strength}"] if strength else []
    stop = found(*changes)["sensor-stop"]
    assert stop.severity is severity
    assert says in stop.text


def test_the_reading_at_the_clamping_is_no_place_on_a_track_with_end_resistance(found: Found) -> None:
    ends = ("sensor.track=10 kohm", "sensor.end_resistance=1 kohm", "sensor.electrical_travel=340 deg")
    # By hand: 42 % of 12 kohm are 5040 ohm, 4040 of them on the track of 10 kohm: 40.4 %, 137.36 of 340 deg.
    # 135 deg less leave 2.36 deg at the low end, and 135 more 67.64 deg.
    keys = found(*ends, "mount.reading=42 %")
    assert keys["use-of-track"].measured == pytest.approx(100.0 * 2.36 / 340.0)
    assert keys["end-margin"].measured == pytest.approx(2.36)
    # The remedy speaks of readings again: mid-track reads 50 %.
    assert keys["use-of-track"].remedy == (
        "Clamp the sensor where it reads 50 % at 'pin': that centres the motion."
    )
