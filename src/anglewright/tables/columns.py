"""Which columns hold the reference, the raw reading and the side of approach, and in which unit."""

import re
from dataclasses import dataclass

from anglewright.errors import DataError, Problem
from anglewright.quantities.units import Kind, Unit, find_unit
from anglewright.tables.text import Grid, Row

REFERENCE = (
    "reference",
    "ref",
    "true",
    "position",
    "angle",
    "protractor",
    "inclinometer",
    "target",
    "deg",
    "mm",
)
RAW = ("raw", "code", "codes", "counts", "count", "adc", "reading", "volts", "voltage", "fraction", "turns")
SIDE = ("approach", "side", "direction", "came")
TIME = ("time", "t")
_MEANINGS = {
    "counts": {"counts", "count", "code", "codes", "lsb"},
    "volts": {"volts", "volt", "voltage", "v"},
    "fraction": {"fraction"},
    "turns": {"turns", "turn"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Columns of a sheet by number, their names, and the rows beneath the header."""

    rows: tuple[Row, ...]
    names: tuple[str, ...]
    reference: int
    raw: int
    side: int | None
    time: int | None
    unit: Unit
    why: str
    decisions: tuple[str, ...]


def find_columns(grid: Grid, *, unit: Unit, raw_meaning: str) -> Columns:
    """The columns of a sheet.

    Parameters
    ----------
    grid : Grid
        The file as rows of cells.
    unit : Unit
        Unit of the axis, taken where the reference column does not name its own.
    raw_meaning : str
        What the raw column should hold: ``counts``, ``volts``, ``fraction`` or ``turns``.

    Returns
    -------
    Columns
        Where each thing stands.

    Raises
    ------
    DataError
        No row holds two numbers, no column could be the reference or the raw reading, or one of them
        is in a unit that does not fit the axis.
    """
    first = next((k for k, row in enumerate(grid.rows) if _numbers(grid, row) >= 2), None)
    if first is None:
        remedy = "Name the file with the readings, one position and one raw value in a row."
        raise DataError(Problem(str(grid.path), "no row of it holds two numbers", "", remedy))
    header = _header(grid, first)
    if header is None:
        return _without_names(grid, first, unit)
    names = grid.rows[header].cells
    reference, raw = _named_columns(grid, names)
    found, said = _unit_of(grid, names[reference], unit)
    _hold_meaning(grid, names[raw], raw_meaning)
    passed = [f"{header} lines above the header were passed over"] if header else []
    return Columns(
        rows=grid.rows[header + 1 :],
        names=names,
        reference=reference,
        raw=raw,
        side=_column(names, SIDE),
        time=_column(names, TIME),
        unit=found,
        why="by their names",
        decisions=(*passed, *said),
    )


def _numbers(grid: Grid, row: Row) -> int:
    return sum(grid.number(cell) is not None for cell in row.cells)


def _header(grid: Grid, first: int) -> int | None:
    """The row of names above the first row of numbers: it names both columns, or is of words alone."""
    above = range(first)
    for k in above:
        names = grid.rows[k].cells
        if _column(names, REFERENCE) is not None and _column(names, RAW) is not None:
            return k
    worded = [k for k in above if sum(map(bool, grid.rows[k].cells)) > 1 and not _numbers(grid, grid.rows[k])]
    return worded[-1] if worded else None


def _column(names: tuple[str, ...], words: tuple[str, ...]) -> int | None:
    """First column whose name is, or begins with, one of the words; an earlier word goes before."""
    plain = [re.split(r"[^a-z]+", name.strip().lower())[0] for name in names]
    return next((plain.index(word) for word in words if word in plain), None)


def _without_names(grid: Grid, first: int, unit: Unit) -> Columns:
    """Two columns without a header: the reference, then raw."""
    row = grid.rows[first]
    if len(row.cells) != 2:
        found = f"{len(row.cells)} columns stand without a header"
        remedy = "Write a header line such as reference_deg,raw above the numbers."
        raise DataError(Problem(str(grid.path), found, "", remedy))
    return Columns(
        rows=grid.rows,
        names=("1", "2"),
        reference=0,
        raw=1,
        side=None,
        time=None,
        unit=unit,
        why="no header: the first column is taken as the reference, the second as raw",
        decisions=(f"the reference is taken as {unit.name}",),
    )


def _named_columns(grid: Grid, names: tuple[str, ...]) -> tuple[int, int]:
    reference, raw = _column(names, REFERENCE), _column(names, RAW)
    if reference is not None and raw is not None and reference != raw:
        return reference, raw
    lost = "reference" if reference is None else "raw reading"
    found = f"no column is named as the {lost}; there are: {', '.join(names)}"
    remedy = "Name the columns reference_UNIT and raw, as in reference_deg,raw."
    raise DataError(Problem(str(grid.path), found, "", remedy))


def _words(name: str) -> list[str]:
    return [word for word in re.split(r"[\s_/()\[\]]+", name) if word]


def _unit_of(grid: Grid, name: str, unit: Unit) -> tuple[Unit, tuple[str, ...]]:
    """Unit at the end of the column's name: ``reference_deg``, ``Angle/deg``, ``Angle (deg)``."""
    words = _words(name)
    found = find_unit(words[-1], kinds=unit.kind) if words else None
    if found is not None:
        return found, () if found.name == unit.name else (f"the reference is read in {found.name}",)
    other = find_unit(words[-1], kinds=(Kind.ANGLE, Kind.LENGTH)) if len(words) > 1 else None
    if other is not None:
        where = f"{grid.path}, column '{name}'"
        remedy = f"Give the reference in {unit.name}, or mend the column's name."
        raise DataError(Problem(where, f"it is in {other.name}", f"and the axis is in {unit.name}", remedy))
    return unit, (f"column '{name}' names no unit; it is taken as {unit.name}",)


def _hold_meaning(grid: Grid, name: str, raw_meaning: str) -> None:
    """Refuse a raw column whose name says something else than the rig file."""
    words = {word.lower() for word in _words(name)}
    said = [meaning for meaning, names in _MEANINGS.items() if names & words]
    if len(said) == 1 and said[0] != raw_meaning:
        where = f"{grid.path}, column '{name}'"
        limit = f"and the rig file says that the controller shows {raw_meaning}"
        remedy = f'Write raw = "{said[0]}" under the converter, or mend the column\'s name.'
        raise DataError(Problem(where, f"its name says {said[0]}", limit, remedy))
