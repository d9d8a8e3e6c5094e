"""Job: from readings beside a reference to a curve, its intervals, a verdict, and a kept record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date as calendar_date
from pathlib import Path

import numpy as np

from anglewright.budget.band import reading_noise, step_size
from anglewright.budget.states import State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.diary import explains_a_shift
from anglewright.calibration.leftout import LeftOut, leave_out
from anglewright.calibration.offers import models_for
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord, RecordParameter
from anglewright.calibration.result import Calibration, Task, calibrate_points
from anglewright.calibration.verdict import Verdict
from anglewright.errors import DataError, Problem, UsageError
from anglewright.findings import Finding, Severity
from anglewright.jobs.benchpoints import (
    bench_points,
    daily_changes,
    in_places,
    reference_of,
    requirement_of,
)
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibratedjson import parameters_shown
from anglewright.jobs.comparing import error_of, findings_of, held_back, shift_since
from anglewright.jobs.opening import the_axis
from anglewright.jobs.places import place_of
from anglewright.jobs.sheetfile import SheetFile, sheet_in
from anglewright.jobs.suspecting import checked
from anglewright.links.protocol import CodeRange
from anglewright.quantities.showing import show
from anglewright.recording import Recording
from anglewright.rig import BEST, Axis, Rig, datasheet_line, fingerprint
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import keep_record, next_name, record_in_use
from anglewright.tables.sheet import Sheet

Typed = Sequence[tuple[float | str, float, str]]
"""Readings as typed: reference in the axis's unit or a mark's name, raw, ``up``, ``down`` or nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Readings:
    """Readings beside a reference, from a file or as typed, and the points of them to leave out.

    `without` holds numbers of points, from 1 in the order of taking, each with the reason or an empty text.
    """

    file: str | Path | SheetFile | None = None
    typed: Typed = ()
    without: Mapping[int, str] = field(default_factory=dict)


def calibrate(
    rig: Rig,
    axis: str | None,
    *,
    file: str | Path | SheetFile | None = None,
    typed: Typed = (),
    date: str,
    keep: bool = True,
) -> CalibrateResult:
    """Fit a curve to readings beside a reference, judge it, and keep it as a record.

    Which curve is for the plan to say: a model by its name, or the simplest that suits the points.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    file : str, Path or SheetFile, optional
        File with a reference and a raw column; see `docs/tables.md` for what can be read.
    typed : sequence of (float or str, float, str)
        Readings instead of a file: reference in the axis's unit or the name of a mark, raw, ``up``, ``down``
        or nothing.
    date : str
        Day of the calibration, ``2026-05-12``; the program's physics reads no clock.
    keep : bool
        Keep the result as a record beside the rig file.

    Returns
    -------
    CalibrateResult
        Curve, intervals, verdict, record.

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
    return calibrate_readings(rig, axis, Readings(file=file, typed=typed), date=date, keep=keep)


def calibrate_readings(
    rig: Rig, axis: str | None, readings: Readings, *, date: str, keep: bool = True
) -> CalibrateResult:
    """As `calibrate`, of readings of which points may be left out by stated word.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    readings : Readings
        The readings, and what is left out of them.
    date : str
        Day of the calibration, ``2026-05-12``.
    keep : bool
        Keep the result as a record beside the rig file.

    Returns
    -------
    CalibrateResult
        Curve, intervals, verdict, record; the points left out are listed in it.

    Raises
    ------
    UsageError
        There is no axis of that name, no point of such a number, or the date is no day.
    DataError
        The readings cannot be used, a record is damaged, or the new one cannot be written.

    References
    ----------
    gum-h3
    """
    chosen, day = the_axis(rig, axis), day_named(date)
    sheet = _sheet(chosen, readings)
    planned = budget_axis(chosen).of(State.CALIBRATED)
    taken, codes = bench_points(chosen, sheet)
    places, sheet = in_places(taken, sheet)
    points, left = leave_out(places, readings.without)
    # the rows of a place of a sweep differ by the motion itself: no single readings to look at
    before = checked(chosen, points, sheet=sheet if places is taken else None)
    calibration = _fitted(chosen, points, _task(chosen, codes, sheet=sheet, planned=planned), before=before)
    last = record_in_use(rig, chosen).record
    shift = shift_since(last, calibration, chosen, changes=daily_changes(chosen, planned))
    noted = None if last is None else explains_a_shift(read_diary(rig, chosen), last)
    findings = findings_of(chosen, calibration, shift=shift, planned=planned, noted=noted, before=before)
    calibration = held_back(calibration, findings)
    record, path, kept = None, None, "no: not asked for"
    if keep:
        error = error_of(calibration, reference_of(chosen, named=sheet.named))
        record = replace(_record(rig, chosen, calibration, date=day, left=left), error=error)
        path = keep_record(rig, chosen, record)
        kept = kept_as(rig, chosen, record, before=last)
    return CalibrateResult(
        axis=chosen,
        sheet=sheet,
        calibration=calibration,
        record=record,
        file=path,
        kept=kept,
        shift=shift,
        planned=planned,
        findings=findings,
        left_out=left,
    )


def _sheet(axis: Axis, readings: Readings) -> Sheet:
    return sheet_as_typed(axis, readings.typed) if readings.file is None else sheet_in(axis, readings.file)


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


def kept_as(
    rig: Rig, axis: Axis, record: CalibrationRecord, *, before: CalibrationRecord | None = None
) -> str:
    """The name it is kept as, and whether it is the one in use: a later day goes before.

    Where it does not do and the one that was in use `before` did, how to go back to that is said.
    """
    now = record_in_use(rig, axis).record
    if now is None or now.name == record.name:
        back = ""
        if before is not None and before.verdict == Verdict.MEETS.value != record.verdict:
            way = f"anglewright withdraw RIG {axis.name} {record.name} --because TEXT"
            back = f", though {before.name} was good enough and this is not: {way} goes back"
        return f"as {record.name}, in use from now on{back}"
    return f"as {record.name}; in use stays {now.name}, which is of a later day"


def sheet_as_typed(axis: Axis, rows: Typed) -> Sheet:
    """Readings beside a reference, as they were typed.

    Raises
    ------
    DataError
        There are none.
    UsageError
        There is no mark of a name that was typed.
    """
    if not rows:
        found = "there are no readings"
        raise DataError(Problem("calibrate", found, "", "Name a file, or type readings with --typed."))
    sides = {"up": 1, "down": -1, "": 0}
    approach = np.array([sides[side] for _, _, side in rows], dtype=np.int8)
    named = tuple(dict.fromkeys(at for at, _, _ in rows if isinstance(at, str)))
    places = {name: place_of(axis, name).at for name in named}
    recording = Recording(
        raw=np.array([raw for _, raw, _ in rows]),
        reference=np.array([places[at] if isinstance(at, str) else axis.unit.to_si(at) for at, _, _ in rows]),
        approach=approach if np.any(approach) else None,
        source="typed readings",
        raw_meaning=axis.raw.value,
    )
    return Sheet(
        recording=recording,
        reference_column="reference",
        raw_column="raw",
        why="typed in this order",
        decisions=tuple(f"'{name}' stands for {show(at, axis.unit)}" for name, at in places.items()),
        named=named,
    )


def _fitted(
    axis: Axis, points: tuple[CalibrationPoint, ...], task: Task, *, before: tuple[Finding, ...]
) -> Calibration:
    """The curve through the points; where there is none, what the points themselves show is said as well.

    Raises
    ------
    DataError
        No curve can be drawn through them.
    """
    try:
        return calibrate_points(points, task=task, offers=models_for(axis))
    except DataError as fault:
        shown = [
            Problem(finding.key, finding.text.rstrip("."), "", finding.remedy)
            for finding in before
            if finding.severity is not Severity.NOTE
        ]
        raise DataError([*fault.problems, *shown]) from None


def _task(axis: Axis, codes: CodeRange, *, sheet: Sheet, planned: StateBudget) -> Task:
    line = datasheet_line(axis)
    return Task(
        requirement=requirement_of(axis, planned),
        reference=reference_of(axis, named=sheet.named),
        codes=codes,
        unit=axis.unit,
        nominal=(line.offset, line.slope),
        noise=reading_noise(axis, axis.motion.middle),
        step=step_size(axis, axis.motion.middle),
        model="" if axis.plan.model == BEST else axis.plan.model,
    )


def _record(
    rig: Rig, axis: Axis, calibration: Calibration, *, date: str, left: tuple[LeftOut, ...]
) -> CalibrationRecord:
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
        half_width_95=calibration.half_width_95,
        verdict=calibration.verdict.value,
        points=calibration.points,
        model=calibration.model,
        machine=rig.machine,
        serial=rig.serial(axis.name),
        corrections=calibration.handed.corrections,
        domain=None if axis.motion.endless else calibration.handed.domain,
        half_widths=() if axis.motion.endless else calibration.half_widths,
        parameters=tuple(
            RecordParameter(name=name, value=value, standard_uncertainty=u, unit=unit)
            for name, value, u, unit in parameters_shown(calibration, axis.unit)
        ),
        left_out=left,
    )
