"""The calibrated state counts on the planned model: projectors, bias, builds, refusals. Invented axes."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from anglewright.budget.builds import virtual_builds
from anglewright.budget.corrections import line_fit
from anglewright.budget.planned import mean_codes, plan_problem, planned_curve
from anglewright.budget.states import State, errors_in, state_errors
from anglewright.budget.totals import POSITIONS, budget_axis
from anglewright.budget.trials import HowMany
from anglewright.rigfile.document import parse_document, with_changes
from anglewright.rigfile.reading import build_rig

AXIS = """
[axis.lift]
motion = {motion}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
marks = {{ pin = {{ at = "40 deg", within = "0.05 deg" }} }}
drive = {drive}
coupling = {{ kind = "d-bore", play = "0.2 deg" }}
sensor = {sensor}
mount = {{ clamped_at = "pin", {reading}within = "2 deg" }}
wiring = {{ {wiring} }}
converter = {{ {converter} }}
plan = {{ points = 9, readings = 4, model = "{model}", reference = {{ per_point = "0.1 deg" }} }}
"""
BAR = (
    '{ kind = "four-bar", ground = "100 mm", input = "30 mm", coupler = "95 mm", output = "45 mm", '
    'input_at_zero = "60 deg", play = "0.2 deg" }'
)
TRACK = (
    '{ kind = "potentiometer", track = "10 kohm ± 20 %", electrical_travel = "340 deg ± 5 deg", '
    'linearity = "0.2 %" }'
)
LIFT = {
    "motion": '{ from = "-15 deg", to = "90 deg" }',
    "drive": BAR,
    "sensor": TRACK,
    "reading": 'reading = "50 %", ',
    "wiring": 'feed = "3.3 V"',
    "converter": 'bits = 12, reference = "feed", noise = "1.5 LSB rms"',
}
PULLED = LIFT | {
    "drive": '{ gears = [48, 24], backlash = "0.05 mm", module = "1 mm" }',
    "wiring": 'feed = "3.3 V", series = "1 kohm", pull = { down = "47 kohm", at = "pin" }',
}
DISC = LIFT | {
    "motion": '{ from = "-160 deg", to = "160 deg" }',
    "drive": '{ kind = "direct" }',
    "sensor": '{ kind = "serial", bits = 12, non_linearity = "1 deg", once_per_turn = "1.5 deg" }',
    "reading": 'reading = "61.1 %", ',
    "wiring": "",
    "converter": "",
}
BENT = LIFT | {"converter": LIFT["converter"] + ', table = [["0 V", 5], ["1.65 V", 2150], ["3.3 V", 4090]]'}
PLANS = {
    "polynomial 2": (LIFT, "polynomial 2", 3),
    "polynomial 4": (LIFT, "polynomial 4", 5),
    "table": (LIFT, "table", 9),
    "loaded divider": (PULLED, "loaded divider", 3),
    "harmonics": (DISC, "harmonics", 5),
    "fixed slope": (DISC, "fixed slope", 1),
    "straightened": (BENT, "straightened", 2),
}


def axis_of(parts, model, *changes):
    document = parse_document(AXIS.format(model=model, **parts), source="lift.toml")
    return build_rig(with_changes(document, changes), source="lift.toml").axis("lift")


@pytest.fixture(params=PLANS, ids=str)
def planned(request):
    """An axis whose plan names a model, and how many parameters that has."""
    parts, model, count = PLANS[request.param]
    return axis_of(parts, model), count


def parts_of(axis, *degrees):
    """Contributions to the calibrated state at some places, by their quantity."""
    return {part.quantity: part for part in state_errors(axis, np.radians(degrees))[2].parts}


def largest_bias(axis, state=State.CALIBRATED):
    return float(np.degrees(np.abs(budget_axis(axis).of(state).bias).max()))


def test_the_projector_of_every_model_is_one(planned):
    axis, count = planned
    curve = planned_curve(axis)
    inner = curve.correction(curve.codes).weights
    assert np.allclose(inner @ inner, inner, atol=1e-9)
    assert np.allclose(inner, inner.T, atol=1e-9)
    assert np.trace(inner) == pytest.approx(count, abs=1e-7)


def test_a_projector_leaves_nothing_of_what_its_parameters_do(planned):
    axis, count = planned
    curve, positions = planned_curve(axis), axis.positions(POSITIONS)
    codes = mean_codes(axis, positions)
    correction = curve.correction(codes)
    for number in range(count):
        values = np.array(curve.fitted.values)
        step = 1e-6 * max(1.0, abs(values[number]))
        values[number] += step

        def moved(at, values=values, step=step):
            return (curve.fitted.model.predict(values, at) - curve.fitted.predict(at)) / step

        at, seen = moved(codes), moved(curve.codes)
        assert np.abs(correction.remainder(at, seen)).max() <= 1e-5 * np.abs(at).max()


@pytest.mark.parametrize("model", ["best", "line"])
def test_a_plan_without_a_curve_is_the_straight_line_it_was(model):
    axis = axis_of(LIFT, model)
    assert planned_curve(axis) is None
    positions = axis.positions(31)
    plain = state_errors(axis_of(LIFT, "line"), positions)[2]
    found = state_errors(axis, positions)[2]
    assert np.array_equal(found.bias, plain.bias)
    left = line_fit(axis, positions).remainder(positions, line_fit(axis, positions).places)
    assert np.abs(left).max() < 1e-14


def test_one_state_alone_is_that_among_all(planned):
    axis, _ = planned
    positions = axis.positions(21)
    alone = errors_in(axis, positions, state=State.CALIBRATED)
    among = state_errors(axis, positions)[2]
    assert np.allclose(alone.bias, among.bias, rtol=1e-9, atol=1e-12)
    for one, other in zip(alone.parts, among.parts, strict=True):
        assert np.allclose(one.curves, other.curves, rtol=1e-8, atol=1e-12), one.quantity


def test_a_linkage_loses_its_bias_to_a_polynomial_or_a_table():
    # by a straight line 2.7 deg are left; the oracles are numpy's polynomial and scipy's monotone cubic
    assert largest_bias(axis_of(LIFT, "line")) > 2.5
    axis = axis_of(LIFT, "polynomial 4")
    places, fine = axis.positions(9), axis.positions(POSITIONS)
    x, at = mean_codes(axis, places), mean_codes(axis, fine)
    fitted = np.polynomial.Polynomial.fit(x, places, 4)
    expected = np.degrees(np.abs(fitted(at) - fine).max())
    assert largest_bias(axis) == pytest.approx(expected, rel=1e-6)
    assert expected < 0.3
    joined = PchipInterpolator(x, places)(at)
    left = np.degrees(np.abs(joined - fine).max())
    assert largest_bias(axis_of(LIFT, "table")) == pytest.approx(left, rel=1e-6)
    assert left < 0.2


def test_a_loaded_divider_takes_out_what_the_pull_bends():
    # the pull loads the track as the model has it, so nothing but the last digits is left
    assert largest_bias(axis_of(PULLED, "line")) > 1.0
    assert largest_bias(axis_of(PULLED, "loaded divider")) < 1e-6
    lines, curves = (
        {
            part.quantity: part
            for part in state_errors(axis_of(PULLED, model), np.radians([0.0, 60.0]))[2].parts
        }
        for model in ("line", "loaded divider")
    )
    was, left = (each["track"].standard_uncertainty.max() for each in (lines, curves))
    assert left < was / 50.0  # a track of another size is another load, which the model finds


def test_waves_take_out_an_off_centre_magnet():
    # a wave once a turn is in the model; what a line leaves of 1.5 deg over most of a turn is most of it
    line, waves = (
        {
            part.quantity: part
            for part in state_errors(axis_of(DISC, model), np.radians([-90.0, 30.0]))[2].parts
        }
        for model in ("line", "harmonics")
    )
    once = [name for name in line if "once" in name]
    assert once
    for name in once:
        assert waves[name].standard_uncertainty.max() < 1e-3 * line[name].standard_uncertainty.max()


def test_a_plan_that_cannot_be_is_refused_in_a_sentence():
    few = axis_of(LIFT, "polynomial 4", "lift.plan.points=6", "lift.plan.approach=one side")
    assert "5 parameters" in str(plan_problem(few))
    assert "8 points" in str(plan_problem(few))
    assert planned_curve(few) is None
    assert "sensor without a track" in str(plan_problem(axis_of(LIFT, "harmonics")))
    assert "resistive track" in str(plan_problem(axis_of(DISC, "loaded divider")))
    assert "waves" in str(plan_problem(axis_of(DISC, "table")))
    assert "table in the rig" in str(plan_problem(axis_of(LIFT, "straightened")))
    assert "even a line" in str(plan_problem(axis_of(LIFT, "best", "lift.plan.points=2")))


def test_a_plan_that_can_be_is_not_refused(planned):
    axis, _ = planned
    assert plan_problem(axis) is None


def test_a_table_takes_both_sides():
    assert plan_problem(axis_of(LIFT, "table")) is None
    assert "9 parameters" in str(plan_problem(axis_of(LIFT, "table", "lift.plan.approach=one side")))


@pytest.mark.parametrize("name", PLANS)
def test_builds_agree_with_first_order(name, long):
    # the builds' mean and u, over 20 000 builds, know u to 0.5 %; play that is in the fitted codes and terms
    # of second order are left out by the first order, 5 % of u and 0.03 deg
    parts, model, _ = PLANS[name]
    axis = axis_of(parts, model)
    count = 100_000 if long else 20_000
    built = virtual_builds(axis, how_many=HowMany(most=count), seed=4, states=(State.CALIBRATED,))
    found, first = built.of(State.CALIBRATED), budget_axis(axis).of(State.CALIBRATED)
    u, bias = (
        np.interp(found.positions, first.positions, curve)
        for curve in (first.standard_uncertainty, first.bias)
    )
    assert u == pytest.approx(found.standard_uncertainty, rel=0.05)
    apart, chance = np.abs(bias - found.bias).max(), 4.0 * u.max() / np.sqrt(count)
    assert np.degrees(apart - chance) < 0.03
