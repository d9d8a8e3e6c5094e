"""Which codes count as calibrated, and what a plan refuses of a curve and its domain."""

from collections.abc import Callable
from dataclasses import replace
from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.errors import RangeError
from anglewright.handover.plan import Fault, HandoverPlan, judge, position
from anglewright.handover.points import Points, points_of
from anglewright.handover.vectors import vectors
from anglewright.links.code import Corrections
from anglewright.links.protocol import CodeRange

WHERE = "axis 'shoulder', hand-over: "
TABLE = Corrections(first=400.0, step=1600.0, values=np.array([0.0, 2.0, -2.0]))


@given(st.floats(-9000.0, 9000.0), st.floats(2.0, 4090.0), st.integers(-100, 200), st.integers(3500, 4300))
def test_on_an_axis_that_comes_round_a_code_is_calibrated_where_any_turn_of_it_is(
    low: float, width: float, first: int, last: int
) -> None:
    last = min(last, first + 4095)
    points = points_of((low, low + width), band=(first, last), period=4096.0)
    for raw in range(first, last + 1, 7):
        inside = any(low <= raw + 4096.0 * turn <= low + width for turn in range(-5, 6))
        assert (points is None or points.hold(raw)) == inside


@given(st.floats(-500.0, 4500.0), st.floats(2.0, 5000.0))
def test_on_an_axis_with_ends_the_calibrated_codes_are_those_between_both(low: float, width: float) -> None:
    points = points_of((low, low + width), band=(229, 3866))
    held = [raw for raw in range(229, 3867) if points is None or points.hold(raw)]
    assert held == [raw for raw in range(229, 3867) if low <= raw <= low + width]
    if points is not None:
        assert points.count(229, 3866) == len(held)


def test_over_the_wrap_the_codes_between_are_those_that_are_not_calibrated() -> None:
    points = Points(low=3900, high=100)
    assert [points.hold(raw) for raw in (0, 100, 101, 3899, 3900)] == [True, True, False, False, True]
    assert points.count(0, 4095) == 101 + 196


@pytest.mark.parametrize(
    ("raw", "fault"), [(228, 1), (229, 4), (399, 4), (400, 0), (3600, 0), (3601, 4), (3866, 4), (3867, 2)]
)
def test_a_code_within_the_band_and_outside_the_points_is_a_fault_of_its_own(
    shoulder: HandoverPlan, raw: int, fault: int
) -> None:
    plan = replace(shoulder, domain=(399.5, 3600.9))
    assert judge(raw, plan) == fault
    assert (position(raw, plan) is None) == (fault != 0)
    allowed = replace(plan, beyond_points=True)
    assert judge(raw, allowed) == (fault if fault != Fault.OUTSIDE_POINTS else 0)


def test_a_position_is_that_of_the_line_and_its_correction(shoulder: HandoverPlan) -> None:
    plan = replace(shoulder, corrections=TABLE)
    raws = (400, 2000, 3200, 3866)
    straight = [position(raw, shoulder) or nan for raw in raws]
    found = [position(raw, plan) or nan for raw in raws]
    # read off the table: 0 and 2 at nodes, three quarters of the way from 2 to -2, held at -2
    assert np.subtract(found, straight) == pytest.approx([0.0, 2.0, -1.0, -2.0], abs=1e-9)
    # from 400 on 1600 codes at 170/4096 of a degree, and the corrections at both ends of the band
    assert plan.travel == pytest.approx(3637 * 170 / 4096 - 2.0, abs=1e-9)


def test_the_codes_of_a_curve_hold_its_nodes_what_lies_between_and_both_ends_of_its_points(
    shoulder: HandoverPlan,
) -> None:
    raws = {row.raw for row in vectors(replace(shoulder, corrections=TABLE, domain=(310.2, 3700.0)))}
    assert {400, 2000, 3600, 1200, 2800} <= raws
    assert {310, 311, 312, 3699, 3700, 3701} <= raws
    assert {228, 229, 230, 3865, 3866, 3867, 4095, 4096, 65535} <= raws


REFUSALS: list[tuple[Callable[[HandoverPlan], HandoverPlan], str]] = [
    (
        lambda plan: replace(plan, corrections=TABLE.times(100.0)),
        "table of corrections: from code 2000 to 3600 the curve stands still or turns back, so that one "
        "position would have several codes. Calibrate again: take more readings, or a straight line.",
    ),
    (
        lambda plan: replace(
            plan,
            codes=CodeRange(low=0, high=4095, period=4096, ends_valid=True),
            turn=360.0,
            slope=360 / 4096,
            corrections=TABLE,
        ),
        "the axis comes round and its table of corrections does not. Calibrate again.",
    ),
    (
        lambda plan: replace(plan, domain=(3866.0, 4000.0)),
        "the calibrated points run from code 3866 to 4000, fewer than 2 codes of the valid band, "
        "229 to 3866. Calibrate again over the whole motion.",
    ),
    (
        lambda plan: replace(plan, domain=(500.0, 500.5)),
        "the calibrated points run from code 500 to 500.5, fewer than 2 codes of the valid band, "
        "229 to 3866. Calibrate again over the whole motion.",
    ),
    (
        lambda plan: replace(plan, domain=(500.0, nan)),
        "the calibrated points run from code 500 to nan, fewer than 2 codes of the valid band, "
        "229 to 3866. Calibrate again over the whole motion.",
    ),
]


@pytest.mark.parametrize(("change", "text"), REFUSALS)
def test_a_curve_no_controller_could_use_is_refused_with_the_remedy(
    shoulder: HandoverPlan, change: Callable[[HandoverPlan], HandoverPlan], text: str
) -> None:
    with pytest.raises(RangeError) as caught:
        change(shoulder)
    where = WHERE.removesuffix(": ")
    joint = ", " if text.startswith("table") else ": "
    assert str(caught.value) == where + joint + text


def test_a_slope_that_is_no_number_is_said_alone_whatever_the_points(shoulder: HandoverPlan) -> None:
    with pytest.raises(RangeError) as caught:
        replace(shoulder, slope=nan, turn=360.0, domain=(300.0, 900.0))
    assert [problem.found for problem in caught.value.problems] == ["the slope is nan deg a count"]
