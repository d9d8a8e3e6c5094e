"""Job: every record of an axis with its diary: which is in use and why, and how the zero moved."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date as calendar_date
from pathlib import Path

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.calibration.diary import DiaryLine, Due, due
from anglewright.calibration.record import ZERO, CalibrationRecord
from anglewright.calibration.recordshift import KnownLine, zero_shift_95
from anglewright.calibration.student import expanded
from anglewright.errors import Problem, UsageError
from anglewright.findings import Severity
from anglewright.jobs.benchpoints import daily_changes
from anglewright.jobs.comparing import shift_severity, times
from anglewright.jobs.mounting import drawing_file, held_look
from anglewright.jobs.noting import due_json, due_table, line_json
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.quantities.showing import show
from anglewright.report.drafting import as_file
from anglewright.report.history import HistoryPlot, Kept, Noted, draw_history
from anglewright.report.sticker import Sticker, render_sticker
from anglewright.rig import Axis, Rig
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import RecordChoice, Shelf, all_records, machine_named, record_in_use
from anglewright.rigfile.storing import hold_foreign, write_whole

SIGN = "<!doctype html>"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """A record, what speaks against its use, and how its zero lies beside that of the one before. [m or rad]

    `moved` is what the record before would read more, in the middle of the points; None for the first.
    """

    record: CalibrationRecord
    against: str
    moved: float | None
    moved_95: float | None
    severity: Severity | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HistoryResult(Shown):
    """The records of one machine, oldest first, the diary, and what is due."""

    axis: Axis
    machine: str
    entries: tuple[Entry, ...]
    others: int
    choice: RecordChoice
    diary: tuple[DiaryLine, ...]
    left: tuple[Due, ...]
    svg: Path | None = None
    sticker: Path | None = None

    @property
    def headline(self) -> str:
        """How many records, which is in use, what is due."""
        whose = f" of {machine_named(self.machine)}" if self.machine else ""
        start = f"{self.axis.name}{whose}: {counted(len(self.entries), 'record')}."
        used = f"In use: {self.choice.why}." if self.choice.record else f"None in use: {self.choice.why}."
        due_now = f"Still to do: {', '.join(each.task for each in self.left)}." if self.left else ""
        return " ".join(part for part in (start, used, due_now) if part)

    @property
    def summary(self) -> str:
        """Records of other machines, and files that were written."""
        lines = [f"{counted(self.others, 'record')} of other machines: see --machine."] if self.others else []
        lines += [f"Plot written to {self.svg}."] if self.svg else []
        lines += [f"Sticker written to {self.sticker}."] if self.sticker else []
        return "\n".join(lines)

    def tables(self) -> tuple[Table, ...]:
        """Records, diary, and what is due."""
        records = (self._records(),) if self.entries else ()
        diary = (self._lines(),) if self.diary else ()
        return (*records, *diary, *((due_table(self.left),) if self.left else ()))

    def _records(self) -> Table:
        names = ("record", "what", "sensor", "at code 0", "slope", "95 %", "need", "zero moved", "state")
        rows = tuple(_row(each, self.axis, self._state(each)) for each in self.entries)
        note = "zero moved: against the record before, in the middle of its points, with its uncertainty."
        return Table(title="Records", columns=names, rows=rows, right=names[3:6], note=note)

    def _state(self, entry: Entry) -> str:
        now = self.choice.record
        if now is not None and entry.record.name == now.name:
            return "in use"
        return entry.against or "a newer one is in use"

    def _lines(self) -> Table:
        rows = tuple((line.date, line.text, line.touched, line.done) for line in self.diary)
        return Table(title="Diary", columns=("day", "what", "touched", "done"), rows=rows)

    def as_json(self) -> Json:
        """Records, diary, what is due, files written."""
        now = self.choice.record
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "machine": self.machine,
            "in_use": now.name if now else None,
            "why": self.choice.why,
            "records": [_entry_json(each, self.axis, self._state(each)) for each in self.entries],
            "diary": [line_json(line) for line in self.diary],
            "due": [due_json(each) for each in self.left],
            "svg": str(self.svg) if self.svg else None,
            "sticker": str(self.sticker) if self.sticker else None,
        }


def _row(entry: Entry, axis: Axis, state: str) -> tuple[str, ...]:
    record, unit = entry.record, axis.unit
    what = f"zero of {record.based_on}" if record.kind == ZERO else "calibration"
    because = f" ({record.because})" if record.because else ""
    return (
        record.name,
        f"{what}{because}",
        record.serial,
        show(record.offset, unit),
        f"{unit.difference_from_si(record.slope):.6g} {unit.name}/count",
        f"±{show(record.half_width_95, unit, digits=3)}",
        record.verdict,
        _moved_text(entry, axis),
        state,
    )


def _moved_text(entry: Entry, axis: Axis) -> str:
    """How far the zero moved, how sure that is, and how bad."""
    if entry.moved is None or entry.moved_95 is None:
        return ""
    size = f"{show(entry.moved, axis.unit, digits=2)} ± {show(entry.moved_95, axis.unit, digits=2)}"
    if entry.severity is None:
        return size
    return f"{size}, {times(abs(entry.moved) / entry.moved_95)} times it: {entry.severity.value}"


def _entry_json(entry: Entry, axis: Axis, state: str) -> Json:
    record, unit = entry.record, axis.unit
    return {
        "record": record.name,
        "date": record.date,
        "kind": record.kind,
        "based_on": record.based_on or None,
        "because": record.because or None,
        "machine": record.machine,
        "serial": record.serial or None,
        "model": record.model,
        "offset": unit.from_si(record.offset),
        "slope": unit.difference_from_si(record.slope),
        "half_width_95": unit.difference_from_si(record.half_width_95),
        "n_points": len(record.points),
        "verdict": record.verdict,
        "withdrawn": record.withdrawn or None,
        "zero_moved": None if entry.moved is None else unit.difference_from_si(entry.moved),
        "zero_uncertainty_95": None if entry.moved_95 is None else unit.difference_from_si(entry.moved_95),
        "severity": entry.severity.value if entry.severity else None,
        "state": state,
    }


def history(
    rig: Rig,
    axis: str | None,
    *,
    svg: str | Path | None = None,
    look: str = "screen",
    sticker: str | Path | None = None,
) -> HistoryResult:
    """The records of an axis and its diary.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    svg : str or Path, optional
        File for a plot of the zero over the days.
    look : str
        Of that file: ``screen``, ``light``, ``dark`` or ``print``.
    sticker : str or Path, optional
        File for a page with the record in use, to stick on the machine.

    Returns
    -------
    HistoryResult
        Records, oldest first, and lines of the diary.

    Raises
    ------
    UsageError
        No such axis or look; nothing to plot; or no record in use for a sticker.
    DataError
        A record or the diary is damaged, or a file cannot be written.

    References
    ----------
    gum-g
    """
    chosen = the_axis(rig, axis)
    held_look(look, svg)
    records = all_records(rig, chosen)
    own = [each for each in records if each.machine == rig.machine]
    shelf, lines = Shelf(rig=rig, axis=chosen, records=records), read_diary(rig, chosen)
    result = HistoryResult(
        axis=chosen,
        machine=rig.machine,
        entries=tuple(_entries(own, shelf)),
        others=len(records) - len(own),
        choice=record_in_use(rig, chosen),
        diary=lines,
        left=due(lines, own),
        svg=None if svg is None else drawing_file(svg),
        sticker=None if sticker is None else Path(sticker),
    )
    _write(rig, result, look)
    return result


def _entries(own: list[CalibrationRecord], shelf: Shelf) -> Iterator[Entry]:
    before: CalibrationRecord | None = None
    axis = shelf.axis
    changes = daily_changes(axis, budget_axis(axis).of(State.CALIBRATED)) if len(own) > 1 else 0.0
    for record in own:
        moved = None if before is None else zero_between(before, record, changes=changes)
        far, far_95 = moved or (None, None)
        severity = None if moved is None else shift_severity(abs(moved[0]), moved[1], axis.permissible)
        yield Entry(
            record=record, against=shelf.against(record), moved=far, moved_95=far_95, severity=severity
        )
        before = record


def zero_between(
    before: CalibrationRecord, after: CalibrationRecord, *, changes: float
) -> tuple[float, float]:
    """What a record reads more than a later one in the middle of its points, and the uncertainty of that.

    Parameters
    ----------
    before, after : CalibrationRecord
        Two records of an axis. [m or rad]
    changes : float
        Standard uncertainty of what may change from one day to another by itself. [m or rad]

    Returns
    -------
    float, float
        Answer of the first less that of the second, and its uncertainty at 95 %. [m or rad]

    Notes
    -----
    The same as `calibrate` says of the two, by the same arithmetic.

    References
    ----------
    gum-g
    """
    code = math.fsum(point.raw for point in after.points) / len(after.points)
    apart = [float(before.at(point.raw)) - float(after.at(point.raw)) for point in after.points]
    moved = math.fsum(apart) / len(apart)
    lines = (KnownLine.of(before), KnownLine.of(after))
    return moved, zero_shift_95(*lines, code=code, changes=changes)


def _write(rig: Rig, result: HistoryResult, look: str) -> None:
    """The files that are wanted; nothing is written where one of them cannot be."""
    record = result.choice.record
    if result.svg is not None and not result.entries:
        raise UsageError(
            Problem("--svg", result.choice.why, "so there is nothing to plot", "Calibrate first.")
        )
    if result.sticker is not None:
        if record is None:
            raise UsageError(Problem("--sticker", result.choice.why, "", "Calibrate first."))
        hold_foreign(result.sticker, SIGN)
        write_whole(result.sticker, render_sticker(_sticker(rig, result.axis, record)))
    if result.svg is not None:
        write_whole(result.svg, as_file(draw_history(history_plot(rig, result)), look=look))


def history_plot(rig: Rig, result: HistoryResult) -> HistoryPlot:
    """The zero of every record beside that of the one in use, with the diary, as it is drawn."""
    axis, records = result.axis, [each.record for each in result.entries]
    base = result.choice.record or records[-1]
    return HistoryPlot(
        title=f"Zero of {axis.name} over the days",
        description=result.headline,
        unit=axis.unit.name,
        simulated=rig.simulated,
        permissible=axis.unit.difference_from_si(axis.permissible),
        kept=tuple(_kept(each, base, axis, result.choice.record) for each in result.entries),
        noted=tuple(_noted(line) for line in result.diary),
    )


def _kept(entry: Entry, base: CalibrationRecord, axis: Axis, in_use: CalibrationRecord | None) -> Kept:
    record, unit = entry.record, axis.unit
    code = math.fsum(point.raw for point in base.points) / len(base.points)
    moved = float(record.at(code)) - float(base.at(code))
    half_95 = expanded(KnownLine.of(record).zero_parts(code))
    return Kept(
        day=_ordinal(record.date),
        name=record.name,
        moved=unit.difference_from_si(moved),
        half_95=unit.difference_from_si(half_95),
        kind="zero" if record.kind == ZERO else "calibration",
        in_use=in_use is not None and record.name == in_use.name,
        usable=not entry.against,
    )


def _noted(line: DiaryLine) -> Noted:
    return Noted(day=_ordinal(line.date), text=f"{line.date}: {line.text}")


def _ordinal(day: str) -> int:
    """Number of a day, for its place on a scale. [d]"""
    return calendar_date.fromisoformat(day).toordinal()


def _sticker(rig: Rig, axis: Axis, record: CalibrationRecord) -> Sticker:
    unit = axis.unit
    return Sticker(
        rig_name=rig.name,
        axis_name=axis.name,
        machine=rig.machine,
        simulated=rig.simulated,
        record=record.name,
        rows=(
            ("zero at code 0", show(record.offset, unit)),
            ("slope", f"{unit.difference_from_si(record.slope):.6g} {unit.name}/count"),
            ("a reading, 95 %", f"±{show(record.half_width_95, unit, digits=2)}"),
            ("need", f"±{show(axis.permissible, unit)}: {record.verdict}"),
            ("day", record.date),
            ("sensor", record.serial or "no serial given"),
        ),
    )
