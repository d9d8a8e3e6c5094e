"""Job: the card to hold beside a multimeter: what sensor, meter and converter should show at a position."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.errors import AnglewrightError, Problem, UsageError, nearest
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.protocol import Link, Signal
from anglewright.links.wiring import Wiring
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.rig import Axis, Rig, at_mean, realise


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What to expect at one position [m or rad]; the sensor's angle from the start of its track."""

    axis: Axis
    position: float
    mark: str
    sensor_rad: float
    volts_wiper: float | None
    volts_pin: float | None
    volts_low: float | None
    volts_high: float | None
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
        meter = any(row.volts_pin is not None for row in self.readings)
        return f"Hold this card beside {'the multimeter' if meter else 'what the controller shows'}: {names}."

    def tables(self) -> tuple[Table, ...]:
        """One card an axis."""
        by_axis = dict.fromkeys(row.axis.name for row in self.readings)
        return tuple(_card([row for row in self.readings if row.axis.name == name]) for name in by_axis)

    def as_json(self) -> Json:
        """A list of expected readings."""
        return {"readings": [_expected_json(row) for row in self.readings]}


def expect(
    rig: Rig,
    *,
    axis: str | None = None,
    positions: Sequence[str | float] = (),
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
    positions : sequence of str or float
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
    DataError
        A calibration record is damaged.

    Notes
    -----
    Without a calibration the chain is run forward with every number at its mean. With one, its curve is
    run backward: the code that the calibrated axis gives at the position, and the voltages behind that code.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/no-pull.toml")
    >>> row = expect(rig, axis="shoulder", positions=["-20 deg"]).readings[0]
    >>> row.code, round(row.volts_pin, 5)
    (421, 0.33971)
    """
    rows = []
    for each in chosen_axes(rig, axis):
        in_use = line_in_use(rig, each, state=state, record=record)
        for q, mark in _places(each, positions):
            rows.append(_expected(in_use, q, mark))
    return ExpectResult(readings=tuple(rows))


def _places(axis: Axis, positions: Sequence[str | float]) -> list[tuple[float, str]]:
    if positions:
        return [place_named(axis, str(text)) for text in positions]
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
    text = text if text in axis.marks else text.strip()
    if text in axis.marks:
        return axis.marks[text].at.nominal, text
    q = _position(axis, text)
    if not axis.stops.low <= q <= axis.stops.high:
        found = f"it cannot stand at {show(q, axis.unit)}"
        low, high = show(axis.stops.low, axis.unit), show(axis.stops.high, axis.unit)
        limit = f"the mechanism's stops are at {low} and {high}"
        raise UsageError(Problem(f"axis '{axis.name}'", found, limit, "Name another position."))
    return q, ""


def _position(axis: Axis, text: str) -> float:
    try:
        return axis.unit.to_si(float(text))
    except ValueError:
        pass
    try:
        return read_quantity(text, kinds=axis.unit.kind).value
    except AnglewrightError:
        remedy = nearest(text, axis.marks) + f" Or write a position in {axis.unit.name}."
        found = f"'{text}' is neither a mark nor a position"
        raise UsageError(Problem(f"axis '{axis.name}'", found, "", remedy)) from None


def _expected(in_use: LineInUse, q: float, mark: str) -> Expected:
    axis = in_use.axis
    links = dict(zip((part.room for part in axis.chain_parts), realise(axis, at_mean).links, strict=True))
    wiring, converter = links["wiring"], links["converter"]
    code, share, volts = _calibrated(in_use, q, links) if in_use.record else _unmeasured(q, links)
    reach = abs(spread_at(in_use, q) / float(in_use.line.slope_at(code)))
    codes, analogue = axis.codes, converter.takes is Signal.VOLTAGE
    low, high = (
        int(np.clip(edge, codes.low, codes.high)) for edge in (np.floor(code - reach), np.ceil(code + reach))
    )
    return Expected(
        axis=axis,
        position=q,
        mark=mark,
        sensor_rad=float(links["sensor"].backward(share)) - float(links["sensor"].backward(0.0)),
        volts_wiper=float(wiring.at_wiper(share)) if isinstance(wiring, Wiring) else None,
        volts_pin=volts if analogue else None,
        volts_low=float(converter.backward(low - 0.5)) if analogue else None,
        volts_high=float(converter.backward(high + 0.5)) if analogue else None,
        code=int(code),
        code_low=low,
        code_high=high,
        in_use=in_use,
    )


def _unmeasured(q: float, links: dict[str, Link]) -> tuple[float, float, float]:
    """Code [count], share of the track [1] and voltage at the pin [V] of the chain at its means."""
    values = {}
    value = q
    for room, link in links.items():
        value = float(np.mean(link.forward(value)))
        values[room] = value
    return values["converter"], values["sensor"], values["wiring"]


def _calibrated(in_use: LineInUse, q: float, links: dict[str, Link]) -> tuple[float, float, float]:
    """The same as the calibrated curve has it: code [count], share of the track [1], voltage [V]."""
    exact = in_use.code_at(q)
    volts = float(links["converter"].backward(exact))
    return float(np.rint(exact)), float(links["wiring"].backward(volts)), volts


def spread_at(in_use: LineInUse, q: float) -> float:
    """How far the reading may lie from the expected one: without the known bias of the line. [m or rad]"""
    if in_use.record:
        return in_use.half_width_at(q)
    budget = in_use.budget
    return in_use.half_width_at(q) - float(np.interp(q, budget.positions, np.abs(budget.bias)))


def _expected_json(row: Expected) -> Json:
    unit = row.axis.unit
    record = row.in_use.record
    return {
        "axis": row.axis.name,
        "position": unit.from_si(row.position),
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


_CARD = ("position", "mark", "sensor", "at the wiper", "at the pin", "limits", "code", "limits of code")


def _card(rows: list[Expected]) -> Table:
    """One axis's card; columns that hold nothing for its sensor are left out."""
    cells = [_card_row(row) for row in rows]
    kept = [place for place in range(len(_CARD)) if any(row[place] for row in cells)]
    names = tuple(_CARD[place] for place in kept)
    note = "sensor: shaft angle from the start of its output. Limits hold with 95 % for a healthy chain."
    if rows[0].volts_wiper is not None:
        note += " A meter at the wiper loads it a little."
    if rows[0].axis.needs_homing:
        note += f" Home the axis at '{rows[0].axis.clamped_at}' first: before that a code means nothing."
    return Table(
        title=f"{rows[0].axis.name}: expected readings, {rows[0].in_use.basis}",
        columns=names,
        rows=tuple(tuple(row[place] for place in kept) for row in cells),
        right=tuple(name for name in names if name != "mark"),
        note=note,
    )


def _card_row(row: Expected) -> tuple[str, ...]:
    volt = UNITS["V"]
    limits = [show(each, volt, digits=3) for each in (row.volts_low, row.volts_high) if each is not None]
    return (
        show(row.position, row.axis.unit, digits=5),
        row.mark,
        f"{np.degrees(row.sensor_rad):.1f} deg",
        "" if row.volts_wiper is None else f"{row.volts_wiper:.5f} V",
        "" if row.volts_pin is None else f"{row.volts_pin:.5f} V",
        " to ".join(limits),
        str(row.code),
        f"{row.code_low} to {row.code_high}",
    )
