"""Job: what a raw reading means: a position with its interval, or why it may not be believed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.errors import DataError, Problem
from anglewright.handover.plan import Fault, HandoverPlan, judge
from anglewright.jobs.handing import plan_for
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm, Rig, code_of_raw, raw_of_code

_FAR = 1e15  # beyond any converter [count]
_EDGE = 0.5 + 1e-6  # of a code: a value shown for an end code may stand at the edge of it [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one raw reading means; `position` is None where it may not be believed. [m or rad]

    `supposed` is what the line would give, with its half-width, where the reading is healthy and nothing was
    calibrated. [m or rad]
    """

    axis: Axis
    raw: float
    position: float | None
    half_width_95: float | None
    fault: Fault
    in_use: LineInUse
    supposed: tuple[float, float] | None = None


def unhealthy(readings: Sequence[Reading]) -> list[str]:
    """What is wrong with each reading that no healthy sensor gives; one outside the points is healthy."""
    healthy = (Fault.OK, Fault.OUTSIDE_POINTS)
    return [f"{shown_raw(row.raw)} is {row.fault.text}" for row in readings if row.fault not in healthy]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReadResult(Shown):
    """Raw readings of one axis and what they mean."""

    axis: Axis
    in_use: LineInUse
    readings: tuple[Reading, ...]

    @property
    def headline(self) -> str:
        """How many can be believed."""
        good = sum(row.fault is Fault.OK for row in self.readings)
        total = counted(len(self.readings), "reading")
        return f"{good} of {total} of {self.axis.name} can be believed."

    def tables(self) -> tuple[Table, ...]:
        """One row a reading."""
        names = ("raw", "position", "95 %", "judged")
        rows = tuple(_row(row) for row in self.readings)
        note = f"Line: {self.in_use.basis}. Valid band: {_band(self.in_use)}."
        if any(row.supposed for row in self.readings):
            note += " In brackets: nothing was calibrated there, and the code handed over gives no position."
        if self.axis.needs_homing:
            note += f" Valid only once the axis was homed at '{self.axis.clamped_at}'."
        return (Table(title=self.headline, columns=names, rows=rows, right=names[:3], note=note),)

    def as_json(self) -> Json:
        """A list of readings."""
        return {"readings": [_reading_json(row) for row in self.readings]}


def _row(row: Reading) -> tuple[str, ...]:
    position, half = _shown(row.axis, row.position, row.half_width_95)
    if row.supposed:
        position, half = (f"({text})" for text in _shown(row.axis, *row.supposed))
    return (shown_raw(row.raw), position, half, row.fault.text or "valid")


def _shown(axis: Axis, position: float | None, half: float | None) -> tuple[str, str]:
    """A position [m or rad] and its half-width [m or rad] as text."""
    if position is None or half is None:
        return "none", ""
    return show(position, axis.unit, digits=5), f"±{show(half, axis.unit, digits=2)}"


def _band(in_use: LineInUse) -> str:
    """The valid band in codes, and in what the controller shows where that is something else."""
    low, high = in_use.band.low_code, in_use.band.high_code
    codes = f"codes {low} to {high}"
    if in_use.axis.raw is RawForm.COUNTS:
        return codes
    shown = " to ".join(shown_raw(float(raw_of_code(in_use.axis, code))) for code in (low, high))
    return f"{codes}, {shown} as {in_use.axis.raw.value}"


def shown_raw(raw: float) -> str:
    """A raw reading as text: a whole number without a point, others to seven digits."""
    return f"{raw:.0f}" if raw == int(raw) and abs(raw) < 1e15 else f"{raw:.7g}"


def _reading_json(row: Reading) -> Json:
    unit, record = row.axis.unit, row.in_use.record
    half = row.half_width_95
    return {
        "axis": row.axis.name,
        "raw": int(row.raw) if row.raw == int(row.raw) else row.raw,
        "position": None if row.position is None else unit.from_si(row.position),
        "unit": unit.name,
        "half_width_95": None if half is None else unit.difference_from_si(half),
        "valid": row.fault is Fault.OK,
        "fault": row.fault.text,
        "outside_points": row.supposed
        and {
            "position": unit.from_si(row.supposed[0]),
            "half_width_95": unit.difference_from_si(row.supposed[1]),
        },
        "state": row.in_use.state.value,
        "record": record.name if record else None,
    }


def read_raw(
    rig: Rig,
    axis: str | None,
    raws: Sequence[float | str],
    *,
    state: str | None = None,
    record: str | None = None,
) -> ReadResult:
    """The position behind raw readings, each with its interval, or why it may not be believed.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    raws : sequence of float or str
        Raw readings as the controller shows them: counts, volts, a fraction or turns.
    state, record : str, optional
        Which line to use; the record in use otherwise, else the data sheet.

    Returns
    -------
    ReadResult
        One row a reading.

    Raises
    ------
    UsageError
        No such axis, state or record.
    DataError
        A raw reading is not a number, or a calibration record is damaged.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/no-pull.toml")
    >>> result = read_raw(rig, "shoulder", [2048, 4096], state="datasheet")
    >>> [row.fault.text for row in result.readings]
    [None, 'not a code']
    """
    chosen = the_axis(rig, axis)
    values = [raw_number(raw) for raw in raws]
    in_use = line_in_use(rig, chosen, state=state, record=record)
    plan = plan_for(rig, in_use)
    rows = tuple(_reading(raw, in_use=in_use, plan=plan) for raw in values)
    return ReadResult(axis=chosen, in_use=in_use, readings=rows)


def _reading(raw: float, *, in_use: LineInUse, plan: HandoverPlan) -> Reading:
    """What one raw reading means."""
    code = code_shown(in_use.axis, raw)
    fault = judge(math.floor(code + 0.5), plan)
    believed, outside = fault is Fault.OK, fault is Fault.OUTSIDE_POINTS
    found = _position(in_use, code) if believed or outside else None
    q, half = found if found and believed else (None, None)
    return Reading(
        axis=in_use.axis,
        raw=raw,
        position=q,
        half_width_95=half,
        fault=fault,
        in_use=in_use,
        supposed=found if outside else None,
    )


def _position(in_use: LineInUse, code: float) -> tuple[float, float]:
    """Position of a code with its half-width. [m or rad]"""
    q = float(in_use.axis.reported(in_use.line.forward(code)))
    record = in_use.record
    return q, in_use.half_width_of(record, code) if record else in_use.half_width_at(q)


def code_shown(axis: Axis, raw: float) -> float:
    """The code behind what the controller shows, not rounded, the end codes up to their edge. [count]"""
    with np.errstate(over="ignore"):
        code = float(np.clip(code_of_raw(axis, raw), -_FAR, _FAR))
    first, last = float(axis.codes.low), float(axis.codes.high)
    if axis.raw is RawForm.COUNTS:
        return code
    return min(max(code, first), last) if first - _EDGE <= code <= last + _EDGE else code


def raw_number(raw: float | str) -> float:
    """A raw reading as a number. [raw]

    Raises
    ------
    DataError
        It is none, or not finite.
    """
    try:
        value = float(raw)
        if math.isfinite(value):
            return value
    except (ValueError, OverflowError):
        pass
    found = f"'{str(raw).strip()}' is not a number"
    raise DataError(Problem("raw", found, "", "Give what the controller shows, as in 2048."))
