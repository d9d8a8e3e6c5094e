"""The worked examples of JCGM 101:2008 through the product's own trials.

Values of clause 9 from memory of the guide, each recomputed by another route (closed form or convolution).
The gauge block takes many trials: two million in full, fewer with wider limits otherwise.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import stats

from anglewright.budget.propagation import inputs_of, propagate
from anglewright.budget.trials import HowMany, numerical_tolerance, run_trials
from anglewright.calibration.student import coverage_factor

ROOT3 = math.sqrt(3.0)


def added(rows):
    return rows.sum(axis=1, keepdims=True)


def four_normal(rng, n):
    return added(rng.standard_normal((n, 4)))


def four_rectangular(rng, n):
    return added(rng.uniform(-ROOT3, ROOT3, (n, 4)))


def one_large_rectangular(rng, n):
    return added(rng.uniform(-ROOT3, ROOT3, (n, 4)) * np.array([1.0, 1.0, 1.0, 10.0]))


@pytest.fixture(scope="module")
def trials(long):
    return 1_000_000 if long else 200_000


def check(found, *, u, end):
    """Within five standard deviations of what so many trials scatter by, which the engine states itself."""
    unsure = found.unsure[:, 0]
    assert np.all(unsure < 0.01 * u)
    assert found.mean[0] == pytest.approx(0.0, abs=5.0 * unsure[0])
    assert found.standard_uncertainty[0] == pytest.approx(u, abs=5.0 * unsure[1])
    assert found.low[0] == pytest.approx(-end, abs=5.0 * unsure[2])
    assert found.high[0] == pytest.approx(end, abs=5.0 * unsure[3])


def test_four_normal_inputs(trials):
    # 9.2.2: u 2.00, 95 % within 3.92
    check(run_trials(four_normal, HowMany(most=trials), seed=922), u=2.0, end=1.959964 * 2.0)


def test_four_rectangular_inputs(trials):
    # 9.2.3: u 2.00; exactly 2 sqrt 3 (2 - (3/5)^(1/4)) = 3.8794, where the law of propagation says 3.92
    exact = 2.0 * ROOT3 * (2.0 - 0.6**0.25)
    assert exact == pytest.approx(3.8794, abs=5e-5)
    check(run_trials(four_rectangular, HowMany(most=trials), seed=923), u=2.0, end=exact)
    first = propagate(np.sum, inputs_of(np.zeros(4), uncertainties=np.ones(4)))
    assert first.half_width()[0] == pytest.approx(3.92, abs=5e-3)


def test_one_dominant_rectangular_input(trials):
    # 9.2.4: u 10.1 = sqrt 103, 95 % within 17.0 (17.016 by convolution), where the law says 19.9
    found = run_trials(one_large_rectangular, HowMany(most=trials), seed=924)
    check(found, u=math.sqrt(103.0), end=17.016)
    first = propagate(np.sum, inputs_of(np.zeros(4), uncertainties=[1.0, 1.0, 1.0, 10.0]))
    assert first.half_width()[0] == pytest.approx(19.9, abs=0.05)


def trapezoid(rng, n, *, low, high, inexact):
    """Curvilinear trapezoid, 6.4.3.3: a rectangle whose ends are themselves only known to `inexact`."""
    start = (low - inexact) + 2.0 * inexact * rng.random(n)
    return start + ((low + high) - 2.0 * start) * rng.random(n)


def gauge_block(rng, n):
    """Clause 9.5, less the nominal 50 mm, in nm: table 10's distributions."""
    standard = 50_000_623.0 + 25.0 * rng.standard_t(18, n)
    compared = 215.0 + 6.0 * rng.standard_t(24, n) + 4.0 * rng.standard_t(5, n) + 7.0 * rng.standard_t(8, n)
    alpha = rng.uniform(9.5e-6, 13.5e-6, n)
    theta = -0.1 + 0.2 * rng.standard_normal(n) + 0.5 * np.sin(2.0 * np.pi * rng.random(n))
    d_alpha = trapezoid(rng, n, low=-1e-6, high=1e-6, inexact=0.1e-6)
    d_theta = trapezoid(rng, n, low=-0.050, high=0.050, inexact=0.025)
    length = standard + compared - standard * (d_alpha * theta + alpha * d_theta)
    return (length - 50_000_000.0)[:, None]


def test_gauge_block(long):
    # 9.5: 838 nm, u 36 nm, 99 % symmetric interval 745 to 932 nm (2e6 trials elsewhere: 744.4 to 931.6)
    found = run_trials(
        gauge_block, HowMany(most=2_000_000 if long else 150_000, probability=0.99), seed=95, threads=2
    )
    assert found.mean[0] == pytest.approx(838.0, abs=0.6)
    assert found.standard_uncertainty[0] == pytest.approx(36.0, abs=0.5)
    near = 1.0 if long else 2.0  # standard deviation of an end: 0.15 nm in full, 0.6 nm reduced
    assert [found.low[0], found.high[0]] == pytest.approx([745.0, 932.0], abs=near)


def test_gauge_block_is_less_sure_than_terms_of_second_order_say():
    # 9.5.3: 32 nm to first order, 34 nm with terms of second order (JCGM 100 H.1.7), 36 nm by trials
    found = run_trials(gauge_block, HowMany(most=150_000), seed=96)
    assert found.standard_uncertainty[0] - 34.0 > 10.0 * found.unsure[1, 0]


@pytest.mark.parametrize(
    ("u", "digits", "delta"),
    [
        # 7.9.2, examples 1 and 2: 0.000 35 g to two digits, 0.000 05 g; 2 K to one digit, 0.5 K
        (0.00035, 2, 0.000005),
        (2.0, 1, 0.5),
        (10.1, 2, 0.5),
        (9.96, 2, 0.5),  # becomes 10 to two digits
        (9.94, 2, 0.05),
    ],
)
def test_numerical_tolerance(u, digits, delta):
    assert numerical_tolerance(u, digits=digits) == pytest.approx(delta, rel=1e-12)


def test_adaptive_trials_stop_early_and_close_enough():
    # 7.9: one digit of u = 10.1 leaves a tolerance of 5, the least that two blocks can show
    found = run_trials(one_large_rectangular, HowMany(digits=1), seed=1)
    assert (found.n, found.still) == (20_000, True)
    two = run_trials(one_large_rectangular, HowMany(digits=2), seed=1)  # tolerance 0.5
    assert two.still
    assert two.high[0] == pytest.approx(17.016, abs=0.5)


def test_adaptive_trials_go_on_until_the_digits_stand_still():
    # u = 2.00 to three digits: 0.005. Symmetric ends of a normal law scatter by 2.67 u / sqrt(n), so that
    # twice of it takes n = (2 * 2.67 * 2 / 0.005)^2 = 4.6 million; for two digits a hundredth, 46 000
    found = run_trials(four_normal, HowMany(digits=2), seed=3)
    assert found.still
    assert 20_000 <= found.n <= 120_000
    short = run_trials(four_normal, HowMany(digits=3, most=100_000), seed=3)
    assert (short.n, short.still) == (100_000, False)


def test_student_factors():
    # JCGM 100:2008, table G.2
    table = {1: 12.71, 2: 4.30, 5: 2.57, 9: 2.26, 10: 2.23, 20: 2.09, 50: 2.01, 100: 1.984}
    for dof, factor in table.items():
        assert coverage_factor(dof) == pytest.approx(factor, abs=0.0055 if dof < 100 else 5e-4)
    for probability, factor in ((0.6827, 1.05), (0.90, 1.81), (0.95, 2.23), (0.9545, 2.28), (0.99, 3.17)):
        assert coverage_factor(10, probability=probability) == pytest.approx(factor, abs=0.0055)
    assert coverage_factor(16, probability=0.99) == pytest.approx(2.92, abs=0.0055)
    factors = [coverage_factor(dof) for dof in (1, 2, 5, 30, 1000, math.inf)]
    assert all(first > second for first, second in pairwise(factors))


def test_student_factors_agree_with_a_library():
    for dof in (1, 2.5, 7, 16.75, 400):
        assert coverage_factor(dof, probability=0.99) == pytest.approx(stats.t.ppf(0.995, dof), rel=1e-9)


def test_curvilinear_trapezoid_has_the_variance_of_its_formula():
    # 6.4.3.4: u^2 = (b - a)^2 / 12 + d^2 / 9
    drawn = trapezoid(np.random.default_rng(1), 200_000, low=-1.0, high=1.0, inexact=0.5)
    assert drawn.var() == pytest.approx(4.0 / 12.0 + 0.25 / 9.0, rel=0.01)
