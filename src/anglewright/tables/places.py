"""Names of marks among the cells of a sheet, which stand for the positions of the marks."""

from collections.abc import Mapping
from dataclasses import replace

from anglewright.tables.text import Grid, Row

_MOST_SHOWN = 5  # names that are listed [1]


def with_marks(grid: Grid, marks: Mapping[str, str]) -> Grid:
    """A sheet whose names of marks are replaced by their positions.

    Parameters
    ----------
    grid : Grid
        The sheet, wholly in memory.
    marks : mapping of str to str
        Position of each mark as a cell would have it, by its name.

    Returns
    -------
    Grid
        The same where no row of numbers names a mark; `named` holds those that are.
    """
    lookup = {name.casefold(): name for name in marks}
    named: dict[str, None] = {}
    rows = tuple(_replaced(row, grid, lookup, marks, named) for row in grid.rows)
    if not named:
        return grid
    listed = ", ".join(f"'{name}' for {marks[name]}" for name in list(named)[:_MOST_SHOWN])
    said = f"cells that name a mark stand for its position: {listed}"
    return replace(grid, rows=rows, named=tuple(named), decisions=(*grid.decisions, said))


def _replaced(
    row: Row, grid: Grid, lookup: Mapping[str, str], marks: Mapping[str, str], named: dict[str, None]
) -> Row:
    """A row with its names of marks replaced, if it holds a number besides."""
    keys = [cell.strip().casefold() for cell in row.cells]
    hits = {k: lookup[key] for k, key in enumerate(keys) if key in lookup}
    if not hits or not any(grid.number(cell) is not None for cell in row.cells):
        return row
    named.update(dict.fromkeys(hits.values()))
    cells = tuple(marks[hits[k]] if k in hits else cell for k, cell in enumerate(row.cells))
    return replace(row, cells=cells)
