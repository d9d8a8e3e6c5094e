"""Points that are left out by stated word: in no fit, listed on, kept in the record, refused by number."""

import json
from pathlib import Path

import pytest

from anglewright.errors import DataError, UsageError
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibratedpage import calibration_page
from anglewright.jobs.calibrating import Readings, calibrate_readings
from anglewright.jobs.opening import open_rig
from anglewright.rigfile.records import all_records

DAY = "2026-05-12"
PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
WHY = "the table was bumped"


def code(q: float) -> float:
    """The whole code of the shoulder by its data sheet: 170 deg over 4096, 47.5 deg in the middle."""
    return float(round(2048.0 + (q - 47.5) * 4096.0 / 170.0))


def told(rover: Path, without: dict[int, str], *, keep: bool = False) -> CalibrateResult:
    """Seven places from both sides, the third 3 deg off going up, fitted by a line."""
    rig = open_rig(rover / "rig.toml", changes=["shoulder.plan.model=line"])
    typed = [(q, code(q), "up") for q in PLACES] + [(q, code(q), "down") for q in PLACES[::-1]]
    typed[2] = (20.0, code(23.0), "up")
    return calibrate_readings(rig, "shoulder", Readings(typed=typed, without=without), date=DAY, keep=keep)


def test_the_finding_says_how_and_that_heals_the_line(rover: Path) -> None:
    spoiled = told(rover, {})
    (odd,) = [each for each in spoiled.findings if each.key == "odd-point"]
    assert odd.remedy.startswith('Take that point again, or leave it out with --without-point "3: why".')
    healed = told(rover, {3: WHY})
    assert "odd-point" not in [each.key for each in healed.findings]
    assert healed.calibration.n_points == 13
    # by hand: 170 deg over 4096 codes
    assert healed.calibration.slope == pytest.approx(170.0 / 4096.0 * 3.141592653589793 / 180.0, rel=1e-3)


def test_it_stays_in_the_list_with_its_number_its_departure_and_the_reason(rover: Path) -> None:
    result = told(rover, {3: WHY})
    (table,) = [each for each in result.tables() if each.title == "Points"]
    assert [row[0] for row in table.rows] == [str(number) for number in range(1, 15)]
    assert table.rows[2][-1] == f"left out: {WHY}"
    assert table.rows[2][-2].startswith("3")  # 3 deg too much by the curve of the others
    assert {row[-1] for row in table.rows if row is not table.rows[2]} == {""}
    (left,) = result.as_json()["left_out"]
    assert (left["number"], left["because"]) == (3, WHY)
    assert left["residual"] == pytest.approx(3.0, abs=0.06)
    assert [point["number"] for point in result.as_json()["points"]] == [1, 2, *range(4, 15)]
    rows = {row[0]: row[1] for row in result.tables()[0].rows}
    assert rows["point 3"] == f"at 20 deg left out: {WHY}"


def test_the_page_lists_it_too(rover: Path) -> None:
    result = told(rover, {3: WHY})
    page = calibration_page(open_rig(rover / "rig.toml"), result, date=DAY)
    assert [row.said for row in page.rows if row.said] == [f"left out: {WHY}"]
    assert len(page.rows) == 14


def test_the_record_keeps_it(rover: Path) -> None:
    told(rover, {3: WHY, 7: ""}, keep=True)
    rig = open_rig(rover / "rig.toml")
    (record,) = all_records(rig, rig.axis("shoulder"))
    assert [(each.number, each.because) for each in record.left_out] == [(3, WHY), (7, "")]
    assert record.left_out[0].point.raw == code(23.0)
    assert len(record.points) == 12


def test_numbers_of_findings_stay_those_of_the_list(rover: Path) -> None:
    without = told(rover, {1: WHY})
    (odd,) = [each for each in without.findings if each.key == "odd-point"]
    assert odd.text.startswith("Point 3 at 20 deg shows 3")


def test_a_number_that_does_not_exist_is_refused(rover: Path) -> None:
    with pytest.raises(UsageError) as refused:
        told(rover, {3: WHY, 15: "", 99: ""})
    assert str(refused.value).startswith(
        "--without-point: there is no point 15, 99, the points are numbered 1 to 14 in the order"
    )


def test_too_many_left_out_say_so_with_what_the_points_show(rover: Path) -> None:
    with pytest.raises(DataError) as refused:
        told(rover, {number: "" for number in range(1, 15) if number not in (1, 7)})  # both ends are left
    first, second, *_ = str(refused.value).splitlines()
    assert "there are 2 points at 2 positions" in first
    assert second.startswith(
        "two-points: Two positions fix a line and leave nothing that could show it wrong at"
    )
    # a track of 1 % of 170 deg, a load, a travel and a clamp that are not exact: some degrees
    assert "by the data sheets of the parts it may be 3.5 deg off there" in second


def test_signs_agree_between_table_page_and_json(rover: Path) -> None:
    result = told(rover, {})
    found = result.as_json()
    (table,) = [each for each in result.tables() if each.title == "Points"]
    page = calibration_page(open_rig(rover / "rig.toml"), result, date=DAY)
    off = found["points"][2]["residual"]
    assert off > 2.0  # it reads 3 deg too much: an error is indicated less true
    assert float(table.rows[2][5].split()[0]) == pytest.approx(off, rel=1e-2)
    assert float(page.rows[2].residual.split()[0]) == pytest.approx(off, rel=1e-1)
    (outlier,) = found["outliers"]
    assert (outlier["point"], outlier["departure"] > 2.0) == (3, True)
    assert json.dumps(found)


def test_all_four_linearities_are_shown(rover: Path) -> None:
    rows = {row[0]: row[1] for row in told(rover, {}).tables()[0].rows}
    said = rows["linearity, of the calibrated span"]
    assert said.startswith("independent (what data sheets mostly mean) ")
    assert all(name in said for name in ("zero-based", "terminal-based", "absolute"))


def test_a_dead_reading_of_a_sensor_that_wraps_is_refused_with_what_the_points_show(rover: Path) -> None:
    rig = open_rig(rover / "rover.toml", axis="pan")
    typed = [(q, 2048.0, "up") for q in (-150.0, 150.0)] * 3
    with pytest.raises(DataError) as refused:
        calibrate_readings(rig, "pan", Readings(typed=typed), date=DAY, keep=False)
    assert "so the reading does not follow the axis" in str(refused.value)
    assert "two-points: Two positions fix a line" in str(refused.value)
