"""What a calibration says beside the last one, the budget and the need."""

from pathlib import Path

import pytest

from anglewright.findings import Severity
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)


def calibrated(rover: Path, *, moved: float = 0.0, play: float = 0.0, need: str = "1 deg") -> CalibrateResult:
    """A calibration of made-up readings: the sensor `moved`, with `play` in all, at the joint. [deg]"""
    rig = open_rig(rover / "rig.toml", changes=[f"shoulder.need.error={need}"])
    typed = []
    for side, places in ((1, PLACES), (-1, PLACES[::-1])):
        for q in places:
            code = 2048.0 + (q + moved - side * play / 2.0 - 47.5) * 4096.0 / 170.0
            typed.append((q, round(code), "up" if side > 0 else "down"))
    return calibrate(rig, "shoulder", typed=typed, date="2026-05-12")


def test_the_first_calibration_has_nothing_to_compare_with(rover: Path) -> None:
    result = calibrated(rover)
    assert (result.shift, result.as_json()["compared_with_last"]) == (None, None)
    assert result.exit_code == 0
    assert result.kept == "as 2026-05-12-1, in use from now on"


def test_the_same_again_has_not_moved(rover: Path) -> None:
    calibrated(rover)
    again = calibrated(rover)
    assert again.shift is not None
    assert again.shift.largest == 0.0
    assert [finding.key for finding in again.findings] == []


def test_a_slipped_sensor_is_told_with_its_sign_and_stops_the_work(rover: Path) -> None:
    calibrated(rover)
    slipped = calibrated(rover, moved=0.8)
    (finding,) = slipped.findings
    # The old line now reads 0.8 deg too high, more than half of the permissible 1 deg (HANDBOOK, section 11).
    assert (finding.key, finding.severity) == ("shift", Severity.STOP)
    assert finding.measured == pytest.approx(0.8, abs=0.03)
    assert finding.text.startswith("Against 2026-05-12-1 the reading moved by 0.")
    assert slipped.exit_code == 1
    assert slipped.as_json()["compared_with_last"]["largest_shift"] == pytest.approx(0.8, abs=0.03)


def test_half_the_play_beyond_the_need_stops_the_work(rover: Path) -> None:
    result = calibrated(rover, play=2.4)
    found = {finding.key: finding for finding in result.findings}
    assert found["play"].severity is Severity.STOP
    assert found["play"].measured == pytest.approx(1.2, abs=0.03)  # half of 2.4 deg
    assert found["play"].limit == pytest.approx(1.0)
    assert result.findings[0].severity is Severity.STOP


def test_less_play_than_the_need_is_a_caution(rover: Path) -> None:
    result = calibrated(rover, play=0.8)
    found = {finding.key: finding.severity for finding in result.findings}
    assert found["play"] is Severity.CAUTION


def test_a_calibration_worse_than_the_budget_says_so(rover: Path) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8").replace('play = "3 deg"', 'play = "0 deg"')
    text = text.replace('linearity = "1 %"', 'linearity = "0.1 %"').replace('"0.10 mm"', '"0 mm"')
    text = text.replace("pull = {", "# pull = {")
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    result = calibrated(rover, play=1.8, need="3 deg")
    found = {finding.key: finding for finding in result.findings}
    assert found["worse-than-budget"].severity is Severity.CAUTION
    assert found["worse-than-budget"].text.startswith("The calibration reaches ±")


def test_a_point_far_off_is_named_and_stays_in_the_fit(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    typed = [
        (q, round(2048 + (q - 47.5) * 4096 / 170), "") for q in (-20, -5, 10, 25, 40, 55, 70, 85, 100, 115)
    ]
    typed[4] = (typed[4][0], typed[4][1] + 60, "")
    result = calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)
    (row,) = result.as_json()["outliers"]
    assert row["point"] == 5
    assert result.calibration.n_points == 10
    assert "outlier" in {finding.key for finding in result.findings}


def test_two_positions_make_a_line_that_is_not_kept(rover: Path) -> None:
    result = calibrate(
        open_rig(rover / "rig.toml"), "shoulder", typed=[(-20, 421, ""), (115, 3674, "")], date="2026-05-12"
    )
    assert (result.record, result.file) == (None, None)
    assert result.kept == "no: the interval of one reading is not known"
    assert result.exit_code == 1
    assert not (rover / "rig.calibrations").exists()
