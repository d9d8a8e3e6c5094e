"""The worked examples H.1 and H.2 of JCGM 100:2008 through the law of propagation as the product has it.

H.3, the calibration of a thermometer, stands with the fitting of lines. Data of H.1 and H.2 as printed in
the guide; where it prints fewer digits than it works with, the tolerance says so.
"""

import math

import numpy as np
import pytest

from anglewright.budget.propagation import inputs_from_readings, inputs_of, propagate

# H.1, end gauge, in nm and degC: l_s, d (three parts), alpha_s, d_alpha, theta (mean, cyclic), d_theta
GAUGE = inputs_of(
    [50_000_623.0, 215.0, 0.0, 0.0, 11.5e-6, 0.0, -0.1, 0.0, 0.0],
    uncertainties=[
        25.0,
        5.8,
        3.9,
        6.7,
        2e-6 / math.sqrt(3.0),
        1e-6 / math.sqrt(3.0),
        0.2,
        0.5 / math.sqrt(2.0),
        0.05 / math.sqrt(3.0),
    ],
    dof=[18.0, 24.0, 5.0, 8.0, math.inf, 50.0, math.inf, math.inf, 2.0],
)


def end_gauge(x):
    standard, first, second, third, alpha, d_alpha, mean, cyclic, d_theta = x
    return standard + first + second + third - standard * (d_alpha * (mean + cyclic) + alpha * d_theta)


@pytest.fixture(scope="module")
def gauge():
    return propagate(end_gauge, GAUGE)


def test_end_gauge_length_and_standard_uncertainty(gauge):
    # H.1.5 and H.1.4: 50.000838 mm, 32 nm
    assert gauge.values[0] * 1e-6 == pytest.approx(50.000838, abs=5e-7)
    assert gauge.standard_uncertainty[0] == pytest.approx(32.0, abs=0.5)


def test_end_gauge_parts(gauge):
    # table H.1: 25, 5.8, 3.9, 6.7, 0, 2.9, 0, 0, 16.6 nm
    expected = [25.0, 5.8, 3.9, 6.7, 0.0, 2.887, 0.0, 0.0, 16.599]
    assert gauge.parts(GAUGE)[0] == pytest.approx(expected, abs=5e-4)


def test_end_gauge_degrees_of_freedom_and_expanded_uncertainty(gauge):
    # H.1.6: 16.7 (16.75 in full), cut down to 16; t_99 = 2.92, U_99 = 93 nm
    assert gauge.dof[0] == pytest.approx(16.75, abs=0.05)
    assert gauge.half_width(probability=0.99)[0] == pytest.approx(93.0, abs=0.6)


def test_end_gauge_with_terms_of_second_order():
    # H.1.7: they raise 32 nm to 34 nm; l_s u(d_alpha) u(theta) = 11.7 nm, l_s u(alpha) u(d_theta) = 1.7 nm
    second = propagate(end_gauge, GAUGE, second_order=True)
    assert second.standard_uncertainty[0] == pytest.approx(34.0, abs=0.5)
    assert math.sqrt(second.beyond[0]) == pytest.approx(math.hypot(11.7, 1.7), abs=0.1)


# H.2: V in volts, I in amperes, phi in radians, read together five times
READINGS = np.array(
    [
        [5.007, 19.663e-3, 1.0456],
        [4.994, 19.639e-3, 1.0438],
        [5.005, 19.640e-3, 1.0468],
        [4.990, 19.685e-3, 1.0428],
        [4.999, 19.678e-3, 1.0433],
    ]
)


def impedance(x):
    volts, amperes, phase = x
    z = volts / amperes
    return [z * math.cos(phase), z * math.sin(phase), z]


@pytest.fixture(scope="module")
def read_together():
    return inputs_from_readings(READINGS)


def test_impedance_inputs(read_together):
    # table H.2: means 4.9990 V, 19.6610 mA, 1.04446 rad; u 0.0032 V, 0.0095 mA, 0.00075 rad
    assert read_together.values == pytest.approx([4.9990, 19.6610e-3, 1.04446], rel=1e-6)
    assert read_together.standard_uncertainty == pytest.approx([0.0032, 0.0095e-3, 0.00075], rel=0.02)
    u = read_together.standard_uncertainty
    r = read_together.covariance / np.outer(u, u)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=0.006)


def test_impedance_values_uncertainties_and_correlations(read_together):
    # tables H.3 and H.4: R 127.732 ohm, X 219.847, Z 254.260; u 0.071, 0.295 (0.2956 in full), 0.236
    found = propagate(impedance, read_together)
    assert found.values == pytest.approx([127.732, 219.847, 254.260], abs=6e-4)
    assert found.standard_uncertainty == pytest.approx([0.071, 0.2956, 0.236], abs=6e-4)
    r = found.correlation
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)


def test_impedance_by_correlations_instead_of_readings(read_together):
    # the same from the printed correlations of table H.2, whose two digits leave up to 2 % of u open
    matrix = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]]
    known = inputs_of(
        read_together.values, uncertainties=read_together.standard_uncertainty, correlation=matrix
    )
    found = propagate(impedance, known)
    assert found.standard_uncertainty == pytest.approx([0.071, 0.2956, 0.236], rel=0.02)


def test_correlated_inputs_have_no_formula_for_degrees_of_freedom(read_together):
    assert np.isnan(propagate(impedance, read_together).dof).all()


def test_impedance_agrees_with_a_library():
    # uncertainties 3.2: correlated values through its own derivatives
    from uncertainties import correlated_values, umath

    known = inputs_from_readings(READINGS)
    volts, amperes, phase = correlated_values(known.values, known.covariance)
    z = volts / amperes
    expected = [(z * umath.cos(phase)).s, (z * umath.sin(phase)).s, z.s]
    assert propagate(impedance, known).standard_uncertainty == pytest.approx(expected, rel=1e-5)


def test_second_order_of_a_square_of_a_normal_quantity():
    # x ~ N(m, s): var x^2 = 4 m^2 s^2 + 2 s^4, exactly (moments of the normal law)
    known = inputs_of([3.0], uncertainties=[0.7])
    found = propagate(lambda x: x**2, known, second_order=True)
    assert found.standard_uncertainty[0] ** 2 == pytest.approx(4 * 9 * 0.49 + 2 * 0.7**4, rel=1e-12)


def test_second_order_of_a_product_of_independent_quantities():
    # var xy = x^2 v + y^2 u + u v, exactly
    found = propagate(
        lambda x: x[0] * x[1], inputs_of([3.0, 5.0], uncertainties=[0.4, 0.3]), second_order=True
    )
    assert found.standard_uncertainty[0] ** 2 == pytest.approx(9 * 0.09 + 25 * 0.16 + 0.16 * 0.09, rel=1e-12)
