"""The fitting code that `calibrate` uses, against standards and a reference library."""

from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.line import LineFit, fit_line
from anglewright.calibration.student import coverage_factor, effective_dof, upper_quantile

# JCGM 100:2008, H.3, table H.6: readings of a thermometer and its corrections [degC]
READINGS = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTIONS = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
START = 20.0  # t0 [degC]


@pytest.fixture(name="thermometer")
def fixture_thermometer() -> LineFit:
    return fit_line(np.array(READINGS) - START, CORRECTIONS)


@pytest.fixture(name="ozone")
def fixture_ozone() -> LineFit:
    """NIST StRD, Norris."""
    rows = np.loadtxt(Path(__file__).parent / "data" / "norris.csv", delimiter=",", skiprows=4)
    return fit_line(rows[:, 1], rows[:, 0])


def test_gum_h3_offset_and_slope_as_printed_and_in_full_digits(thermometer: LineFit) -> None:
    # JCGM 100:2008, H.3.3; full digits: documentation of GTC, which works the same example
    assert thermometer.offset == pytest.approx(-0.1712, abs=5e-5)
    assert thermometer.slope == pytest.approx(0.00218, abs=5e-6)
    assert thermometer.offset == pytest.approx(-0.17120379013135, abs=1e-14)
    assert thermometer.slope == pytest.approx(0.0021826977398873, abs=1e-15)


def test_gum_h3_uncertainties_and_correlation(thermometer: LineFit) -> None:
    u_offset, u_slope = np.sqrt(np.diag(thermometer.covariance))
    assert u_offset == pytest.approx(0.0029, abs=5e-5)
    assert u_slope == pytest.approx(0.00067, abs=5e-6)
    assert u_slope == pytest.approx(0.00066793877322783, rel=1e-12)  # documentation of GTC
    assert thermometer.correlation == pytest.approx(-0.930, abs=5e-4)


def test_gum_h3_residuals(thermometer: LineFit) -> None:
    assert thermometer.residual_sd == pytest.approx(0.0035, abs=5e-5)
    assert np.sum(thermometer.residuals**2) == pytest.approx(1.10096583109e-4, rel=1e-10)
    assert (thermometer.dof, thermometer.n) == (9, 11)


def test_gum_h3_predicted_correction_at_30_degrees(thermometer: LineFit) -> None:
    assert thermometer.predict(30.0 - START) == pytest.approx(-0.1494, abs=5e-5)
    assert thermometer.predict_standard_uncertainty(30.0 - START) == pytest.approx(0.0041, abs=5e-5)


def test_gum_h3_would_be_0_0073_without_the_covariance(thermometer: LineFit) -> None:
    (offset, _), (_, slope) = thermometer.covariance
    careless = np.sqrt(offset + 100.0 * slope)
    assert careless == pytest.approx(0.0073, abs=5e-5)  # own arithmetic on the printed values
    assert thermometer.predict_standard_uncertainty(30.0 - START) < 0.6 * careless


def test_gum_h3_interval_uses_nine_degrees_of_freedom(thermometer: LineFit) -> None:
    low, high = thermometer.interval(30.0 - START)
    # t = 2.26 for 9 degrees of freedom and 95 %: JCGM 100:2008, table G.2
    assert (high - low) / 2 == pytest.approx(2.26 * 0.0041, abs=2e-4)
    assert (high + low) / 2 == pytest.approx(-0.1494, abs=5e-5)


def test_norris_reproduces_the_certified_values(ozone: LineFit) -> None:
    # NIST StRD, Norris: certified values
    assert ozone.offset == pytest.approx(-0.262323073774029, rel=1e-11)
    assert ozone.slope == pytest.approx(1.00211681802045, rel=1e-13)
    u_offset, u_slope = np.sqrt(np.diag(ozone.covariance))
    assert u_offset == pytest.approx(0.232818234301152, rel=1e-11)
    assert u_slope == pytest.approx(0.429796848199937e-3, rel=1e-11)
    assert ozone.residual_sd == pytest.approx(0.884796396144373, rel=1e-11)
    assert np.sum(ozone.residuals**2) == pytest.approx(26.6173985294224, rel=1e-11)


@pytest.mark.parametrize("seed", range(5))
def test_a_line_agrees_with_a_reference_library(seed: int) -> None:
    # GTC (Guide to the expression of uncertainty, reference library), ordinary and weighted line
    from GTC import get_covariance, ta, value, variance

    rng = np.random.default_rng(seed)
    raw = np.sort(rng.uniform(300.0, 3700.0, 18))
    position = -0.4 + 7e-4 * raw + rng.normal(0.0, 2e-3, 18)
    fit = fit_line(raw, position)
    offset, slope = ta.line_fit(raw.tolist(), position.tolist()).a_b
    assert fit.offset == pytest.approx(value(offset), rel=1e-9)
    assert fit.slope == pytest.approx(value(slope), rel=1e-9)
    assert fit.covariance[0, 0] == pytest.approx(variance(offset), rel=1e-8)
    assert fit.covariance[1, 1] == pytest.approx(variance(slope), rel=1e-8)
    assert fit.covariance[0, 1] == pytest.approx(get_covariance(offset, slope), rel=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_a_weighted_line_agrees_with_a_reference_library(seed: int) -> None:
    # numpy.polyfit: weights there are one over sigma, and its covariance is scaled by the residuals too
    rng = np.random.default_rng(seed)
    raw = np.sort(rng.uniform(0.0, 4095.0, 12))
    sigma = rng.uniform(1e-3, 5e-3, 12)
    position = 0.2 - 5e-4 * raw + sigma * rng.standard_normal(12)
    fit = fit_line(raw, position, weights=sigma**-2.0)
    (slope, offset), covariance = np.polyfit(raw, position, 1, w=1 / sigma, cov=True)
    assert fit.slope == pytest.approx(slope, rel=1e-9)
    assert fit.offset == pytest.approx(offset, rel=1e-9)
    assert fit.covariance == pytest.approx(covariance[::-1, ::-1], rel=1e-7)


# JCGM 100:2008, table G.2 (from memory): degrees of freedom, probability, factor
TABLE_G2 = [
    (1, 0.95, 12.71, 0.005),
    (2, 0.95, 4.30, 0.005),
    (5, 0.95, 2.57, 0.005),
    (9, 0.95, 2.26, 0.005),
    (10, 0.90, 1.81, 0.005),
    (10, 0.9545, 2.28, 0.005),
    (10, 0.99, 3.17, 0.005),
    (16, 0.99, 2.92, 0.005),
    (100, 0.95, 1.984, 0.0005),
    (float("inf"), 0.95, 1.960, 0.0005),
]


@pytest.mark.parametrize(("dof", "probability", "factor", "within"), TABLE_G2)
def test_students_factor_is_that_of_the_table(
    dof: float, probability: float, factor: float, within: float
) -> None:
    assert coverage_factor(dof, probability=probability) == pytest.approx(factor, abs=within)


def test_a_one_sided_quantile_leaves_its_share_on_one_side() -> None:
    # t for 8 degrees of freedom, 99.9 % one-sided: 4.501, tables of Student's distribution, from memory
    assert upper_quantile(8, probability=0.999) == pytest.approx(4.501, abs=5e-4)


def test_welch_and_satterthwaite_give_the_gauge_block_16_7() -> None:
    # JCGM 100:2008, H.1.6: contributions in nm with their degrees of freedom, effective 16.7
    parts = [(25.0, 18.0), (5.8, 24.0), (3.9, 5.0), (6.7, 8.0), (2.9, 50.0), (16.6, 2.0)]
    assert effective_dof(parts) == pytest.approx(16.7, abs=0.1)
