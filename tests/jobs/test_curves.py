"""A calibrated curve in everything that is shown and handed over: read, expect, explain, report, code."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord, RecordParameter
from anglewright.errors import DataError
from anglewright.handover.plan import Fault
from anglewright.jobs.expecting import expect
from anglewright.jobs.explaining import explain
from anglewright.jobs.handing import Handing, hand_over
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reading import read_raw
from anglewright.jobs.reporting import report_document
from anglewright.links.code import Corrections
from anglewright.rig import Rig, fingerprint
from anglewright.rigfile.records import keep_record

DEG = np.pi / 180.0
# A curve over the shoulder's codes: the line 0.0415 deg a count, -37.5 deg at code 0, and up to 1.5 deg more.
NODES = np.array([400.0, 1200.0, 2000.0, 2800.0, 3600.0])
EXTRA = np.array([0.0, 1.5, 0.5, -1.0, 0.4])
WHEEL = Path(__file__).with_name("wheel.toml").read_text(encoding="utf-8")


def by_hand(code: float) -> float:
    """Position of a code in degrees: the line, and what is read off the table."""
    return -37.5 + 0.0415 * code + float(np.interp(code, NODES, EXTRA))


def curve(rig: Rig, axis: str) -> CalibrationRecord:
    """A record with corrections for an axis of a rig, calibrated from code 350 to 3650."""
    return CalibrationRecord(
        name="2026-05-12-1",
        date="2026-05-12",
        rig=rig.name,
        axis=axis,
        chain=fingerprint(rig.axis(axis)),
        sensor="Single turn, 340 deg",
        offset=-37.5 * DEG,
        slope=0.0415 * DEG,
        covariance=((1e-6, -2e-10), (-2e-10, (2e-5 * DEG) ** 2)),
        residual_sd=0.05 * DEG,
        half_width_95=0.4 * DEG,
        verdict="meets",
        model="loaded divider",
        points=(CalibrationPoint(reference=10.0 * DEG, raw=1200.0),),
        corrections=Corrections(first=400.0, step=800.0, values=EXTRA * DEG),
        domain=(350.0, 3650.0),
        parameters=(RecordParameter(name="load", value=0.0993, standard_uncertainty=0.0021, unit="1"),),
    )


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover, its shoulder calibrated as a curve."""
    found = open_rig(rover / "rig.toml")
    keep_record(found, found.axis("shoulder"), curve(found, "shoulder"))
    return found


@pytest.mark.parametrize("code", [350, 400, 777, 1200, 2345, 3600, 3650])
def test_a_reading_inside_the_calibrated_codes_is_a_position_on_the_curve(rig: Rig, code: int) -> None:
    (row,) = read_raw(rig, "shoulder", [code]).readings
    assert row.fault is Fault.OK
    assert row.position == pytest.approx(by_hand(code) * DEG, abs=1e-12)
    assert row.half_width_95 == pytest.approx(0.4 * DEG, abs=1e-12)
    assert row.supposed is None


def test_a_reading_outside_them_is_no_position_and_what_it_would_be_is_said_with_a_wider_interval(
    rig: Rig,
) -> None:
    result = read_raw(rig, "shoulder", [3751, 300])
    high, low = result.as_json()["readings"]
    assert (high["valid"], high["position"], high["half_width_95"]) == (False, None, None)
    assert high["fault"] == "outside the calibrated points"
    assert high["outside_points"]["position"] == pytest.approx(by_hand(3751), abs=1e-9)
    # By hand: 101 counts beyond, twice 2e-5 deg for the slope; the table ends with 1.4 deg over 800 counts.
    wider = 0.4 + 101 * (2 * 2e-5 + 1.4 / 800)
    assert high["outside_points"]["half_width_95"] == pytest.approx(wider, abs=1e-9)
    # and at its lower end with 1.5 deg over 800 counts, 50 counts away
    assert low["outside_points"]["half_width_95"] == pytest.approx(
        0.4 + 50 * (2 * 2e-5 + 1.5 / 800), abs=1e-9
    )
    assert result.headline == "0 of 2 readings of shoulder can be believed."
    (table,) = result.tables()
    assert table.rows[0][1:] == ("(118.57 deg)", "(±0.58 deg)", "outside the calibrated points")
    assert table.note.endswith(
        "In brackets: nothing was calibrated there, and the code handed over gives no position."
    )


def test_a_broken_lead_stays_what_it_is(rig: Rig) -> None:
    row = read_raw(rig, "shoulder", [2]).as_json()["readings"][0]
    assert (row["fault"], row["outside_points"]) == ("below band", None)


@pytest.mark.parametrize("place", ["-20 deg", "0 deg", "47.5 deg", "115 deg"])
def test_the_card_shows_the_code_of_the_curve_with_limits_by_its_slope_there(rig: Rig, place: str) -> None:
    (row,) = expect(rig, axis="shoulder", positions=[place]).readings
    codes = np.arange(0.0, 4096.0, 0.01)
    places = -37.5 + 0.0415 * codes + np.interp(codes, NODES, EXTRA)
    exact = codes[np.argmin(np.abs(places - float(place.split()[0])))]
    assert row.code == round(exact)
    assert row.in_use.basis == "calibration 2026-05-12-1"
    slope = (np.interp(exact + 1, codes, places) - np.interp(exact - 1, codes, places)) / 2.0
    reach = (row.code_high - row.code_low) / 2.0
    assert reach == pytest.approx(row.in_use.half_width_at(row.position) / DEG / slope, abs=1.0)


def test_the_card_of_an_axis_that_comes_round_shows_codes_that_the_sensor_can_give(tmp_path: Path) -> None:
    wheel = endless(tmp_path, Corrections(first=0.0, step=1024.0, values=DEG * np.array([0, 2, 0, -2.0]),
                                          period=4096.0))  # fmt: skip
    rows = expect(wheel, axis="wheel", positions=["-170 deg", "-30 deg", "170 deg"]).readings
    for row, place in zip(rows, (-170.0, -30.0, 170.0), strict=True):
        # by hand: 40 deg at code 0, 4096 codes a turn, a triangle of 2 deg on it
        code = row.code + 0.0
        found = 40.0 + code * 360 / 4096 + np.interp(code, [0, 1024, 2048, 3072, 4096], [0, 2, 0, -2, 0])
        assert 0 <= row.code <= 4095
        assert abs((found - place + 180.0) % 360.0 - 180.0) < 0.05


def endless(folder: Path, table: Corrections) -> Rig:
    """An endless wheel whose record begins 40 deg off, calibrated over the wrap but for 300 codes."""
    file = folder / "wheel.toml"
    file.write_text(WHEEL, encoding="utf-8")
    rig = open_rig(file)
    record = replace(
        curve(rig, "wheel"),
        offset=40.0 * DEG,
        slope=360.0 / 4096.0 * DEG,
        corrections=table,
        domain=(-96.0, 3700.0),
    )
    keep_record(rig, rig.axis("wheel"), record)
    return rig


def test_on_an_axis_that_comes_round_only_the_gap_is_outside(tmp_path: Path) -> None:
    wheel = endless(tmp_path, Corrections(first=0.0, step=1024.0, values=DEG * np.array([0, 2, 0, -2.0]),
                                          period=4096.0))  # fmt: skip
    rows = read_raw(wheel, "wheel", [0, 1024, 3700, 3701, 3990, 3999, 4000, 4095]).readings
    assert [row.fault.value for row in rows] == [0, 0, 0, 4, 4, 4, 0, 0]
    # 1 count beyond one end, 10 from the other, 1 from the other; u of the slope 2e-5, steepest 2 deg in 1024
    apart = [(row.supposed[1] / DEG - 0.4) / (4e-5 + 2 / 1024) for row in rows[3:6] if row.supposed]
    assert apart == pytest.approx([1.0, 10.0, 1.0], abs=1e-6)
    # 40 deg at code 0, and 2 deg more at 1024: 40 + 90 + 2
    assert rows[1].position == pytest.approx(132.0 * DEG, abs=1e-9)
    plan = hand_over(wheel, axis="wheel", out=tmp_path / "code").plans[0]
    assert plan.points is not None
    assert (plan.points.low, plan.points.high) == (4000, 3700)


def test_corrections_with_a_seam_on_an_axis_without_one_are_refused(tmp_path: Path) -> None:
    wheel = endless(tmp_path, Corrections(first=0.0, step=1024.0, values=np.array([0.0, 0.01])))
    with pytest.raises(DataError) as caught:
        read_raw(wheel, "wheel", [5])
    assert str(caught.value) == (
        "axis 'wheel': the corrections of calibration 2026-05-12-1 do not come round, and the axis does. "
        "Calibrate again, or name another record."
    )


def test_the_curve_and_its_codes_are_handed_over_in_the_unit_of_the_axis(rig: Rig, tmp_path: Path) -> None:
    result = hand_over(rig, axis="shoulder", out=tmp_path / "code")
    found = result.as_json()["axes"][0]
    assert found["corrections"]["values"] == pytest.approx(EXTRA.tolist(), abs=1e-12)
    assert (found["corrections"]["first"], found["corrections"]["step"]) == (400.0, 800.0)
    assert found["corrections"]["period"] is None
    assert (found["calibrated_low"], found["calibrated_high"]) == (350.0, 3650.0)
    assert found["beyond_points"] is False
    source = (tmp_path / "code" / "shoulder.c").read_text()
    assert "static const float shoulder_corrections[5]" in source
    assert "SHOULDER_FAULT_OUTSIDE_POINTS" in source
    header = " ".join((tmp_path / "code" / "shoulder.h").read_text().replace("\n * ", " ").split())
    assert "calibrated codes: 350 to 3650; outside them a reading is not valid" in header
    assert "Then bring it back by hand, its power cut, its load supported" in header
    assert "5 corrections are added to the line" in result.tables()[0].note
    assert "the calibrated codes are 350 to 3650; others give no position" in result.tables()[0].note


def test_positions_outside_are_handed_over_only_where_that_was_asked_for(rig: Rig, tmp_path: Path) -> None:
    how = Handing(beyond_points=True)
    result = hand_over(rig, axis="shoulder", out=tmp_path / "code", how=how)
    assert result.as_json()["axes"][0]["beyond_points"] is True
    assert "POINTS_LOW" not in (tmp_path / "code" / "shoulder.h").read_text()
    assert (
        result.plans[0].cautions[0].startswith("Asked for: a position is given outside the calibrated codes")
    )


def test_the_data_sheet_knows_no_calibrated_codes(rig: Rig, tmp_path: Path) -> None:
    result = hand_over(rig, axis="shoulder", out=tmp_path / "code", state="datasheet")
    found = result.as_json()["axes"][0]
    assert (found["corrections"], found["calibrated_low"], found["calibrated_high"]) == (None, None, None)
    assert not any("calibrated" in caution for caution in result.plans[0].cautions[1:])


def test_an_explanation_shows_the_correction_and_the_parameters_of_the_model(rig: Rig) -> None:
    result = explain(rig, axis="shoulder", position="47.5 deg")
    steps = [step for step in result.explanations[0].steps if step.link == "code"]
    assert [step.symbol for step in steps] == ["q", "q", "U"]
    code = steps[0].numbers["n"]
    assert steps[1].result == pytest.approx(by_hand(code), abs=1e-9)
    found = result.as_json()["axes"][0]
    assert found["model"] == "loaded divider"
    assert found["parameters"] == {"load": {"value": 0.0993, "standard_uncertainty": 0.0021, "unit": "1"}}
    second = result.tables()[1]
    assert second.title == "shoulder: loaded divider of calibration 2026-05-12-1"
    assert second.rows == (("load", "0.0993", "0.0021", "1"),)


def test_an_explanation_outside_the_calibrated_codes_says_how_the_half_width_grew(rig: Rig) -> None:
    result = explain(rig, axis="shoulder", position="120 deg")
    step = result.explanations[0].steps[-1]
    assert step.formula == "U_cal + d * (2 * u_s + g)"
    assert step.numbers["d"] > 0.0
    expected = step.numbers["U_cal"] + step.numbers["d"] * (2 * step.numbers["u_s"] + step.numbers["g"])
    assert step.result == pytest.approx(expected, abs=1e-9)
    assert step.numbers["g"] == pytest.approx(1.4 / 800, abs=1e-9)


def test_without_a_record_no_model_is_named(rig: Rig) -> None:
    found = explain(rig, axis="shoulder", state="datasheet").as_json()["axes"][0]
    assert (found["model"], found["parameters"]) == (None, {})


def test_the_report_says_the_model_its_parameters_and_the_codes_it_covers(rig: Rig) -> None:
    (sheet,) = report_document(rig, axis="shoulder", date="2026-05-12").axes
    assert sheet.calibration is not None
    facts = {fact.name: (fact.value, fact.note) for fact in sheet.calibration.facts}
    assert facts["Model"] == ("loaded divider", "")
    assert facts["Parameter load"] == ("0.0993", "u 0.0021")
    assert facts["Corrections of the line"] == ("5, at most ±1.5 deg", "straight between their nodes")
    assert facts["Calibrated codes"] == ("350 to 3650", "")
    # the one point of the record, 10 deg at code 1200, lies this far from the curve
    assert sheet.calibration.points[0].residual == pytest.approx(by_hand(1200) - 10.0, abs=1e-9)


def test_of_many_parameters_the_report_shows_the_first_and_counts_the_rest(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    many = tuple(
        RecordParameter(name=f"q{n}", value=float(n), standard_uncertainty=0.1, unit="deg") for n in range(21)
    )
    keep_record(rig, rig.axis("shoulder"), replace(curve(rig, "shoulder"), parameters=many, model="table"))
    (sheet,) = report_document(rig, axis="shoulder", date="2026-05-12").axes
    assert sheet.calibration is not None
    facts = {fact.name: fact.note for fact in sheet.calibration.facts}
    assert facts["Model"] == "and 13 more parameters"
    assert [name for name in facts if name.startswith("Parameter")][-1] == "Parameter q7"
