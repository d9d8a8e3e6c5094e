"""A bench sheet becomes a recording; every refused cell and every decision is kept."""

from pathlib import Path

import numpy as np

from anglewright.errors import DataError, Problem
from anglewright.quantities.units import Unit
from anglewright.recording import Recording
from anglewright.tables.columns import Columns, find_columns
from anglewright.tables.sheet import Refused, Sheet
from anglewright.tables.text import Grid, Row, read_grid

SIDES = {
    "1": 1,
    "+1": 1,
    "up": 1,
    "rising": 1,
    "-1": -1,
    "down": -1,
    "falling": -1,
    "0": 0,
    "": 0,
    "unknown": 0,
}
_MOST_SHOWN = 10  # problems of one kind that are shown [1]
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
    grid = read_grid(path)
    columns = find_columns(grid, unit=unit, raw_meaning=raw_meaning)
    filled = [row for row in columns.rows if row.cell(columns.reference) or row.cell(columns.raw)]
    blank = len(columns.rows) - len(filled)
    kept = [row for row in filled if not _faults(grid, columns, row)]
    refused = tuple(fault for row in filled for fault in _faults(grid, columns, row))
    if not kept or len(kept) < _MOST_REFUSED * len(filled):
        raise DataError(_too_few(path, refused, len(filled) - len(kept), len(filled)))
    passed = (f"rows without reference and raw, passed over: {blank}",) if blank else ()
    return Sheet(
        recording=_recording(grid, columns, kept, raw_meaning),
        reference_column=columns.names[columns.reference],
        raw_column=columns.names[columns.raw],
        why=columns.why,
        refused=refused,
        decisions=(*grid.decisions, *columns.decisions, *passed),
    )


def _faults(grid: Grid, columns: Columns, row: Row) -> list[Refused]:
    """Cells of a row that hold no number where one belongs."""
    found = []
    for column in (columns.reference, columns.raw):
        text = row.cell(column)
        if grid.number(text) is None:
            why = "is not a number" if text else "is empty"
            found.append(Refused(line=row.line, column=columns.names[column], text=text, why=why))
    return found


def _too_few(path: Path, refused: tuple[Refused, ...], lost: int, rows: int) -> Problem:
    first = refused[0]
    where = f"{path}, line {first.line}, column '{first.column}'"
    limit = f"and {lost} of {rows} rows are like it" if lost > 1 else ""
    return Problem(where, f"'{first.text}' {first.why}", limit, "Name another file, or mend its columns.")


def _recording(grid: Grid, columns: Columns, rows: list[Row], raw_meaning: str) -> Recording:
    sides = _sides(grid, columns, rows)
    return Recording(
        raw=np.array([_value(grid, row, columns.raw) for row in rows]),
        reference=np.array([columns.unit.to_si(_value(grid, row, columns.reference)) for row in rows]),
        approach=np.array(sides, dtype=np.int8) if any(sides) else None,
        time_s=None if columns.time is None else np.array([_value(grid, row, columns.time) for row in rows]),
        lines=np.array([row.line for row in rows], dtype=np.int64),
        source=str(grid.path),
        raw_meaning=raw_meaning,
    )


def _value(grid: Grid, row: Row, column: int) -> float:
    value = grid.number(row.cell(column))
    return float("nan") if value is None else value


def _sides(grid: Grid, columns: Columns, rows: list[Row]) -> list[int]:
    """Side of approach of each row; nothing where no column says it."""
    if columns.side is None:
        return []
    texts = [(row, row.cell(columns.side)) for row in rows]
    bad = [(row.line, text) for row, text in texts if text.lower() not in SIDES]
    if bad:
        name, remedy = columns.names[columns.side], "Write up or down, or 1 or -1."
        raise DataError(
            Problem(f"{grid.path}, line {line}, column '{name}'", f"'{text}' is no side", "", remedy)
            for line, text in bad[:_MOST_SHOWN]
        )
    return [SIDES[text.lower()] for _, text in texts]
