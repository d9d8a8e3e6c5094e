"""The robust rule that shows outliers."""

import numpy as np
import pytest
from scipy.stats import median_abs_deviation

from anglewright.calibration.outliers import SCALE, outliers


def test_the_scale_is_that_of_the_normal_distribution() -> None:
    # scipy.stats, reference library; 1 2 3 4 100 has a scaled deviation of 1.4826
    data = [1.0, 2.0, 3.0, 4.0, 100.0]
    assert pytest.approx(median_abs_deviation(data, scale="normal"), rel=1e-12) == SCALE
    (found,) = outliers(data)
    assert (found.point, found.departure) == (4, 97.0)
    assert found.limit == pytest.approx(3.5 * 1.4826, abs=1e-3)


def test_one_wild_point_among_eleven_is_shown() -> None:
    # Hampel's example: 25 among values near 10
    data = [10, 10.2, 9.9, 10.1, 25, 10, 9.8, 10.1, 10.2, 9.9, 10]
    assert [found.point for found in outliers(data)] == [4]


def test_ordinary_scatter_shows_hardly_any() -> None:
    # share of a normal distribution beyond 3.5 standard deviations: 0.05 %, tables of the normal distribution
    scatter = np.random.default_rng(3).standard_normal(20000)
    assert 2 <= len(outliers(scatter)) <= 24


def test_differences_below_the_least_are_not_shown() -> None:
    assert outliers([0.0, 0.0, 0.0, 0.9], least=1.0) == ()
    assert [found.point for found in outliers([0.0, 0.0, 0.0, 1.1], least=1.0)] == [3]
