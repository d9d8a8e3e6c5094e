"""Faults of the points, told in one sentence each through the whole of `calibrate`."""

from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.verdict import Verdict
from anglewright.errors import DataError
from anglewright.findings import Severity
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.comparing import FINDING_KEYS
from anglewright.jobs.opening import open_rig
from anglewright.jobs.running import Run
from anglewright.jobs.simulating import simulate
from anglewright.jobs.suspected import CHECK_KEYS, WORDS

PLACES = np.array([-20.0, -5.0, 10.0, 25.0, 40.0, 55.0, 70.0, 85.0, 100.0, 115.0])


def code(q: np.ndarray) -> np.ndarray:
    """Codes of the rover's shoulder by its data sheet: 170 deg over 4096, 47.5 deg in the middle."""
    return 2048.0 + (q - 47.5) * 4096.0 / 170.0


def read(q: float) -> float:
    """The whole code at one position."""
    return float(np.rint(code(np.array(q))))


def told(rover: Path, reference: np.ndarray, raw: np.ndarray) -> CalibrateResult:
    """A calibration of rows taken up and then down, within 3 deg so that only what is planted matters."""
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    sides = ["up"] * len(PLACES) + ["down"] * len(PLACES)
    typed = [(float(q), float(round(n)), side) for q, n, side in zip(reference, raw, sides, strict=True)]
    return calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)


def up_and_down() -> np.ndarray:
    return np.concatenate([PLACES, PLACES[::-1]])


def test_every_suspicion_has_words_and_a_line_in_the_table() -> None:
    assert set(WORDS) == set(CHECK_KEYS)
    assert set(CHECK_KEYS) <= set(FINDING_KEYS)


def test_sound_points_raise_no_suspicion(rover: Path) -> None:
    result = told(rover, up_and_down(), code(up_and_down()))
    assert [finding.key for finding in result.findings] == []
    assert result.calibration.verdict is Verdict.MEETS


def test_a_slip_in_the_middle_is_told_with_its_point_and_size(rover: Path) -> None:
    q = up_and_down()
    slipped = code(q + np.where(np.arange(len(q)) >= 5, 1.5, 0.0))  # half of 3 deg, from the sixth point on
    (finding,) = [each for each in told(rover, q, slipped).findings if each.key == "step"]
    assert finding.severity is Severity.CAUTION
    assert finding.text == (
        "From point 6 at 55 deg on every reading shows 1.5 deg more than before while the slope holds: a hub "
        "slipped, a body turned or a tooth jumped in the run."
    )
    assert finding.remedy.startswith("Tighten it, draw a witness line")


def test_swapped_rows_stop_the_work_and_the_verdict(rover: Path) -> None:
    q = up_and_down()
    raw = code(q)
    raw[[3, 4]] = raw[[4, 3]]
    result = told(rover, q, raw)
    assert result.findings[0].key == "swapped"
    assert result.findings[0].text == (
        "Point 4 at 25 deg and point 5 at 40 deg each read what the other should: they were swapped."
    )
    assert result.calibration.verdict is not Verdict.MEETS
    assert result.exit_code == 1


def test_an_unsigned_level_makes_a_v(rover: Path) -> None:
    q = up_and_down()
    result = told(rover, np.abs(q), code(q))
    (finding,) = [each for each in result.findings if each.key == "unsigned"]
    assert finding.text == (
        "The points make a V: the reference lost its sign at 4 of 20, the farthest 20 deg."
    )
    assert result.calibration.verdict is not Verdict.MEETS


def test_a_number_that_was_clipped_where_it_was_scaled(rover: Path) -> None:
    q = up_and_down()
    result = told(rover, q, np.minimum(code(q), 2500.0))
    (finding,) = [each for each in result.findings if each.key == "clipped"]
    assert finding.text.startswith(
        "From 70 deg to 115 deg the reading stands at 2500, which is no end of the"
    )


def test_a_stop_leaves_no_verdict_of_meets(rover: Path) -> None:
    # two rows repeat the reading before them by one place, of 30 deg of need: the line alone would do
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=30 deg"])
    q = up_and_down()
    raw = code(q)
    raw[4] = raw[3]
    typed = [
        (float(a), float(round(n)), side)
        for a, n, side in zip(q, raw, ["up"] * 10 + ["down"] * 10, strict=True)
    ]
    result = calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)
    assert [each.key for each in result.findings if each.severity is Severity.STOP] == ["dead-rows"]
    assert result.calibration.verdict is Verdict.CANNOT_TELL
    assert result.calibration.reason.startswith("1 point repeats the reading of the one before")


def test_a_mark_stands_for_its_position_where_it_is_typed(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    typed = [(float(q), read(float(q)), "up") for q in PLACES]
    by_number = calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)
    named: list[tuple[float | str, float, str]] = [("stow", typed[0][1], "up"), *typed[1:]]
    by_name = calibrate(rig, "shoulder", typed=named, date="2026-05-12", keep=False)
    assert by_name.calibration.offset == pytest.approx(by_number.calibration.offset, abs=1e-12)
    assert "'stow' stands for -20 deg" in by_name.sheet.decisions


def test_a_mark_stands_for_its_position_in_a_file_and_that_is_said(rover: Path) -> None:
    rows = [f"{q:g},{code(q):.0f},up" for q in PLACES]
    rows[0] = f"stow,{code(PLACES[0]):.0f},up"
    file = rover / "marks.csv"
    file.write_text("\n".join(["reference,raw,approach", *rows]) + "\n", encoding="utf-8")
    result = calibrate(open_rig(rover / "rig.toml"), "shoulder", file=file, date="2026-05-12", keep=False)
    assert result.calibration.points[0].reference == pytest.approx(np.radians(-20.0))
    assert any(
        text.startswith("cells that name a mark stand for its position: 'stow' for -20")
        for text in result.sheet.decisions
    )


def test_a_mark_that_is_known_worse_than_the_reference_widens_the_interval(rover: Path) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8").replace('within = "0.1 deg"', 'within = "1 deg"')
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    rig = open_rig(rover / "rig.toml")
    typed = [(float(q), read(float(q)), "up") for q in PLACES]
    result = calibrate(
        rig, "shoulder", typed=[("stow", typed[0][1], "up"), *typed[1:]], date="2026-05-12", keep=False
    )
    (finding,) = [each for each in result.findings if each.key == "coarse-reference"]
    # 1 deg either way is 0.577 deg of standard uncertainty, 1.13 deg at 95 %, beside twice 0.0577 deg: what
    # all points share, and what is fresh at each
    assert finding.measured == pytest.approx(1.96 * np.sqrt(1.0 + 0.01 + 0.01) / np.sqrt(3.0), rel=1e-3)


def test_a_recording_of_holds_and_moves_becomes_one_point_a_hold(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    log = rover / "steps.csv"
    simulate(rig, "shoulder", out=log, run=Run(motion="steps"))
    result = calibrate(rig, "shoulder", file=log, date="2026-05-12", keep=False)
    said = [text for text in result.sheet.decisions if "rests were found" in text]
    rests = int(said[0].split()[0])
    assert 15 <= rests <= 20  # the steps go up to 9 places and down again
    assert result.calibration.n_points in range(rests - 1, rests + 3)
    assert {point.approach for point in result.calibration.points[1:]} == {1, -1}


def test_rests_can_be_asked_for_and_forbidden(rover: Path) -> None:
    from anglewright.errors import UsageError
    from anglewright.jobs.sheetfile import SheetFile, sheet_in
    from anglewright.tables.wishes import wishes_from

    rig = open_rig(rover / "rig.toml")
    axis, log = rig.axis("shoulder"), rover / "steps.csv"
    simulate(rig, "shoulder", out=log, run=Run(motion="steps"))
    whole = sheet_in(axis, SheetFile(source=log, wishes=wishes_from(["rests=no"])))
    assert len(whole.recording) > len(sheet_in(axis, log).recording)
    bench = SheetFile(source=rover / "shoulder-bench.csv", wishes=wishes_from(["rests=yes"]))
    with pytest.raises(UsageError) as refused:
        sheet_in(axis, bench)
    assert "has no rests: the axis nowhere stands still between two moves" in str(refused.value)


def test_a_reading_that_was_mistyped_is_told_with_its_line(rover: Path, tmp_path: Path) -> None:
    rows = [(q, read(q) + k) for q in PLACES for k in (0, 1, -1, 0)]
    path = tmp_path / "typed.csv"
    rows[22] = (rows[22][0], rows[22][1] + 90.0)  # 1755 for 1665, say
    lines = ["reference_deg,raw", *(f"{q:g},{n:.0f}" for q, n in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    rig = open_rig(rover / "rig.toml", changes=["shoulder.plan.model=line"])
    result = calibrate(rig, "shoulder", file=path, date="2026-05-12", keep=False)
    (finding,) = [each for each in result.findings if each.key == "odd-reading"]
    assert finding.severity is Severity.CAUTION
    # by hand: 88.5 counts off the median of 170 / 4096 deg are 3.67 deg; the pull takes 1 % of that
    assert finding.text.startswith(f"{path}, line 24: {rows[22][1]:.0f} stands 3.6 deg off the 3 others")
    assert finding.remedy == f"Look at {path}, line 24: mend it or take it out, and calibrate again."


def test_one_that_does_not_do_says_how_to_go_back_to_the_one_that_did(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    ways = [*((float(q), "up") for q in PLACES), *((float(q), "down") for q in PLACES[::-1])]
    good = [(q, read(q), way) for q, way in ways]
    loose = [(q, read(q + (4.0 if way == "up" else -4.0)), way) for q, way in ways]
    calibrate(rig, "shoulder", typed=good, date="2026-05-12")
    result = calibrate(rig, "shoulder", typed=loose, date="2026-05-13")
    assert result.calibration.verdict is Verdict.FAILS
    assert result.kept == (
        "as 2026-05-13-1, in use from now on, though 2026-05-12-1 was good enough and this is not: "
        "anglewright withdraw RIG shoulder 2026-05-13-1 --because TEXT goes back"
    )


def still_for(rows: int) -> list[tuple[float, float, str]]:
    """Three readings a point that stand still for so many points of twenty."""
    ways = [*((float(q), "up") for q in PLACES), *((float(q), "down") for q in PLACES[::-1])]
    return [
        (q, 2000.0 + (0.0 if j < rows else 10.0 * j + k), way)
        for j, (q, way) in enumerate(ways)
        for k in range(3)
    ]


def test_a_reading_that_never_moves_is_refused_in_a_sentence(rover: Path) -> None:
    with pytest.raises(DataError, match="all 20 points read 2000, so the reading does not follow the axis"):
        calibrate(open_rig(rover / "rig.toml"), "shoulder", typed=still_for(20), date="2026-05-12")


def test_a_reading_that_moves_at_the_end_alone_is_no_calibration(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    result = calibrate(rig, "shoulder", typed=still_for(16), date="2026-05-12", keep=False)
    assert result.calibration.verdict is not Verdict.MEETS
    assert result.findings[0].severity is Severity.STOP


@pytest.mark.parametrize("clock", [1.0, 1.02])
def test_codes_that_run_out_before_the_wheel_comes_round_are_told(rover: Path, clock: float) -> None:
    """By hand: with a clock 2 % fast 179 deg would be 4166, and 4095 is 71 codes, 6.1 deg, short of it."""
    rig = open_rig(rover / "rover.toml")
    at = [-170.0, -120.0, -60.0, 0.0, 60.0, 120.0, 150.0, 179.0]
    ways = [*((q, "up") for q in at), *((q, "down") for q in at[::-1])]
    typed = [(q, float(min(round((2048.0 + q * 4096.0 / 360.0) * clock), 4095)), way) for q, way in ways]
    result = calibrate(rig, "steer", typed=typed, date="2026-05-12", keep=False)
    told = [finding for finding in result.findings if finding.key == "run-out"]
    if clock == 1.0:
        assert not told
        return
    assert told[0].severity is Severity.STOP
    assert told[0].text == (
        "Point 8 at 179 deg reads 4095, the end of its codes, 6.1 deg short of where the others lead: "
        "the codes ran out."
    )
    assert result.calibration.verdict is not Verdict.MEETS


def test_places_that_read_otherwise_at_another_visit_are_told(rover: Path) -> None:
    q = up_and_down()
    creep = np.random.default_rng(7).normal(0.0, 1.2, len(q))  # a hub that settles anew at each visit [deg]
    result = told(rover, q, code(q + creep))
    (finding,) = [each for each in result.findings if each.key == "visits"]
    assert finding.severity is Severity.CAUTION
    assert finding.measured == pytest.approx(1.96 * 1.2, rel=0.4)  # ten differences know it to a quarter
    assert finding.text.startswith("The same place reads otherwise at another visit, by ±")
    # so a single reading is known no better than that, however many points there are
    assert np.degrees(result.calibration.half_width_95) > finding.measured
