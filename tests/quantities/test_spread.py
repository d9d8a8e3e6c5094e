"""Numbers that are not known exactly, against the examples of the GUM (JCGM 100:2008, from memory)."""

import math

import numpy as np
import pytest

from anglewright.quantities.spread import Shape, Spread


@pytest.mark.parametrize(
    ("shape", "half_width", "uncertainty"),
    [
        (Shape.RECTANGULAR, 1.0, 1.0 / math.sqrt(3.0)),  # 4.3.7
        (Shape.TRIANGULAR, 1.0, 1.0 / math.sqrt(6.0)),  # 4.3.9
        (Shape.ARCSINE, 0.5, 0.35),  # H.1.3.4: a cycle of 0.5 degC about the mean of the bench
        (Shape.NORMAL, 0.2, 0.2),  # H.1.3.4: a stated standard uncertainty
    ],
)
def test_limits_become_the_standard_uncertainty_of_the_guide(
    shape: Shape, half_width: float, uncertainty: float
) -> None:
    spread = Spread(nominal=7.0, below=half_width, above=half_width, shape=shape)
    assert spread.standard_uncertainty == pytest.approx(uncertainty, rel=0.011)


def test_unequal_limits_move_the_mean_and_count_by_their_distance() -> None:
    # 4.3.8: expansion of copper 16.52e-6 /K, at least 16.40e-6, at most 16.92e-6: u = 0.15e-6
    copper = Spread(nominal=16.52e-6, below=0.12e-6, above=0.40e-6)
    assert copper.mean == pytest.approx(16.66e-6)
    assert copper.limits == pytest.approx((16.40e-6, 16.92e-6))
    assert copper.standard_uncertainty == pytest.approx(0.15e-6, rel=0.01)


def test_the_worst_case_of_a_normal_number_is_three_standard_deviations() -> None:
    noise = Spread(nominal=0.0, below=2.0, above=2.0, shape=Shape.NORMAL)
    assert noise.limits == (-6.0, 6.0)


@pytest.mark.parametrize("shape", list(Shape))
def test_random_values_have_the_mean_and_the_standard_deviation_stated(shape: Shape) -> None:
    spread = Spread(nominal=10.0, below=1.0, above=3.0, shape=shape)
    values = spread.draw(np.random.default_rng(41), (200_000,))
    # the mean of n values scatters by s/sqrt(n) = 0.0045 at most, the deviation by less
    assert values.mean() == pytest.approx(spread.mean, abs=0.02)
    assert values.std() == pytest.approx(spread.standard_uncertainty, abs=0.02)
    if shape is not Shape.NORMAL:
        assert spread.limits[0] <= values.min() <= values.max() <= spread.limits[1]


def test_an_exact_number_is_drawn_as_itself() -> None:
    assert Spread(nominal=24.0).is_exact
    assert (Spread(nominal=24.0).draw(np.random.default_rng(41), (5, 1)) == 24.0).all()


def test_nudges_lie_one_standard_uncertainty_to_each_side() -> None:
    ((low, high),) = Spread(nominal=1.0, below=0.3, above=0.3).nudges
    assert (low, high) == pytest.approx((1.0 - 0.3 / math.sqrt(3.0), 1.0 + 0.3 / math.sqrt(3.0)))
