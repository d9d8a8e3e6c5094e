"""Linearity by four definitions, against known best straight lines."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.calibration.line import fit_line
from anglewright.calibration.linearity import (
    ReferenceLine,
    absolute,
    independent,
    terminal_based,
    zero_based,
)

UNIT = np.linspace(0.0, 1.0, 2001)
BOTH = np.linspace(-1.0, 1.0, 2001)
E = math.e

# curve, travel, slope, offset, largest departure, within
BEST_LINES = [
    # Real Analysis with Real Applications, section 10.6: x - 1/8 departs by 1/8
    (np.square, UNIT, 1.0, -1 / 8, 1 / 8, 1e-8),
    # the square's inverse, mirrored at y = x
    (np.sqrt, UNIT, 1.0, 1 / 8, 1 / 8, 1e-8),
    # slope m = e - 1, offset (e - m ln m) / 2: exact, by equal departures at both ends and the touching point
    (np.exp, UNIT, E - 1, (E - (E - 1) * math.log(E - 1)) / 2, 0.105933, 1e-6),
    # companion to An Introduction to Numerical Analysis, example 4.2, printed to four places
    (np.exp, BOTH, 1.1752, 1.2643, 0.278802, 1e-4),
]


@pytest.mark.parametrize(("curve", "x", "slope", "offset", "deviation", "within"), BEST_LINES)
def test_the_best_straight_line_of_a_known_curve(
    curve: Callable[[np.ndarray], np.ndarray],
    x: np.ndarray,
    slope: float,
    offset: float,
    deviation: float,
    within: float,
) -> None:
    line = independent(x, curve(x))
    assert line.slope == pytest.approx(slope, abs=1e-4)
    assert line.offset == pytest.approx(offset, abs=1e-4)
    assert line.deviation == pytest.approx(deviation, abs=within)


# curve, by definition: own arithmetic, set down beforehand and checked by search and in closed form
OTHER_LINES = [
    (np.sqrt, zero_based, 0.207107, 1e-6),
    (np.sqrt, terminal_based, 0.25, 1e-8),
    (np.sqrt, absolute, 0.25, 1e-8),
    (np.exp, zero_based, 0.141337, 1e-6),
    (np.exp, terminal_based, 0.211867, 1e-6),
    (np.square, zero_based, 3 - 2 * math.sqrt(2), 1e-6),
    (np.square, terminal_based, 0.25, 1e-8),
    (np.square, absolute, 0.25, 1e-8),
]


@pytest.mark.parametrize(("curve", "by", "deviation", "within"), OTHER_LINES)
def test_the_other_definitions_on_known_curves(
    curve: Callable[[np.ndarray], np.ndarray],
    by: Callable[[np.ndarray, np.ndarray], ReferenceLine],
    deviation: float,
    within: float,
) -> None:
    assert by(UNIT, curve(UNIT)).deviation == pytest.approx(deviation, abs=within)


def test_the_zero_based_slope_of_a_square_law() -> None:
    assert zero_based(UNIT, UNIT**2).slope == pytest.approx(2 * math.sqrt(2) - 2, abs=1e-4)


FIVE = ([0.0, 0.25, 0.5, 0.75, 1.0], [0.010, 0.262, 0.500, 0.741, 0.985])


def test_five_measured_points_by_all_four_definitions() -> None:
    # worked in exact fractions: 1/240 on the line 0.974667 x + 0.014167, and so on
    best = independent(*FIVE)
    assert best.deviation == pytest.approx(1 / 240, abs=1e-12)
    assert (best.slope, best.offset) == (pytest.approx(0.974667, abs=1e-6), pytest.approx(0.014167, abs=1e-6))
    held = zero_based(*FIVE)
    assert held.deviation == pytest.approx(0.0066, abs=1e-12)
    assert held.slope == pytest.approx(0.9816, abs=1e-12)
    assert held.offset == pytest.approx(0.010, abs=1e-12)
    assert terminal_based(*FIVE).deviation == pytest.approx(0.00825, abs=1e-12)
    assert absolute(*FIVE).deviation == pytest.approx(0.015, abs=1e-12)


def test_least_squares_overstates_independent_linearity() -> None:
    # square law on 0 to 1: the least-squares line is x - 1/6, so that the end departs by 1/6 and not 1/8
    worst = np.abs(fit_line(UNIT, UNIT**2).residuals).max()
    assert worst == pytest.approx(1 / 6, abs=1e-4)
    assert worst > independent(UNIT, UNIT**2).deviation + 0.04


_POINTS = st.lists(
    st.tuples(st.integers(-1000, 1000), st.integers(-1000, 1000)),
    min_size=3,
    max_size=25,
    unique_by=lambda p: p[0],
)


@given(_POINTS)
def test_the_best_line_is_that_of_a_linear_programme(points: list[tuple[int, int]]) -> None:
    # reference: scipy.optimize.linprog, minimise t subject to |y - a - b x| <= t
    from scipy.optimize import linprog

    x, y = np.array(points, dtype=float).T
    one = np.ones_like(x)
    above, below = np.column_stack([-one, -x, -one]), np.column_stack([one, x, -one])
    solved = linprog(
        [0.0, 0.0, 1.0], A_ub=np.vstack([above, below]), b_ub=np.concatenate([-y, y]), bounds=(None, None)
    )
    assert independent(x, y).deviation == pytest.approx(solved.fun, abs=1e-6)


@given(_POINTS)
def test_the_zero_based_line_is_the_best_through_its_point(points: list[tuple[int, int]]) -> None:
    x, y = np.array(points, dtype=float).T
    line = zero_based(x, y)
    start = int(np.argmin(x))
    assert line.offset + line.slope * x[start] == pytest.approx(y[start], abs=1e-9)
    for nudge in (-1e-3, 1e-3):
        moved = y - y[start] - (line.slope + nudge) * (x - x[start])
        assert np.abs(moved).max() >= line.deviation - 1e-9


@given(_POINTS)
def test_the_definitions_keep_their_order(points: list[tuple[int, int]]) -> None:
    x, y = np.array(points, dtype=float).T
    best = independent(x, y).deviation
    assert best <= zero_based(x, y).deviation + 1e-9
    assert best <= terminal_based(x, y).deviation + 1e-9
    assert best <= np.abs(fit_line(x, y).residuals).max() + 1e-9
    assert zero_based(x, y).deviation <= terminal_based(x, y).deviation + 1e-9


@given(_POINTS, st.floats(-5.0, 5.0), st.floats(-5.0, 5.0))
def test_adding_a_straight_line_moves_no_linearity_but_the_absolute(
    points: list[tuple[int, int]], offset: float, slope: float
) -> None:
    x, y = np.array(points, dtype=float).T
    for by in (independent, zero_based, terminal_based):
        assert by(x, y + offset + slope * x).deviation == pytest.approx(by(x, y).deviation, abs=1e-8)
    assert absolute(x, y + offset + slope * x, offset=offset, slope=1.0 + slope).deviation == pytest.approx(
        absolute(x, y).deviation, abs=1e-8
    )
