"""At the door: a reading where nothing was calibrated, and the word with which the code takes it too."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.jobs.opening import open_rig
from anglewright.links.code import Corrections
from anglewright.rig import fingerprint
from anglewright.rigfile.records import keep_record

Door = Callable[..., Any]


@pytest.fixture
def half_calibrated(rover: Path) -> None:
    """The shoulder's record: a curve, calibrated from code 600 to 2500 only."""
    rig = open_rig(rover / "rig.toml")
    shoulder = rig.axis("shoulder")
    record = CalibrationRecord(
        name="2026-05-12-1",
        date="2026-05-12",
        rig=rig.name,
        axis="shoulder",
        chain=fingerprint(shoulder),
        sensor="Single turn, 340 deg",
        offset=-0.6545,
        slope=0.000724,
        covariance=((1e-6, -2e-10), (-2e-10, 3e-13)),
        residual_sd=0.001,
        half_width_95=0.01,
        verdict="meets",
        points=(CalibrationPoint(reference=0.0, raw=904.0),),
        model="polynomial 3",
        corrections=Corrections(first=600.0, step=950.0, values=np.array([0.0, 0.01, -0.02])),
        domain=(600.0, 2500.0),
    )
    keep_record(rig, shoulder, record)


@pytest.mark.usefixtures("half_calibrated")
def test_a_reading_outside_is_said_to_be_and_the_interval_is_wider(door: Door) -> None:
    inside, outside = door("read", "rig.toml", "1000", "3000", "--json").json["readings"]
    assert (inside["valid"], inside["outside_points"]) == (True, None)
    assert (outside["valid"], outside["position"]) == (False, None)
    assert outside["fault"] == "outside the calibrated points"
    assert outside["outside_points"]["half_width_95"] > inside["half_width_95"]
    said = door("read", "rig.toml", "3000").out
    assert "outside the calibrated points" in said
    assert "In brackets: nothing was calibrated there" in " ".join(said.split())


@pytest.mark.usefixtures("half_calibrated")
@pytest.mark.parametrize(("words", "tested"), [((), True), (("--beyond-points",), False)])
def test_the_code_handed_over_takes_it_only_where_that_was_asked_for(
    door: Door, rover: Path, words: tuple[str, ...], tested: bool
) -> None:
    answer = door("handover", "rig.toml", "--out", "code", *words)
    assert answer.code == 0
    assert ("SHOULDER_POINTS_HIGH" in (rover / "code" / "shoulder.c").read_text()) is tested
    assert ("others give no position" in " ".join(answer.out.split())) is tested


@pytest.mark.usefixtures("half_calibrated")
def test_the_word_may_stand_before_the_axis(door: Door) -> None:
    answer = door("handover", "rig.toml", "--beyond-points", "shoulder", "--out", "code", "--json")
    assert answer.json["axes"][0]["beyond_points"] is True
