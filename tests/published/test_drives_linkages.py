"""Four-bar linkages and universal joints against textbook examples and tables."""

import math

import numpy as np
import pytest

from anglewright.links.linkage import FourBar, coefficients, freudenstein
from anglewright.links.universal import UniversalJoint, lead_of_joint


def four_bar(*, assembly=1, **lengths):
    """A linkage whose input lever stands where the axis does, clamped at 30 deg."""
    return FourBar(
        **lengths,
        input_zero_rad=0.0,
        half_play_rad=0.0,
        clamped_at_rad=math.radians(30.0),
        assembly=assembly,
    )


# Norton, Design of machinery, position problem, row a (from memory): d 6, a 2, b 7, c 9
ROW_A = {"ground": 6.0, "input": 2.0, "coupler": 7.0, "output": 9.0}


def test_the_three_numbers_of_freudensteins_equation():
    assert freudenstein(**ROW_A) == pytest.approx((3.0, 2.0 / 3.0, 2.0), rel=1e-15)


@pytest.mark.parametrize(("assembly", "coupler", "output"), [(1, 88.84, 117.29), (-1, -115.21, -143.66)])
def test_row_a_in_both_assemblies(assembly, coupler, output):
    # open 88.84 and 117.29 deg, crossed -115.21 and -143.66 deg
    _, seen, out = four_bar(**ROW_A, assembly=assembly).levers(math.radians(30.0))
    for angle, expected in ((seen, coupler), (out, output)):
        apart = math.degrees(float(angle)) - expected
        assert (apart + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=0.005)


@pytest.mark.parametrize("assembly", [1, -1])
def test_the_loop_closes_and_the_equation_holds_all_the_way_round(assembly):
    bar = four_bar(**ROW_A, assembly=assembly)
    theta, coupler, out = bar.levers(np.linspace(-7.0, 7.0, 301))
    loop = 2.0 * np.exp(1j * theta) + 7.0 * np.exp(1j * coupler) - 9.0 * np.exp(1j * out) - 6.0
    assert np.abs(loop).max() < 1e-13
    k_1, k_2, k_3 = freudenstein(**ROW_A)
    rest = k_1 * np.cos(out) - k_2 * np.cos(theta) + k_3 - np.cos(theta - out)
    assert np.abs(rest).max() < 1e-13
    a, b, c = coefficients((k_1, k_2, k_3), theta)
    half = np.tan(out / 2.0)
    assert np.abs(a * half**2 + b * half + c).max() < 1e-10 * np.max(1.0 + half**2)
    assert np.abs(np.diff(out)).max() < 0.2  # no jump between neighbours


# Synthesis for three pairs of input and output, ground 100 (derived: Freudenstein's equation is linear
# in its three numbers), lengths printed to three digits
SYNTHESIS = {"ground": 100.0, "input": 11.350, "coupler": 105.014, "output": 24.431}
PAIRS = ((45.0, 60.0), (90.0, 80.0), (135.0, 100.0))


@pytest.mark.parametrize(("given", "wanted"), PAIRS)
def test_the_synthesised_linkage_goes_through_its_three_pairs(given, wanted):
    out = {}
    for assembly in (1, -1):
        angle = float(four_bar(**SYNTHESIS, assembly=assembly).levers(math.radians(given))[2])
        out[assembly] = (math.degrees(angle) + 180.0) % 360.0 - 180.0
    assert min(abs(angle - wanted) for angle in out.values()) < 0.01


def test_the_synthesis_itself_gives_the_lengths():
    rows = [(math.cos(math.radians(o)), -math.cos(math.radians(i)), 1.0) for i, o in PAIRS]
    k_1, k_2, k_3 = np.linalg.solve(rows, [math.cos(math.radians(i - o)) for i, o in PAIRS])
    a, c = 100.0 / k_1, 100.0 / k_2
    b = math.sqrt(a**2 + c**2 + 100.0**2 - 2 * a * c * k_3)
    assert (a, b, c) == pytest.approx((11.350, 105.014, 24.431), abs=5e-4)
    assert freudenstein(ground=100.0, input=a, coupler=b, output=c) == pytest.approx((k_1, k_2, k_3))


# Peak error of a single universal joint and where it stands, deg: sin(delta) = tan(beta/2)^2 at
# tan(theta) = sqrt(cos(beta)), derived from the formula in the catalogues of joint shafts
PEAKS = {
    5: (0.1092, 44.95), 10: (0.4386, 44.78), 15: (0.9931, 44.50), 20: (1.7817, 44.11), 25: (2.8171, 43.59),
    30: (4.1172, 42.94), 35: (5.7054, 42.15), 40: (7.6126, 41.19), 45: (9.8793, 40.06),
}  # fmt: skip


@pytest.mark.parametrize(("bend", "peak", "place"), [(bend, *row) for bend, row in PEAKS.items()])
def test_the_worst_place_of_a_universal_joint(bend, peak, place):
    theta = np.radians(np.arange(0.0, 90.0, 0.001))
    ahead = np.degrees(lead_of_joint(theta, bend=math.radians(bend)))
    assert ahead.max() == pytest.approx(peak, abs=5e-5)
    assert np.degrees(theta[ahead.argmax()]) == pytest.approx(place, abs=0.006)


@pytest.mark.parametrize(("bend", "percent"), [(20, 6.42), (30, 15.47)])
def test_the_speed_of_a_universal_joint_is_uneven(bend, percent):
    # fastest 1 / cos(beta): 6.42 and 15.47 % over the mean (an encyclopaedia prints 6 and 15 %); from slowest
    # to fastest sin^2(beta) / cos(beta), catalogues of makers of joint shafts (published)
    theta = np.linspace(0.0, 2.0 * np.pi, 100001)
    speed = 1.0 + np.gradient(lead_of_joint(theta, bend=math.radians(bend)), theta)
    steady = speed[1:-1]
    assert 100.0 * (steady.max() - 1.0) == pytest.approx(percent, abs=0.005)
    uneven = math.sin(math.radians(bend)) ** 2 / math.cos(math.radians(bend))
    assert steady.max() - steady.min() == pytest.approx(uneven, abs=5e-5)


def test_a_universal_joint_keeps_the_tangents_over_many_turns():
    joint = UniversalJoint(bend_rad=math.radians(25.0), phase_rad=0.4, half_play_rad=0.0, clamped_at_rad=1.1)
    u = np.linspace(-20.0, 20.0, 4001)
    y = joint.forward(u)
    fast = 1.1 + 0.4
    assert np.allclose(
        np.sin(y - fast) * np.cos(u - fast) * math.cos(math.radians(25.0)),
        np.cos(y - fast) * np.sin(u - fast),
    )
    assert np.all(np.diff(y) > 0.0)
    assert np.abs(y - u).max() < math.radians(2.8172)
    assert np.allclose(joint.backward(y), u, rtol=0.0, atol=1e-13)


def test_the_other_phase_multiplies_by_the_cosine():
    # a quarter turn on, tan(out) = tan(in) * cos(beta)
    bend, theta = math.radians(30.0), 0.5
    out = theta + lead_of_joint(theta - math.pi / 2.0, bend=bend)
    assert math.tan(out) == pytest.approx(math.tan(theta) * math.cos(bend), rel=1e-12)
