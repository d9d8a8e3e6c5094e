"""The filled sheet: its file as cells, and typed lines as cells."""

from collections.abc import Iterable
from pathlib import Path

from anglewright.errors import DataError, Problem
from anglewright.jobs.cells import Cell
from anglewright.tables.text import DELIMITERS, Row, cut, number, read_text

_CHECK, _READING, _UNIT = "check", "reading", "unit"


def cells_in(path: str | Path) -> tuple[Cell, ...]:
    """The readings in a sheet that was filled in.

    Parameters
    ----------
    path : str or Path
        A CSV file with the columns ``check`` and ``reading``; a column ``unit`` holds for bare numbers.

    Returns
    -------
    tuple of Cell
        One a row, blank ones too.

    Raises
    ------
    DataError
        The file cannot be read, or has no such columns.
    """
    text, _ = read_text(Path(path))
    lines = [(place, line) for place, line in enumerate(text.splitlines(), 1) if _holds(line)]
    for start, (_, line) in enumerate(lines):
        mark = next((each for each in DELIMITERS if {_CHECK, _READING} <= set(_names(line, each))), None)
        if mark is not None:
            names = _names(line, mark)
            rows = (Row(line=place, cells=cut(row, mark)) for place, row in lines[start + 1 :])
            return tuple(_cell(row, names, path=path, comma=mark != ",") for row in rows)
    remedy = "Fill the sheet that anglewright testsheet writes with --csv, and leave its first line as it is."
    raise DataError(Problem(str(path), "no line of it names the columns check and reading", "", remedy))


def _holds(line: str) -> bool:
    """True for a line that is neither blank nor a note."""
    return bool(line.strip()) and not line.lstrip('\ufeff \t"').startswith("#")


def _names(line: str, mark: str) -> list[str]:
    return [cell.strip().lower() for cell in cut(line, mark)]


def _cell(row: Row, names: list[str], *, path: str | Path, comma: bool) -> Cell:
    """The reading of a row; a decimal comma becomes a point where commas do not part the cells."""
    text = row.cell(names.index(_READING))
    value = number(text, decimal_comma=comma)
    return Cell(
        check=row.cell(names.index(_CHECK)),
        text=text if value is None else f"{value!r}",
        unit=row.cell(names.index(_UNIT)) if _UNIT in names else "",
        where=f"{path}, line {row.line}",
    )


def typed_cells(lines: Iterable[str]) -> tuple[Cell, ...]:
    """The readings of typed lines, ``CHECK READING`` each; a check by its name or its number.

    Raises
    ------
    DataError
        Lines without a reading; all are named.

    Examples
    --------
    >>> [(cell.check, cell.text) for cell in typed_cells(["resistance-ends 9.83 kohm", "7 3.29 V"])]
    [('resistance-ends', '9.83 kohm'), ('7', '3.29 V')]
    """
    cells, problems = [], []
    for place, line in enumerate(lines, start=1):
        check, _, text = line.strip().partition(" ")
        where = f"typed line {place}"
        cells.append(Cell(check=check, text=text, where=where))
        if not text.strip():
            remedy = "Write the check and what was read: feed-alone 3.29 V."
            problems.append(Problem(where, f"'{line.strip()}' has no reading", "", remedy))
    if problems:
        raise DataError(problems)
    return tuple(cells)
