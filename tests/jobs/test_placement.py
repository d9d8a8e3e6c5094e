"""Points that are not where the rig file puts them stop a calibration, and say what to look at.

Readings of the rover's shoulder by plain arithmetic: 170 deg over 4096 codes, 47.5 deg in the middle.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.verdict import Verdict
from anglewright.findings import Severity
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig

PLACES = np.linspace(-20.0, 115.0, 10)
Reading = Callable[[np.ndarray], np.ndarray]


def code(q: np.ndarray) -> np.ndarray:
    return 2048.0 + (q - 47.5) * 4096.0 / 170.0


def told(rover: Path, read: Reading, *, off: float = 0.0) -> CalibrateResult:
    """A calibration up and down, the reference `off` too much. [deg]"""
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    ways = [*((q, "up") for q in PLACES), *((q, "down") for q in PLACES[::-1])]
    typed = [(float(q + off), float(np.rint(read(np.array(q)))), way) for q, way in ways]
    return calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)


def keys(result: CalibrateResult) -> dict[str, Severity]:
    return {finding.key: finding.severity for finding in result.findings}


def test_a_reading_that_falls_where_it_should_rise_is_no_calibration(rover: Path) -> None:
    result = told(rover, lambda q: 4095.0 - code(q))
    assert keys(result)["backwards"] is Severity.STOP
    assert result.calibration.verdict is Verdict.CANNOT_TELL
    assert 'mount.output = "falls"' in result.findings[0].remedy
    assert "slope" not in keys(result)  # nothing was counted wrong


def test_the_wrap_inside_the_motion_is_named_with_the_places_beside_it(rover: Path) -> None:
    result = told(rover, lambda q: np.mod(code(q) + 2048.0, 4096.0))
    finding = result.findings[0]
    assert finding.key == "wrap-inside"
    assert finding.text.startswith("Between 40 deg and 55 deg the reading jumps from 3")
    assert result.calibration.verdict is not Verdict.MEETS


def test_readings_of_one_point_at_both_ends_are_the_wrap_as_well(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    wrapped = [
        (float(q), float(n), "up")
        for q in PLACES
        for n in np.mod(np.rint(code(q)) + 1865 + np.arange(4), 4096)
    ]
    result = calibrate(rig, "shoulder", typed=wrapped, date="2026-05-12", keep=False)
    assert result.findings[0].key == "wrap-inside"
    assert result.findings[0].text.startswith("At 55 deg the readings of one point lie at both ends")


@pytest.mark.parametrize(
    ("off", "verdict", "said"),
    [
        (0.0, Verdict.MEETS, {}),
        (3.0, Verdict.MEETS, {}),  # clamping and track explain as much
        (-14.0, Verdict.CANNOT_TELL, {"zero-off": Severity.STOP, "beyond-motion": Severity.CAUTION}),
        (90.0, Verdict.CANNOT_TELL, {"beyond-motion": Severity.STOP}),
    ],
)
def test_a_reference_with_a_false_zero_is_not_good_enough(
    rover: Path, off: float, verdict: Verdict, said: dict[str, Severity]
) -> None:
    result = told(rover, code, off=off)
    assert result.calibration.verdict is verdict
    found = keys(result)
    assert {key: found.get(key) for key in ("zero-off", "beyond-motion") if key in found} == said


def test_ten_bits_in_a_rig_of_twelve_are_told_as_bits(rover: Path) -> None:
    finding = next(each for each in told(rover, lambda q: code(q) / 4.0).findings if each.key == "slope")
    assert "those of a converter with 2 bits fewer" in finding.text
    assert finding.remedy.startswith("Mend converter.bits")


def test_a_slip_leaves_no_calibration_that_is_good_enough(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    way = np.concatenate([PLACES, PLACES[::-1]])
    slipped = code(way + np.where(np.arange(20) >= 5, 1.5, 0.0))
    typed = [
        (float(q), float(np.rint(n)), "up" if k < 10 else "down")
        for k, (q, n) in enumerate(zip(way, slipped, strict=True))
    ]
    result = calibrate(rig, "shoulder", typed=typed, date="2026-05-12", keep=False)
    assert keys(result)["step"] is Severity.CAUTION
    assert result.calibration.verdict is Verdict.CANNOT_TELL
    assert result.summary.splitlines()[0].startswith("1. Tighten it, draw a witness line")


@pytest.mark.parametrize("rows", [500, 5000])
def test_a_sweep_on_the_move_is_gathered_into_places_and_its_play_found(
    rover: Path, tmp_path: Path, rows: int
) -> None:
    rng, way = np.random.default_rng(rows), (2.0 * np.arange(rows) / rows) % 2.0
    q = -20.0 + 135.0 * np.where(way < 1.0, way, 2.0 - way)
    raw = np.rint(code(q - np.where(way < 1.0, 0.4, -0.4)) + 1.5 * rng.standard_normal(rows))
    path = tmp_path / "sweep.csv"
    lines = [f"{0.02 * k:.2f},{a:.3f},{n:.0f}" for k, (a, n) in enumerate(zip(q, raw, strict=True))]
    path.write_text("\n".join(["time_s,reference_deg,raw", *lines]) + "\n", encoding="utf-8")
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=3 deg", "shoulder.plan.model=line"])
    result = calibrate(rig, "shoulder", file=path, date="2026-05-12", keep=False)
    assert result.calibration.n_points <= 64
    assert result.calibration.play.value == pytest.approx(np.radians(0.8), rel=0.1)
    assert f"{rows} readings on the move were gathered into" in " ".join(result.sheet.decisions)
    above_a_note = {key for key, severity in keys(result).items() if severity is not Severity.NOTE}
    assert above_a_note <= {"play", "worse-than-budget"}
