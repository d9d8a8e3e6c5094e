"""The first-order budget against builds sampled by brute force, whose formulas are written in the tests.

The builds know nothing of the chain: degrees, ohms and codes by plain arithmetic. 20 000 builds know a
standard deviation to 0.5 %; the budget leaves out terms of higher order, so 3 % is asked for.
"""

import numpy as np
import pytest

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis

PLACES = np.array([-15.0, 10.0, 47.5, 80.0, 110.0])
STATES = {
    State.DATASHEET: "errors",
    State.ZEROED: "zeroed_errors",
    State.CALIBRATED: "calibrated_errors",
}


def at_places(budget, curve):
    return np.degrees(np.interp(np.radians(PLACES), budget.positions, curve))


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.value)
@pytest.mark.parametrize(("variant", "pull"), [("no-pull", np.inf), ("rig", 100e3)])
def test_sd_and_bias_agree_with_sampled_builds(shoulder, builds, variant, pull, state, long):
    count = 100_000 if long else 20_000
    sampled = getattr(builds.drawn(count, pull=pull, seed=21), STATES[state])(PLACES)
    budget = budget_axis(shoulder(variant)).of(state)
    u = at_places(budget, budget.standard_uncertainty)
    assert u == pytest.approx(sampled.std(axis=0), rel=0.03)
    # the mean of the builds is known to u / sqrt n; second-order terms and rounding in the middle of a
    # code stay below a fifth of a count and a thirtieth of u
    allowed = 4.0 * u / np.sqrt(count) + u / 30.0 + 0.2 * 0.0415
    assert np.all(np.abs(at_places(budget, budget.bias) - sampled.mean(axis=0)) <= allowed)


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.value)
def test_ninety_five_builds_in_a_hundred_lie_within_the_half_width(shoulder, builds, state):
    # without pull the bias is nothing and the coverage is that of the interval alone
    sampled = getattr(builds.drawn(20_000, pull=np.inf, seed=22), STATES[state])(PLACES)
    budget = budget_axis(shoulder("no-pull")).of(state)
    inside = np.mean(np.abs(sampled) <= at_places(budget, budget.half_width), axis=0)
    assert np.all(inside >= 0.945)


@pytest.mark.parametrize("state", STATES, ids=lambda state: state.value)
def test_no_build_with_quiet_readings_is_worse_than_the_worst_case(shoulder, builds, state):
    drawn = builds.drawn(5_000, pull=100e3, seed=23, noise=0.0)
    axis = shoulder("rig", "shoulder.converter.noise=0 LSB rms")
    places = np.linspace(-20.0, 115.0, 28)
    worst = np.abs(getattr(drawn, STATES[state])(places)).max()
    limit = np.degrees(budget_axis(axis).of(state).worst_case)
    assert worst <= limit
    assert limit <= 3.0 * worst  # and it is a limit, not any large number
