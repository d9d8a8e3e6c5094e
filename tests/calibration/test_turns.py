"""Readings that wrap are put into the turns in which they follow the axis."""

import numpy as np
import pytest

from anglewright.calibration.turns import in_turns

PERIOD = 4096.0
EXPECTED = np.linspace(0.0, 4000.0, 11)


@pytest.mark.parametrize("zero", [0.0, 100.0, 1900.0, 2048.0, 2100.0, 4000.0])
def test_the_readings_keep_their_steps_whatever_the_zero_is(zero: float) -> None:
    found = in_turns(np.mod(EXPECTED + zero, PERIOD), EXPECTED, period=PERIOD)
    assert np.diff(found) == pytest.approx(np.full(10, 400.0))


def test_a_sensor_that_turns_the_other_way_round_is_not_torn_apart() -> None:
    found = in_turns(np.mod(3000.0 - EXPECTED, PERIOD), EXPECTED, period=PERIOD)
    assert np.diff(found) == pytest.approx(np.full(10, -400.0))


def test_one_wild_point_tears_nothing() -> None:
    raw = EXPECTED.copy()
    raw[5] = np.mod(raw[5] + 1500.0, PERIOD)
    found = in_turns(raw, EXPECTED, period=PERIOD)
    assert np.delete(found, 5) == pytest.approx(np.delete(EXPECTED, 5))


def test_two_swapped_points_tear_nothing() -> None:
    raw = EXPECTED.copy()
    raw[[2, 9]] = raw[[9, 2]]
    found = in_turns(raw, EXPECTED, period=PERIOD)
    assert np.delete(found, [2, 9]) == pytest.approx(np.delete(EXPECTED, [2, 9]))
