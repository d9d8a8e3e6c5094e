"""In which unit the reference and the raw reading of a sheet are."""

import re

from anglewright.errors import DataError, Problem, UsageError
from anglewright.quantities.units import UNITS, Kind, Unit, find_unit
from anglewright.tables.header import REFERENCE, column_named
from anglewright.tables.proposing import Sampled, plausible_units
from anglewright.tables.wishes import OPTION, Question

_MEANINGS = {
    "counts": {"counts", "count", "code", "codes", "lsb"},
    "volts": {"volts", "volt", "voltage", "v"},
    "fraction": {"fraction", "%", "percent"},
    "turns": {"turns", "turn"},
}
_NEVER = {"ohm", "ohms", "kohm", "ω", "kω", "deg", "degrees", "rad", "mm"}  # shown by a controller
_RAW_KINDS = {"volts": Kind.VOLTAGE, "fraction": Kind.FRACTION, "turns": Kind.ANGLE}


def _words(name: str) -> list[str]:
    return [word for word in re.split(r"[\s_/()\[\],]+", name) if word]


def unit_of(sheet: Sampled, reference: int) -> tuple[Unit, tuple[str, ...]] | Question:
    """Unit asked for, or of the column's name (``reference_deg``, ``Angle/deg``), cells or values."""
    grid, unit, name = sheet.grid, sheet.wanted.unit, sheet.name(reference)
    if sheet.wishes.unit:
        return _unit_wished(sheet), ()
    suffix = sheet.header.forms[reference].suffix
    words = [*(_words(name) if sheet.header.named else []), *([suffix] if suffix else [])]
    found = find_unit(words[-1], kinds=unit.kind) if words else None
    if found is not None:
        return found, () if found.name == unit.name else (f"the reference is read in {found.name}",)
    other = find_unit(words[-1], kinds=(Kind.ANGLE, Kind.LENGTH)) if len(words) > 1 else None
    if other is not None:
        where = f"{grid.name}, column '{name}'"
        remedy = f"Give the reference in {unit.name}, or mend the column's name."
        raise DataError(Problem(where, f"it is in {other.name}", f"and the axis is in {unit.name}", remedy))
    doubt = _unit_doubted(sheet, reference)
    if doubt is not None:
        return doubt
    if not sheet.header.named:
        return unit, (f"the reference is taken as {unit.name}",)
    return unit, (f"column '{name}' names no unit; it is taken as {unit.name}",)


def _unit_wished(sheet: Sampled) -> Unit:
    found = find_unit(sheet.wishes.unit, kinds=sheet.wanted.unit.kind)
    if found is None:
        text = f"'{sheet.wishes.unit}' is no unit of {sheet.wanted.unit.kind.value}"
        remedy = f"Write it as in {OPTION} unit={sheet.wanted.unit.name}."
        raise UsageError(Problem(f"{OPTION} unit", text, "", remedy))
    return found


def _unit_doubted(sheet: Sampled, reference: int) -> Question | None:
    """A question where the values fit the axis in another unit than its own, or in two."""
    column = next((each for each in sheet.numeric if each.index == reference), None)
    units = plausible_units(column, sheet.wanted) if column else ()
    unit = sheet.wanted.unit
    alone = len(units) == 1 or sheet.wanted.low is None or sheet.wanted.high is None
    if column is None or not units or (unit in units and alone):
        return None
    answers = [(f"unit={each.name}", "fits the range of the axis") for each in units]
    others = [] if unit in units else [(f"unit={unit.name}", "as the axis")]
    fits = f"would fit the axis in {' and in '.join(each.name for each in units)}"
    return Question(
        where=f"{sheet.grid.name}, column '{column.name}'",
        found=f"it names no unit, and its {column.describe()} "
        + (fits if unit in units else f"do not fit the axis in {unit.name}"),
        asks="In which unit is the reference?",
        answers=(*answers, *others),
    )


def raw_size(sheet: Sampled, raw: int) -> tuple[float, tuple[str, ...]]:
    """What one of the raw column's numbers is in the units of the raw meaning. [1]"""
    meaning, name = sheet.wanted.raw_meaning, sheet.name(raw)
    suffix = sheet.header.forms[raw].suffix
    words = [*(_words(name) if _tells(sheet, name) else []), *([suffix] if suffix else [])]
    kind = _RAW_KINDS.get(meaning)
    unit = find_unit(words[-1], kinds=kind) if kind and words and words[-1] else None
    if unit is not None and unit.name not in ("V", "", "turn"):
        size = unit.size / (UNITS["turn"].size if meaning == "turns" else 1.0)
        return size, (f"column '{name}' is read in {unit.name}",)
    by = "cells say" if suffix else "name says"
    _hold_meaning(sheet, {word.lower() for word in words}, name, by=by)
    return 1.0, ()


def _tells(sheet: Sampled, name: str) -> bool:
    """Whether the name of the raw column counts: a reference's name does not where both were asked for."""
    both = bool(sheet.wishes.reference and sheet.wishes.raw)
    return sheet.header.named and not (both and column_named((name,), REFERENCE) is not None)


def _hold_meaning(sheet: Sampled, words: set[str], name: str, *, by: str) -> None:
    """Refuse a raw column whose name says something else than the rig file.

    Raises
    ------
    DataError
        It does.
    """
    raw_meaning = sheet.wanted.raw_meaning
    where = f"{sheet.grid.name}, column '{name}'"
    limit = f"and the rig file says that the controller shows {raw_meaning}"
    never = sorted(words & _NEVER)
    if never:
        remedy = "Log what the controller shows beside the reference, or mend the column's name."
        raise DataError(Problem(where, f"its {by} {never[0]}", limit, remedy))
    said = [meaning for meaning, names in _MEANINGS.items() if names & words]
    if len(said) == 1 and said[0] != raw_meaning:
        remedy = f'Write raw = "{said[0]}" under the converter, or mend the column\'s name.'
        raise DataError(Problem(where, f"its {by} {said[0]}", limit, remedy))
