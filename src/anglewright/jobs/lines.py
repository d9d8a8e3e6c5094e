"""Which line the code uses: of the record in use, of the data sheet, or of the data sheet zeroed."""

from dataclasses import dataclass

import numpy as np

from anglewright.budget.band import Band, valid_band
from anglewright.budget.contributions import ErrorMap
from anglewright.budget.states import State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.record import CalibrationRecord
from anglewright.errors import Problem, UsageError
from anglewright.links.code import CodeLine
from anglewright.rig import Axis, Rig, datasheet_line
from anglewright.rigfile.records import record_in_use


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

    def half_width_at(self, q: float) -> float:
        """Half-width at 95 % of one reading at a position. [m or rad]"""
        return self.record.half_width_95 if self.record else self.budget.half_width_at(q)


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
        ``calibrated`` is asked for and no record can be used.
    """
    choice = record_in_use(rig, axis, record)
    wanted = State(state) if state else State.CALIBRATED if choice.record else State.DATASHEET
    if wanted is State.CALIBRATED and choice.record is None:
        remedy = f"Run: anglewright calibrate RIG {axis.name} FILE."
        raise UsageError(Problem(f"axis '{axis.name}'", choice.why, "", remedy))
    used = choice.record if wanted is State.CALIBRATED else None
    line = CodeLine(offset=used.offset, slope=used.slope) if used else _line(axis, wanted)
    return LineInUse(
        axis=axis,
        line=line,
        state=wanted,
        record=used,
        why=choice.why,
        band=valid_band(axis),
        budget=budget_axis(axis).of(wanted),
    )


def _line(axis: Axis, state: State) -> CodeLine:
    line = datasheet_line(axis)
    if state is State.DATASHEET:
        return line
    at = np.array([axis.mark(axis.plan.zero_at).at.nominal])
    off = float(ErrorMap(axis=axis, line=line, positions=at).bias[0])
    return CodeLine(offset=line.offset - off, slope=line.slope)
