"""From rows to points, and what is refused."""

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint, calibration_points
from anglewright.errors import DataError
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import Unit
from anglewright.recording import Recording

_TWELVE = CodeRange.of_bits(12)


def _log(raw: list[float], reference_deg: list[float] | None, **columns: np.ndarray) -> Recording:
    reference = None if reference_deg is None else np.radians(reference_deg)
    return Recording(raw=np.array(raw), reference=reference, source="run3.csv", **columns)


def _refused(log: Recording, unit: Unit, codes: CodeRange = _TWELVE) -> str:
    with pytest.raises(DataError) as refused:
        calibration_points(log, unit=unit, codes=codes)
    return str(refused.value)


def test_rows_at_one_position_become_one_point_with_mean_and_sd(deg: Unit) -> None:
    log = _log([10, 12, 14, 100, 100], [0, 0, 0, 45, 45], approach=np.ones(5))
    first, second = calibration_points(log, unit=deg, codes=_TWELVE)
    # mean 12 and sample standard deviation 2 of 10, 12, 14: by hand
    assert first == CalibrationPoint(reference=0.0, raw=12.0, readings=3, raw_sd=2.0, approach=1, row=0)
    assert (second.raw, second.readings, second.row) == (100.0, 2, 3)
    assert second.reference == pytest.approx(np.pi / 4)


def test_a_single_reading_has_no_sd(deg: Unit) -> None:
    points = calibration_points(_log([10, 100], [0, 45]), unit=deg, codes=_TWELVE)
    assert [point.raw_sd for point in points] == [None, None]


def test_one_position_reached_from_both_sides_is_two_points(deg: Unit) -> None:
    log = _log([10, 90, 94, 14], [0, 45, 45, 0], approach=np.array([1, 1, -1, -1]))
    points = calibration_points(log, unit=deg, codes=_TWELVE)
    assert [(point.raw, point.approach) for point in points] == [(10, 1), (90, 1), (94, -1), (14, -1)]


def test_a_reference_that_wavers_a_little_is_one_position(deg: Unit) -> None:
    log = _log([10, 11, 90, 91], [0.0, 0.05, 45.0, 44.95])
    assert len(calibration_points(log, unit=deg, codes=_TWELVE)) == 2
    assert len(calibration_points(log, unit=deg, codes=_TWELVE, tolerance=np.radians(0.01))) == 4


def test_the_approach_is_derived_from_the_order_where_it_is_missing(deg: Unit) -> None:
    up_and_down = [0, 0, 30, 30, 60, 60, 90, 90, 90, 90, 60, 60, 30, 30, 0, 0]
    points = calibration_points(_log([*range(16)], up_and_down), unit=deg, codes=_TWELVE)
    # the first has none; at the top the way up and the way down are mixed
    assert [point.approach for point in points] == [0, 1, 1, 0, -1, -1, -1]


def test_a_turning_point_read_once_was_reached_going_up(deg: Unit) -> None:
    points = calibration_points(_log([1, 2, 3, 2, 1], [0, 45, 90, 45, 0]), unit=deg, codes=_TWELVE)
    assert [point.approach for point in points] == [0, 1, 1, -1, -1]


def test_a_step_too_small_to_have_a_direction_has_none(deg: Unit) -> None:
    points = calibration_points(_log([1, 2, 3, 4], [0, 45, 90, 90.9]), unit=deg, codes=_TWELVE)
    assert [point.approach for point in points] == [0, 1, 1, 0]


def test_a_reading_above_full_scale_is_refused_with_its_line(deg: Unit) -> None:
    log = _log([100, 4097], [0, 45], lines=np.array([411, 412]))
    assert _refused(log, deg) == (
        "run3.csv, line 412, column 'raw': 4097 is above 4095, the top code of the 12-bit converter. "
        "Name another column, or correct converter.bits."
    )


def test_a_reading_below_zero_is_refused(deg: Unit) -> None:
    assert _refused(_log([-1, 4095], [0, 45]), deg) == (
        "run3.csv, row 1, column 'raw': -1 is below 0, the lowest reading there is. "
        "Name another column, or correct converter.bits."
    )


def test_a_full_scale_that_is_no_power_of_two_is_called_full_scale(deg: Unit) -> None:
    codes = CodeRange(low=0, high=1000)
    assert _refused(_log([1001, 4], [0, 45]), deg, codes) == (
        "run3.csv, row 1, column 'raw': 1001 is above 1000, full scale. "
        "Name another column, or correct converter.bits."
    )


def test_readings_without_numbers_are_refused(deg: Unit) -> None:
    told = (
        "run3.csv: no row holds both a reference and a reading. Fill in the sheet, or name the right columns."
    )
    assert _refused(_log([], []), deg) == told
    assert _refused(_log([np.nan, np.nan], [0, 45]), deg) == told


def test_rows_with_a_hole_are_refused_together(deg: Unit) -> None:
    assert _refused(_log([1, np.nan, 3], [0, 45, np.nan]), deg).splitlines() == [
        "run3.csv, row 2: the reading is no number. Fill it in or take the row out.",
        "run3.csv, row 3: the reference is no number. Fill it in or take the row out.",
    ]


def test_a_thousand_bad_rows_are_counted_and_not_all_listed(deg: Unit) -> None:
    lines = _refused(_log([5000.0] * 1000, [0.0] * 500 + [45.0] * 500), deg).splitlines()
    assert (len(lines), lines[-1]) == (11, "run3.csv: the same holds for 990 more rows.")


def test_a_log_without_reference_is_refused(deg: Unit) -> None:
    assert _refused(_log([1, 2], None), deg) == (
        "run3.csv: no column holds the reference. "
        "Measure where the axis stood at each reading, and add that column."
    )


def test_one_position_is_refused(deg: Unit) -> None:
    assert _refused(_log([10, 11, 12], [45, 45, 45]), deg) == (
        "run3.csv: all 3 readings were taken at one position, 45 deg, and a line needs two different ones. "
        "Take at least 5 positions, better 9, spread over the motion."
    )


# CHECKS 10: readings 355, 5 and 15 deg have the mean 5 deg, and the naive one is 125
@pytest.mark.parametrize(
    ("raw", "mean"),
    [([355.0, 5.0, 15.0], 365.0), ([5.0, 15.0, 355.0], 5.0), ([350.0, 10.0], 360.0), ([255.0, 1.0], 308.0)],
)
def test_the_mean_of_a_reading_that_comes_round_is_never_taken_across_the_wrap(
    deg: Unit, raw: list[float], mean: float
) -> None:
    log = _log([*raw, 100.0], [0.0] * len(raw) + [45.0])
    codes = CodeRange(low=0, high=359, period=360)
    point = calibration_points(log, unit=deg, codes=codes, period=360.0)[0]
    # in the turn of its first reading; 255 and 1 are 106 apart the short way: 255 + 53
    assert point.raw == pytest.approx(mean)


def test_a_position_at_the_wrap_of_14_bit_is_not_1640_counts_off(deg: Unit) -> None:
    # nine readings in ten lie below the wrap: their plain mean is 14743 and more, F12 of the field notes
    readings = [16382.0] * 9 + [2.0]
    log = _log([16300.0, *readings], [0.0] + [2.0] * 10)
    codes = CodeRange(low=0, high=16383, period=16384)
    point = calibration_points(log, unit=deg, codes=codes, period=16384.0)[1]
    assert np.mean(readings) == pytest.approx(14744.0)
    assert point.raw == pytest.approx(16382.4)
    assert point.raw_sd == pytest.approx(np.std([0.0] * 9 + [4.0], ddof=1))


def test_readings_of_one_position_all_round_the_turn_are_refused(deg: Unit) -> None:
    log = _log([0.0, 90.0, 180.0, 270.0, 100.0], [0.0, 0.0, 0.0, 0.0, 45.0])
    with pytest.raises(DataError) as refused:
        calibration_points(log, unit=deg, codes=CodeRange(low=0, high=359, period=360), period=360.0)
    assert str(refused.value) == (
        "run3.csv, row 1: the 4 readings from here on are of one position and lie all round the turn, and "
        "their mean means nothing. Look for a magnet that is missing or too far, an open input, or an axis "
        "that turned meanwhile."
    )


def test_a_reference_that_comes_round_is_one_position_on_both_sides_of_its_zero(deg: Unit) -> None:
    log = _log([10.0, 12.0, 100.0], [359.9, 0.1, 90.0])
    first, second = calibration_points(log, unit=deg, codes=_TWELVE, tolerance=0.01, turn=2.0 * np.pi)
    assert (first.readings, second.readings) == (2, 1)
    assert np.degrees(first.reference) == pytest.approx(360.0)
