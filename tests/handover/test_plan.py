"""The rule that says which raw value is a position; the plan that refuses what cannot be used."""

from collections.abc import Callable
from dataclasses import replace
from math import nan

import pytest

from anglewright.errors import RangeError
from anglewright.handover.plan import Fault, HandoverPlan, judge, position
from anglewright.links.protocol import CodeRange

WHERE = "axis 'shoulder', hand-over: "
REFUSALS: list[tuple[Callable[[HandoverPlan], HandoverPlan], str]] = [
    (
        lambda plan: replace(plan, codes=CodeRange.of_bits(25), high_code=2**25 - 100),
        "the valid band spans 33554103 of the converter's 33554432 codes, the code handed over "
        "takes 4 codes or more, a band of at most 16777216, within 32 bit. Correct the converter.",
    ),
    (
        lambda plan: replace(plan, low_code=4095, high_code=5000),
        "the valid band runs from code 4095 to 5000, of the codes 0 to 4095 it holds fewer than two "
        "that can be a position. Correct the stops or the converter.",
    ),
    (
        lambda plan: replace(plan, slope=0.0),
        "the slope is 0.0 deg a count, a line needs a finite slope other than 0. Calibrate again.",
    ),
    (
        lambda plan: replace(plan, offset=nan),
        "the position at code 0 is nan deg, a line needs a finite one. Calibrate again.",
    ),
    (
        lambda plan: replace(plan, half_width_95=-0.1),
        "the half-width is -0.1 deg, it must be finite and not below 0. Run the budget again.",
    ),
    (
        lambda plan: replace(plan, hold_off_ms=nan),
        "the hold-off is nan ms, it must be 0 to 60 000 ms. Take 20 to 50 ms.",
    ),
    (
        lambda plan: replace(plan, when_unpowered="drop"),
        "'drop' does not say what the mechanism does with the motor off. Did you mean 'drops'?",
    ),
    (
        lambda plan: replace(plan, provenance=replace(plan.provenance, state="calibratd")),
        "the state 'calibratd' is not known. Did you mean 'calibrated'?",
    ),
    (
        lambda plan: replace(plan, stem="../x"),
        "'../x' cannot be the stem of file and identifier names. Use 'x'.",
    ),
]


def test_the_numbers_and_words_of_the_faults_are_those_promised_to_other_programs() -> None:
    listed = {fault.value: fault.text for fault in Fault}
    assert listed == {
        0: None,
        1: "below band",
        2: "above band",
        3: "not a code",
        4: "outside the calibrated points",
    }


@pytest.mark.parametrize(
    ("raw", "fault"),
    [
        (-(2**31), 3), (-1, 3), (0, 1), (1, 1), (228, 1), (229, 0), (2048, 0),
        (3866, 0), (3867, 2), (4094, 2), (4095, 2), (4096, 3), (65535, 3), (2**31 - 1, 3),
    ],
)  # fmt: skip
def test_both_edges_of_the_band_belong_to_it(shoulder: HandoverPlan, raw: int, fault: int) -> None:
    assert judge(raw, shoulder) == fault


def test_the_end_codes_are_never_a_position_however_wide_the_band(shoulder: HandoverPlan) -> None:
    # An end code means "at or beyond" the end of the scale, so that it fixes no position.
    wide = replace(shoulder, low_code=-5, high_code=9000)
    assert [judge(raw, wide) for raw in (0, 1, 4094, 4095)] == [1, 0, 0, 2]


def test_a_position_is_given_exactly_where_the_code_is_believed(shoulder: HandoverPlan) -> None:
    for raw in range(-2, 4099):
        assert (position(raw, shoulder) is None) == (judge(raw, shoulder) != 0)


@pytest.mark.parametrize(("code", "degrees"), [(421, -20.0), (903, 0.0), (2048, 47.5), (3674, 115.0)])
def test_the_worked_codes_of_the_shoulder_read_as_its_angles(
    shoulder: HandoverPlan, code: int, degrees: float
) -> None:
    # Codes and angles worked out by hand beforehand for 340 deg of track and gears 48:24.
    # A position lies somewhere in its code, and the line gives the code's middle: half a count apart.
    found = position(code, shoulder)
    assert found is not None
    assert abs(found - degrees) <= 0.041504 / 2 + 1e-6


@pytest.mark.parametrize(("change", "text"), REFUSALS)
def test_a_plan_no_controller_could_use_is_refused_with_the_remedy(
    shoulder: HandoverPlan, change: Callable[[HandoverPlan], HandoverPlan], text: str
) -> None:
    with pytest.raises(RangeError) as caught:
        change(shoulder)
    assert str(caught.value) == WHERE + text


def test_all_that_is_wrong_with_a_plan_is_said_together(shoulder: HandoverPlan) -> None:
    with pytest.raises(RangeError) as caught:
        replace(shoulder, codes=CodeRange.of_bits(1), slope=nan, hold_off_ms=-1.0)
    assert len(caught.value.problems) == 3


def test_a_plan_without_a_stem_takes_it_from_the_axis(shoulder: HandoverPlan) -> None:
    assert replace(shoulder, axis="Pan & tilt", stem="").stem == "pan_tilt"
