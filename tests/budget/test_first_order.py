"""The first-order budget against arithmetic written here, in degrees of the joint."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.corrections import line_fit, plan_positions, zeroing
from anglewright.budget.states import State, state_errors
from anglewright.budget.totals import budget_axis, combined_variance
from anglewright.rig import datasheet_line

COUNT = 340.0 / 2.0 / 4096.0  # of the shoulder without pull [deg]
BACKLASH = math.degrees(0.1 / 48.0)  # half of 2 j / (m z), j = 0.1 mm, m z = 48 mm [deg]
VARIANTS = ["rig", "no-pull"]
SETTLING = [("two-sided", 1.0), ("dithered", 1.0 / math.sqrt(3.0)), ("one-sided", 0.0)]


def raw_parts(axis, play=Play.TWO_SIDED):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(109))
    return {(each.link, each.quantity): each for each in contributions(errors, play)}


def family_sd(travel):
    """Pointwise standard deviation of the linearity error of 1 % at a share of the travel, by drawing."""
    from anglewright.shapes import UnknownShape, shape_error

    drawn = UnknownShape(limit=0.01).draw(np.random.default_rng(9), (20_000, 1))
    return shape_error(drawn, travel).std(axis=0)


def test_each_contribution_without_pull_is_what_the_arithmetic_says(shoulder):
    parts = raw_parts(shoulder("no-pull"))
    q = np.linspace(-20.0, 115.0, 109)
    du = 5.0 / math.sqrt(3.0)
    expected = {
        ("motion", "clamp"): 0.05 / math.sqrt(3.0) + 0.0 * q,
        ("mount", "within"): 3.0 / math.sqrt(3.0) / 2.0 + 0.0 * q,
        # the same turn is another share of another travel: (q - 47.5) (340 / (340 +- du) - 1)
        ("sensor", "electrical_travel"): np.abs(q - 47.5)
        * (340.0 / (340.0 - du) - 340.0 / (340.0 + du))
        / 2.0,
        ("coupling", "play"): 0.75 + 0.0 * q,
        ("drive", "backlash"): BACKLASH + 0.0 * q,
        ("converter", "noise"): 1.5 * COUNT + 0.0 * q,
        ("converter", "quantisation"): COUNT / math.sqrt(12.0) + 0.0 * q,
        ("sensor", "track"): 0.0 * q,  # an unloaded divider does not feel its own resistance
    }
    for key, curve in expected.items():
        assert np.allclose(np.degrees(parts[key].standard_uncertainty), curve, rtol=1e-6, atol=1e-9), key
    linearity = np.degrees(parts["sensor", "linearity"].standard_uncertainty)
    drawn = 170.0 * family_sd(0.5 + 2.0 * (q - 47.5) / 340.0)
    assert np.allclose(linearity, drawn, rtol=0.03)  # 20 000 draws know it to 0.5 %
    assert set(parts) == {*expected, ("sensor", "linearity")}


def test_squares_add_and_the_halves_of_play_add_first(shoulder):
    # two plays in a row act as one of their sum, so their halves are fully correlated
    axis = shoulder("no-pull")
    parts = raw_parts(axis)
    single = sum(
        each.standard_uncertainty**2 for key, each in parts.items() if key[0] not in ("coupling", "drive")
    )
    together = np.radians(0.75 + BACKLASH) ** 2
    assert np.allclose(combined_variance(parts.values()), single + together, rtol=1e-9)
    u = budget_axis(axis).of(State.DATASHEET).standard_uncertainty
    assert np.allclose(u, np.sqrt(single + together), rtol=1e-9)


@pytest.mark.parametrize(("settles", "share"), SETTLING)
def test_play_counts_by_how_the_axis_settles(shoulder, settles, share):
    # half-width r, over sqrt 3 where the place within the play is anyone's guess, nothing from one side
    axis = shoulder("no-pull", f"shoulder.motion.settles={settles}", "shoulder.drive.backlash=0 mm")
    whole = budget_axis(axis).of(State.DATASHEET).standard_uncertainty ** 2
    still = shoulder("no-pull", "shoulder.coupling.play=0 deg", "shoulder.drive.backlash=0 mm")
    rest = budget_axis(still).of(State.DATASHEET).standard_uncertainty ** 2
    assert np.allclose(np.degrees(np.sqrt(np.clip(whole - rest, 0.0, None))), 0.75 * share, atol=1e-6)


def test_a_play_that_is_itself_uncertain_adds_what_is_unknown_of_it(shoulder):
    # total 3 +-0.6 deg of shaft: half is 0.75 at the joint, its standard uncertainty 0.15 / sqrt 3
    axis = shoulder("no-pull", "shoulder.coupling.play=3 deg ± 0.6 deg", "shoulder.drive.backlash=0 mm")
    play = raw_parts(axis)["coupling", "play"]
    expected = math.hypot(0.75, 0.15 / math.sqrt(3.0))
    assert np.allclose(np.degrees(play.standard_uncertainty), expected, rtol=1e-6)
    assert np.allclose(np.degrees(play.worst), 0.9, rtol=1e-6)


@pytest.mark.parametrize("variant", VARIANTS)
@pytest.mark.parametrize(("settles", "_share"), SETTLING)
def test_shares_sum_to_one_and_stand_largest_first(shoulder, variant, settles, _share):
    for state in budget_axis(shoulder(variant, f"shoulder.motion.settles={settles}")).states:
        shares = [row.share for row in state.shares]
        assert sum(shares) == pytest.approx(1.0, abs=1e-12)
        assert shares == sorted(shares, reverse=True)
        assert min(shares) >= 0.0


@pytest.mark.parametrize("points", [2, 3, 9, 50])
def test_the_projector_takes_any_straight_error_out_exactly(shoulder, points):
    axis = shoulder("rig", f"shoulder.plan.points={points}")
    positions = axis.positions(109)
    fit = line_fit(axis, positions)
    assert np.array_equal(fit.places, plan_positions(axis))
    for offset, slope in ((0.01, 0.0), (0.0, 0.3), (-0.2, 0.05)):
        left = fit.remainder(offset + slope * positions, offset + slope * fit.places)
        assert np.abs(left).max() < 1e-14
    # applied to what it left over at its own places it takes nothing more: (I - P) twice is once
    curve = np.sin(3.0 * fit.places)
    inner = line_fit(replace(axis, motion=axis.motion), fit.places)
    once = inner.remainder(curve, curve)
    assert np.allclose(inner.remainder(once, once), once, atol=1e-14)


def test_noise_through_the_projector_grows_as_the_formula_of_a_fitted_line_says(shoulder):
    # variance of a fitted line at q: 1 / n + (q - mean)^2 / S (GUM H.3, prediction)
    axis = shoulder("rig")
    positions, places = axis.positions(109), plan_positions(axis)
    spread = np.sum((places - places.mean()) ** 2)
    expected = np.sqrt(1.0 / len(places) + (positions - places.mean()) ** 2 / spread)
    assert np.allclose(line_fit(axis, positions).noise_gain(), expected, rtol=1e-12)


@pytest.mark.parametrize("variant", VARIANTS)
def test_zeroed_at_a_mark_there_is_no_bias_and_no_build_error_at_the_mark(shoulder, variant):
    axis = shoulder(variant)
    at = np.array([axis.mark("pin").at.nominal])
    errors = state_errors(axis, at)[1]
    assert errors.state is State.ZEROED
    assert abs(errors.bias[0]) < 1e-14
    for part in errors.parts:
        if part.persistence.value == "build":
            assert part.standard_uncertainty[0] < 1e-14, part.quantity
            assert part.free_shape or part.worst[0] < 1e-14


def test_zeroing_takes_the_same_off_everywhere(shoulder):
    axis = shoulder("rig")
    correction = zeroing(axis, axis.positions(5))
    assert correction.remainder(np.full(5, 0.3), np.array([0.3])) == pytest.approx(np.zeros(5), abs=1e-15)
    assert correction.noise_gain() == pytest.approx(np.ones(5))


@pytest.mark.parametrize("variant", VARIANTS)
def test_a_corrected_number_of_the_build_is_no_worse_than_its_two_curves(shoulder, variant):
    # a straight error: nothing is left of it after a line, whatever way its limit points
    for errors in state_errors(shoulder(variant), shoulder(variant).positions(109)):
        within = [part for part in errors.parts if part.quantity == "within"]
        assert len(within) == 1
        left = np.degrees(within[0].worst).max()
        assert left == pytest.approx(1.5, abs=0.1) if errors.state is State.DATASHEET else left < 0.2


@pytest.mark.parametrize("variant", VARIANTS)
def test_no_limit_is_smaller_than_what_is_likely(shoulder, variant):
    # a bounded number's limit is at least its standard deviation, three of them for a normal one; what a
    # correction left over has places where both pass through nothing, so it is held at its largest
    axis = shoulder(variant)
    for errors in state_errors(axis, axis.positions(109)):
        for part in errors.parts:
            assert part.worst.max() >= part.standard_uncertainty.max() * (1.0 - 1e-9) - 1e-15, part.quantity
            raw = errors.state is State.DATASHEET
            less = part.worst < part.standard_uncertainty * (1.0 - 1e-9) - 1e-15
            assert not (raw and np.any(less)), part.quantity
    for state in budget_axis(axis).states:
        assert state.worst_case > state.half_width_95


def test_the_worst_case_of_the_data_sheet_is_the_sum_of_all_limits(shoulder):
    # at 115 deg: clamp, clamping error, travel at 335 deg, linearity, play, backlash, 3 sd of noise, and
    # half a count
    limits = (0.05, 1.5, 67.5 * (340.0 / 335.0 - 1.0), 1.7, 0.75, BACKLASH, 4.5 * COUNT, COUNT / 2.0)
    worst = np.degrees(budget_axis(shoulder("no-pull")).of(State.DATASHEET).worst_case)
    assert worst == pytest.approx(sum(limits), abs=1e-4)


def test_an_interval_from_few_readings_takes_its_factor_from_student(shoulder):
    # Welch and Satterthwaite by hand; factors of Student's distribution from scipy
    axis = shoulder("no-pull", "shoulder.motion.settles=one-sided")
    mount = axis.part("mount")
    known = replace(mount, error_rad=replace(mount.error_rad, dof=4.0))
    axis = replace(axis, parts=tuple(known if part is mount else part for part in axis.parts))
    state = budget_axis(axis).of(State.DATASHEET)
    loose = math.radians(3.0 / math.sqrt(3.0) / 2.0)
    dof = state.standard_uncertainty**4 / (loose**4 / 4.0)
    factor = stats.t.ppf(0.975, dof)
    assert np.allclose(state.half_width, np.abs(state.bias) + factor * state.standard_uncertainty, rtol=1e-9)
    assert np.all(factor > 1.96)


def test_without_few_readings_the_factor_is_that_of_a_normal(shoulder):
    state = budget_axis(shoulder("rig")).of(State.DATASHEET)
    expected = np.abs(state.bias) + stats.norm.ppf(0.975) * state.standard_uncertainty
    assert np.allclose(state.half_width, expected, rtol=1e-12)


def test_the_cure_of_play_is_the_budget_of_an_axis_approached_from_one_side(shoulder):
    state = budget_axis(shoulder("no-pull")).of(State.DATASHEET)
    cured = budget_axis(shoulder("no-pull", "shoulder.motion.settles=one-sided")).of(State.DATASHEET)
    cure = next(each for each in state.cures if each.change.startswith("no play"))
    assert cure.half_width_95 == pytest.approx(cured.half_width_95, rel=1e-12)
    assert cure.half_width_95 < state.half_width_95
    assert [each.half_width_95 for each in state.cures] == sorted(each.half_width_95 for each in state.cures)


def test_the_need_is_met_when_it_is_just_the_half_width(shoulder):
    needed = math.degrees(budget_axis(shoulder("rig")).of(State.CALIBRATED).half_width_95)
    for error, meets in ((needed * 1.001, True), (needed * 0.999, False)):
        axis = shoulder("rig", f"shoulder.need.error={error!r} deg")
        assert budget_axis(axis).of(State.CALIBRATED).meets is meets


@pytest.mark.parametrize(("state", "places"), [(1, 1), (2, 18)])
def test_noise_enters_a_correction_by_the_root_of_the_readings(shoulder, state, places):
    # zeroed: 4 readings at one mark; calibrated: 4 at each of 9 places and both sides, so 1 / sqrt 72 in
    # the middle
    axis = shoulder("no-pull")
    errors = state_errors(axis, axis.positions(109))[state]
    noise = next(part for part in errors.parts if part.quantity == "noise while correcting")
    expected = 1.5 * COUNT / math.sqrt(4.0 * places)
    assert np.degrees(noise.standard_uncertainty[54]) == pytest.approx(expected, rel=1e-6)
    assert np.degrees(noise.worst.min()) >= 4.5 * COUNT * (1.0 - 1e-6)  # all readings off the same way


def test_curing_a_mark_the_reference_and_the_scale_are_each_seen(shoulder):
    plain = shoulder("no-pull")
    scaled = shoulder("no-pull", 'shoulder.plan.reference={ scale = "2 %" }')
    rows = {(row.link, row.quantity) for row in budget_axis(scaled).of(State.CALIBRATED).shares}
    assert ("reference", "scale") in rows
    assert ("motion", "zero") in {(r.link, r.quantity) for r in budget_axis(plain).of(State.ZEROED).shares}
    part = next(
        each for each in state_errors(scaled, scaled.positions(3))[2].parts if each.quantity == "scale"
    )
    # 2 % of the position, rectangular
    assert np.degrees(part.curves[0]) == pytest.approx(
        0.02 / math.sqrt(3.0) * np.array([-20.0, 47.5, 115.0]), rel=1e-9
    )
