"""What a calibration record says of a code: its position, how far it lies outside, how good it is there."""

from dataclasses import replace

import numpy as np
import pytest

from anglewright.calibration.record import CalibrationRecord
from anglewright.links.code import Corrections

LINE = CalibrationRecord(
    name="2026-05-12-1",
    date="2026-05-12",
    rig="Vine rover",
    axis="shoulder",
    chain="0" * 16,
    sensor="Single turn, 340 deg",
    offset=-1.0,
    slope=0.001,
    covariance=((1e-6, -2e-10), (-2e-10, 9e-14)),  # u of the slope: 3e-7 a count
    residual_sd=0.001,
    half_width_95=0.01,
    verdict="meets",
    points=(),
    domain=(400.0, 3600.0),
)
TABLE = Corrections(first=400.0, step=1600.0, values=np.array([0.0, 0.016, -0.016]))
CURVE = replace(LINE, corrections=TABLE)


def test_a_position_is_that_of_the_line_and_its_correction() -> None:
    assert LINE.at(2000.0) == pytest.approx(1.0, abs=1e-12)
    assert CURVE.at(2000.0) == pytest.approx(1.016, abs=1e-12)
    assert CURVE.code_line(rotary=False).backward(1.016) == pytest.approx(2000.0, abs=1e-9)


@pytest.mark.parametrize(
    ("code", "far"), [(400.0, 0.0), (2000.0, 0.0), (3600.0, 0.0), (390.0, 10.0), (3700.5, 100.5)]
)
def test_how_far_a_code_lies_outside_counts_from_the_nearer_end(code: float, far: float) -> None:
    assert LINE.beyond(code) == far


@pytest.mark.parametrize(
    # calibrated over 3800 of 4096 codes, across the wrap: 3900 is 196 before the turn, as -196
    ("code", "far"),
    [(3900.0, 0.0), (0.0, 0.0), (3600.0, 0.0), (3700.0, 100.0), (3850.0, 46.0)],
)
def test_on_an_axis_that_comes_round_the_shorter_way_counts(code: float, far: float) -> None:
    round_ = replace(LINE, domain=(-200.0, 3600.0))
    assert round_.beyond(code, period=4096.0) == far


def test_an_old_record_says_nothing_of_the_codes_it_covers() -> None:
    old = replace(LINE, domain=None)
    assert old.beyond(1e6) == 0.0
    assert old.half_width_at(1e6) == 0.01


@pytest.mark.parametrize("record", [LINE, CURVE], ids=["line", "curve"])
@pytest.mark.parametrize("code", [400.0, 1111.0, 3600.0])
def test_inside_the_calibrated_codes_the_half_width_is_that_of_the_record(
    record: CalibrationRecord, code: float
) -> None:
    assert record.half_width_at(code) == 0.01


def test_outside_it_grows_by_the_slope_and_by_what_the_corrections_leave_open() -> None:
    # By hand: 100 counts beyond; twice 3e-7 a count for the slope. The table ends with 0.016 over 1600
    # counts below, and with -0.032 over 1600 above: 1e-5 and 2e-5 a count.
    assert LINE.half_width_at(300.0) == pytest.approx(0.01 + 100 * 6e-7, abs=1e-12)
    assert CURVE.half_width_at(300.0) == pytest.approx(0.01 + 100 * (6e-7 + 1e-5), abs=1e-12)
    assert CURVE.half_width_at(3700.0) == pytest.approx(0.01 + 100 * (6e-7 + 2e-5), abs=1e-12)


def test_a_table_that_goes_on_beyond_the_calibrated_codes_counts_where_they_end() -> None:
    inner = replace(CURVE, domain=(500.0, 1900.0))
    assert inner.half_width_at(2000.0) == pytest.approx(0.01 + 100 * (6e-7 + 1e-5), abs=1e-12)


def test_of_a_table_that_comes_round_the_steepest_piece_counts() -> None:
    # 0.02 over 1024 counts is the steepest: by hand
    table = Corrections(first=0.0, step=1024.0, values=np.array([0.0, 0.0, 0.02, 0.01]), period=4096.0)
    round_ = replace(LINE, corrections=table, domain=(0.0, 3000.0))
    expected = 0.01 + 96 * (6e-7 + 0.02 / 1024)
    assert round_.half_width_at(-96.0, period=4096.0) == pytest.approx(expected, abs=1e-12)
    assert round_.half_width_at(4000.0, period=4096.0) == pytest.approx(expected, abs=1e-12)


def test_inside_the_half_width_is_that_of_the_code_and_outside_it_grows_from_the_end() -> None:
    told = replace(LINE, half_widths=(0.03, 0.01, 0.02), half_width_95=0.04)
    assert told.half_width_at(1200.0) == pytest.approx(0.02)  # half-way between 0.03 at 400 and 0.01 at 2000
    assert told.half_width_at(3600.0) == pytest.approx(0.02)
    assert told.half_width_at(3700.0) == pytest.approx(0.02 + 2.0 * 100.0 * 3e-7)  # twice u of the slope
    assert LINE.half_width_at(1200.0) == 0.01  # a record that tells the widest alone
