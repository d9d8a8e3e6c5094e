"""Job: from readings beside a reference to a line, its intervals, a verdict, and a kept record."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date as calendar_date
from pathlib import Path

import numpy as np

from anglewright.angles import nearest_turn
from anglewright.budget.states import CORRECTING, State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.points import calibration_points
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.result import LineCalibration, calibrate_line
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verdict import Requirement
from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.comparing import findings_of, shift_since
from anglewright.jobs.opening import the_axis
from anglewright.jobs.reading import code_shown, shown_raw
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Persistence
from anglewright.recording import Recording
from anglewright.rig import Axis, RawForm, Rig, code_period, datasheet_line, fingerprint, raw_of_code
from anglewright.rigfile.records import keep_record, next_name, record_in_use
from anglewright.tables.reading import read_sheet
from anglewright.tables.sheet import Sheet

MOST_BEYOND = 10  # readings beyond full scale that are listed before the rest is counted [1]
FEW_COUNTS = 8.0  # readings that are not whole and all below this look like no counts [count]

Typed = Sequence[tuple[float, float, str]]
"""Readings as typed: reference in the axis's unit, raw, ``up``, ``down`` or nothing."""


def calibrate(
    rig: Rig,
    axis: str | None,
    *,
    file: str | Path | None = None,
    typed: Typed = (),
    date: str,
    keep: bool = True,
) -> CalibrateResult:
    """Fit a line to readings beside a reference, judge it, and keep it as a record.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    file : str or Path, optional
        CSV file with a reference and a raw column.
    typed : sequence of (float, float, str)
        Readings instead of a file: reference in the axis's unit, raw, ``up``, ``down`` or nothing.
    date : str
        Day of the calibration, ``2026-05-12``; the program's physics reads no clock.
    keep : bool
        Keep the result as a record beside the rig file.

    Returns
    -------
    CalibrateResult
        Line, intervals, verdict, record.

    Raises
    ------
    UsageError
        There is no axis of that name, or the date is no day.
    DataError
        The readings cannot be used, a record is damaged, or the new one cannot be written.

    References
    ----------
    gum-h3

    Examples
    --------
    The bench file of the rover's shoulder shows the play that was planted in it:

    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> result = calibrate(
    ...     rig, "shoulder", file="examples/rover/shoulder-bench.csv", date="2026-05-12", keep=False
    ... )
    >>> result.calibration.play.seen
    True
    """
    chosen, day = the_axis(rig, axis), day_named(date)
    sheet = _typed(chosen, typed) if file is None else _from_file(chosen, Path(file))
    planned = budget_axis(chosen).of(State.CALIBRATED)
    calibration = _fitted(chosen, sheet, planned)
    shift = shift_since(record_in_use(rig, chosen).record, calibration, chosen)
    record, path, kept = None, None, "no: not asked for"
    if keep and calibration.half_width_95 is None:
        kept = "no: the interval of one reading is not known"
    elif keep:
        record = _record(rig, chosen, calibration, day)
        path = keep_record(rig, chosen, record)
        kept = _kept(rig, chosen, record)
    return CalibrateResult(
        axis=chosen,
        sheet=sheet,
        calibration=calibration,
        record=record,
        file=path,
        kept=kept,
        shift=shift,
        planned=planned,
        findings=findings_of(chosen, calibration, shift=shift, planned=planned),
    )


def day_named(text: str) -> str:
    """A day as ``2026-05-12``.

    Raises
    ------
    UsageError
        It is no day.
    """
    try:
        return calendar_date.fromisoformat(text).isoformat()
    except ValueError:
        raise UsageError(Problem("date", f"'{text}' is not a day", "", "Write it as 2026-05-12.")) from None


def _kept(rig: Rig, axis: Axis, record: CalibrationRecord) -> str:
    """The name it is kept as, and whether it is the one in use: a later day goes before."""
    now = record_in_use(rig, axis).record
    if now is None or now.name == record.name:
        return f"as {record.name}, in use from now on"
    return f"as {record.name}; in use stays {now.name}, which is of a later day"


def _from_file(axis: Axis, file: Path) -> Sheet:
    return read_sheet(file, unit=axis.unit, raw_meaning=axis.raw.value)


def _typed(axis: Axis, rows: Typed) -> Sheet:
    if not rows:
        found = "there are no readings"
        raise DataError(Problem("calibrate", found, "", "Name a file, or type readings with --typed."))
    sides = {"up": 1, "down": -1, "": 0}
    approach = np.array([sides[side] for _, _, side in rows], dtype=np.int8)
    recording = Recording(
        raw=np.array([raw for _, raw, _ in rows]),
        reference=np.array([axis.unit.to_si(reference) for reference, _, _ in rows]),
        approach=approach if np.any(approach) else None,
        source="typed readings",
        raw_meaning=axis.raw.value,
    )
    return Sheet(
        recording=recording, reference_column="reference", raw_column="raw", why="typed in this order"
    )


def _fitted(axis: Axis, sheet: Sheet, planned: StateBudget) -> LineCalibration:
    codes = axis.codes
    if axis.motion.endless:  # the rows were held against the ends before they were put into their turn
        codes = replace(codes, period=codes.count, ends_valid=True)
    line, reference = datasheet_line(axis), axis.plan.reference
    return calibrate_line(
        calibration_points(_codes(axis, sheet), unit=axis.unit, codes=codes),
        requirement=Requirement(
            low=axis.motion.low,
            high=axis.motion.high,
            permissible_error=axis.permissible,
            one_sided=axis.motion.settles == "one-sided" and not axis.plan.both_sides,
            changes=_changes(axis, planned),
        ),
        reference=ReferenceUncertainty(
            per_point=reference.per_point.standard_uncertainty,
            shared=reference.shared.standard_uncertainty,
            scale=reference.scale.standard_uncertainty,
        ),
        codes=codes,
        unit=axis.unit,
        nominal=(line.offset, line.slope),
    )


def _changes(axis: Axis, planned: StateBudget) -> float:
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
    codes = np.array([code_shown(axis, float(raw)) for raw in sheet.recording.raw])
    recording = replace(sheet.recording, raw=codes, raw_meaning="counts")
    return _in_one_turn(axis, recording)


def _in_one_turn(axis: Axis, recording: Recording) -> Recording:
    """Codes of a sensor that wraps, each in the turn in which the data sheet expects it.

    Raises
    ------
    DataError
        The reading wraps inside the range of an axis that is not endless.
    """
    line = datasheet_line(axis)
    period = code_period(axis, axis.codes, line)
    if recording.reference is None or period is None:
        return recording
    codes = np.asarray(nearest_turn(recording.raw, line.backward(recording.reference), period=period))
    over = np.flatnonzero(codes != recording.raw)
    if len(over) == 0 or axis.motion.endless:
        return replace(recording, raw=codes)
    place = show(float(recording.reference[over[0]]), axis.unit)
    found = f"the reading wraps inside the range, at {place} or before"
    remedy = "Turn the sensor in its mount until the middle of the range reads half of full output."
    raise DataError(Problem(recording.place(int(over[0])), found, "", remedy))


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


def _record(rig: Rig, axis: Axis, calibration: LineCalibration, date: str) -> CalibrationRecord:
    (first, both), (_, second) = calibration.covariance.tolist()
    return CalibrationRecord(
        name=next_name(rig, axis, date),
        date=date,
        rig=rig.name,
        axis=axis.name,
        chain=fingerprint(axis),
        sensor=axis.part("sensor").describe(),
        offset=calibration.offset,
        slope=calibration.slope,
        covariance=((first, both), (both, second)),
        residual_sd=calibration.residual_sd or 0.0,
        half_width_95=calibration.half_width_95 or 0.0,
        verdict=calibration.verdict.value,
        points=calibration.points,
    )
