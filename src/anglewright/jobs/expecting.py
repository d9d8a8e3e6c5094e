"""Jobs: the card to hold beside a multimeter, and the reverse: what a raw reading means."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.errors import AnglewrightError, DataError, Problem, UsageError, nearest
from anglewright.handover.plan import Fault, judge, position
from anglewright.jobs.handing import plan_for
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.wiring import Wiring
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.rig import Axis, Rig, at_mean, code_of_raw, realise

LINKS = ("motion", "drive", "coupling", "mount", "sensor", "wiring", "converter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What to expect at one position: `position` in m or rad, the sensor's angle from the start of its track."""

    axis: Axis
    position: float
    mark: str
    sensor_rad: float
    volts_wiper: float
    volts_pin: float
    volts_low: float
    volts_high: float
    code: int
    code_low: int
    code_high: int
    in_use: LineInUse


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ExpectResult(Shown):
    """The card of one or several axes."""

    readings: tuple[Expected, ...]

    @property
    def headline(self) -> str:
        """What the card is for."""
        names = ", ".join(dict.fromkeys(row.axis.name for row in self.readings))
        return f"Hold this card beside the multimeter: {names}."

    def tables(self) -> tuple[Table, ...]:
        """One card an axis."""
        by_axis = dict.fromkeys(row.axis.name for row in self.readings)
        return tuple(_card([row for row in self.readings if row.axis.name == name]) for name in by_axis)

    def as_json(self) -> Json:
        """A list of expected readings."""
        return {"readings": [_expected_json(row) for row in self.readings]}


def expect(
    rig: Rig,
    axis: str | None = None,
    positions: Sequence[str] = (),
    *,
    state: str | None = None,
    record: str | None = None,
) -> ExpectResult:
    """What sensor, multimeter and converter should show at positions or marks.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    positions : sequence of str
        Positions with their unit (a bare number is in the axis's unit) or names of marks; none gives
        every mark, both ends of the range and zero where it lies inside.
    state, record : str, optional
        Which line's limits to show; the record in use otherwise.

    Returns
    -------
    ExpectResult
        One row a position.

    Raises
    ------
    UsageError
        No such axis or mark, or a position beyond the stops.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/no-pull.toml")
    >>> row = expect(rig, "shoulder", ["-20 deg"]).readings[0]
    >>> row.code, round(row.volts_pin, 5)
    (421, 0.33971)
    """
    rows = []
    for each in chosen_axes(rig, axis):
        in_use = line_in_use(rig, each, state=state, record=record)
        for q, mark in _places(each, positions):
            rows.append(_expected(in_use, q, mark))
    return ExpectResult(readings=tuple(rows))


def _places(axis: Axis, positions: Sequence[str]) -> list[tuple[float, str]]:
    if positions:
        return [place_named(axis, text) for text in positions]
    places = {mark.at.nominal: name for name, mark in axis.marks.items()}
    for q in (axis.motion.low, 0.0, axis.motion.high):
        if axis.motion.low <= q <= axis.motion.high:
            places.setdefault(q, "")
    return sorted(places.items())


def place_named(axis: Axis, text: str) -> tuple[float, str]:
    """A position from a mark's name or a quantity. [m or rad]

    Raises
    ------
    UsageError
        It is neither, or lies beyond the stops.
    """
    if text in axis.marks:
        return axis.marks[text].at.nominal, text
    where = f"axis '{axis.name}'"
    try:
        try:
            q = float(text) * axis.unit.size
        except ValueError:
            q = read_quantity(text, kinds=axis.unit.kind).value
    except AnglewrightError:
        remedy = nearest(text, axis.marks) + f" Or write a position in {axis.unit.name}."
        raise UsageError(Problem(where, f"'{text}' is neither a mark nor a position", "", remedy)) from None
    if not axis.stops.low <= q <= axis.stops.high:
        low, high = show(axis.stops.low, axis.unit), show(axis.stops.high, axis.unit)
        limit = f"the mechanism's stops are at {low} and {high}"
        raise UsageError(Problem(where, f"it cannot stand at {show(q, axis.unit)}", limit, "Name another position."))
    return q, ""


def _expected(in_use: LineInUse, q: float, mark: str) -> Expected:
    axis = in_use.axis
    chain = realise(axis, at_mean)
    trace = dict(zip(LINKS, chain.trace(q), strict=True))
    sensor, wiring, converter = chain.links[4], chain.links[5], chain.links[6]
    code = float(trace["converter"])
    spread = in_use.half_width_at(q) if in_use.record else _spread_at(in_use, q)
    if in_use.record:
        code = float(np.clip(np.rint(in_use.line.backward(q)), 0, 2**axis.converter.bits - 1))
    reach = abs(spread / in_use.line.slope)
    top = 2**axis.converter.bits - 1
    low, high = max(0, int(np.floor(code - reach))), min(top, int(np.ceil(code + reach)))
    volts = trace["wiring"]
    wiper = wiring.at_wiper(trace["sensor"]) if isinstance(wiring, Wiring) else volts
    return Expected(
        axis=axis,
        position=q,
        mark=mark,
        sensor_rad=float(trace["mount"]) - float(sensor.backward(0.0)),
        volts_wiper=float(wiper),
        volts_pin=float(volts),
        volts_low=float(converter.backward(low - 0.5)),
        volts_high=float(converter.backward(high + 0.5)),
        code=int(code),
        code_low=low,
        code_high=high,
        in_use=in_use,
    )


def _spread_at(in_use: LineInUse, q: float) -> float:
    """How far the reading may lie from the expected one: the interval without the line's own bias."""
    budget = in_use.budget
    biased = float(np.interp(q, budget.positions, np.abs(budget.bias)))
    return in_use.half_width_at(q) - biased


def _expected_json(row: Expected) -> Json:
    unit = row.axis.unit
    record = row.in_use.record
    return {
        "axis": row.axis.name,
        "position": row.position / unit.size,
        "mark": row.mark or None,
        "unit": unit.name,
        "sensor_angle": float(np.degrees(row.sensor_rad)),
        "volts_wiper": row.volts_wiper,
        "volts_pin": row.volts_pin,
        "volts_low": row.volts_low,
        "volts_high": row.volts_high,
        "code": row.code,
        "code_low": row.code_low,
        "code_high": row.code_high,
        "state": row.in_use.state.value,
        "record": record.name if record else None,
    }


def _card(rows: list[Expected]) -> Table:
    first = rows[0]
    volt = UNITS["V"]
    cells = tuple(
        (
            show(row.position, row.axis.unit, digits=5),
            row.mark,
            f"{np.degrees(row.sensor_rad):.1f} deg",
            f"{row.volts_wiper:.5f} V",
            f"{row.volts_pin:.5f} V",
            f"{show(row.volts_low, volt, digits=3)} to {show(row.volts_high, volt, digits=3)}",
            str(row.code),
            f"{row.code_low} to {row.code_high}",
        )
        for row in rows
    )
    names = ("position", "mark", "sensor", "at the wiper", "at the pin", "limits", "code", "limits of code")
    record = first.in_use.record
    basis = f"calibration {record.name}" if record else f"{first.in_use.state.value} ({first.in_use.why})"
    note = "sensor: shaft angle from the start of the track. A meter at the wiper loads it a little."
    right = tuple(name for name in names if name != "mark")
    return Table(title=f"{first.axis.name}: expected readings, {basis}", columns=names, rows=cells, right=right, note=note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What one raw reading means; `position` is None where it may not be believed. [m or rad]"""

    axis: Axis
    raw: float
    position: float | None
    half_width_95: float | None
    fault: Fault
    in_use: LineInUse


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReadResult(Shown):
    """Raw readings of one axis and what they mean."""

    readings: tuple[Reading, ...]

    @property
    def headline(self) -> str:
        """How many can be believed."""
        good = sum(row.fault is Fault.OK for row in self.readings)
        return f"{good} of {len(self.readings)} readings of {self.readings[0].axis.name} can be believed."

    def tables(self) -> tuple[Table, ...]:
        """One row a reading."""
        unit = self.readings[0].axis.unit
        rows = tuple(
            (
                f"{row.raw:g}",
                "none" if row.position is None else show(row.position, unit, digits=5),
                "" if row.half_width_95 is None else f"±{show(row.half_width_95, unit, digits=2)}",
                row.fault.text or "valid",
            )
            for row in self.readings
        )
        band = self.readings[0].in_use.band
        names = ("raw", "position", "95 %", "judged")
        note = f"Valid band: codes {band.low_code} to {band.high_code}."
        return (Table(title=self.headline, columns=names, rows=rows, right=names[:3], note=note),)

    def as_json(self) -> Json:
        """A list of readings."""
        return {"readings": [_reading_json(row) for row in self.readings]}


def _reading_json(row: Reading) -> Json:
    unit, record = row.axis.unit, row.in_use.record
    return {
        "axis": row.axis.name,
        "raw": int(row.raw) if row.raw == int(row.raw) else row.raw,
        "position": None if row.position is None else row.position / unit.size,
        "unit": unit.name,
        "half_width_95": None if row.half_width_95 is None else row.half_width_95 / unit.size,
        "valid": row.fault is Fault.OK,
        "fault": row.fault.text,
        "state": row.in_use.state.value,
        "record": record.name if record else None,
    }


def read_raw(
    rig: Rig, axis: str, raws: Sequence[float | str], *, state: str | None = None, record: str | None = None
) -> ReadResult:
    """The position behind raw readings, each with its interval, or why it may not be believed.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str
        Name of an axis.
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
        A raw reading is not a number.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/no-pull.toml")
    >>> result = read_raw(rig, "shoulder", [2048, 4096], state="datasheet")
    >>> [row.fault.text for row in result.readings]
    [None, 'not a code']
    """
    chosen = rig.axis(axis)
    in_use = line_in_use(rig, chosen, state=state, record=record)
    plan = plan_for(rig, in_use)
    rows = []
    for raw in map(_number, raws):
        code = int(np.rint(code_of_raw(chosen, raw)))
        fault, at = judge(code, plan), position(code, plan)
        q = None if at is None else at * chosen.unit.size
        half = None if q is None else in_use.half_width_at(q)
        rows.append(Reading(axis=chosen, raw=raw, position=q, half_width_95=half, fault=fault, in_use=in_use))
    return ReadResult(readings=tuple(rows))


def _number(raw: float | str) -> float:
    try:
        value = float(raw)
        if np.isfinite(value):
            return value
    except ValueError:
        pass
    raise DataError(Problem("raw", f"'{raw}' is not a number", "", "Give what the controller shows, as in 2048."))
