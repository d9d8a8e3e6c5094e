"""What a calibration says beside the last one, the budget and the need."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.errors import DataError
from anglewright.findings import Severity
from anglewright.jobs.benchpoints import reference_of
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.comparing import error_of, shift_severity, shift_since
from anglewright.jobs.opening import open_rig

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)


def calibrated(
    rover: Path,
    *,
    moved: float = 0.0,
    play: float = 0.0,
    scale: float = 1.0,
    changes: tuple[str, ...] = ("shoulder.need.error=1 deg",),
) -> CalibrateResult:
    """A calibration of made-up readings: the sensor `moved`, with `play` in all, at the joint. [deg]

    `scale` codes come where the rig file expects one. [1]
    """
    rig = open_rig(rover / "rig.toml", changes=list(changes))
    typed = []
    for side, places in ((1, PLACES), (-1, PLACES[::-1])):
        for q in places:
            code = 2048.0 + scale * (q + moved - side * play / 2.0 - 47.5) * 4096.0 / 170.0
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
    assert finding.text.startswith("Against 2026-05-12-1 the zero moved by 0.8")
    assert slipped.exit_code == 1
    assert slipped.as_json()["compared_with_last"]["largest_shift"] == pytest.approx(0.8, abs=0.03)


@pytest.mark.parametrize("known", [True, False])
def test_one_reference_hides_no_slip_and_another_may(rover: Path, known: bool) -> None:
    """0.6 deg that all points share moves both calibrations alike where one instrument served both."""
    coarse = ("shoulder.plan.reference.shared=0.6 deg", "shoulder.need.error=1.5 deg")
    first = calibrated(rover, changes=coarse)
    slipped = calibrated(rover, moved=0.85, changes=coarse)
    assert first.record is not None
    axis = slipped.axis
    error = error_of(first.calibration, reference_of(axis)) if known else None
    shift = shift_since(replace(first.record, error=error), slipped.calibration, axis)
    assert shift is not None
    severity = shift_severity(abs(shift.zero), shift.zero_95, axis.permissible)
    assert severity is (Severity.STOP if known else None)
    # 0.6 deg is 0.6 / sqrt 3 as a standard uncertainty, in both, at 95 %: 0.96 deg, beyond the slip of 0.85.
    assert math.degrees(shift.zero_95) > 0.9 or known


def test_another_reference_counts_in_full(rover: Path) -> None:
    first = calibrated(rover, changes=("shoulder.plan.reference.shared=0.6 deg",))
    second = calibrated(rover, changes=("shoulder.plan.reference.shared=0.3 deg",))
    assert first.record is not None
    last = replace(first.record, error=error_of(first.calibration, reference_of(first.axis)))
    apart = shift_since(last, second.calibration, second.axis)
    alike = shift_since(last, first.calibration, first.axis)
    assert apart is not None
    assert alike is not None
    lasting = 1.96 * math.hypot(0.6, 0.3) / math.sqrt(3.0)
    assert math.degrees(apart.zero_95) == pytest.approx(lasting, rel=0.03)
    assert math.degrees(alike.zero_95) < 0.1


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
    result = calibrated(rover, play=1.8, changes=("shoulder.need.error=3 deg",))
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


def test_two_positions_are_refused_with_the_number_that_it_takes(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    with pytest.raises(DataError, match="2 points at 2 positions, and a line takes 5 at 3 or more"):
        calibrate(rig, "shoulder", typed=[(-20, 421, ""), (115, 3674, "")], date="2026-05-12")
    assert not (rover / "rig.calibrations").exists()


def _slope_told(result: CalibrateResult) -> str:
    return next((finding.text for finding in result.findings if finding.key == "slope"), "")


@pytest.mark.parametrize(
    ("scale", "told"),
    # the rig file's own line is 170 deg over 4096 codes; its pull moves that by less than 3 %
    [
        (1.0, ""),
        (
            0.25,
            "The slope is 4 times that of the rig file: the readings are those of a converter with",
        ),
        (-1.0, ""),  # it reads backwards, and is told so
        (0.8, "The slope is 1.250 times that of the rig file"),  # nothing is counted on a track
        (0.85, "The slope is 1.17"),  # 1 / 0.85 = 1.176, and the pull bends a little
    ],
)
def test_a_slope_that_the_parts_do_not_explain_is_told(rover: Path, scale: float, told: str) -> None:
    off = {"changes": ("shoulder.wiring.pull.down=100 Mohm",)}
    text = _slope_told(calibrated(rover, scale=scale, **off))
    assert text.startswith(told)
    assert bool(text) == bool(told)


@pytest.mark.parametrize(
    ("scale", "told"),
    [
        (0.25, "The slope is 4 times that of the data sheet: a quarter of the counts of a turn were taken"),
        (0.8, "The slope is 450/360 of that of the data sheet"),
        (15 / 16, "The slope is 16/15 of that of the data sheet"),
        (1.0, ""),
    ],
)
def test_a_factor_of_counts_is_known_where_the_sensor_counts(rover: Path, scale: float, told: str) -> None:
    # the rover's reel: 400 counts a turn of a drum of 320 mm
    rig = open_rig(rover / "rover.toml", axis="reel")
    places = [0.0, 2.1, 5.3, 8.2, 10.4, 12.7, 15.1, 18.6, 20.0]
    ways = [*((q, "up") for q in places), *((q, "down") for q in places[::-1])]
    typed = [(q, float(round(q * scale * 400.0 / (0.32 * math.pi))), way) for q, way in ways]
    text = _slope_told(calibrate(rig, "reel", typed=typed, date="2026-05-12", keep=False))
    assert text.startswith(told)
    assert bool(text) == bool(told)


def test_a_feed_that_changes_from_day_to_day_widens_what_a_calibration_promises(rover: Path) -> None:
    steady = calibrated(rover, changes=("shoulder.converter.reference=3.3 V",))
    loose = calibrated(
        rover, changes=("shoulder.converter.reference=3.3 V", "shoulder.wiring.feed=3.3 V ± 2 %")
    )
    before, after = (math.degrees(each.calibration.half_width_95 or math.nan) for each in (steady, loose))
    # by hand: 2 % rectangular is 1.155 % of a reading; 115 deg stands at 0.9 of the track, so at 153 deg of
    # joint from its zero end: 1.77 deg there on the day of use, as much on the day of the calibration
    assert after == pytest.approx(1.96 * 1.77 * math.sqrt(2.0), rel=0.03)
    assert before < 1.0
