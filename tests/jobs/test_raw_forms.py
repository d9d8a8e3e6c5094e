"""Counts, volts, a fraction or turns: simulate, calibrate and read speak the same language."""

from pathlib import Path

import pytest

from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reading import read_raw
from anglewright.jobs.simulating import simulate
from anglewright.rig import Rig

# What one whole scale of 4096 codes stands for on the rover's shoulder: its feed of 3.3 V, all of it, and the
# 340 deg of its track. A value stands for the middle of its code.
SCALES = {"counts": 4096.0, "volts": 3.3, "fraction": 1.0, "turns": 340.0 / 360.0}


def rig_showing(rover: Path, raw: str) -> Rig:
    """The rover whose controller shows its readings in one of the forms."""
    return open_rig(rover / "rig.toml", changes=[f"shoulder.converter.raw={raw}"])


def shown(code: float, raw: str) -> float:
    """What a controller shows for a code, by the arithmetic above."""
    return code if raw == "counts" else (code + 0.5) / 4096.0 * SCALES[raw]


@pytest.mark.parametrize("raw", SCALES)
def test_a_code_is_read_alike_in_every_form(rover: Path, raw: str) -> None:
    codes = [400, 421, 2048, 3674]
    plain = read_raw(rig_showing(rover, "counts"), "shoulder", codes, state="zeroed").readings
    found = read_raw(
        rig_showing(rover, raw), "shoulder", [shown(n, raw) for n in codes], state="zeroed"
    ).readings
    assert [row.position for row in found] == pytest.approx([row.position for row in plain], abs=1e-12)
    assert [row.fault for row in found] == [row.fault for row in plain]


@pytest.mark.parametrize("raw", ["volts", "fraction", "turns"])
def test_the_ends_of_the_scale_belong_to_the_end_codes(rover: Path, raw: str) -> None:
    whole = SCALES[raw]
    result = read_raw(rig_showing(rover, raw), "shoulder", [0.0, whole, 1.01 * whole, -0.01 * whole])
    assert [row.fault.text for row in result.readings] == [
        "below band",
        "above band",
        "not a code",
        "not a code",
    ]


@pytest.mark.parametrize("raw", SCALES)
def test_a_bench_in_any_form_leads_to_the_same_line(rover: Path, raw: str) -> None:
    lines = []
    for form in ("counts", raw):
        rig = rig_showing(rover, form)
        simulate(rig, "shoulder", seed=11, out=rover / f"{form}.csv")
        lines.append(
            calibrate(rig, "shoulder", file=rover / f"{form}.csv", date="2026-05-12", keep=False).calibration
        )
    # The same codes, written to a hundredth of a code: the lines agree to that, and so do their errors.
    assert lines[1].slope == pytest.approx(lines[0].slope, rel=1e-5)
    assert lines[1].offset == pytest.approx(lines[0].offset, abs=0.02 * abs(lines[0].slope))
    assert lines[1].play.value == pytest.approx(lines[0].play.value, abs=0.02 * abs(lines[0].slope))


@pytest.mark.parametrize("raw", ["volts", "fraction", "turns"])
def test_a_calibrated_reading_is_where_the_bench_stood(rover: Path, raw: str) -> None:
    rig = rig_showing(rover, raw)
    sweep = simulate(rig, "shoulder", seed=11, out=rover / "b.csv").sweep
    result = calibrate(rig, "shoulder", file=rover / "b.csv", date="2026-05-12")
    found = read_raw(rig, "shoulder", [float(value) for value in sweep.raw])
    half = result.calibration.half_width_95
    assert half is not None
    off = [
        abs(row.position - float(true))
        for row, true in zip(found.readings, sweep.reference, strict=True)
        if row.position is not None
    ]
    assert len(off) == len(sweep.raw)
    assert sum(each <= half for each in off) >= 0.9 * len(off)


def test_readings_beyond_full_scale_are_told_in_what_the_controller_shows(rover: Path) -> None:
    from anglewright.errors import DataError

    path = rover / "run.csv"
    path.write_text("reference_deg,volts\n-20,0.34\n47.5,1.65\n115,3.5\n", encoding="utf-8")
    with pytest.raises(DataError) as caught:
        calibrate(rig_showing(rover, "volts"), "shoulder", file=path, date="2026-05-12")
    assert str(caught.value) == (
        f"{path}, line 4, column 'volts': 3.5 is above 3.3, full scale. "
        "Name another column, or correct converter.bits or converter.raw."
    )


def test_volts_at_the_very_ends_are_taken(rover: Path) -> None:
    path = rover / "run.csv"
    path.write_text("reference_deg,volts\n-20,0\n13,0.825\n47.5,1.65\n81,2.475\n115,3.3\n", encoding="utf-8")
    found = calibrate(rig_showing(rover, "volts"), "shoulder", file=path, date="2026-05-12", keep=False)
    assert [point.raw for point in found.calibration.points] == pytest.approx(
        [0.0, 1023.5, 2047.5, 3071.5, 4095.0]
    )
