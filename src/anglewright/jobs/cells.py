"""Readings of a test sheet as people write them, and values as the sheet shows them."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from anglewright.errors import DataError, Problem, QuantityError, nearest
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS, Kind, find_unit
from anglewright.rig import Axis, RawForm, raw_scale
from anglewright.tables.text import number
from anglewright.testsheet.checks import WANDERS, Check, Reading

OPEN_WORDS = ("open", "ol", "o.l", "o.l.", "over", "overload", "inf")
WANDER_WORDS = (WANDERS, "wander", "floats", "floating")
YES = ("ok", "yes")
_KINDS: Mapping[str, Kind] = {"ohm": Kind.RESISTANCE, "V": Kind.VOLTAGE, "A": Kind.CURRENT}
_RAW_UNITS: Mapping[RawForm, str] = {
    RawForm.COUNTS: "count",
    RawForm.VOLTS: "V",
    RawForm.FRACTION: "share",
    RawForm.TURNS: "turn",
}
_RAW_KINDS: Mapping[RawForm, Kind] = {
    RawForm.COUNTS: Kind.COUNT,
    RawForm.VOLTS: Kind.VOLTAGE,
    RawForm.FRACTION: Kind.FRACTION,
}
_COMMA = re.compile(r"([+-]?\d*),(\d+)(?![\d.,])")
_THOUSAND = 1000.0  # from here on ohms are told in thousands [ohm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One reading as it was written: of which check, with which unit beside it, and where it stands."""

    check: str
    text: str
    unit: str = ""
    where: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a check's values are written: shown = zero + size * value, in a unit. [SI or count]"""

    unit: str
    size: float
    zero: float = 0.0

    def shown(self, value: float) -> float:
        """A value as a number in the unit. [unit]"""
        return self.zero + self.size * value

    def value(self, shown: float) -> float:
        """The value behind a number in the unit. [SI or count]"""
        return (shown - self.zero) / self.size


def scale_of(check: Check, axis: Axis) -> Scale:
    """In which unit the sheet writes a check; what the controller shows for codes."""
    if check.unit == "count":
        zero, size = raw_scale(axis)
        return Scale(unit=_RAW_UNITS[axis.raw], size=size, zero=0.0 if check.is_change else zero)
    if check.unit == "ohm":
        large = max(abs(check.expected or 0.0), abs(check.high or 0.0)) >= _THOUSAND
        return Scale(unit="kohm", size=1e-3) if large else Scale(unit="ohm", size=1.0)
    return Scale(unit="mA", size=1e3) if check.unit == "A" else Scale(unit=check.unit, size=1.0)


def written(check: Check, axis: Axis, value: float | None) -> str:
    """A value of a check as a number in the sheet's unit, without it; nothing for none."""
    if value is None or math.isnan(value):
        return ""
    if math.isinf(value):
        return "open"
    shown = scale_of(check, axis).shown(value)
    if check.unit == "count" and axis.raw is RawForm.COUNTS:
        return f"{shown:.0f}"
    return f"{shown:.4g}"


def with_unit(check: Check, axis: Axis, value: float | None) -> str:
    """A value of a check with its unit."""
    number_text = written(check, axis, value)
    if number_text in ("", "open"):
        return number_text
    if check.unit in _KINDS and value is not None:
        return show(value, UNITS[check.unit])
    return f"{number_text} {scale_of(check, axis).unit}"


def limits_text(check: Check, axis: Axis) -> str:
    """Limits of a check in words."""
    if not check.is_number:
        return " or ".join(check.good)
    low, high = (with_unit(check, axis, each) for each in (check.low, check.high))
    if check.low is None and check.high is None:
        return "wanders"
    if check.low is None or (check.is_change and check.low == 0.0):
        return f"at most {high}"
    number_text, _, unit = low.partition(" ")
    return f"{number_text} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"


def reading_text(check: Check, axis: Axis, reading: Reading) -> str:
    """A reading as it is shown."""
    return reading.word or with_unit(check, axis, reading.value)


def readings_of(cells: Iterable[Cell], checks: tuple[Check, ...], axis: Axis) -> dict[str, Reading]:
    """Readings behind cells; blank ones are checks not made.

    Raises
    ------
    DataError
        Cells that are no readings; all are named, each with its place and remedy.
    """
    known = {check.key: check for check in checks}
    names = {str(place): check.key for place, check in enumerate(checks, start=1)} | {k: k for k in known}
    found: dict[str, Reading] = {}
    problems: list[Problem] = []
    for cell in cells:
        if not cell.text.strip():
            continue
        key = names.get(cell.check.strip().lower()) or names.get(cell.check.strip())
        problem = _misplaced(cell, key, known, found)
        if problem is None and key is not None:
            try:
                found[key] = _reading(cell, known[key], axis)
                continue
            except QuantityError as fault:
                problem = Problem(f"{cell.where}, check '{key}'", *_parts(fault))
        problems += [problem] if problem else []
    if problems:
        raise DataError(problems)
    return found


def _parts(fault: QuantityError) -> tuple[str, str, str]:
    first = fault.problems[0]
    return first.found, first.limit, first.remedy


def _misplaced(
    cell: Cell, key: str | None, known: Mapping[str, Check], found: Mapping[str, Reading]
) -> Problem | None:
    if key is None:
        return Problem(cell.where, f"there is no check '{cell.check}'", "", nearest(cell.check, known))
    if key in found:
        return Problem(f"{cell.where}, check '{key}'", "it has two readings", "", "Leave one of them out.")
    return None


def _reading(cell: Cell, check: Check, axis: Axis) -> Reading:
    text = cell.text.strip()
    word = text.lower()
    if not check.is_number:
        return Reading(key=check.key, word=_answer(check, word))
    if word in WANDER_WORDS:
        return Reading(key=check.key, word=WANDERS)
    if word in OPEN_WORDS:
        if check.unit != "ohm":
            raise _refuse(
                f"'{text}' is a reading of ohms", f"Write what it shows in {check.unit or 'words'}."
            )
        return Reading(key=check.key, value=math.inf)
    return Reading(key=check.key, value=_value(cell, check, axis))


def _refuse(found: str, remedy: str) -> QuantityError:
    return QuantityError(Problem("", found, "", remedy))


def _answer(check: Check, word: str) -> str:
    if word in YES:
        return check.good[0]
    if word not in check.words:
        raise _refuse(f"'{word}' is none of its answers", f"Write one of: {', '.join(check.words)}.")
    return word


def _value(cell: Cell, check: Check, axis: Axis) -> float:
    text = _pointed(cell.text.strip())
    scale, plain = scale_of(check, axis), number(text)
    if plain is not None:
        unit = cell.unit.strip()
        if plain and not unit and scale.unit not in ("count", "share"):
            raise _refuse(
                f"'{cell.text.strip()}' has no unit", f"Write it with its unit, as in {plain:g} {scale.unit}."
            )
        if unit in ("", scale.unit):
            return scale.value(plain)
        return _with_its_unit(f"{plain!r} {unit}", check, axis)
    return _with_its_unit(text, check, axis)


def _pointed(text: str) -> str:
    """A reading with a decimal point where it has one comma that can be nothing else: ``9,8 kohm``.

    Raises
    ------
    QuantityError
        The comma may part thousands too: ``1,385 ohm``.
    """
    found = _COMMA.match(text)
    if found is None:
        return text
    if len(found[2]) == 3 and found[1].lstrip("+-0"):
        remedy = f"Write {found[1]}.{found[2]} or {found[1]}{found[2]}."
        raise _refuse(f"the comma in '{text}' may be a decimal mark, or part thousands", remedy)
    return f"{found[1]}.{found[2]}{text[found.end() :]}"


def _with_its_unit(text: str, check: Check, axis: Axis) -> float:
    """A number that brings its own unit. [SI or count]"""
    kind = _KINDS.get(check.unit) or _RAW_KINDS.get(axis.raw)
    scale = scale_of(check, axis)
    if kind is None:
        amount, _, unit = text.strip().partition(" ")
        turns = number(amount)
        found = find_unit(unit, kinds=Kind.ANGLE) if unit else None
        if turns is None or found is None or found.name != scale.unit:
            raise _refuse(f"'{text.strip()}' is not a number of turns", "Write it as in 0.5 turn.")
        return scale.value(turns)
    read = read_quantity(text, kinds=kind)
    if read.below or read.above:
        raise _refuse(f"'{text.strip()}' has a tolerance", "Write what the meter or the controller shows.")
    return read.value if check.unit in _KINDS else scale.value(read.value)
