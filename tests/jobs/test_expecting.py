"""The card beside the multimeter, before and after a calibration."""

from pathlib import Path

import pytest

from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.expecting import Expected, expect
from anglewright.jobs.opening import open_rig
from anglewright.jobs.simulating import simulate

# The worked numbers of the shoulder without a pull: volts at the pin and codes.
WORKED = {"-20 deg": (0.33971, 421), "0 deg": (0.72794, 903), "pin": (1.65, 2048), "115 deg": (2.96029, 3674)}


@pytest.mark.parametrize("place", WORKED)
def test_the_card_shows_the_worked_numbers(rover: Path, place: str) -> None:
    (row,) = expect(open_rig(rover / "no-pull.toml"), axis="shoulder", positions=[place]).readings
    assert (round(row.volts_pin, 5), row.code) == WORKED[place]
    assert row.volts_wiper == pytest.approx(row.volts_pin, abs=1e-12)  # no pull: no current in the lead


def test_a_bare_number_is_in_the_unit_of_the_axis(rover: Path) -> None:
    rig = open_rig(rover / "no-pull.toml")
    codes = [row.code for row in expect(rig, positions=[-20, "-20", "-20 deg"]).readings]
    assert codes == [421, 421, 421]


def calibrated_card(
    rover: Path, *, changes: tuple[str, ...] = ()
) -> tuple[tuple[Expected, ...], float, float]:
    """The card after a calibration, with the line of the record: offset [rad] and slope [rad/count]."""
    rig = open_rig(rover / "rig.toml", changes=changes)
    simulate(rig, "shoulder", seed=5, out=rover / "b.csv")
    line = calibrate(rig, "shoulder", file=rover / "b.csv", date="2026-05-12").calibration
    return expect(rig, positions=["-20 deg", "pin", "115 deg"]).readings, line.offset, line.slope


def test_after_a_calibration_volts_and_codes_are_those_of_its_line(rover: Path) -> None:
    rows, offset, slope = calibrated_card(rover)
    for row in rows:
        exact = (row.position - offset) / slope
        assert row.code == round(exact)
        assert row.volts_pin == pytest.approx((exact + 0.5) / 4096 * 3.3, abs=1e-9)
        # 100 kohm at the pin behind 1 kohm divide the wiper's voltage by 1.01.
        assert row.volts_wiper == pytest.approx(1.01 * row.volts_pin, rel=1e-9)
        assert row.volts_low < row.volts_pin < row.volts_high
        assert row.code_low < row.code < row.code_high
        assert row.in_use.basis == "calibration 2026-05-12-1"


def test_limits_are_as_wide_as_the_calibration_says(rover: Path) -> None:
    rows, _, slope = calibrated_card(rover)
    for row in rows:
        assert row.in_use.record is not None
        reach = row.in_use.record.half_width_at((row.code_low + row.code_high) / 2.0) / abs(slope)
        assert row.code_high - row.code_low == pytest.approx(2 * reach, abs=2.0)


def test_a_state_asked_for_leaves_the_record_aside(rover: Path) -> None:
    calibrated_card(rover)
    row = expect(open_rig(rover / "rig.toml"), positions=["pin"], state="datasheet").readings[0]
    assert (row.in_use.record, row.in_use.basis) == (None, "data sheet (as asked for)")
