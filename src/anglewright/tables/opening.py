"""The first pass over a file: what it is, how it is cut, which columns are which; no more is read."""

from dataclasses import dataclass, replace

from anglewright.tables.blocks import Body, RowsBody, TextBody
from anglewright.tables.columns import Columns, find_columns
from anglewright.tables.encoding import encoding_of
from anglewright.tables.numbers import number
from anglewright.tables.places import with_marks
from anglewright.tables.proposing import Wanted
from anglewright.tables.source import HEAD, Form, Source, form_of, whole_of
from anglewright.tables.text import Grid, Row, Sample, sample_of
from anglewright.tables.wishes import OPTION, Ask, Wishes

_MOST_TURNED = 40  # lines that may be variables rather than rows [1]
_START = 4096  # bytes by which a document is known [byte]
_LONG = 8  # cells that such a line has at least [1]
_WIDER = 3.0  # times as many cells as lines [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A file after the first pass."""

    grid: Grid
    columns: Columns
    body: Body


def open_table(source: Source, *, wanted: Wanted, wishes: Wishes, ask: Ask | None) -> Opened:
    """The first pass over a file of any kind.

    Raises
    ------
    DataError
        It cannot be read, or two readings of it are possible and nobody can be asked.
    UsageError
        A wish names what is not there.
    """
    head = source.head()
    form = form_of(source, head)
    if form is Form.PARQUET:
        from anglewright.tables.columnar import open_columnar

        grid, body = open_columnar(source)
        columns = find_columns(grid, wanted=wanted, wishes=wishes, ask=ask)
        return Opened(grid=grid, columns=columns, body=body)
    if form is Form.WORKBOOK:
        from anglewright.tables.workbook import grid_of_workbook

        grid = grid_of_workbook(source, sheet=wishes.sheet, ask=ask)
        return _of_rows(grid, wanted=wanted, wishes=wishes, ask=ask)
    documented = _as_document(source, head)
    if documented is not None:
        return _of_rows(documented, wanted=wanted, wishes=wishes, ask=ask)
    sample = sample_of(source, head, whole=len(head) < HEAD, wishes=wishes)
    return _of_text(sample, wanted=wanted, wishes=wishes, ask=ask)


def _as_document(source: Source, head: bytes) -> Grid | None:
    """The rows of a file that is JSON, None where it is not."""
    encoding = encoding_of(head[:_START], b"")
    start = head[len(encoding.mark) : _START].decode(encoding.codec, "replace").lstrip()[:1]
    if start not in ("{", "["):
        return None
    from anglewright.tables.documents import grid_of_document

    data = head if len(head) < HEAD else whole_of(source)
    return grid_of_document(data, name=source.name)


def _of_text(sample: Sample, *, wanted: Wanted, wishes: Wishes, ask: Ask | None) -> Opened:
    if sample.grid.whole:
        return _of_rows(sample.grid, wanted=wanted, wishes=wishes, ask=ask)
    grid = sample.grid
    columns = find_columns(grid, wanted=wanted, wishes=wishes, ask=ask)
    begin = columns.header.begin
    body = TextBody(
        sample=sample,
        after=grid.rows[begin - 1].line if begin else 0,
        columns=tuple(range(len(columns.header.forms))),
        by_engine=not columns.header.forms[columns.raw].listed,
    )
    return Opened(grid=grid, columns=columns, body=body)


def _of_rows(grid: Grid, *, wanted: Wanted, wishes: Wishes, ask: Ask | None) -> Opened:
    turned = _is_turned(grid) if wishes.turned is None else wishes.turned
    grid = with_marks(_turned(grid) if turned else grid, wanted.marks)
    columns = find_columns(grid, wanted=wanted, wishes=wishes, ask=ask)
    return Opened(grid=grid, columns=columns, body=RowsBody(rows=grid.rows, first=columns.header.begin))


def _is_turned(grid: Grid) -> bool:
    """Whether each line is a variable: few lines, much longer than they are many, all of one length."""
    lengths = {len(row.cells) for row in grid.rows}
    if not 2 <= len(grid.rows) <= _MOST_TURNED or len(lengths) != 1:
        return False
    width = lengths.pop()
    tails = [cell for row in grid.rows for cell in row.cells[1:] if cell]
    numbers = sum(number(cell, decimal_comma=grid.decimal_comma) is not None for cell in tails)
    return width >= _LONG and width >= _WIDER * len(grid.rows) and 2 * numbers > len(tails)


def _turned(grid: Grid) -> Grid:
    """Lines as columns; a first cell that is no number is the name."""
    width = max((len(row.cells) for row in grid.rows), default=0)
    rows = tuple(
        Row(line=place + 1, cells=tuple(row.cell(place) for row in grid.rows)) for place in range(width)
    )
    said = f"each line is a variable of {width} cells, read as a column ({OPTION} turned=no overrules)"
    return replace(grid, rows=rows, decisions=(*grid.decisions, said), place="cell", unfinished=0)
