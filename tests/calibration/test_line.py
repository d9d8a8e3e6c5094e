"""Edges and laws of the straight line; its published checks stand in tests/published."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.calibration.line import fit_line
from anglewright.errors import DataError


def test_two_points_fix_the_line_and_leave_no_uncertainty_to_state() -> None:
    line = fit_line([0.0, 2.0], [1.0, 5.0])
    assert (line.offset, line.slope, line.dof) == (pytest.approx(1.0), pytest.approx(2.0), 0)
    assert math.isnan(line.residual_sd)
    assert np.isnan(line.covariance).all()
    assert np.isnan(line.interval(1.0)).all()


@pytest.mark.parametrize(
    ("x", "y", "weights", "text"),
    [
        (
            [1.0, 1.0],
            [0.0, 1.0],
            None,
            "line: 1 different x with weight, a line needs 2. Take more readings.",
        ),
        (
            [1.0, 2.0],
            [0.0, 1.0],
            [1.0, 0.0],
            "line: 1 different x with weight, a line needs 2. Take more readings.",
        ),
        (
            [1.0, 2.0],
            [0.0, math.nan],
            None,
            "line: a value is no finite number, or a weight is below zero. Leave such rows out.",
        ),
        (
            [1.0, 2.0],
            [0.0],
            None,
            "line: x has shape (2,), y (1,) and the weights (1,). Give three equally long rows of numbers.",
        ),
    ],
)
def test_what_is_no_line_is_refused(
    x: list[float], y: list[float], weights: list[float] | None, text: str
) -> None:
    with pytest.raises(DataError) as refused:
        fit_line(x, y, weights=weights)
    assert str(refused.value) == text


def test_prediction_of_an_array_equals_that_of_its_elements() -> None:
    line = fit_line([0.0, 1.0, 2.0, 3.0], [0.1, 0.9, 2.2, 2.9])
    x = np.array([-1.0, 0.5, 7.0])
    for by in (line.predict, line.predict_standard_uncertainty):
        assert by(x).tolist() == [by(one) for one in x.tolist()]
    assert [side[1] for side in line.interval(x)] == [pytest.approx(side) for side in line.interval(0.5)]


def test_the_uncertainty_is_least_in_the_middle_of_the_readings() -> None:
    # textbook: s / sqrt(n) at the mean of x
    line = fit_line([0.0, 1.0, 2.0, 3.0], [0.1, 0.9, 2.2, 2.9])
    assert line.predict_standard_uncertainty(1.5) == pytest.approx(line.residual_sd / 2.0)


_POINTS = st.lists(
    st.tuples(st.integers(0, 4095), st.floats(-3.0, 3.0)),
    min_size=3,
    max_size=30,
    unique_by=lambda point: point[0],
)


@given(_POINTS)
def test_residuals_are_orthogonal_to_both_columns(points: list[tuple[int, float]]) -> None:
    raw, position = np.array(points, dtype=float).T
    line = fit_line(raw, position)
    assert np.sum(line.residuals) == pytest.approx(0.0, abs=1e-9)
    assert np.sum(line.residuals * raw) == pytest.approx(0.0, abs=1e-6)


@given(_POINTS, st.floats(-2.0, 2.0), st.floats(-1e-2, 1e-2))
def test_a_line_added_to_the_data_is_added_to_the_fit(
    points: list[tuple[int, float]], offset: float, slope: float
) -> None:
    raw, position = np.array(points, dtype=float).T
    plain, moved = fit_line(raw, position), fit_line(raw, position + offset + slope * raw)
    where = np.array([0.0, 2048.0, 4095.0])
    assert moved.predict(where) == pytest.approx(plain.predict(where) + offset + slope * where, abs=1e-7)
    assert moved.residual_sd == pytest.approx(plain.residual_sd, abs=1e-8)
