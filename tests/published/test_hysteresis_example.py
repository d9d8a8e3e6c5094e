"""Hysteresis and repeatability of three runs up and down, in per cent of span.

The definitions are those of 43 CFR 3175.135(a) (by pairs, three runs or more) and, averaging first,
IEC 61298-2 (from memory); the readings and their answers were worked by hand from the definitions.
"""

import numpy as np
import pytest

from anglewright.calibration.repeatability import (
    hysteresis_by_pairs,
    hysteresis_of_averages,
    repeatability,
)

POSITIONS = np.array([0.0, 25.0, 50.0, 75.0, 100.0])
UP = np.array(
    [
        [0.02, 25.06, 50.03, 75.10, 100.04],
        [0.03, 25.09, 50.05, 75.08, 100.05],
        [0.02, 25.07, 50.08, 75.09, 100.04],
    ]
)
DOWN = np.array(
    [
        [0.06, 25.20, 50.22, 75.19, 100.04],
        [0.05, 25.22, 50.21, 75.18, 100.05],
        [0.07, 25.19, 50.25, 75.20, 100.04],
    ]
)


def test_hysteresis_by_pairs_is_the_largest_difference_within_one_run() -> None:
    assert hysteresis_by_pairs(UP, DOWN).value == pytest.approx(0.19, abs=1e-9)


def test_hysteresis_of_averages_is_smaller() -> None:
    assert hysteresis_of_averages(UP, DOWN).value == pytest.approx(0.1733, abs=5e-5)


def test_repeatability_is_the_largest_difference_within_one_direction() -> None:
    assert repeatability(UP, DOWN).value == pytest.approx(0.05, abs=1e-9)


def test_errors_and_readings_give_the_same_figures() -> None:
    assert hysteresis_by_pairs(UP - POSITIONS, DOWN - POSITIONS).value == pytest.approx(0.19, abs=1e-9)
    assert repeatability(UP - POSITIONS, DOWN - POSITIONS).value == pytest.approx(0.05, abs=1e-9)


def test_fewer_than_three_runs_have_no_repeatability() -> None:
    two = repeatability(UP[:2], DOWN[:2])
    assert (two.value, two.why) == (None, "there are 2 runs, and repeatability takes 3 in one direction")


def test_a_position_left_out_of_one_run_does_not_hide_the_others() -> None:
    holed = UP.copy()
    holed[0, 2] = np.nan
    assert hysteresis_by_pairs(holed, DOWN).value == pytest.approx(
        0.17, abs=1e-9
    )  # run 3 at 50: 50.25 - 50.08
    assert repeatability(holed, DOWN).value == pytest.approx(0.04, abs=1e-9)  # 50.25 - 50.21, coming down


def test_one_direction_alone_has_no_hysteresis() -> None:
    nothing = np.full_like(DOWN, np.nan)
    for figure in (hysteresis_by_pairs, hysteresis_of_averages):
        assert figure(UP, nothing).value is None
        assert figure(UP, nothing).why == "no position was reached from both sides"
