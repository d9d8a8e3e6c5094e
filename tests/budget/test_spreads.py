"""Limits that differ below and above, and numbers from few readings, through the whole budget."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from anglewright.budget.builds import virtual_builds
from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.states import State
from anglewright.budget.totals import POSITIONS, budget_axis
from anglewright.budget.trials import HowMany
from anglewright.rig import datasheet_line

TRAVEL = "shoulder.sensor.electrical_travel=340 deg +10 deg / -0 deg"
Q = np.linspace(-20.0, 115.0, POSITIONS)


def test_the_mean_of_uneven_limits_goes_through_and_the_rest_is_bias(shoulder):
    # rectangular on 340 to 350: mean 345, and the code still holds 340: (q - 47.5) (340 / 345 - 1)
    found = budget_axis(shoulder("no-pull", TRAVEL)).of(State.DATASHEET)
    bias = (Q - 47.5) * (340.0 / 345.0 - 1.0)
    assert np.allclose(np.degrees(found.bias), bias, atol=1e-9)
    assert np.degrees(found.bias[-1]) == pytest.approx(-67.5 * 5.0 / 345.0, abs=1e-9)  # -0.978 deg


def test_its_standard_uncertainty_is_that_of_ten_degrees_in_all(shoulder):
    axis = shoulder("no-pull", TRAVEL)
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(POSITIONS))
    parts = contributions(errors, Play.TWO_SIDED)
    part = next(each for each in parts if each.quantity == "electrical_travel")
    u = 10.0 / math.sqrt(12.0)
    expected = np.abs(Q - 47.5) * (340.0 / (345.0 - u) - 340.0 / (345.0 + u)) / 2.0
    assert np.allclose(np.degrees(part.standard_uncertainty), expected, rtol=1e-9, atol=1e-12)
    # at its limits the travel is 340 or 350, five degrees off the middle
    limits = np.abs((Q - 47.5) * (340.0 / np.array([[340.0], [350.0]]) - 340.0 / 345.0)).max(axis=0)
    assert np.allclose(np.degrees(part.worst), limits, rtol=1e-9, atol=1e-12)


def test_the_bias_is_not_squared_into_the_uncertainty(shoulder):
    uneven = budget_axis(shoulder("no-pull", TRAVEL)).of(State.DATASHEET)
    assert np.allclose(
        uneven.half_width,
        np.abs(uneven.bias) + stats.norm.ppf(0.975) * uneven.standard_uncertainty,
        rtol=1e-9,
    )
    even = "shoulder.sensor.electrical_travel=345 deg ± 5 deg"
    centred = budget_axis(shoulder("no-pull", even)).of(State.DATASHEET)
    # read by a line for 340 instead of 345 the same machine is uncertain by 340 / 345 of it
    ratio = uneven.standard_uncertainty / centred.standard_uncertainty
    assert np.allclose(ratio, 340.0 / 345.0, rtol=1e-9)
    assert np.abs(np.degrees(centred.bias)).max() < 1e-9


def test_virtual_builds_find_the_same_bias(shoulder):
    axis = shoulder("no-pull", TRAVEL)
    found = virtual_builds(axis, how_many=HowMany(most=40_000), seed=4, states=(State.DATASHEET,)).states[0]
    q = np.degrees(found.positions)
    # 340 times the mean of one over a travel from 340 to 350, by its integral
    mean = 340.0 * math.log(350.0 / 340.0) / 10.0 - 1.0
    unsure = 4.0 * np.degrees(found.standard_uncertainty) / math.sqrt(40_000.0)
    assert np.all(np.abs(np.degrees(found.bias) - (q - 47.5) * mean) < unsure)


def test_a_long_travel_of_ten_turns_has_half_its_excess_as_bias(shoulder):
    # 3600 deg +10 / -0 behind a drive of 1 to 13.33: mean 3605, bias (q - 47.5) (3600 / 3605 - 1)
    axis = shoulder(
        "no-pull",
        "shoulder.drive.gears=[ 160, 12 ]",
        "shoulder.sensor.electrical_travel=3600 deg +10 deg / -0 deg",
        "shoulder.sensor.mechanical_travel=3620 deg",
    )
    found = budget_axis(axis).of(State.DATASHEET)
    assert np.allclose(np.degrees(found.bias), (Q - 47.5) * (3600.0 / 3605.0 - 1.0), atol=1e-9)


def test_calibrating_takes_the_bias_of_uneven_limits_out(shoulder):
    states = budget_axis(shoulder("no-pull", TRAVEL))
    assert np.abs(np.degrees(states.of(State.ZEROED).bias)).max() > 0.9
    assert np.abs(np.degrees(states.of(State.CALIBRATED).bias)).max() < 1e-9


def test_degrees_of_freedom_of_one_number_widen_the_interval_of_all(shoulder):
    # travel known from 3 readings: Welch and Satterthwaite by hand, factor by scipy, at the end of the range
    axis = shoulder("no-pull", TRAVEL)
    sensor = axis.part("sensor")
    few = replace(sensor, travel_rad=replace(sensor.travel_rad, dof=2.0))
    axis = replace(axis, parts=tuple(few if part is sensor else part for part in axis.parts))
    found = budget_axis(axis).of(State.DATASHEET)
    u = 10.0 / math.sqrt(12.0)
    own = 67.5 * (340.0 / (345.0 - u) - 340.0 / (345.0 + u)) / 2.0
    dof = np.degrees(found.standard_uncertainty[-1]) ** 4 / (own**4 / 2.0)
    interval = np.degrees(found.half_width[-1]) - abs(np.degrees(found.bias[-1]))
    factor = stats.t.ppf(0.975, dof)
    assert interval == pytest.approx(factor * np.degrees(found.standard_uncertainty[-1]), rel=1e-9)
    halved = {cure.change: cure.half_width_95 for cure in found.cures}
    assert halved["halve the electrical travel"] < found.half_width_95
