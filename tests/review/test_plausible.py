"""Driven but not moving, and faster than the motor; expected values by the hand arithmetic beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review.axis import review_axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

Found = Callable[..., Mapping[str, Finding]]
TIGHT = ("coupling={kind='rigid'}", "drive.backlash=0 mm")


@pytest.mark.parametrize(
    ("speed", "severity"),
    # By hand: 20 % of it for 250 ms are a twentieth of a second's way; 1 deg must be seen.
    [("20.1 deg/s", Severity.NOTE), ("19.9 deg/s", Severity.CAUTION)],
)
def test_a_slow_axis_must_be_waited_for(found: Found, speed: str, severity: Severity) -> None:
    finding = found(*TIGHT, f"motion.speed={speed}")["not-moving"]
    assert finding.severity is severity
    assert finding.limit == pytest.approx(1.0)


def test_the_play_must_be_taken_up_first(found: Found) -> None:
    finding = found("motion.speed=20.1 deg/s", "drive.backlash=0 mm")["not-moving"]
    # By hand: 3 deg of play at the sensor are 1.5 deg of the joint: 2.5 deg at 4.02 deg/s take 622 ms.
    assert finding.text == (
        "At 20 % drive the axis gets 1.01 deg in 250 ms; 2.5 deg must be seen, the least that counts and all "
        "the play."
    )
    assert (
        finding.remedy == "Wait 622 ms before a reading that stands still is a fault, or take out the play."
    )


def test_without_a_speed_it_is_a_caution(found: Found) -> None:
    finding = found("motion={from='-20 deg', to='115 deg'}")["not-moving"]
    assert (finding.severity, finding.measured) == (Severity.CAUTION, None)
    assert finding.remedy.startswith(
        "Give motion.speed. The usual check: over 20 % drive for 250 ms with less"
    )


def test_what_the_motor_cannot_do_is_a_limit_for_a_check(found: Found) -> None:
    finding = found("loop.sample=50 Hz")["too-fast"]
    assert finding.measured == pytest.approx(1.8)  # 90 deg/s over 50 a second
    assert finding.text == "From one sample to the next the axis gets 1.8 deg at most."


def test_a_motion_along_a_line_counts_from_twice_its_need() -> None:
    text = """
[axis.mast]
motion = { from = "0 mm", to = "560 mm", speed = "100 mm/s" }
need = { error = "2 mm" }
when_unpowered = "sinks"
drive = { kind = "rack", module = "1 mm", teeth = 20, backlash = "0 mm" }
coupling = { kind = "rigid" }
sensor = { kind = "potentiometer", electrical_travel = "3600 deg", mechanical_travel = "3600 deg" }
"""
    axis = build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("mast")
    finding = next(each for each in review_axis(axis) if each.key == "not-moving")
    assert finding.measured == pytest.approx(5.0)
    assert finding.limit == pytest.approx(4.0)
    assert finding.unit == "mm"
