"""Job: from readings beside a reference to a line, its intervals, a verdict, and a kept record."""

from collections.abc import Sequence
from datetime import date as calendar_date
from pathlib import Path

import numpy as np

from anglewright.budget.states import State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.diary import explains_a_shift
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.result import LineCalibration, calibrate_line
from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.benchpoints import bench_points, daily_changes, reference_of, requirement_of
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.comparing import findings_of, shift_since
from anglewright.jobs.opening import the_axis
from anglewright.jobs.sheetfile import SheetFile, sheet_in
from anglewright.recording import Recording
from anglewright.rig import Axis, Rig, datasheet_line, fingerprint
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import keep_record, next_name, record_in_use
from anglewright.tables.sheet import Sheet

Typed = Sequence[tuple[float, float, str]]
"""Readings as typed: reference in the axis's unit, raw, ``up``, ``down`` or nothing."""


def calibrate(
    rig: Rig,
    axis: str | None,
    *,
    file: str | Path | SheetFile | None = None,
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
    file : str, Path or SheetFile, optional
        File with a reference and a raw column; see `docs/tables.md` for what can be read.
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
    sheet = sheet_as_typed(chosen, typed) if file is None else sheet_in(chosen, file)
    planned = budget_axis(chosen).of(State.CALIBRATED)
    calibration = _fitted(chosen, sheet, planned)
    last = record_in_use(rig, chosen).record
    shift = shift_since(last, calibration, chosen, changes=daily_changes(chosen, planned))
    noted = None if last is None else explains_a_shift(read_diary(rig, chosen), last)
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
        findings=findings_of(chosen, calibration, shift=shift, planned=planned, noted=noted),
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


def sheet_as_typed(axis: Axis, rows: Typed) -> Sheet:
    """Readings beside a reference, as they were typed.

    Raises
    ------
    DataError
        There are none.
    """
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
    points, codes = bench_points(axis, sheet)
    line = datasheet_line(axis)
    return calibrate_line(
        points,
        requirement=requirement_of(axis, planned),
        reference=reference_of(axis),
        codes=codes,
        unit=axis.unit,
        nominal=(line.offset, line.slope),
    )


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
        machine=rig.machine,
        serial=rig.serial(axis.name),
    )
