"""What happens without power, marks, clamping, play, and the cautions that go with them."""

import math
from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review.cautions import MECHANISMS

Found = Callable[..., Mapping[str, Finding]]


def test_an_arm_that_drops_is_to_be_braked_and_never_let_coast(found: Found) -> None:
    unpowered = found()["unpowered"]
    assert unpowered.severity is Severity.CAUTION
    assert unpowered.text == "With the motor off the mechanism drops."
    assert unpowered.remedy.startswith("Brake and hold; do not let the motor coast.")


@pytest.mark.parametrize("mechanism", MECHANISMS)
def test_what_moves_by_itself_is_cautioned_and_what_holds_is_noted(found: Found, mechanism: str) -> None:
    keys = found(f"when_unpowered={mechanism}")
    expected = Severity.NOTE if mechanism == "holds" else Severity.CAUTION
    assert {keys[key].severity for key in ("unpowered", "calibrating", "before-work")} == {expected}


@pytest.mark.parametrize(
    "said",
    ["not a safety device", "motor's power physically removed", "out of its coupling", "First power-up",
     "lock it out", "ISO 12100", "ISO 13849-1", "IEC 60204-1", "licensed"],
)  # fmt: skip
def test_every_caution_that_can_save_a_hand_is_among_the_findings(found: Found, said: str) -> None:
    assert said in " ".join(finding.text for finding in found().values())


def test_marks_are_listed_and_a_mark_nobody_can_find_is_a_caution(found: Found) -> None:
    assert found()["marks"].text == "Marks that can be found again: 'pin' at 47.5 deg, 'stow' at -20 deg."
    unsaid = found('marks.pin={ at = "47.5 deg" }')
    assert unsaid["marks"].severity is Severity.CAUTION
    assert unsaid["marks"].text == ("It is not said how to find 'pin' again; 'stow' at -20 deg can be found.")
    assert unsaid["zero-mark"].severity is Severity.CAUTION
    assert "nobody says how well" in unsaid["zero-mark"].text


@pytest.mark.parametrize(
    ("within", "severity"), [("0.33 deg", Severity.NOTE), ("0.34 deg", Severity.CAUTION)]
)
def test_the_zero_mark_is_to_be_three_times_better_than_the_need(
    found: Found, within: str, severity: Severity
) -> None:
    assert found(f"marks.pin.within={within}")["zero-mark"].severity is severity


def test_clamping_by_hand_is_off_by_half_its_tolerance_at_the_joint(found: Found) -> None:
    clamping = found()["clamping"]
    # By hand: 3 deg of shaft through 2 turns a turn is 1.5 deg of the joint, over the need of 1 deg.
    assert (clamping.measured, clamping.severity) == (pytest.approx(1.5), Severity.CAUTION)
    assert found("mount.within=1 deg")["clamping"].severity is Severity.NOTE


def test_play_adds_up_through_the_chain(found: Found) -> None:
    play = found()["play"]
    # Worked out beforehand: 3 deg of shaft is 0.75 deg either way at the joint; backlash by hand:
    # 2 * 0.1 mm / 48 mm in all, half of it either way.
    assert play.measured == pytest.approx(0.75 + math.degrees(0.1 / 48.0))
    assert play.severity is Severity.CAUTION
    assert "most of it in the coupling (±0.75 deg)" in play.text


@pytest.mark.parametrize(
    ("changes", "severity"),
    [(("coupling.play=3.6 deg",), Severity.STOP), (("coupling.play=0.8 deg",), Severity.NOTE),
     (("coupling.play=3.6 deg", "motion.settles=one-sided"), Severity.NOTE)],
)  # fmt: skip
def test_play_counts_in_full_unless_the_axis_always_comes_from_one_side(
    found: Found, changes: tuple[str, ...], severity: Severity
) -> None:
    assert found(*changes)["play"].severity is severity


def test_a_chain_without_play_says_so(found: Found) -> None:
    play = found("coupling={kind='rigid'}", "drive.backlash=0 mm")["play"]
    assert (play.severity, play.measured) == (Severity.NOTE, 0.0)


RIGID, FLEXIBLE = "coupling={kind='rigid'}", "coupling={kind='flexible'}"


@pytest.mark.parametrize(
    ("coupling", "body", "severity", "begins"),
    [(RIGID, "fixed", Severity.CAUTION, "Shaft and body are both held rigidly: two bearings in line"),
     (RIGID, "held against rotation", Severity.NOTE, "One of shaft and body is free to float"),
     (RIGID, "not said", Severity.NOTE, "The coupling is rigid, and it is not said how the sensor's body is"),
     (FLEXIBLE, "fixed", Severity.NOTE, "One of shaft and body is free to float"),
     (FLEXIBLE, "held against rotation", Severity.CAUTION, "Neither shaft nor body is held: behind"),
     (FLEXIBLE, "not said", Severity.NOTE, "The coupling is flexible, and it is not said how the sensor's"),
     ("coupling.play=3 deg", "fixed", Severity.NOTE, "The coupling gives way by its own play or joints")],
)  # fmt: skip
def test_one_of_shaft_and_body_floats(
    found: Found, coupling: str, body: str, severity: Severity, begins: str
) -> None:
    finding = found(coupling, f"mount.body={body}")["body"]
    assert finding.severity is severity
    assert finding.text.startswith(begins)


@pytest.mark.parametrize(
    ("bore", "severity", "says"),
    [("6 mm", Severity.NOTE, "they are of one size"), ("6.35 mm", Severity.CAUTION, "it sits off its centre"),
     ("0.25 in", Severity.CAUTION, "it sits off its centre"),
     ("5 mm", Severity.CAUTION, "it does not go on")],
)  # fmt: skip
def test_6_millimetres_are_not_a_quarter_of_an_inch(
    found: Found, bore: str, severity: Severity, says: str
) -> None:
    finding = found("mount.shaft=6 mm", f"mount.bore={bore}")["shaft-and-bore"]
    assert finding.severity is severity
    assert says in finding.text


def test_without_both_sizes_nothing_is_said_of_them(found: Found) -> None:
    assert "shaft-and-bore" not in found("mount.bore=6 mm")
    assert "shaft-and-bore" not in found()


def test_the_clamping_error_is_that_of_the_track_and_not_of_its_ends(found: Found) -> None:
    # By hand: 3 deg of shaft at 2 turns a turn are 1.5 deg of the joint, whatever lies at the ends.
    assert found("sensor.end_resistance=500 ohm")["clamping"].measured == pytest.approx(1.5)
