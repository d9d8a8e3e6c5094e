"""Which line or curve the code uses: of the record in use, of the data sheet, or of the data sheet zeroed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from anglewright.angles import nearest_turn
from anglewright.budget.band import Band, valid_band
from anglewright.budget.contributions import ErrorMap
from anglewright.budget.states import State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.record import CalibrationRecord
from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.opening import state_named
from anglewright.links.code import CodeLine
from anglewright.rig import Axis, Rig, code_period, datasheet_line
from anglewright.rigfile.records import RecordChoice, record_in_use

LINES = {State.DATASHEET: "data sheet", State.ZEROED: "data sheet, zeroed", State.CALIBRATED: "calibration"}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LineInUse:
    """The code's line, the state it stands for, the record behind it, and how wrong it may be."""

    axis: Axis
    line: CodeLine
    state: State
    record: CalibrationRecord | None
    why: str
    band: Band
    budget: StateBudget

    @property
    def basis(self) -> str:
        """What the line rests on, in words."""
        return self.why if self.record else f"{LINES[self.state]} ({self.why})"

    @property
    def half_width_95(self) -> float:
        """Half-width at 95 % at the worst place. [m or rad]"""
        return self.record.half_width_95 if self.record else self.budget.half_width_95

    def half_width_at(self, q: float) -> float:
        """Half-width at 95 % of one reading at a position. [m or rad]"""
        if self.record is None:
            return self.budget.half_width_at(q)
        return self.half_width_of(self.record, float(self.line.backward(q)))

    def half_width_of(self, record: CalibrationRecord, code: float) -> float:
        """Half-width at 95 % of a reading by its code, wider where nothing was calibrated. [m or rad]"""
        return record.half_width_at(code, period=self.period)

    @property
    def period(self) -> float | None:
        """After how many codes the axis comes round; None where it has ends. [count]"""
        return code_period(self.axis, self.axis.codes, self.line) if self.axis.motion.endless else None

    def code_at(self, q: float) -> float:
        """Code of a position, not rounded, within those of the converter. [count]"""
        code, codes, period = float(self.line.backward(q)), self.axis.codes, self.period
        if period is not None:
            code = float(nearest_turn(code, codes.low + codes.count / 2.0, period=period))
        return min(max(code, float(codes.low)), float(codes.high))


def codes_near(axis: Axis, codes: Sequence[float], *, line: CodeLine, at: float) -> tuple[float, ...]:
    """Codes of a sensor that wraps, each in the turn in which a place lies; of any other as they are.

    Parameters
    ----------
    axis : Axis
        The axis.
    codes : sequence of float
        Codes, in any turn. [count]
    line : CodeLine
        The line that says where the place should read. [m or rad, count]
    at : float
        The place. [m or rad]

    Returns
    -------
    tuple of float
        The same codes. [count]
    """
    period = code_period(axis, axis.codes, line)
    if period is None:
        return tuple(codes)
    expected = line.backward(at)
    return tuple(float(nearest_turn(code, expected, period=period)) for code in codes)


def line_in_use(rig: Rig, axis: Axis, *, state: str | None = None, record: str | None = None) -> LineInUse:
    """The line of the record in use, else of the data sheet; or of the state asked for.

    Parameters
    ----------
    rig : Rig
        The machine, whose file the records lie beside.
    axis : Axis
        The axis.
    state : str, optional
        ``datasheet``, ``zeroed`` or ``calibrated``, whatever records there are.
    record : str, optional
        Name of the record to use.

    Returns
    -------
    LineInUse
        The line with its valid band and budget.

    Raises
    ------
    UsageError
        No such state or record; ``calibrated`` and no record can be used; a record and another state.
    DataError
        A calibration record is damaged, or its corrections do not come round with an endless axis.
    """
    wanted = None if state is None else state_named(state)
    choice = _choice(rig, axis, wanted, record)
    wanted = wanted or (State.CALIBRATED if choice.record else State.DATASHEET)
    if wanted is State.CALIBRATED and choice.record is None:
        remedy = f"Run: anglewright calibrate RIG {axis.name} FILE."
        raise UsageError(Problem(f"axis '{axis.name}'", choice.why, "", remedy))
    used = choice.record
    return LineInUse(
        axis=axis,
        line=_curve(axis, used) if used else _line(axis, wanted),
        state=wanted,
        record=used,
        why=choice.why,
        band=valid_band(axis),
        budget=budget_axis(axis).of(wanted),
    )


def _choice(rig: Rig, axis: Axis, wanted: State | None, record: str | None) -> RecordChoice:
    """The record to use; none is looked at where a state without one is asked for."""
    if wanted is None or wanted is State.CALIBRATED:
        return record_in_use(rig, axis, name=record)
    if record is not None:
        found = f"record {record} and the state '{wanted.value}' are both asked for"
        raise UsageError(Problem(f"axis '{axis.name}'", found, "", "Leave one of them out."))
    return RecordChoice(record=None, why="as asked for")


def _curve(axis: Axis, record: CalibrationRecord) -> CodeLine:
    """What a record says the controller computes.

    Raises
    ------
    DataError
        Its corrections have a seam on an axis that has none.
    """
    table = record.corrections
    if table is not None and table.period is None and axis.motion.endless:
        found = f"the corrections of calibration {record.name} do not come round, and the axis does"
        raise DataError(Problem(f"axis '{axis.name}'", found, "", "Calibrate again, or name another record."))
    return record.code_line(rotary=axis.motion.rotary)


def _line(axis: Axis, state: State) -> CodeLine:
    line = datasheet_line(axis)
    if state is State.DATASHEET:
        return line
    at = np.array([axis.mark(axis.plan.zero_at).at.nominal])
    off = float(ErrorMap(axis=axis, line=line, positions=at).bias[0])
    return replace(line, offset=line.offset - off)
