"""Limits of a standard deviation from repeats, against the table of chi-squared of any handbook."""

import math

import pytest

from anglewright.calibration.deviation import deviation_limits


@pytest.mark.parametrize(
    ("dof", "upper", "lower"),
    [(8, 17.535, 2.180), (20, 34.170, 9.591), (30, 46.979, 16.791)],
)
def test_the_limits_are_those_of_the_table(dof: int, upper: float, lower: float) -> None:
    """Percentage points 2.5 % and 97.5 %: Montgomery and Runger, table of chi-squared, from memory."""
    low, high = deviation_limits(2.0, dof=dof)
    assert low == pytest.approx(2.0 * math.sqrt(dof / upper), rel=1e-4)
    assert high == pytest.approx(2.0 * math.sqrt(dof / lower), rel=1e-4)
