"""What is handed over says so where it is not good enough."""

from pathlib import Path

import pytest

from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.handing import hand_over
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
