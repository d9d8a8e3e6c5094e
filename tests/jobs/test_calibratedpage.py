"""The page of a calibration: its pictures by hand-worked numbers, its first words, what to do now."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReadingError
from anglewright.errors import DataError
from anglewright.jobs.appraising import AS_PREDICTED, BEYOND, WORSE, beside_budget
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibratedpage import calibration_page, free_page, with_page
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig
from anglewright.jobs.picturing import drawn_loop, drawn_points
from anglewright.jobs.reporting import report_document
from anglewright.rig import Rig

DAY = "2026-05-12"
PARTS = ("structure", "noise", "fit", "play", "reference", "changes")
PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
# Three runs up and down, worked by hand from the definitions of 43 CFR 3175.135(a), in per cent of span.
AT = (0.0, 25.0, 50.0, 75.0, 100.0)
UP = (
    (0.02, 25.06, 50.03, 75.10, 100.04), (0.03, 25.09, 50.05, 75.08, 100.05),
    (0.02, 25.07, 50.08, 75.09, 100.04),
)  # fmt: skip
DOWN = (
    (0.06, 25.20, 50.22, 75.19, 100.04), (0.05, 25.22, 50.21, 75.18, 100.05),
    (0.07, 25.19, 50.25, 75.20, 100.04),
)  # fmt: skip


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover of one axis."""
    return open_rig(rover / "rig.toml")


def calibrated(rig: Rig, *, play: float = 0.0, keep: bool = False) -> CalibrateResult:
    """A calibration of a straight sensor with some play in all. [deg]"""
    typed = []
    for side, places in ((1, PLACES), (-1, PLACES[::-1])):
        for q in places:
            code = 2048.0 + (q - side * play / 2.0 - 47.5) * 4096.0 / 170.0
            typed.append((q, round(code), "up" if side > 0 else "down"))
    return calibrate(rig, "shoulder", typed=typed, date=DAY, keep=keep)


def test_the_loop_of_three_runs_is_that_of_their_averages(rig: Rig) -> None:
    points = [
        CalibrationPoint(reference=math.radians(q), raw=24.0 * shown, approach=side)
        for run in range(3)
        for side, table in ((1, UP), (-1, DOWN))
        for q, shown in list(zip(AT, table[run], strict=True))[::side]
    ]
    loop = drawn_loop(rig.axis("shoulder"), points)
    assert loop is not None
    assert [round(q, 6) for q, _ in loop.up] == list(AT)
    gaps = [down - up for (_, up), (_, down) in zip(loop.up, loop.down, strict=True)]
    # averaged first, 0.1733 per cent at 50; by hand (50.22 + 50.21 + 50.25 - 50.03 - 50.05 - 50.08) / 3
    assert max(gaps) == pytest.approx(0.1733, abs=5e-4)
    assert loop.gap_text == "Widest at 50 deg: coming down reads 0.17 deg more than going up."


def test_points_from_one_side_make_no_loop_and_the_page_says_why(rig: Rig) -> None:
    points = [CalibrationPoint(reference=math.radians(q), raw=24.0 * q, approach=1) for q in AT]
    axis = rig.axis("shoulder")
    assert drawn_loop(axis, points) is None
    typed = [(q, round(2048.0 + (q - 47.5) * 24.09), "up") for q in PLACES]
    page = calibration_page(rig, calibrate(rig, None, typed=typed, date=DAY, keep=False), date=DAY)
    assert page.calibration.loop is None
    assert page.calibration.loop_why.startswith("No place was reached from both sides")


def test_a_point_of_no_known_side_is_drawn_as_such(rig: Rig) -> None:
    result = calibrated(rig)
    point = replace(result.calibration.points[0], approach=0)
    (drawn,) = drawn_points(result.axis, result.calibration.line(), [point])
    assert (drawn.side, drawn.raw) == (0, point.raw)


def test_what_is_drawn_is_what_was_measured(rig: Rig) -> None:
    page = calibration_page(rig, calibrated(rig, play=1.2), date=DAY)
    found = page.calibration
    # half the play of 1.2 deg either way: going up the reading lags
    for point in found.points:
        assert point.residual == pytest.approx(-0.6 * point.side, abs=0.04)
    assert found.loop is not None
    for (_, up), (_, down) in zip(found.loop.up, found.loop.down, strict=True):
        assert down - up == pytest.approx(1.2, abs=0.08)
    # by hand: 170 deg of the joint over 4096 codes, 2048 at 47.5 deg
    for n, q in found.curve:
        assert q == pytest.approx(47.5 + (n - 2048.0) * 170.0 / 4096.0, abs=0.05)


def test_the_band_of_95_per_cent_is_the_half_width_where_a_reading_is_worth_least(rig: Rig) -> None:
    result = calibrated(rig, play=1.2)
    page = calibration_page(rig, result, date=DAY)
    widest = max(half for _, half in page.calibration.often)
    assert widest == pytest.approx(math.degrees(result.calibration.half_width_95), rel=0.02)


def test_a_failed_calibration_says_so_first_and_what_to_do(rig: Rig) -> None:
    result = calibrated(rig, play=2.6)
    page = calibration_page(rig, result, date=DAY)
    assert page.verdict == "fails"
    assert page.headline.endswith("; it should be ±1 deg")
    assert page.actions[0].startswith("Take the play out")
    assert sum("play" in action for action in page.actions) == 1  # told once
    assert page.actions[-1] == "Then calibrate again, before the code gets these numbers."
    assert result.summary.splitlines()[0].startswith("1. Take the play out")


def test_a_good_one_that_was_kept_is_to_be_handed_over(rig: Rig) -> None:
    kept, tried = calibrated(rig, keep=True), calibrated(rig)
    assert kept.do_now[0] == (
        "It is good enough: hand it over with anglewright handover RIG shoulder --out DIR."
    )
    assert tried.do_now == (
        "It is good enough: run the same without --dry-run, and it is kept and used from then on.",
    )
    assert kept.as_json()["do_now"] == list(kept.do_now)


def test_the_candidates_are_shown_with_the_one_in_use(rig: Rig) -> None:
    page = calibration_page(rig, calibrated(rig), date=DAY)
    used = [each.name for each in page.calibration.on_trial if each.used]
    assert used == ["line"]
    assert len(page.calibration.on_trial) > 3
    assert page.calibration.because == "Why line: it was asked for."


def test_the_history_is_drawn_once_there_is_one(rig: Rig) -> None:
    first = calibration_page(rig, calibrated(rig, keep=True), date=DAY)
    assert first.calibration.history is None
    note(rig, "shoulder", "hub tightened", date="2026-05-13", touched="coupling")
    second = calibration_page(rig, calibrated(rig, keep=True), date=DAY)
    assert second.calibration.history is not None
    assert len(second.calibration.history.kept) == 2
    assert [each.text for each in second.calibration.history.noted] == ["2026-05-13: hub tightened"]


def test_the_report_draws_the_record_in_use_the_same(rig: Rig) -> None:
    page = calibration_page(rig, calibrated(rig, play=1.2, keep=True), date=DAY)
    (sheet,) = report_document(rig, date=DAY).axes
    assert sheet.calibration is not None
    assert [p.side for p in sheet.calibration.points] == [p.side for p in page.calibration.points]
    ours, theirs = (
        np.array([p.residual for p in each.points]) for each in (page.calibration, sheet.calibration)
    )
    assert theirs == pytest.approx(ours, abs=1e-6)
    assert sheet.calibration.loop is not None
    assert page.calibration.loop is not None
    assert np.array(sheet.calibration.loop.up) == pytest.approx(np.array(page.calibration.loop.up), abs=1e-6)
    assert sheet.calibration.often[0][1] == pytest.approx(
        max(half for _, half in page.calibration.often), rel=0.02
    )


def test_the_page_is_written_and_a_foreign_file_is_left_alone(rig: Rig, tmp_path: Path) -> None:
    result = calibrated(rig)
    done = with_page(rig, result, tmp_path / "page.html", date=DAY)
    assert (tmp_path / "page.html").read_text("utf-8").startswith("<!doctype html>")
    assert done.as_json()["html"] == str(tmp_path / "page.html")
    assert done.summary.endswith(f"Page written to {tmp_path / 'page.html'}.")
    with_page(rig, result, tmp_path / "page.html", date=DAY)
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(DataError):
        free_page(tmp_path / "notes.txt")
    with pytest.raises(DataError, match="it is a folder, a file belongs here"):
        free_page(tmp_path)
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"


def alone(part: str, u: float) -> ReadingError:
    """An error of a reading that has one part only. [rad]"""
    sizes = {name: u if name == part else 0.0 for name in PARTS}
    return ReadingError(
        structure=sizes["structure"],
        noise=sizes["noise"],
        fit=sizes["fit"],
        play=sizes["play"],
        reference=sizes["reference"],
        changes=sizes["changes"],
        structure_dof=0,
        fit_dof=0,
        noise_dof=0,
    )


@pytest.mark.parametrize(
    ("part", "do"),
    [
        ("structure", "look at the sensor's track or magnet, or take another model"),
        ("noise", "look at the wiring, and average more readings"),
        ("fit", "take more points, and more readings of each"),
        ("play", "look at the coupling and the drive, or come from one side always"),
        ("reference", "take a better reference"),
        ("changes", "look at the feed and at the converter's reference"),
    ],
)
def test_beside_the_budget_the_largest_part_says_where_to_look(rig: Rig, part: str, do: str) -> None:
    result = calibrated(rig)
    # 1.96 times the one part is the half-width: against a budget of so many deg
    for half, says in ((0.5, AS_PREDICTED), (1.5, WORSE), (2.5, BEYOND)):
        error = alone(part, math.radians(half) / 1.959964)
        measured = replace(result.calibration, error=error)
        compared = beside_budget(measured, foreseen=math.radians(1.0))
        assert compared.says == says
        assert compared.sentence == (says if says == AS_PREDICTED else f"{says}: {do}")


def test_the_table_says_in_one_sentence_how_it_compares_with_the_budget(rig: Rig) -> None:
    result = calibrated(rig)
    rows = {row[0]: row[1] for row in result.tables()[0].rows}
    foresaw = f"{math.degrees(result.planned.half_width_95):.3g}"
    assert rows["beside the budget"] == f"as predicted (it foresaw ±{foresaw} deg)"
    beside = result.as_json()["compared_with_budget"]
    assert beside["says"] == "as predicted"
    assert set(beside) == {"planned_half_width_95", "half_width_95", "says", "most", "remedy"}


def test_a_parameter_keeps_its_digits(rig: Rig) -> None:
    rows = {row[0]: row[1] for row in calibrated(rig).tables()[0].rows}
    value, _, u = rows["slope"].partition(", u ")
    assert value.endswith(" deg/count")
    assert float(u.split()[0]) < 1.0
