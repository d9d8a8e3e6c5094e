"""Virtual builds against builds sampled by arithmetic of the tests' own, and against what must not matter."""

from dataclasses import replace

import numpy as np
import pytest

from anglewright.budget.builds import ALL_STATES, BuildsBudget, virtual_builds
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.budget.trials import HowMany
from anglewright.errors import RigError, UsageError
from anglewright.quantities.spread import Spread

SAMPLED = {
    State.DATASHEET: "errors",
    State.ZEROED: "zeroed_errors",
    State.CALIBRATED: "calibrated_errors",
}
FEW = HowMany(most=30_000)


def bytes_of(found):
    rows = ("bias", "standard_uncertainty", "low", "high", "unsure")
    return [getattr(state, row).tobytes() for state in found.states for row in rows] + [
        (state.worst_tenth, state.largest) for state in found.states
    ]


@pytest.mark.parametrize(("variant", "pull"), [("no-pull", np.inf), ("rig", 100e3)])
def test_all_states_agree_with_sampled_builds(shoulder, builds, variant, pull, long):
    # the builds of `conftest.py` know nothing of the chain; both are as unsure as the product says of itself
    count = 200_000 if long else 30_000
    found = virtual_builds(shoulder(variant), how_many=HowMany(most=count), seed=3, positions=5)
    places = np.degrees(found.states[0].positions)
    for state, name in SAMPLED.items():
        errors = getattr(builds.drawn(count, pull=pull, seed=44), name)(places)
        own, u = found.of(state), errors.std(axis=0)
        assert np.degrees(own.standard_uncertainty) == pytest.approx(u, rel=0.03)
        assert np.degrees(own.bias) == pytest.approx(errors.mean(axis=0), abs=0.03 * u.max())
        low, high = np.quantile(errors, [0.025, 0.975], axis=0)
        unsure = np.degrees(own.unsure.max()) * np.sqrt(2.0)
        assert unsure < 0.1 * u.max()
        assert np.degrees(own.low) == pytest.approx(low, abs=5.0 * unsure)
        assert np.degrees(own.high) == pytest.approx(high, abs=5.0 * unsure)
        worst_tenth = np.quantile(np.abs(errors).max(axis=1), 0.9)
        assert np.degrees(own.worst_tenth) == pytest.approx(worst_tenth, rel=0.02)


def test_the_same_seed_gives_the_same_bytes_for_any_number_of_threads(shoulder):
    axis = shoulder("rig")
    alone = virtual_builds(axis, how_many=FEW, seed=1)
    assert bytes_of(alone) == bytes_of(virtual_builds(axis, how_many=FEW, seed=1, threads=2))
    assert bytes_of(alone) != bytes_of(virtual_builds(axis, how_many=FEW, seed=2))


def test_adaptive_builds_stop_when_one_digit_stands_still(shoulder):
    found = virtual_builds(shoulder("rig"), how_many=HowMany(digits=1, joint=True), seed=1, positions=9)
    assert (found.adaptive, found.still) == (True, True)
    # one digit of 1.5 deg leaves 0.5 deg; two blocks of 10 000 know the ends to 0.03 deg
    assert found.n == 20_000
    assert found.interval_by == BuildsBudget.interval_by == "virtual builds"


def test_the_half_width_is_the_larger_end_and_the_worst_place_is_where_it_is_largest(shoulder):
    found = virtual_builds(shoulder("rig"), how_many=FEW, seed=1).of(State.DATASHEET)
    assert np.all(found.half_width >= np.abs(found.low))
    assert np.all(found.half_width >= np.abs(found.high))
    assert found.half_width_95 == found.half_width.max() == found.half_width_at(found.worst_at)
    assert found.interval_at(found.worst_at) == (found.low[found.worst], found.high[found.worst])
    assert not found.meets
    assert found.half_width_95 < found.largest


def test_play_alone_is_all_or_nothing(shoulder):
    # 3 deg at the shaft over a ratio of 2, and 2 j / d of 0.1 mm on 48 mm: 0.75 and 0.119 deg, either way
    axis = shoulder(
        "no-pull",
        "shoulder.sensor.linearity=0 %",
        "shoulder.sensor.electrical_travel=340 deg",
        "shoulder.mount.within=0 deg",
        "shoulder.marks.pin.within=0 deg",
        "shoulder.converter.noise=0 LSB rms",
        "shoulder.converter.bits=20",
    )
    half = 0.75 + np.degrees(0.1 / 48.0)
    found = virtual_builds(axis, how_many=FEW, seed=1, states=(State.DATASHEET,)).states[0]
    assert np.degrees(found.standard_uncertainty) == pytest.approx(half, rel=1e-3)
    assert np.degrees(found.high) == pytest.approx(half, rel=2e-3)
    assert np.degrees(found.low) == pytest.approx(-half, rel=2e-3)


@pytest.mark.parametrize(
    ("settles", "u"), [("two-sided", 1.0), ("one-sided", 0.0), ("dithered", 1.0 / np.sqrt(3.0))]
)
def test_play_counts_as_the_axis_settles(shoulder, settles, u):
    axis = shoulder(
        "no-pull",
        f"shoulder.motion.settles={settles}",
        "shoulder.plan.approach=one side" if settles == "one-sided" else "shoulder.plan.approach=both sides",
        "shoulder.sensor.linearity=0 %",
        "shoulder.converter.noise=0 LSB rms",
        "shoulder.converter.bits=20",
        "shoulder.plan.reference.per_point=0 deg",
        "shoulder.plan.reference.shared=0 deg",
    )
    half = 0.75 + np.degrees(0.1 / 48.0)
    found = virtual_builds(axis, how_many=FEW, seed=1, states=(State.CALIBRATED,)).states[0]
    assert np.degrees(found.standard_uncertainty) == pytest.approx(u * half, rel=0.02, abs=1e-3)


def test_conditions_of_another_day_enter_twice(shoulder):
    # a gain that is another on the day of use, 1 % rectangular each: sqrt(2) / sqrt(3) % of the distance from
    # where the code is 0, -37.5 deg (mid-track at 47.5 deg, half the track is 85 deg of the joint)
    axis = shoulder(
        "no-pull",
        "shoulder.wiring.feed=3.3 V ± 1 %",
        "shoulder.converter.reference=3.3 V",
        "shoulder.converter.noise=0 LSB rms",
        "shoulder.converter.bits=16",
        "shoulder.sensor.linearity=0 %",
        "shoulder.sensor.electrical_travel=340 deg",
        "shoulder.mount.within=0 deg",
        "shoulder.coupling.play=0 deg",
        "shoulder.drive.backlash=0 mm",
        "shoulder.plan.reference.per_point=0 deg",
        "shoulder.plan.reference.shared=0 deg",
    )
    found = virtual_builds(axis, how_many=HowMany(most=60_000), seed=1).of(State.CALIBRATED)
    expected = 0.01 * np.sqrt(2.0 / 3.0) * (np.degrees(found.positions) + 37.5)
    assert np.degrees(found.standard_uncertainty) == pytest.approx(expected, rel=0.03, abs=0.01)
    first = budget_axis(axis).of(State.CALIBRATED)
    at_end = np.interp(found.positions[-1], first.positions, first.standard_uncertainty)
    assert np.degrees(at_end) == pytest.approx(expected[-1], rel=0.02)


def test_states_that_are_not_asked_for_are_not_made(shoulder):
    found = virtual_builds(shoulder("rig"), how_many=FEW, seed=1, states=(State.ZEROED,))
    assert [state.state for state in found.states] == [State.ZEROED]
    assert [state.state for state in virtual_builds(shoulder("rig"), how_many=FEW, seed=1).states] == list(
        ALL_STATES
    )


def test_builds_that_read_the_same_everywhere_cannot_be_calibrated(shoulder):
    # clamped where the track has long ended and without noise, in every build
    stops = "shoulder.sensor.mechanical_travel=345 deg"
    axis = shoulder("no-pull", "shoulder.converter.noise=0 LSB rms", stops)
    lost = replace(axis, motion=replace(axis.motion, clamp=Spread(nominal=np.radians(500.0))))
    with pytest.raises(RigError) as raised:
        virtual_builds(lost, how_many=HowMany(most=500), seed=1)
    assert str(raised.value) == (
        "axis 'shoulder': 500 of 500 virtual builds read the same at all planned places. Look at where the "
        "sensor is clamped, and at its electrical travel."
    )


def test_a_mark_that_is_missing_is_named(shoulder):
    axis = shoulder("rig")
    lost = replace(axis, plan=replace(axis.plan, zero_at="pinn"))
    with pytest.raises(UsageError, match=r"there is no mark 'pinn'\. Did you mean 'pin'"):
        virtual_builds(lost, how_many=FEW, seed=1)
