"""A short table whose columns carry names that are known beforehand, such as one raw column an axis."""

from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

from anglewright.errors import DataError, Problem
from anglewright.recording import Array
from anglewright.tables.header import header_of
from anglewright.tables.source import HEAD, Source, of_path
from anglewright.tables.text import sample_of
from anglewright.tables.wishes import NO_WISHES


def named_columns(source: Source | Path, names: Iterable[str]) -> Mapping[str, Array]:
    """The numbers of every column that is named by one of the names, by name.

    Parameters
    ----------
    source : Source or Path
        A text of rows, one name a column: comma, tab, semicolon or blanks between the cells.
    names : iterable of str
        Names that may stand there, whatever their case and whatever unit stands behind them.

    Returns
    -------
    mapping of str to array
        Numbers in their order; cells that are none are left out. [unit of the column]

    Raises
    ------
    DataError
        The text cannot be read, is longer than a short table, or none of the names is there.
    """
    where = of_path(source) if isinstance(source, Path) else source
    head = where.head()
    if len(head) >= HEAD:
        found, limit = "it is a long recording", "and a few seconds are wanted here"
        raise DataError(Problem(where.name, found, limit, "Cut out the rest, where nothing moves."))
    wanted = tuple(names)
    grid = sample_of(where, head, whole=True, wishes=NO_WISHES).grid
    header = header_of(grid, NO_WISHES)
    cells = grid.rows[header.begin :]
    columns = {}
    for name, place in (_places(wanted, header.names) if header.named else {}).items():
        values = header.forms[place].values([row.cell(place) for row in cells])
        columns[name] = values[np.isfinite(values)]
    if not columns:
        known = ", ".join(header.names) if header.named else "its columns have no names"
        remedy = f"Name the raw columns after the axes: {', '.join(wanted)}."
        raise DataError(Problem(where.name, f"no column has the name of an axis ({known})", "", remedy))
    return columns


def _places(names: tuple[str, ...], columns: tuple[str, ...]) -> Mapping[str, int]:
    """The column of each name: the first that is it, else the only one that begins with it."""
    found = {}
    owners = [_owner(column.strip().lower(), names) for column in columns]
    for name in names:
        own = [k for k, owner in enumerate(owners) if owner == name]
        same = [k for k in own if columns[k].strip().lower() == name.lower()]
        if same or len(own) == 1:
            found[name] = (same or own)[0]
    return found


def _owner(column: str, names: tuple[str, ...]) -> str | None:
    """The longest name with which a column begins, nothing but a mark or a blank behind it."""
    led = [name for name in names if column.startswith(name.lower())]
    led = [name for name in led if not column[len(name) : len(name) + 1].isalnum()]
    return max(led, key=len, default=None)
