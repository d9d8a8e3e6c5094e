"""`verify` holds the record in use, or constants of the code, against fresh points."""

import math
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.calibration.verification import Outcome
from anglewright.errors import DataError, UsageError
from anglewright.findings import Severity
from anglewright.jobs.benchpoints import reference_of
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.comparing import error_of
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig
from anglewright.jobs.verified import RULE, VerifyResult
from anglewright.jobs.verifying import USUAL, Verifying, verify
from anglewright.jobs.withdrawing import withdraw
from anglewright.jobs.zeroing import zero
from anglewright.rig import Rig
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import keep_record, record_in_use

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
DEG = 4096 / 170  # counts in a degree of the shoulder: 340 deg of sensor through 2:1 gears

Rows = list[tuple[float, float, str]]


def swept(*, moved: float = 0.0, play: float = 0.0, places: tuple[float, ...] = PLACES) -> Rows:
    """Readings up and down of a shoulder whose sensor `moved`, with `play` in all, at the joint. [deg]"""
    sweep = [(q, 1) for q in places] + [(q, -1) for q in places[::-1]]
    return [
        (q, round(2048 + (q + moved - side * play / 2 - 47.5) * DEG), "up" if side > 0 else "down")
        for q, side in sweep
    ]


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover with a shoulder without play, calibrated on 12 May."""
    rig = open_rig(rover / "rig.toml")
    calibrate(rig, "shoulder", typed=swept(), date="2026-05-12")
    return rig


def checked(rig: Rig, rows: Rows, *, what: Verifying = USUAL, date: str = "2026-05-13") -> VerifyResult:
    """A verification with readings that were typed."""
    return verify(rig, "shoulder", typed=rows, date=date, what=what)


def test_the_same_machine_passes_and_the_diary_says_so(rig: Rig) -> None:
    result = checked(rig, swept())
    assert (result.outcome, result.exit_code, result.findings) == (Outcome.PASS, 0, ())
    assert re.fullmatch(
        r"shoulder: calibration 2026-05-12-1 passes\. At \S+ deg (going up|coming down) it reads 0\.0\d+ deg "
        r"too (high|low) \(U ±0\.\d+ deg\), the need is ±1 deg\.",
        result.headline,
    )
    (line,) = read_diary(rig, rig.axis("shoulder"))
    assert (line.text, line.done) == ("2026-05-12-1 verified at 14 points: pass", "verify")
    assert result.diary is not None


def test_the_rule_is_stated_beneath_the_table(rig: Rig) -> None:
    table = checked(rig, swept()).tables()[0]
    assert table.note == RULE
    assert "JCGM 106" in RULE
    assert table.columns == ("place", "side", "readings", "error", "U 95 %", "V", "held against the need")
    assert len(table.rows) == 14 + 3  # each place and side; the means of all, of up and of down


def test_a_slipped_sensor_fails_and_the_reason_is_where_it_is_worst(rig: Rig) -> None:
    result = checked(rig, swept(moved=1.6))
    assert (result.outcome, result.exit_code) == (Outcome.FAIL, 1)
    assert " fails. " in result.headline
    assert "it reads 1.6" in result.headline
    assert result.headline.endswith(
        "Find out what moved, zero it at a mark, or calibrate it again; then verify."
    )
    (finding,) = result.findings
    assert (finding.key, finding.severity) == ("shift", Severity.STOP)
    assert finding.measured == pytest.approx(1.6, abs=0.03)
    (line,) = read_diary(rig, rig.axis("shoulder"))
    assert (line.text, line.done) == ("2026-05-12-1 verified at 14 points: fail", "")


def test_play_that_no_line_cures_is_said_apart(rig: Rig) -> None:
    result = checked(rig, swept(play=3.0))
    assert result.outcome is Outcome.FAIL
    assert re.search(
        r"Up and down differ by (2\.9\d|3|3\.0\d) deg: take the play out; no new zero or line cures it\.$",
        result.headline,
    )


def test_a_mesh_that_jumped_is_told_in_teeth(rig: Rig) -> None:
    """FIELD, F23: a step of one tooth that stays; 360 deg over 24 teeth, behind gears of 2:1, is 7.5 deg."""
    (finding,) = checked(rig, swept(moved=7.5, places=(-20.0, 0.0, 20.0, 47.5, 70.0, 95.0))).findings
    assert finding.text.endswith(
        "It is as much as 1 tooth of the drive (7.5 deg): see whether its gears, belt or chain jumped."
    )
    (slipped,) = checked(rig, swept(moved=4.0)).findings
    assert "tooth" not in slipped.text


def test_within_the_need_but_moved_by_more_than_half_of_it_is_no_pass(rig: Rig) -> None:
    result = checked(rig, swept(moved=0.6))
    assert result.verification.outcome is Outcome.PASS
    assert result.outcome is Outcome.CANNOT_TELL
    assert result.exit_code == 1
    (doubt,) = result.doubts
    assert re.fullmatch(
        r"The zero moved by 0\.\d+ deg since 2026-05-12-1, and nothing in the diary says why\.", doubt
    )


def test_what_the_diary_explains_is_a_caution_and_passes(rig: Rig) -> None:
    note(rig, "shoulder", "hub tightened", date="2026-05-13", touched="coupling")
    result = checked(rig, swept(moved=0.6))
    assert result.outcome is Outcome.PASS
    (finding,) = result.findings
    assert finding.severity is Severity.CAUTION
    assert "The diary says of 2026-05-13: hub tightened." in finding.text


def test_the_round_of_a_tightened_hub_note_zero_verify(rig: Rig) -> None:
    """HANDBOOK, section 7: a coupling that was touched asks for a zero and a verification, and no more."""
    noted = note(rig, "shoulder", "hub tightened", date="2026-05-13", touched="coupling")
    assert [each.task for each in noted.left] == ["zero", "verify"]
    pin = round(2048 + 1.4 * DEG)
    zeroed = zero(rig, "shoulder", [pin, pin, pin], date="2026-05-13")
    assert [each.task for each in zeroed.left] == ["verify"]
    result = checked(rig, swept(moved=1.4))
    assert result.outcome is Outcome.PASS
    assert result.what == "zero 2026-05-13-1"
    again = note(rig, "shoulder", "dusted", date="2026-05-14")
    assert again.left == ()


MARKED: list[tuple[float | str, float]] = [("stow", -20.0), (20.0, 20.0), ("pin", 47.5), (115.0, 115.0)]


@pytest.mark.parametrize(("within", "outcome"), [("0.05 deg", Outcome.PASS), ("3 deg", Outcome.CANNOT_TELL)])
def test_a_mark_that_is_badly_known_proves_nothing(rover: Path, within: str, outcome: Outcome) -> None:
    rig = open_rig(
        rover / "rig.toml", changes=[f"shoulder.marks.{name}.within={within}" for name in ("pin", "stow")]
    )
    sweep = [(side, place) for side, places in (("up", MARKED), ("down", MARKED[::-1])) for place in places]
    typed = [(name, float(round(2048 + (at - 47.5) * DEG)), side) for side, (name, at) in sweep]
    right = Verifying(code_line=f"{1 / DEG:.8f}, {47.5 - 2048 / DEG:.6f}")
    result = verify(rig, "shoulder", typed=typed, date="2026-05-13", what=right)
    assert result.outcome is outcome
    widest = max(row["uncertainty_95"] for row in result.as_json()["places"])
    # 3 deg to either side is 3 / sqrt 3 as a standard uncertainty (JCGM 100, 4.3.7), at 95 % 1.96 times that.
    assert widest > 3.39 if within == "3 deg" else widest < 0.3


def test_a_mark_stands_off_by_the_same_at_every_visit(rover: Path) -> None:
    axis = open_rig(rover / "rig.toml", changes=["shoulder.marks.pin.within=3 deg"]).axis("shoulder")
    plain, marked = reference_of(axis), reference_of(axis, named=("pin",))
    assert marked.per_place == pytest.approx(math.radians(3.0) / math.sqrt(3.0))
    assert plain.per_place == 0.0
    assert (marked.per_point, marked.shared, marked.scale) == (plain.per_point, plain.shared, plain.scale)


@pytest.mark.parametrize("same", [True, False])
def test_a_slip_is_seen_beside_the_reference_of_its_record(rover: Path, same: bool) -> None:
    """0.6 deg that all points share moves both alike where it is one instrument: a slip shows beside it."""
    rig = open_rig(
        rover / "rig.toml", changes=["shoulder.plan.reference.shared=0.6 deg", "shoulder.need.error=1.5 deg"]
    )
    axis = rig.axis("shoulder")
    kept = calibrate(rig, "shoulder", typed=swept(), date="2026-05-12", keep=False).calibration
    calibrate(rig, "shoulder", typed=swept(), date="2026-05-12")
    record = record_in_use(rig, axis).record
    assert record is not None
    error = error_of(kept, reference_of(axis)) if same else None
    withdraw(rig, "shoulder", record.name, because="to be kept otherwise")
    keep_record(rig, axis, replace(record, name="2026-05-12-2", error=error))
    result = checked(rig, swept(moved=0.85))
    assert [finding.key for finding in result.findings] == (["shift"] if same else [])
    assert result.moved is not None
    far_95 = math.degrees(result.moved.far_95)
    # 0.6 deg is 0.6 / sqrt 3 as a standard uncertainty; in both and at 95 % that is 0.96 deg.
    assert far_95 < 0.2 if same else far_95 > 1.96 * 0.6 / math.sqrt(3.0) * math.sqrt(2.0)


def test_a_reference_coarser_than_the_need_cannot_tell(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.plan.reference.shared=2 deg"])
    calibrate(rig, "shoulder", typed=swept(), date="2026-05-12")
    result = checked(rig, swept())
    assert (result.outcome, result.exit_code) == (Outcome.CANNOT_TELL, 1)
    assert re.search(
        r"Reference and reading alone are uncertain by ±\S+ deg: take a better reference\.$", result.headline
    )


DOUBTS: list[tuple[Rows, str]] = [
    (
        swept(places=(-20.0, 115.0)),
        "2 places cannot show it: take 3 or more, both ends among them.",
    ),
    (
        swept(places=(0.0, 20.0, 47.5)),
        "The places run from 0 deg to 47.5 deg, less than 80% of the range: take both ends too.",
    ),
    (
        swept()[:7],
        "All places were reached from one side, and the axis has play: come back down as well.",
    ),
]


@pytest.mark.parametrize(("rows", "said"), DOUBTS, ids=["few", "narrow", "one side"])
def test_too_little_is_no_proof_and_says_what_is_missing(rig: Rig, rows: Rows, said: str) -> None:
    result = checked(rig, rows)
    assert result.outcome is Outcome.CANNOT_TELL
    assert said in result.doubts
    assert result.headline.endswith(result.doubts[0])
    assert read_diary(rig, rig.axis("shoulder"))[-1].done == ""


def test_constants_of_the_code_are_checked_without_a_record(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    right = f"{1 / DEG:.8f}, {47.5 - 2048 / DEG:.6f}"
    result = checked(rig, swept(), what=Verifying(code_line=right))
    assert (result.outcome, result.what) == (Outcome.PASS, "the constants of the code")
    assert result.as_json()["record"] is None
    assert result.as_json()["code_line"]["slope"] == pytest.approx(1 / DEG)
    assert result.diary is None  # the diary is of records
    wrong = checked(rig, swept(), what=Verifying(code_line=f"{1 / DEG:.8f}, {49.5 - 2048 / DEG:.6f}"))
    assert wrong.outcome is Outcome.FAIL


def test_a_dry_run_and_another_record_leave_the_diary_alone(rig: Rig) -> None:
    checked(rig, swept(), what=Verifying(keep=False))
    calibrate(rig, "shoulder", typed=swept(), date="2026-05-13")
    older = checked(rig, swept(), what=Verifying(record="2026-05-12-1"))
    assert older.what == "calibration 2026-05-12-1"
    assert read_diary(rig, rig.axis("shoulder")) == ()


def test_a_file_is_read_as_calibrate_reads_it(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    bench = rover / "shoulder-bench.csv"
    calibrate(rig, "shoulder", file=bench, date="2026-05-12")
    result = verify(rig, "shoulder", file=bench, date="2026-05-13")
    # The planted play of the bench, 1.5 deg at the joint, keeps its own calibration from passing.
    assert result.outcome is Outcome.FAIL
    assert result.as_json()["columns"]["raw"] == "raw"


@pytest.mark.parametrize(
    ("refused", "kind", "said"),
    [
        (
            lambda rig: checked(rig, []),
            DataError,
            "verify: there are no readings. Name a file, or type readings with --typed.",
        ),
        (
            lambda rig: checked(rig, swept(), what=Verifying(code_line="0.0415")),
            UsageError,
            "--code-line: '0.0415' is not two constants. Write slope and offset, as in "
            '--code-line "0.0415 deg, -37.5 deg".',
        ),
        (
            lambda rig: checked(rig, swept(), what=Verifying(record="2026-05-12-2")),
            UsageError,
            "axis 'shoulder': there is no calibration record '2026-05-12-2'. Did you mean '2026-05-12-1'?",
        ),
    ],
    ids=["none", "constants", "record"],
)
def test_what_a_tired_student_does_is_refused_in_a_sentence(
    rig: Rig, refused: Callable[[Rig], object], kind: type[Exception], said: str
) -> None:
    with pytest.raises(kind) as caught:
        refused(rig)
    assert str(caught.value) == said


def test_without_a_record_there_is_nothing_to_verify(rover: Path) -> None:
    with pytest.raises(UsageError) as caught:
        checked(open_rig(rover / "rig.toml"), swept())
    assert str(caught.value) == (
        "axis 'shoulder': no calibration yet. Run: anglewright calibrate RIG shoulder FILE."
    )


def test_the_json_has_its_keys(rig: Rig) -> None:
    found = checked(rig, swept()).as_json()
    assert set(found) == {
        "axis", "unit", "machine", "record", "code_line", "permissible_error", "n_points", "places",
        "pooled", "rule", "because", "doubts", "findings", "columns", "read", "diary", "verdict",
    }  # fmt: skip
    assert {key for row in found["places"] for key in row} == {
        "position", "side", "readings", "error", "uncertainty_95", "uncertainty_to_fail", "verdict",
    }  # fmt: skip
    assert found["verdict"] == "pass"


def test_a_slope_that_is_another_is_told_and_no_zero_is_advised(rig: Rig) -> None:
    steeper = [(q, round(2048 + (n - 2048) * 1.04), side) for q, n, side in swept()]
    result = checked(rig, steeper)
    assert result.outcome is Outcome.FAIL
    assert "The error grows with the position, 4 % too steep" in result.headline
    assert "No new zero cures it: calibrate again." in result.headline
