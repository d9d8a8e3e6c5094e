"""Readings of a bench as points: raw readings held against the converter and put into their turn."""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from anglewright.angles import TURN
from anglewright.budget.band import reading_noise, step_size
from anglewright.budget.states import CORRECTING
from anglewright.budget.totals import StateBudget
from anglewright.calibration.points import CalibrationPoint, calibration_points
from anglewright.calibration.sweeps import gathered, is_sweep
from anglewright.calibration.turns import in_turns
from anglewright.calibration.uncertainty import ReferenceUncertainty, off_by_steps
from anglewright.calibration.verdict import Requirement
from anglewright.errors import DataError, Problem
from anglewright.jobs.reading import code_shown, shown_raw
from anglewright.links.protocol import CodeRange
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Persistence
from anglewright.recording import Recording
from anglewright.rig import Axis, RawForm, code_period, datasheet_line, raw_of_code
from anglewright.tables.sheet import Sheet

MOST_BEYOND = 10  # readings beyond full scale that are listed before the rest is counted [1]
FEW_COUNTS = 8.0  # readings that are not whole and all below this look like no counts [count]


def bench_points(axis: Axis, sheet: Sheet) -> tuple[tuple[CalibrationPoint, ...], CodeRange]:
    """Points of a bench sheet, in the order in which they were taken, and the codes there are. [count]

    Raises
    ------
    DataError
        Readings that the converter cannot give, or fewer than two different positions.
    """
    codes, line = axis.codes, datasheet_line(axis)
    period = code_period(axis, codes, line)
    if axis.motion.endless:
        codes = replace(codes, period=codes.count, ends_valid=True)
    recording = _codes(axis, sheet)
    points = calibration_points(
        recording,
        unit=axis.unit,
        codes=codes,
        period=period,
        turn=TURN if axis.motion.endless else None,
    )
    return points if period is None else _in_their_turns(axis, recording, points, period), codes


def in_places(
    points: tuple[CalibrationPoint, ...], sheet: Sheet
) -> tuple[tuple[CalibrationPoint, ...], Sheet]:
    """The places of a sweep on the move, and the sheet with a sentence about it; other points as they are."""
    if not is_sweep(points):
        return points, sheet
    places, rows = gathered(points), sum(point.readings for point in points)
    said = (
        f"{rows} readings on the move were gathered into {len(places)} places, up and down apart; what lags "
        "in the sensor or the log looks like play in them: hold the axis at each place to tell"
    )
    return places, replace(sheet, decisions=(*sheet.decisions, said))


def requirement_of(axis: Axis, planned: StateBudget) -> Requirement:
    """What a calibration of an axis is to serve. [m or rad]"""
    return Requirement(
        low=axis.motion.low,
        high=axis.motion.high,
        permissible_error=axis.permissible,
        one_sided=axis.motion.settles == "one-sided" and not axis.plan.both_sides,
        changes=daily_changes(axis, planned),
    )


def reference_of(axis: Axis, *, named: tuple[str, ...] = ()) -> ReferenceUncertainty:
    """What the plan says of the reference, and the worst of the marks that were `named`. [m or rad]

    A mark stands off by the same at every visit; what the plan says is fresh at each point stays so.
    """
    reference = axis.plan.reference
    marks = [axis.marks[name].at.standard_uncertainty for name in named if name in axis.marks]
    return ReferenceUncertainty(
        per_place=max(marks, default=0.0),
        per_point=reference.per_point.standard_uncertainty,
        shared=reference.shared.standard_uncertainty,
        scale=reference.scale.standard_uncertainty,
    )


def left_by_steps(axis: Axis) -> float:
    """Standard uncertainty that the steps of the sensor leave at each place. [count]"""
    middle = axis.motion.middle
    return off_by_steps(reading_noise(axis, middle), step=step_size(axis, middle))


def daily_changes(axis: Axis, planned: StateBudget) -> float:
    """What conditions of this day and another do to a reading, which only the budget knows. [m or rad]"""
    lasting = {n.key for n in axis.numbers if n.variate.persistence is Persistence.CONDITION}
    rows = (r for r in planned.shares if f"{r.link}.{r.quantity.removesuffix(CORRECTING)}" in lasting)
    return math.hypot(*(row.standard_uncertainty for row in rows))


def _codes(axis: Axis, sheet: Sheet) -> Recording:
    """The recording with its raw readings as codes.

    Raises
    ------
    DataError
        Readings beyond full scale, or of another kind than the rig file says.
    """
    problems = [*_beyond(axis, sheet), *_no_counts(axis, sheet)]
    if problems:
        raise DataError(problems)
    shown, places = np.unique(sheet.recording.raw, return_inverse=True)  # each value once: there are few
    codes = np.array([code_shown(axis, float(raw)) for raw in shown])[places]
    return replace(sheet.recording, raw=codes, raw_meaning="counts")


def _in_their_turns(
    axis: Axis, recording: Recording, points: tuple[CalibrationPoint, ...], period: float
) -> tuple[CalibrationPoint, ...]:
    """Points of a sensor that wraps, each in the turn that the others ask for.

    Raises
    ------
    DataError
        The reading wraps inside the range of an axis that is not endless.
    """
    expected = datasheet_line(axis).backward(np.array([point.reference for point in points]))
    raw = np.array([point.raw for point in points])
    codes = in_turns(raw, np.asarray(expected), period=period)
    turns = np.rint((codes - raw) / period)
    if axis.motion.endless:
        return tuple(replace(point, raw=float(code)) for point, code in zip(points, codes, strict=True))
    over = np.flatnonzero(turns != turns[0])
    if len(over) == 0:
        return points
    place = show(points[over[0]].reference, axis.unit)
    found = f"the reading wraps inside the range, at {place} or before"
    remedy = "Turn the sensor in its mount until the middle of the range reads half of full output."
    raise DataError(Problem(recording.place(points[over[0]].row), found, "", remedy))


def _beyond(axis: Axis, sheet: Sheet) -> Iterator[Problem]:
    """Raw readings that the converter cannot give."""
    codes, raw = axis.codes, sheet.recording.raw
    edge = 0.0 if axis.raw is RawForm.COUNTS else 0.5 + 1e-6
    low, high = float(raw_of_code(axis, codes.low - edge)), float(raw_of_code(axis, codes.high + edge))
    rows = np.flatnonzero((raw < low) | (raw > high))
    whose = (
        f"the top code of the {math.log2(codes.count):.0f}-bit converter"
        if axis.raw is RawForm.COUNTS
        else "full scale"
    )
    for row in rows[:MOST_BEYOND]:
        value = float(raw[row])
        found = f"{shown_raw(value)} is {_outside(low if value < low else high, above=value > high)}"
        where = f"{sheet.recording.place(int(row))}, column '{sheet.raw_column}'"
        limit = "the lowest reading there is" if value < low else whose
        yield Problem(where, found, limit, "Name another column, or correct converter.bits or converter.raw.")
    if len(rows) > MOST_BEYOND:
        yield Problem(sheet.recording.source, f"the same holds for {len(rows) - MOST_BEYOND} more rows")


def _outside(edge: float, *, above: bool) -> str:
    return f"above {shown_raw(round(edge, 6))}" if above else f"below {shown_raw(math.ceil(edge))}"


def _no_counts(axis: Axis, sheet: Sheet) -> Iterator[Problem]:
    """Readings that should be counts and look like volts."""
    raw = sheet.recording.raw
    whole = np.all(raw == np.rint(raw))
    if axis.raw is RawForm.COUNTS and not whole and float(np.max(raw)) < FEW_COUNTS:
        found = f"its readings run from {np.min(raw):.4g} to {np.max(raw):.4g} and are not whole"
        limit = "and the rig file says that the controller shows counts"
        remedy = 'Write raw = "volts", "fraction" or "turns" under the converter.'
        yield Problem(f"{sheet.recording.source}, column '{sheet.raw_column}'", found, limit, remedy)
