"""A protractor that counts from 0 to 360 deg is read beside a motion that begins below 0."""

from pathlib import Path

import numpy as np
import pytest

from anglewright.jobs.opening import open_rig
from anglewright.jobs.sheetfile import sheet_in

PLACES = np.array([-20.0, -5.0, 10.0, 40.0, 70.0, 115.0])


def file_of(folder: Path, degrees: np.ndarray) -> Path:
    """Readings of the rover's shoulder by its data sheet beside a reference. [deg]"""
    path = folder / "run.csv"
    codes = np.rint(2048.0 + (PLACES - 47.5) * 4096.0 / 170.0)
    rows = [f"{q:.2f},{n:.0f}" for q, n in zip(degrees, codes, strict=True)]
    path.write_text("\n".join(["reference_deg,raw", *rows]) + "\n", encoding="utf-8")
    return path


def test_references_a_whole_turn_off_are_put_into_the_motion_and_it_is_said(
    rover: Path, tmp_path: Path
) -> None:
    axis = open_rig(rover / "rig.toml").axes["shoulder"]
    sheet = sheet_in(axis, file_of(tmp_path, PLACES % 360.0))
    assert sheet.recording.reference is not None
    assert np.degrees(sheet.recording.reference) == pytest.approx(PLACES, abs=1e-9)
    said = "2 references are a whole turn off the motion and were put into it: 340 deg is -20 deg"
    assert said in sheet.decisions


def test_a_reference_with_another_zero_is_left_as_it_is(rover: Path, tmp_path: Path) -> None:
    axis = open_rig(rover / "rig.toml").axes["shoulder"]
    sheet = sheet_in(axis, file_of(tmp_path, PLACES + 150.0))
    assert sheet.recording.reference is not None
    assert np.degrees(sheet.recording.reference) == pytest.approx(PLACES + 150.0, abs=1e-9)
    assert not any("whole turn" in said for said in sheet.decisions)
