"""Codes and steps per permissible error for every kind of sensor; expected values by hand beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
WORDS = ("wiring={}", "converter={}")


@pytest.mark.parametrize(
    ("sensor", "per_degree"),
    # By hand, at 2 turns of the sensor a turn and 1 deg: 2^14 words, 4096 pulses, 4 * 500 edges of 360 deg;
    # 2^12 words of a gear of 16 teeth on one of 16.
    [("{kind='serial'}", 2**14 / 180.0), ("{kind='pulse-width'}", 4096 / 180.0),
     ("{kind='incremental', lines=500}", 2000 / 180.0),
     ("{kind='gear-pair', driving_teeth=16, first_teeth=16, second_teeth=17}", 4096 / 180.0)],
)  # fmt: skip
def test_every_kind_is_asked_for_ten_codes(found: Found, sensor: str, per_degree: float) -> None:
    counts = found(f"sensor={sensor}", *WORDS, "mount={clamped_at='pin'}")["counts"]
    assert counts.measured == pytest.approx(per_degree, rel=1e-6)
    assert counts.severity is Severity.NOTE


@pytest.mark.parametrize(("lines", "severity"), [(450, Severity.NOTE), (449, Severity.CAUTION)])
def test_ten_codes_are_enough(found: Found, lines: int, severity: Severity) -> None:
    # By hand: 4 * 450 edges over 180 deg of the joint are 10 a degree.
    changes = (f"sensor={{kind='incremental', lines={lines}}}", *WORDS, "mount={clamped_at='pin'}")
    assert found(*changes)["counts"].severity is severity


@pytest.mark.parametrize(("bits", "severity"), [(11, Severity.NOTE), (10, Severity.CAUTION)])
def test_steps_inside_a_sensor_count_whatever_the_converter(
    found: Found, bits: int, severity: Severity
) -> None:
    # By hand: 2^11 steps over 180 deg are 11.4 a degree, 2^10 5.7.
    steps = found(f"sensor={{kind='magnetic', resolution={bits}}}")["sensor-steps"]
    assert steps.measured == pytest.approx(2**bits / 180.0, rel=1e-6)
    assert steps.severity is severity


def test_turns_of_wire_are_steps_too(found: Found) -> None:
    steps = found("sensor.windings=1700")["sensor-steps"]
    # By hand: 1700 turns of wire on 340 deg of the shaft, 170 deg of the joint.
    assert steps.measured == pytest.approx(10.0, rel=1e-6)
    assert steps.text == (
        "The sensor itself goes in steps, 1800 a turn of its shaft: 10 of them per permissible error; at "
        "least 10 are wanted."
    )


def test_a_smooth_track_has_no_steps(found: Found) -> None:
    assert "sensor-steps" not in found()
