"""Job: move the zero alone, from readings at a mark, a stop or an index; slope and history stay."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from anglewright.budget.band import reading_noise, step_size
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.calibration.diary import Due, due, explains_a_shift
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import ZERO, CalibrationRecord
from anglewright.calibration.verdict import Verdict
from anglewright.calibration.zeroing import Conditions, MovedZero, PlaceReading, move_zero, steady
from anglewright.errors import DataError, Problem, UsageError
from anglewright.findings import Severity
from anglewright.jobs.benchpoints import daily_changes
from anglewright.jobs.calibrating import day_named, kept_as
from anglewright.jobs.comparing import CAUSES, WITNESS, shift_severity, times
from anglewright.jobs.lines import codes_near
from anglewright.jobs.opening import the_axis
from anglewright.jobs.places import Place, place_of
from anglewright.jobs.reading import code_shown, read_raw, shown_raw, unhealthy
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.jobs.teeth import jumped_teeth
from anglewright.quantities.showing import show
from anglewright.review.cautions import CALIBRATING
from anglewright.rig import Axis, Rig, datasheet_line, fingerprint
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import all_records, keep_record, next_name, own_records, record_in_use

MOST = math.radians(3.0)  # that a zero may be moved by (common practice, no source) [rad]
TIMES_THE_NEED = 2.0  # the same against the permissible error (common practice, no source) [1]
CAME = {"up": 1, "down": -1, "": 0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Zeroing:
    """How a zero is taken.

    `came` is the side from which the place was reached, ``up``, ``down`` or not known; `within` how well the
    place is known, as ``0.1 deg``, where the rig file does not say it; `far` the reason for a move beyond
    the bounds; with `keep` False nothing is written.
    """

    came: str = ""
    within: str | None = None
    far: str = ""
    keep: bool = True


USUAL = Zeroing()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ZeroResult(Shown):
    """The line with its moved zero, from which record, by how much, and what is left to do."""

    axis: Axis
    place: Place
    reading: PlaceReading
    base: CalibrationRecord
    moved: MovedZero
    record: CalibrationRecord
    file: Path | None
    kept: str
    left: tuple[Due, ...]

    @property
    def headline(self) -> str:
        """How far the zero moved, and what a reading is worth now."""
        unit, moved = self.axis.unit, self.moved
        far = f"{show(abs(moved.moved), unit, digits=3)} (±{show(moved.moved_95, unit, digits=2)})"
        side = "high" if moved.moved > 0.0 else "low"
        half = show(self.record.half_width_95, unit, digits=3)
        return (
            f"At {self.place.words} {self.axis.name} read {far} too {side}. {self.kept}. "
            f"One reading is within ±{half} (95 %), the need is ±{show(self.axis.permissible, unit)}."
        )

    @property
    def exit_code(self) -> int:
        """1 where the need is not met any more. [1]"""
        return 0 if self.record.verdict == Verdict.MEETS.value else 1

    def tables(self) -> tuple[Table, ...]:
        """The line, the parts of its error, and what is left to do."""
        unit, record = self.axis.unit, self.record
        rows = (
            ("read at the place", f"{shown_raw(round(self.reading.code, 2))} counts, {self._count}"),
            (
                "the place",
                f"{show(self.place.at, unit, digits=5)}, u {show(self.place.within, unit, digits=2)}",
            ),
            ("offset, position at code 0", show(record.offset, unit, digits=7)),
            ("slope", f"{unit.difference_from_si(record.slope):.7g} {unit.name}/count, as {self.base.name}"),
            *((f"u of {name}", show(value, unit, digits=2)) for name, value in self._parts() if value),
            *(("still to do", each.sentence) for each in self.left),
        )
        return (Table(title=self.headline, columns=("what", "value"), rows=rows, note=CALIBRATING),)

    @property
    def _count(self) -> str:
        return counted(len(self.reading.codes), "reading")

    def _parts(self) -> tuple[tuple[str, float], ...]:
        error = self.moved.error
        return (
            ("what the line cannot follow", error.structure),
            ("noise of one reading", error.noise),
            ("another visit of the same place", error.visits),
            ("slope, away from the place", error.fit),
            ("play", error.play),
            ("zero", error.reference),
            ("changes from day to day", error.changes),
        )

    def as_json(self) -> Json:
        """The record, the move, the place, the parts of the error."""
        unit, record = self.axis.unit, self.record
        return {
            "axis": self.axis.name,
            "unit": unit.name,
            "machine": record.machine,
            "record": record.name if self.file else None,
            "file": str(self.file) if self.file else None,
            "based_on": self.base.name,
            "place": {
                "name": self.place.name,
                "position": unit.from_si(self.place.at),
                "standard_uncertainty": unit.difference_from_si(self.place.within),
            },
            "code": self.reading.code,
            "readings": len(self.reading.codes),
            "moved": unit.difference_from_si(self.moved.moved),
            "moved_uncertainty_95": unit.difference_from_si(self.moved.moved_95),
            "offset": unit.from_si(record.offset),
            "slope": unit.difference_from_si(record.slope),
            "half_width_95": unit.difference_from_si(record.half_width_95),
            "parts": {name: unit.difference_from_si(value) for name, value in self._parts()},
            "because": record.because or None,
            "due": [{"task": each.task, "text": each.sentence} for each in self.left],
            "verdict": record.verdict,
        }


def zero(
    rig: Rig,
    axis: str | None,
    raws: Sequence[float | str],
    *,
    at: str | None = None,
    date: str,
    how: Zeroing = USUAL,
) -> ZeroResult:
    """Move the zero of the record in use so that it is right at a place, and keep that as a record.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    raws : sequence of float or str
        Readings at the place, as the controller shows them.
    at : str, optional
        The place: a mark, ``low stop``, ``high stop``, or ``index`` where the axis is homed; the mark at
        which the plan zeroes otherwise.
    date : str
        Day, ``2026-05-12``.
    how : Zeroing
        Side of approach, how well the place is known, the reason for a far move, whether to keep it.

    Returns
    -------
    ZeroResult
        The new line, the move, what a reading is worth.

    Raises
    ------
    UsageError
        No such axis or place, no calibration to start from, or the move needs a reason.
    DataError
        The readings cannot be believed, were taken on the move, or lie too far off.

    Notes
    -----
    Refused are a move beyond 3 deg or twice the permissible error, also of several small ones together,
    and one that would hide a slip: beyond the uncertainty and half the permissible error, while the diary
    knows of nothing that was touched. The record is undone by `withdraw`.

    References
    ----------
    practice
    """
    chosen, day = the_axis(rig, axis), day_named(date)
    place = place_of(chosen, at or chosen.plan.zero_at, within=how.within)
    in_use, base = _start(rig, chosen)
    reading = _reading(rig, chosen, raws, place=place, came=how.came)
    moved = move_zero(
        base,
        reading,
        in_use=in_use,
        ends=(chosen.motion.low, chosen.motion.high),
        known=_conditions(chosen, place.at),
    )
    if not how.far.strip():
        _hold(rig, chosen, moved, base=base, in_use=in_use)
    record = _record(rig, chosen, moved, reading=reading, base=base)
    record = replace(record, name=next_name(rig, chosen, day), date=day, because=how.far.strip())
    file = keep_record(rig, chosen, record) if how.keep else None
    kept = f"Kept {kept_as(rig, chosen, record)}" if file else "Not kept"
    own = own_records(rig, chosen)
    return ZeroResult(
        axis=chosen,
        place=place,
        reading=reading,
        base=base,
        moved=moved,
        record=record,
        file=file,
        kept=kept,
        left=due(read_diary(rig, chosen), own),
    )


def _conditions(axis: Axis, at: float) -> Conditions:
    """What the rig file says of the day and of a reading at a place. [m or rad]"""
    return Conditions(
        changes=daily_changes(axis, budget_axis(axis).of(State.CALIBRATED)),
        noise=reading_noise(axis, at),
        step=step_size(axis, at),
    )


def _start(rig: Rig, axis: Axis) -> tuple[CalibrationRecord, CalibrationRecord]:
    """The record in use, and the calibration whose slope it has."""
    choice = record_in_use(rig, axis)
    if choice.record is None:
        limit, remedy = (
            "and a zero alone needs a slope to stand on",
            f"Run: anglewright calibrate RIG {axis.name} FILE.",
        )
        raise UsageError(Problem(f"axis '{axis.name}'", choice.why, limit, remedy))
    if choice.record.kind != ZERO:
        return choice.record, choice.record
    based_on = choice.record.based_on
    return choice.record, next(each for each in all_records(rig, axis) if each.name == based_on)


def _reading(rig: Rig, axis: Axis, raws: Sequence[float | str], *, place: Place, came: str) -> PlaceReading:
    """The readings as codes of one turn, believed and at rest."""
    if came not in CAME:
        raise UsageError(Problem("--came", f"'{came}' is no side", "", "Write up or down, or leave it out."))
    if not raws:
        raise UsageError(Problem("zero", "there are no readings", "", "Give one or more: 2041 2043 2042."))
    rows = read_raw(rig, axis.name, raws).readings
    where = f"axis '{axis.name}', zero at {place.words}"
    bad = unhealthy(rows)
    if bad:
        remedy = "No zero mends that: look for a broken lead or a sensor beyond its range."
        raise DataError(Problem(where, "; ".join(bad), "", remedy))
    line = datasheet_line(axis)
    codes = codes_near(axis, [code_shown(axis, row.raw) for row in rows], line=line, at=place.at)
    if not steady(codes, noise=reading_noise(axis, place.at), step=step_size(axis, place.at)):
        found = f"the readings run from {shown_raw(min(codes))} to {shown_raw(max(codes))} counts"
        limit = "more than noise does: the axis moved, or a contact is loose"
        raise DataError(Problem(where, found, limit, "Let it come to rest, and read again."))
    return PlaceReading(at=place.at, within=place.within, codes=codes, side=CAME[came])


def _hold(
    rig: Rig, axis: Axis, moved: MovedZero, *, base: CalibrationRecord, in_use: CalibrationRecord
) -> None:
    """Refuse a move that is too far, or that would hide a slip."""
    anchor = _anchor(all_records(rig, axis), base)
    for far, since in ((moved.moved, in_use.name), (anchor.offset - moved.offset, anchor.name)):
        _hold_bound(axis, far, since=since, teeth=jumped_teeth(axis, far, moved_95=moved.moved_95))
    severity = shift_severity(abs(moved.moved), moved.moved_95, axis.permissible)
    if severity is Severity.STOP and explains_a_shift(read_diary(rig, axis), in_use) is None:
        size = f"{times(abs(moved.moved) / moved.moved_95)} times its uncertainty"
        found = f"it moved by {show(abs(moved.moved), axis.unit, digits=3)}, {size}"
        limit = f"and the diary knows of nothing that was touched since {in_use.name}"
        remedy = f"{_WHAT_MOVED} Mend it and write it down with note, or give the reason with --far."
        raise DataError(Problem(f"axis '{axis.name}', zero", found, limit, remedy))


def _anchor(records: Sequence[CalibrationRecord], base: CalibrationRecord) -> CalibrationRecord:
    """From where small moves are added up: the last far one with a reason, else the calibration."""
    own = [each for each in records if each.based_on == base.name and each.because and not each.withdrawn]
    return own[-1] if own else base


def _hold_bound(axis: Axis, far: float, *, since: str, teeth: str) -> None:
    """Refuse a move beyond the bounds."""
    need = TIMES_THE_NEED * axis.permissible
    bound = min(MOST, need) if axis.motion.rotary else need
    if abs(far) <= bound:
        return
    found = f"it would move by {show(abs(far), axis.unit, digits=3)} since {since}"
    whose = "twice the permissible error" if bound == need else "the most that is usual"
    limit = f"more than {show(bound, axis.unit, digits=3)}, {whose}"
    remedy = f"{_WHAT_MOVED}{teeth} Then calibrate anew, or give the reason with --far."
    raise DataError(Problem(f"axis '{axis.name}', zero", found, limit, remedy))


_WHAT_MOVED = f"A new zero would hide what moved: {CAUSES}. {WITNESS}"


def _record(
    rig: Rig, axis: Axis, moved: MovedZero, *, reading: PlaceReading, base: CalibrationRecord
) -> CalibrationRecord:
    (first, both), (_, second) = moved.covariance.tolist()
    half, count = moved.error.half_width_95, len(reading.codes)
    point = CalibrationPoint(
        reference=reading.at,
        raw=reading.code,
        readings=count,
        raw_sd=reading.spread if count > 1 else None,
        approach=reading.side,
    )
    return replace(
        base,
        chain=fingerprint(axis),
        offset=moved.offset,
        covariance=((first, both), (both, second)),
        half_width_95=half,
        half_widths=(),
        verdict=base.verdict if half <= axis.permissible else Verdict.FAILS.value,
        points=(point,),
        serial=rig.serial(axis.name) or base.serial,
        kind=ZERO,
        based_on=base.name,
        error=moved.behind,
    )
