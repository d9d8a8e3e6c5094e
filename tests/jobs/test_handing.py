"""What is handed over says so where it is not good enough."""

from pathlib import Path

import pytest

from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.handing import hand_over
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig


def test_a_line_that_does_not_meet_the_need_is_handed_over_with_that_said_first(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    calibrate(rig, "shoulder", file=rover / "shoulder-bench.csv", date="2026-05-12")
    result = hand_over(rig, out=rover / "code")
    said = "Not good enough: by calibration 2026-05-12-1 a reading is good to ±"
    assert result.plans[0].cautions[0].startswith(said)
    assert result.plans[0].cautions[0].endswith("the need is ±1 deg; that is not met.")
    assert said in result.headline
    assert "Not good enough: by calibration 2026-05-12-1" in (rover / "code" / "shoulder.h").read_text()


@pytest.mark.parametrize(("need", "warned"), [("20 deg", False), ("1 deg", True)])
def test_without_a_calibration_the_budget_of_the_data_sheet_decides(
    rover: Path, need: str, warned: bool
) -> None:
    rig = open_rig(rover / "rig.toml", changes=[f"shoulder.need.error={need}"])
    result = hand_over(rig, out=rover / "code", state="datasheet")
    assert ("Not good enough: by the data sheet" in result.headline) is warned


def test_what_was_touched_since_the_calibration_is_said_before_its_numbers_are_used(
    rover: Path, tmp_path: Path
) -> None:
    rig = open_rig(rover / "rig.toml")
    calibrate(rig, "shoulder", file=rover / "shoulder-bench.csv", date="2026-05-12")
    note(rig, "shoulder", "a new one, the old one was drowned", touched="sensor", date="2026-05-13")
    result = hand_over(rig, out=tmp_path / "code")
    said = "Not yet: calibrate it: the sensor was touched on 2026-05-13 (a new one, the old one was drowned)."
    assert f"shoulder: {said}" in result.headline
    assert "Not yet: test the three signs" in result.headline
    header = next(path for path in result.files if path.suffix == ".h").read_text(encoding="utf-8")
    assert "Not yet: calibrate it" in " ".join(header.replace("*", " ").split())
