"""One axis of the report: headline, strip, budget, findings, calibration, card, cautions."""

import math
from collections.abc import Iterator

import numpy as np

from anglewright.budget.states import State
from anglewright.budget.totals import AxisBudget, StateBudget, budget_axis
from anglewright.calibration.record import CalibrationRecord
from anglewright.handover.cautions import STANDING_CAUTIONS, fault_action
from anglewright.jobs.budgeting import WORDS
from anglewright.jobs.expecting import Expected, expect
from anglewright.jobs.explaining import share_step, steps_at
from anglewright.jobs.frames import frames
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.mounting import mounting_sheet
from anglewright.jobs.passages import POSITIONS
from anglewright.jobs.picturing import NO_LOOP, drawn_curve, drawn_history, drawn_loop, drawn_points, seen
from anglewright.jobs.strip import rooms
from anglewright.jobs.wiring import wiring_sheet
from anglewright.quantities.showing import show
from anglewright.report.document import (
    AxisSheet,
    Budget,
    BudgetRow,
    Calibration,
    CardRow,
    Fact,
    StateBar,
    Verdict,
)
from anglewright.review.axis import review_axis
from anglewright.rig import Axis, Rig

LEAST_SHARE = 0.0005  # a smaller one is left out of the table [1]
MOST_PARAMETERS = 8  # of a model that are shown one by one [1]


def axis_sheet(rig: Rig, axis: Axis) -> AxisSheet:
    """Everything the report shows about one axis."""
    in_use = line_in_use(rig, axis)
    budget = budget_axis(axis)
    shown = budget.of(State.CALIBRATED)
    half, verdict = _answer(in_use, shown)
    unit = axis.unit
    return AxisSheet(
        name=axis.name,
        unit=unit.name,
        headline=headline_of(axis, half, verdict, calibrated=in_use.record is not None),
        lead=_lead(shown, axis),
        verdict=verdict,
        permissible=axis.permissible / unit.size,
        permissible_text=f"±{show(axis.permissible, unit)}",
        rooms=rooms(in_use, shown),
        frames=frames(in_use),
        budget=_budget(budget, in_use),
        actions=_actions(shown, axis),
        findings=review_axis(axis),
        calibration=_calibration(rig, axis, in_use.record) if in_use.record else None,
        without_calibration=f"{_begun(in_use.why)}. Run: anglewright plan, then anglewright calibrate.",
        card=tuple(_card_row(row) for row in expect(rig, axis=axis.name).readings),
        card_note=_card_note(axis),
        mounting=mounting_sheet(rig, axis),
        wiring=wiring_sheet(axis),
        cautions=(fault_action(axis.when_unpowered.value), *STANDING_CAUTIONS),
        assumptions=tuple(
            Fact(name=each.key, value=each.value, note=each.meaning) for each in axis.assumptions
        ),
        steps=steps_at(in_use, axis.motion.middle),
        start_frame=POSITIONS // 2,
    )


def _answer(in_use: LineInUse, planned: StateBudget) -> tuple[float, Verdict]:
    """Half-width that counts and its verdict: measured where there is a record, planned otherwise."""
    record = in_use.record
    if record is None:
        return planned.half_width_95, "meets" if planned.meets else "fails"
    words: dict[str, Verdict] = {"meets": "meets", "fails": "fails", "cannot tell": "cannot tell"}
    return record.half_width_95, words[record.verdict]


def headline_of(axis: Axis, half: float, verdict: str, *, calibrated: bool) -> str:
    """The answer in a sentence: how true an axis reads or will read, and how true it should."""
    good = f"±{show(half, axis.unit, digits=2)}"
    need = f"±{show(axis.permissible, axis.unit, digits=3)}"
    name = _begun(axis.name)
    verb = "reads true to" if calibrated else "will read true to"
    if verdict == "meets":
        return f"{name} {verb} {good}, within the {need} it needs"
    if verdict == "cannot tell":
        return f"Whether {axis.name} keeps {need} cannot be told: it was measured to {good}"
    return f"{name} {verb} {good}; it should be {need}"


def _begun(text: str) -> str:
    """A text that begins with a capital, the rest as it is."""
    return text[:1].upper() + text[1:]


def _lead(shown: StateBudget, axis: Axis) -> str:
    if not shown.shares:
        return ""
    first = shown.shares[0]
    start = f"The {first.meaning} holds it back most, with {100 * first.share:.0f} % of the variance."
    if not shown.cures:
        return start
    cure = shown.cures[0]
    left = show(cure.half_width_95, axis.unit, digits=2)
    now = show(shown.half_width_95, axis.unit, digits=2)
    return f"{start} By the budget this helps most: {cure.change}. It makes ±{now} into ±{left}."


def _actions(shown: StateBudget, axis: Axis) -> tuple[str, ...]:
    return tuple(
        f"{_begun(cure.change)} (by the budget ±{show(cure.half_width_95, axis.unit, digits=2)} then)"
        for cure in shown.cures[:3]
    )


def _budget(budget: AxisBudget, in_use: LineInUse) -> Budget:
    axis, shown = budget.axis, budget.of(State.CALIBRATED)
    unit = axis.unit
    rows = tuple(
        BudgetRow(
            contribution=_begun(row.meaning),
            link=row.link,
            cured_by=row.cured_by,
            uncertainty=show(row.standard_uncertainty, unit, digits=3),
            share=min(1.0, max(0.0, row.share)),
            how=(share_step(row, shown, axis),),
        )
        for row in shown.shares
        if row.share >= LEAST_SHARE
    )
    bars = [_bar(_begun(WORDS[state.state]), state.half_width_95, axis) for state in budget.states]
    if in_use.record:
        bars.append(_bar("As calibrated", in_use.record.half_width_95, axis, note=in_use.record.name))
    bars += [_bar(_begun(cure.change), cure.half_width_95, axis, what_if=True) for cure in shown.cures[:2]]
    return Budget(
        shown_for=f"calibrated by the plan, at {show(shown.worst_at, unit)}, the worst place",
        rows=rows,
        bars=tuple(bars),
        note="First order. Plays move together: they add before they are squared.",
    )


def _bar(name: str, half: float, axis: Axis, *, note: str = "", what_if: bool = False) -> StateBar:
    half = seen(half, axis)
    return StateBar(
        name=name,
        half_width=half / axis.unit.size,
        half_width_text=f"±{show(half, axis.unit, digits=2)}",
        meets=half <= axis.permissible,
        note=note,
        what_if=what_if,
    )


def _calibration(rig: Rig, axis: Axis, record: CalibrationRecord) -> Calibration:
    size, unit, line = axis.unit.size, axis.unit, record.code_line()
    facts = (
        Fact(name="Position at code 0", value=f"{round(record.offset / size, 4) + 0.0:.4f} {unit.name}"),
        Fact(name="Slope", value=f"{record.slope / size:.6g} {unit.name}/count"),
        *_model_facts(axis, record),
        Fact(
            name="Residuals",
            value=show(seen(record.residual_sd, axis), unit, digits=3),
            note="standard deviation",
        ),
        Fact(name="One reading", value=f"±{show(record.half_width_95, unit, digits=2)}", note="95 %"),
        Fact(name="Verdict", value=record.verdict),
    )
    return Calibration(
        record=record.name,
        date_text=record.date,
        headline=f"Calibration of {record.date}: {record.verdict}",
        points=drawn_points(axis, line, record.points),
        facts=facts,
        curve=drawn_curve(axis, line, record.points),
        often=tuple((unit.from_si(end), record.half_width_95 / size) for end in _ends(record)),
        loop=drawn_loop(axis, record.points),
        loop_why=NO_LOOP,
        history=drawn_history(rig, axis),
    )


def _ends(record: CalibrationRecord) -> tuple[float, float]:
    """Lowest and highest position of its points. [m or rad]"""
    places = [point.reference for point in record.points]
    return min(places), max(places)


def _model_facts(axis: Axis, record: CalibrationRecord) -> Iterator[Fact]:
    """The model where it is more than its line, its parameters, and the codes that it covers."""
    shown = record.parameters[:MOST_PARAMETERS]
    more = len(record.parameters) - len(shown)
    if record.corrections is not None or shown:
        yield Fact(name="Model", value=record.model, note=f"and {more} more parameters" if more else "")
    for each in shown:
        spread = f"u {each.standard_uncertainty:.2g}"
        value = f"{each.value:.6g} {each.unit}".removesuffix(" 1").rstrip()
        yield Fact(name=f"Parameter {each.name}", value=value, note=spread)
    if record.corrections is not None:
        most = float(np.max(np.abs(record.corrections.values)))
        value = f"{len(record.corrections.values)}, at most ±{show(most, axis.unit, digits=2)}"
        yield Fact(name="Corrections of the line", value=value, note="straight between their nodes")
    if record.domain is not None:
        low, high = record.domain
        yield Fact(name="Calibrated codes", value=f"{low:.0f} to {high:.0f}")


def _card_note(axis: Axis) -> str:
    """From where the sensor's angle counts, and what must be done before a code means anything."""
    note = "Sensor angle from the start of its output; limits hold with 95 % for a healthy chain."
    if not axis.needs_homing:
        return note
    return f"{note} Home the axis at '{axis.clamped_at}' first: before that a code means nothing."


def _card_row(row: Expected) -> CardRow:
    return CardRow(
        position=show(row.position, row.axis.unit, digits=5),
        mark=row.mark,
        sensor_angle=f"{round(math.degrees(row.sensor_rad), 1) + 0.0:.1f} deg",
        volts_wiper="" if row.volts_wiper is None else f"{row.volts_wiper:.3f} V",
        volts_pin="" if row.volts_pin is None else f"{row.volts_pin:.3f} V",
        code=str(row.code),
        limits=f"{row.code_low} to {row.code_high}",
    )
