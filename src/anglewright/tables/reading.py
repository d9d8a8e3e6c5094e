"""A bench sheet becomes a recording: which column is the reference, which the raw reading, in which unit."""

import re
from pathlib import Path

import numpy as np

from anglewright.errors import AnglewrightError, DataError, Problem
from anglewright.quantities.units import Unit, unit_named
from anglewright.recording import Recording
from anglewright.tables.sheet import Refused, Sheet
from anglewright.tables.text import Cells, cut_cells, number

_REFERENCE = ("reference", "ref", "true", "position", "angle", "protractor", "target")
_RAW = ("raw", "code", "counts", "count", "reading", "adc")
_SIDES = {"1": 1, "+1": 1, "up": 1, "rising": 1, "-1": -1, "down": -1, "falling": -1, "0": 0, "": 0}
_MOST_REFUSED = 0.5  # share of rows whose loss means that the wrong file or column was named [1]


def read_sheet(path: Path, *, unit: Unit, raw_meaning: str) -> Sheet:
    """Readings beside a reference, from a CSV file.

    Parameters
    ----------
    path : Path
        The file; a comment begins with ``#``.
    unit : Unit
        Unit of the axis, taken where the reference column does not name its own.
    raw_meaning : str
        What the raw column holds: ``counts``, ``volts``, ``fraction`` or ``turns``.

    Returns
    -------
    Sheet
        Rows kept, with the reference in SI units; cells refused; decisions.

    Raises
    ------
    DataError
        No numbers, no column that could be the reference or the raw reading, or half of the rows unreadable.
    """
    cells = cut_cells(path)
    reference, raw, why = _columns(cells)
    found, said = _unit_of(cells, reference, unit)
    rows, refused = _rows(cells, reference, raw)
    if len(rows) < _MOST_REFUSED * len(cells.rows):
        first = refused[0]
        where = f"{path.name}, line {first.line}, column '{first.column}'"
        found_text = f"'{first.text}' {first.why}, and {len(refused)} of {len(cells.rows)} rows are like it"
        raise DataError(Problem(where, found_text, "", "Name another file, or mend its columns."))
    sides = _sides(cells, [row for row, _, _ in rows])
    time = _find(cells.header, ("time", "time_s", "t"))
    recording = Recording(
        raw=np.array([value for _, _, value in rows]),
        reference=np.array([found.to_si(value) for _, value, _ in rows]),
        approach=None if sides is None else np.array(sides, dtype=np.int8),
        time_s=None if time is None else np.array([_time(cells, row, time) for row, _, _ in rows]),
        lines=np.array([cells.rows[row][0] for row, _, _ in rows], dtype=np.int64),
        source=path.name,
        raw_meaning=raw_meaning,
    )
    header = cells.header or ("1", "2")
    return Sheet(
        recording=recording,
        reference_column=header[reference],
        raw_column=header[raw],
        why=why,
        refused=tuple(refused),
        decisions=(*cells.decisions, *said),
    )


def _find(header: tuple[str, ...], words: tuple[str, ...]) -> int | None:
    """First column whose name is, or begins with, one of the words."""
    plain = [re.split(r"[^a-z]", name.strip().lower()) for name in header]
    for word in words:
        for index, parts in enumerate(plain):
            if parts and parts[0] == word:
                return index
    return None


def _columns(cells: Cells) -> tuple[int, int, str]:
    if not cells.header:
        if len(cells.rows[0][1]) == 2:
            return 0, 1, "no header: the first column is taken as the reference, the second as raw"
        remedy = "Write a header line such as reference_deg,raw above the numbers."
        raise DataError(Problem(cells.source, f"{len(cells.rows[0][1])} columns stand without a header", "", remedy))
    reference, raw = _find(cells.header, _REFERENCE), _find(cells.header, _RAW)
    if reference is None or raw is None or reference == raw:
        lost = "reference" if reference is None else "raw reading"
        found = f"no column is named as the {lost}; there are: {', '.join(cells.header)}"
        remedy = "Name the columns reference_UNIT and raw, as in reference_deg,raw."
        raise DataError(Problem(cells.source, found, "", remedy))
    return reference, raw, "by their names"


def _unit_of(cells: Cells, column: int, unit: Unit) -> tuple[Unit, tuple[str, ...]]:
    """Unit at the end of the column's name: ``reference_deg``, ``Angle/deg``, ``Angle (deg)``."""
    if not cells.header:
        return unit, (f"the reference is taken as {unit.name}",)
    words = [word for word in re.split(r"[\s_/()\[\]]+", cells.header[column]) if word]
    if len(words) < 2:
        return unit, (f"column '{cells.header[column]}' names no unit; it is taken as {unit.name}",)
    try:
        return unit_named(words[-1], kinds=unit.kind), ()
    except AnglewrightError:
        return unit, (f"column '{cells.header[column]}' names no unit of the axis; it is taken as {unit.name}",)


def _rows(cells: Cells, reference: int, raw: int) -> tuple[list[tuple[int, float, float]], list[Refused]]:
    """Rows with both numbers; cells that hold none, with the line they stand in."""
    kept, refused = [], []
    names = cells.header or ("1", "2")
    for index, (line, row) in enumerate(cells.rows):
        values = []
        for column in (reference, raw):
            text = row[column] if column < len(row) else ""
            value = number(text, decimal_comma=cells.decimal_comma)
            if value is None:
                why = "is not a number" if text else "is empty"
                refused.append(Refused(line=line, column=names[column], text=text, why=why))
            else:
                values.append(value)
        if len(values) == 2:
            kept.append((index, values[0], values[1]))
    return kept, refused


def _sides(cells: Cells, rows: list[int]) -> list[int] | None:
    """Side of approach of each row, where a column says it in words or signs."""
    column = _find(cells.header, ("approach", "side", "direction"))
    if column is None:
        return None
    sides = []
    for index in rows:
        line, row = cells.rows[index]
        text = (row[column] if column < len(row) else "").strip().lower()
        if text not in _SIDES:
            where = f"{Path(cells.source).name}, line {line}, column '{cells.header[column]}'"
            raise DataError(Problem(where, f"'{text}' is no side", "", "Write up or down, or 1 or -1."))
        sides.append(_SIDES[text])
    return sides if any(sides) else None


def _time(cells: Cells, row: int, column: int) -> float:
    cut = cells.rows[row][1]
    value = number(cut[column], decimal_comma=cells.decimal_comma) if column < len(cut) else None
    return float("nan") if value is None else value
