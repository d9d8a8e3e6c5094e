from dataclasses import replace

import pytest

from anglewright.errors import DataError
from anglewright.report.document import AxisSheet, BudgetRow, StateBar

REMEDY = "Correct what fills the report."


def refusal(sheet: AxisSheet, **changes: object) -> str:
    """What is said about a changed sheet."""
    with pytest.raises(DataError) as caught:
        replace(sheet, **changes)
    return str(caught.value)


def test_a_frame_with_a_value_too_few_is_refused(shoulder: AxisSheet) -> None:
    frame = shoulder.frames[0]
    text = refusal(shoulder, frames=(replace(frame, values=frame.values[1:]), *shoulder.frames[1:]))
    assert text == f"report, axis 'shoulder': 7 values and 8 phases at -20.00 deg for 8 rooms. {REMEDY}"


def test_a_drawing_with_a_phase_too_few_is_refused(shoulder: AxisSheet) -> None:
    frame = shoulder.frames[0]
    moved = replace(frame, phases=(*frame.phases[:4], (0.5,), *frame.phases[5:]))
    text = refusal(shoulder, frames=(moved, *shoulder.frames[1:]))
    found = "room Sensor has 1 phases at -20.00 deg, its drawing needs 2"
    assert text == f"report, axis 'shoulder': {found}. {REMEDY}"


def test_positions_that_fall_are_refused(shoulder: AxisSheet) -> None:
    text = refusal(shoulder, frames=shoulder.frames[::-1])
    assert text == f"report, axis 'shoulder': the positions do not rise. {REMEDY}"


def test_a_sheet_without_positions_is_refused(shoulder: AxisSheet) -> None:
    assert refusal(shoulder, frames=()) == f"report, axis 'shoulder': there is no position to show. {REMEDY}"


def test_a_start_beyond_the_last_frame_is_refused(shoulder: AxisSheet) -> None:
    assert "it starts at frame 55 of 55" in refusal(shoulder, start_frame=55)


def test_a_need_of_nothing_is_refused(shoulder: AxisSheet) -> None:
    text = refusal(shoulder, permissible=0.0)
    assert text == f"report, axis 'shoulder': the permissible error is 0 deg, it must be above zero. {REMEDY}"


def test_all_that_cannot_be_drawn_is_said_at_once(shoulder: AxisSheet) -> None:
    bar = StateBar(name="Zeroed", half_width=float("nan"), half_width_text="?", meets=None)
    row = BudgetRow(contribution="play", link="coupling", cured_by="", uncertainty="?", share=1.5)
    text = refusal(shoulder, budget=replace(shoulder.budget, bars=(bar,), rows=(row,)))
    assert text.splitlines() == [
        f"report, axis 'shoulder': the half-width of 'Zeroed' is nan. {REMEDY}",
        f"report, axis 'shoulder': a share of 1.5 lies outside 0 to 1. {REMEDY}",
    ]


def test_a_residual_that_is_not_a_number_is_refused(shoulder: AxisSheet) -> None:
    assert shoulder.calibration is not None
    points = (replace(shoulder.calibration.points[0], residual=float("inf")),)
    text = refusal(shoulder, calibration=replace(shoulder.calibration, points=points))
    assert text == f"report, axis 'shoulder': the residual is inf. {REMEDY}"
