"""One axis of the report: what is left of rounding is nought, and the card says what comes before it."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

import anglewright.jobs.sheet
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import open_rig
from anglewright.jobs.sheet import axis_sheet
from anglewright.report.document import AxisSheet
from anglewright.rig import Axis, Rig, fingerprint

RIG = open_rig(Path(__file__).resolve().parents[1] / "report" / "every-kind.toml")
SLOPE = math.radians(0.1)  # [rad/count]


def record(axis: Axis, *, off: float, points: tuple[tuple[float, float], ...]) -> CalibrationRecord:
    """A calibration by a line of 0.1 deg a count whose points lie `off` it. [rad]"""
    return CalibrationRecord(
        name="2031-05-12-1",
        date="2031-05-12",
        rig=RIG.name,
        axis=axis.name,
        chain=fingerprint(axis),
        sensor="",
        offset=-1e-15,
        slope=SLOPE,
        covariance=((0.0, 0.0), (0.0, 0.0)),
        residual_sd=off,
        half_width_95=math.radians(0.5),
        verdict="meets",
        points=tuple(CalibrationPoint(reference=SLOPE * raw + turns - off, raw=raw) for raw, turns in points),
    )


def sheet_with(
    monkeypatch: pytest.MonkeyPatch, name: str, *, off: float, points: tuple[tuple[float, float], ...]
) -> AxisSheet:
    """The sheet of an axis that has such a record."""
    made = record(RIG.axis(name), off=off, points=points)

    def recorded(rig: Rig, axis: Axis) -> LineInUse:
        return replace(line_in_use(rig, axis), record=made)

    monkeypatch.setattr(anglewright.jobs.sheet, "line_in_use", recorded)
    return axis_sheet(RIG, RIG.axis(name))


@pytest.mark.parametrize(
    ("off_deg", "shown", "residual"),
    [(5.1e-14, "0 deg", 0.0), (0.9e-9, "0 deg", 0.0), (0.02, "0.02 deg", 0.02)],
)
def test_a_residual_that_only_rounding_left_is_nought(
    monkeypatch: pytest.MonkeyPatch, off_deg: float, shown: str, residual: float
) -> None:
    """The need of the arm is 1 deg: below a thousand-millionth of it nothing is left to show."""
    off = math.radians(off_deg)
    found = sheet_with(monkeypatch, "arm", off=off, points=((0.0, 0.0), (450.0, 0.0))).calibration
    assert found is not None
    facts = {fact.name: fact.value for fact in found.facts}
    assert facts["Residuals"] == shown
    assert facts["Position at code 0"] == "0.0000 deg"
    for point in found.points:
        assert point.residual == pytest.approx(residual, rel=1e-9, abs=0.0)


def test_the_residuals_of_an_endless_axis_do_not_count_its_turns(monkeypatch: pytest.MonkeyPatch) -> None:
    turn = -2.0 * math.pi  # the reading went on beyond the end of the turn, the reference began anew
    points = ((0.0, 0.0), (1700.0, 0.0), (1900.0, turn))
    found = sheet_with(monkeypatch, "steer", off=math.radians(0.5), points=points).calibration
    assert found is not None
    assert [point.residual for point in found.points] == pytest.approx([0.5, 0.5, 0.5])


@pytest.mark.parametrize(("name", "homed"), [("arm", False), ("reel", True)])
def test_the_card_says_when_a_code_means_nothing_yet(name: str, homed: bool) -> None:
    note = axis_sheet(RIG, RIG.axis(name)).card_note
    said = " Home the axis at 'in' first: before that a code means nothing."
    usual = "Sensor angle from the start of its output; limits hold with 95 % for a healthy chain."
    assert note == usual + (said if homed else "")


def test_a_card_of_a_word_or_a_count_has_no_voltages() -> None:
    for name in ("steer", "nod", "reel", "turret"):
        assert all(row.volts_wiper == row.volts_pin == "" for row in axis_sheet(RIG, RIG.axis(name)).card)
