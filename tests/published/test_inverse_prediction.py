"""Inverse prediction and errors in both variables against worked examples of the literature."""

import numpy as np
import pytest

from anglewright.calibration.inverse import NewReading, predict_inverse
from anglewright.calibration.york import fit_both
from anglewright.errors import DataError

# Handbook of Chemometrics and Qualimetrics A, chapter 8, example 1, as in the tests of a statistics library
POSITIONS = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]
SIGNALS = [4.0, 21.2, 44.6, 61.8, 78.0, 105.2]


@pytest.mark.parametrize(
    ("value", "readings", "position", "half_width"),
    [(15.0, 1, 6.1, 4.9), (90.0, 1, 43.9, 4.9), (90.0, 5, 43.9, 3.2)],
)
def test_a_reading_is_placed_as_printed(
    value: float, readings: int, position: float, half_width: float
) -> None:
    found = predict_inverse(POSITIONS, SIGNALS, NewReading(value=value, readings=readings))
    assert (found.position, found.half_width) == pytest.approx((position, half_width), abs=0.05)


def test_full_digits_and_fiellers_limits() -> None:
    found = predict_inverse(POSITIONS, SIGNALS, NewReading(value=15.0))
    assert found.position == pytest.approx(6.09381, abs=5e-6)
    assert found.standard_uncertainty == pytest.approx(1.767278, abs=5e-7)
    assert found.half_width == pytest.approx(4.906751, abs=5e-7)
    assert (found.low, found.high) == pytest.approx((0.96687, 10.83744), abs=5e-6)
    assert found.g == pytest.approx(0.01004, abs=5e-6)


REPEATS = [
    [4, 3, 4, 5, 4],
    [22, 20, 21, 22, 21],
    [44, 46, 45, 44, 44],
    [60, 63, 60, 63, 63],
    [75, 81, 79, 78, 77],
    [104, 109, 107, 101, 105],
]


@pytest.mark.parametrize(
    ("value", "weight", "position", "half_width"),
    [(15.0, 1.67, 5.9, 2.478285), (90.0, 0.145, 44.1, 7.855012)],
)
def test_a_weighted_line_places_as_printed(
    value: float, weight: float, position: float, half_width: float
) -> None:
    # the same handbook, example 3: weights one over the variance of the repeats, with the rounding of the
    # worked example (standard deviations to two digits, weights to three), fitted to six means
    repeats = np.array(REPEATS, dtype=float)
    weights = np.round(np.round(np.std(repeats, axis=1, ddof=1), 2) ** -2.0, 3)
    reading = NewReading(value=value, weight=weight)
    found = predict_inverse(POSITIONS, repeats.mean(axis=1), reading, weights=weights)
    assert found.position == pytest.approx(position, abs=0.05)
    assert found.half_width == pytest.approx(half_width, abs=5e-6)


def test_din_32645_at_99_per_cent() -> None:
    x = np.arange(0.05, 0.501, 0.05)
    y = [3060, 3522, 3707, 4280, 5058, 5510, 5703, 6205, 7156, 7178]
    found = predict_inverse(x, y, NewReading(value=3500.0, probability=0.99))
    assert found.half_width == pytest.approx(0.07434, abs=5e-6)


@pytest.mark.parametrize(
    ("value", "position", "u"), [(2.9, 0.72, 0.26), (13.5, 6.21, 0.24), (23.0, 11.13, 0.26)]
)
def test_fluorescein(value: float, position: float, u: float) -> None:
    # Statistics and Chemometrics for Analytical Chemistry, fluorescein example, from memory
    signals = [2.1, 5.0, 9.0, 12.6, 17.3, 21.0, 24.7]
    found = predict_inverse(np.arange(0.0, 13.0, 2.0), signals, NewReading(value=value))
    assert found.position == pytest.approx(position, abs=0.005)
    assert found.standard_uncertainty == pytest.approx(u, abs=0.006)


def test_a_reading_that_does_not_follow_is_refused() -> None:
    with pytest.raises(DataError, match="its slope is not surely other than 0"):
        predict_inverse([0.0, 1.0, 2.0, 3.0], [5.0, 4.0, 5.1, 4.2], NewReading(value=4.5))


def test_yorks_line() -> None:
    # Pearson's data with York's weights (York 1966; York and others 2004; from memory)
    x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4]
    y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5]
    w_x = np.array([1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0])
    w_y = np.array([1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0])
    line = fit_both(x, y, u_x=w_x**-0.5, u_y=w_y**-0.5)
    assert (line.slope, line.offset) == pytest.approx((-0.480533, 5.479910), abs=5e-7)
    assert (line.slope_u, line.offset_u) == pytest.approx((0.057985, 0.294971), abs=5e-7)
