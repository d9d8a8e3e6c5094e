"""What a change leaves, against the budget of a rig file in which it was made by hand."""

import math

import numpy as np
import pytest

from anglewright.budget.advice import advise
from anglewright.budget.changes import CHANGES, Setup
from anglewright.budget.states import STATES, State
from anglewright.budget.totals import budget_axis

ONE_SIDE = ("shoulder.motion.settles=one-sided", "shoulder.plan.approach=one side")
NO_PULL = "shoulder.wiring.pull={}"
TRACK = "shoulder.sensor.linearity=0.5 %"


def changed(text):
    return next(change for change in CHANGES if change.text.startswith(text))


def left_by(axis, state, text):
    made = changed(text).made(Setup(axis=axis, state=state))
    return budget_axis(made.axis).of(made.state).half_width_95


BY_HAND = [
    ("always come to rest from the same side", ONE_SIDE),
    ("take the pull off", (NO_PULL,)),
    ("a servo-grade track", (TRACK,)),
    ("average 16 conversions", ("shoulder.converter.average=16",)),
    ("take 16 readings", ("shoulder.plan.readings=16",)),
    ("calibrate again, at 17", ("shoulder.plan.points=17",)),
    ("a clamp hub", ("shoulder.coupling={ kind = 'rigid' }",)),
    ("a drive without backlash", ("shoulder.drive.backlash=0 mm",)),
    ("a spring that holds", ("shoulder.drive.backlash=0 mm", "shoulder.coupling.play=0 deg")),
    ("metal film", ('shoulder.wiring.pull={ down = "100 kohm ± 1 %", at = "pin" }',)),
    ("let the converter refer", ("shoulder.converter.reference=feed",)),
    ("a digital level", ('shoulder.plan.reference={ per_point = "0.1 deg", shared = "0.1 deg" }',)),
    (
        "a separate converter",
        (
            "shoulder.converter.bits=16",
            "shoulder.converter.noise=24 LSB rms",
            "shoulder.converter.offset=0 LSB",
        ),
    ),
]
POOR = (
    'shoulder.wiring.pull={ down = "100 kohm ± 10 %", at = "pin" }',
    "shoulder.converter.reference=3.3 V ± 1 %",
    'shoulder.plan.reference={ per_point = "1 deg", shared = "1 deg" }',
)


@pytest.mark.parametrize(("text", "by_hand"), BY_HAND)
def test_a_change_leaves_what_the_changed_rig_file_has(shoulder, text, by_hand):
    poor = shoulder("rig", *POOR)
    found = left_by(poor, State.CALIBRATED, text)
    expected = budget_axis(shoulder("rig", *POOR, *by_hand)).of(State.CALIBRATED).half_width_95
    assert found == pytest.approx(expected, rel=1e-9)


def test_a_better_mark_is_a_change_of_the_zeroed_state_alone(shoulder):
    loose = 'shoulder.marks.pin={ at = "47.5 deg", within = "2 deg" }'
    axis = shoulder("rig", loose)
    assert changed("a pin").made(Setup(axis=axis, state=State.CALIBRATED)) is None
    made = changed("a pin").made(Setup(axis=axis, state=State.ZEROED))
    assert math.degrees(made.axis.mark("pin").at.half_width) == pytest.approx(0.05)
    assert (
        budget_axis(made.axis).of(State.ZEROED).half_width_95
        < budget_axis(axis).of(State.ZEROED).half_width_95
    )


def test_setting_the_offset_and_calibrating_lead_to_the_other_states(shoulder):
    axis = shoulder("rig")
    for text, state in (("set the offset", State.ZEROED), ("calibrate it by", State.CALIBRATED)):
        assert changed(text).made(Setup(axis=axis, state=State.DATASHEET)).state is state
        assert changed(text).made(Setup(axis=axis, state=State.CALIBRATED)) is None


@pytest.mark.parametrize("state", STATES)
def test_changes_stand_by_their_cost_and_each_helps(shoulder, state):
    found = advise(Setup(axis=shoulder("rig"), state=state))
    costs = [(each.cost, each.minutes) for each in found.options]
    assert costs == sorted(costs)
    assert all(each.half_width_95 < 0.99 * found.now for each in found.options)
    assert found.now == pytest.approx(budget_axis(shoulder("rig")).of(state).half_width_95, rel=1e-9)


def test_the_cheapest_way_of_the_shoulder_takes_three_changes(shoulder):
    found = advise(Setup(axis=shoulder("rig"), state=State.CALIBRATED)).cheapest
    assert [change.text for change in found.changes] == [
        "take the pull off", "always come to rest from the same side, in calibrating too",
        "a servo-grade track, linearity 0.5 %",
    ]  # fmt: skip
    assert found.money == (30.0, 90.0)
    assert found.minutes == 10 + 15 + 45
    # by hand: all three meet the need of 1 deg, and no two of them do
    by_hand = [(NO_PULL,), ONE_SIDE, (TRACK,)]

    def meets(*changes):
        lines = [line for change in changes for line in change]
        return budget_axis(shoulder("rig", *lines)).of(State.CALIBRATED).meets

    assert meets(*by_hand)
    assert not any(meets(*(each for each in by_hand if each is not left)) for left in by_hand)


def test_the_cheapest_of_several_that_meet_the_need_is_named(shoulder):
    # without the pull 2.19 deg, approached from one side 1.37 deg (both found above by rig files)
    found = advise(Setup(axis=shoulder("no-pull", "shoulder.need.error=1.5 deg"), state=State.CALIBRATED))
    meeting = [each for each in found.options if each.meets]
    assert len(meeting) > 1
    assert found.cheapest == meeting[0]
    assert found.cheapest.cost == 0.0


def test_where_no_change_meets_the_need_the_floor_is_stated(shoulder):
    found = advise(Setup(axis=shoulder("rig", "shoulder.need.error=0.1 deg"), state=State.CALIBRATED))
    assert found.cheapest is None
    assert not found.together.meets
    assert found.together.half_width_95 < min(each.half_width_95 for each in found.options)


def test_a_change_that_finds_nothing_to_change_is_left_out(shoulder):
    axis = shoulder(
        "no-pull", *ONE_SIDE, "shoulder.coupling={ kind = 'rigid' }", "shoulder.drive.backlash=0 mm", TRACK
    )
    texts = [each.text for each in advise(Setup(axis=axis, state=State.CALIBRATED)).options]
    for gone in (
        "take the pull",
        "always come",
        "a spring",
        "a clamp hub",
        "a drive without",
        "a servo-grade",
    ):
        assert not [text for text in texts if text.startswith(gone)]


def test_every_change_has_a_band_of_money_and_a_time():
    for change in CHANGES:
        low, high = change.money
        assert 0.0 <= low <= high
        assert change.cost == (low + high) / 2.0
        assert change.minutes > 0
    assert len({change.text for change in CHANGES}) == len(CHANGES)


def test_stages_inside_a_drive_are_changed_too(shoulder):
    gears = '{{ kind = "gears", gears = {}, backlash = "0.1 mm", module = "1 mm" }}'
    both = f"{gears.format([48, 24])}, {gears.format([20, 20])}"
    stages = f'shoulder.drive={{ kind = "stages", stages = [{both}] }}'
    axis = shoulder("rig", stages)
    made = changed("a drive without").made(Setup(axis=axis, state=State.CALIBRATED))
    left = [number.variate.mean for number in made.axis.part("drive").numbers if "backlash" in number.name]
    assert left == [0.0, 0.0]
    assert np.isfinite(budget_axis(made.axis).of(State.CALIBRATED).half_width_95)
