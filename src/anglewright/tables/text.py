"""Text of a file cut into rows of cells: encoding, comments, delimiter, decimal comma."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from anglewright.errors import DataError, Problem
from anglewright.tables.cutting import DELIMITERS, Cutter, cut, cutter_for
from anglewright.tables.encoding import Encoding, blocks_of, encoding_of
from anglewright.tables.numbers import number
from anglewright.tables.source import Source, form_of, of_path
from anglewright.tables.wishes import NO_WISHES, Wishes

__all__ = ["DELIMITERS", "Grid", "Row", "Sample", "cut", "number", "read_grid", "read_text", "sample_of"]


_MOST_ABOVE = 1000  # lines among which comments above the rows are looked for [1]
LAST = -1
"""Stands for the last line of a file where its number is not known yet. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Cells of one line, with its number in the file."""

    line: int
    cells: tuple[str, ...]

    def cell(self, column: int) -> str:
        """A cell, empty where the row is too short."""
        return self.cells[column] if column < len(self.cells) else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A file as rows of cells, or the first and last rows of a long one.

    `decisions` says what had to be found out about it; `comments` are lines that hold no row, which may
    name the columns; `grouped` says that commas part thousands; `place` is what a row is called, and
    `unfinished` a last line without its end; `named` are marks that stand in it by their names.
    """

    name: str
    rows: tuple[Row, ...]
    decimal_comma: bool = False
    grouped: bool = False
    decisions: tuple[str, ...] = ()
    comments: tuple[Row, ...] = ()
    place: str = "line"
    whole: bool = True
    unfinished: int = 0
    named: tuple[str, ...] = ()

    def number(self, cell: str) -> float | None:
        """A finite number in a cell, or None. [unit of the column]"""
        return number(cell, decimal_comma=self.decimal_comma)

    def where(self, row: Row) -> str:
        """Where a row stands, for a message: ``run3.csv, line 412``."""
        return f"{self.name}, {self.place} {row.line}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """What the first pass over a text found: how it is coded and cut, and the rows it looked at."""

    source: Source
    encoding: Encoding
    cutter: Cutter
    grid: Grid


def read_text(path: Path) -> tuple[str, str]:
    """Text of a file and the encoding it was read with.

    Raises
    ------
    DataError
        The file is missing, cannot be read, or holds no text.
    """
    source = of_path(path)
    with source.opened() as stream:
        data = stream.read()
    form_of(source, data)
    encoding = encoding_of(data, b"")
    return data[len(encoding.mark) :].decode(encoding.codec, "replace"), encoding.name


def read_grid(path: Path) -> Grid:
    """Rows of cells of a file; blank lines and comments, which begin with a hash, are left out.

    Raises
    ------
    DataError
        The file cannot be read, or holds nothing but comments.
    """
    source = of_path(path)
    with source.opened() as stream:
        data = stream.read()
    form_of(source, data)
    return sample_of(source, data, whole=True).grid


def sample_of(source: Source, head: bytes, *, whole: bool, wishes: Wishes = NO_WISHES) -> Sample:
    """The first pass over a text: its head, and its tail where it is longer than that.

    Raises
    ------
    DataError
        It holds nothing but comments, or no line ends.
    """
    tail = b"" if whole else source.tail()
    encoding = encoding_of(head, tail, codec=wishes.encoding)
    first = list(_numbered(head, encoding, source.name, cut_off=not whole))
    if not first:
        found = f"its first {len(head) >> 20} MB have no line end"
        raise DataError(Problem(source.name, found, "", "Name a file of lines, a row for each reading."))
    last = [] if whole else list(_numbered(tail, encoding, source.name, cut_off=False))[1:]
    lines = [line for _, line in first if line.strip()]
    texts = [*lines, *(line for _, line in last if line.strip())]
    if not any(not Cutter().is_comment(line) for line in texts):
        found = "it holds only comments"
        raise DataError(Problem(source.name, found, "", "Name the file with the readings."))
    cutter = cutter_for(
        texts, mark=wishes.delimiter, decimal_comma=wishes.decimal_comma, comment=wishes.comment
    )
    said = [*cutter.decisions()]
    said += [f"the text was read as {encoding.name}"] if encoding.name != "UTF-8" else []
    said += ["the lines end with a bare carriage return"] if encoding.bare_returns else []
    rows = [row for place, line in first if (row := Row(line=place, cells=cutter.cells(line))).cells]
    rows += [Row(line=0, cells=cells) for _, line in last if (cells := cutter.cells(line))]
    if cutter.labels:
        rows.insert(0, Row(line=0, cells=cutter.labels))
    ended = (tail or head).endswith((b"\n", b"\r", b"\n\0", b"\r\0"))
    grid = Grid(
        name=source.name,
        rows=tuple(rows),
        decimal_comma=cutter.decimal_comma,
        decisions=tuple(said),
        comments=tuple(_comments(first, cutter)),
        whole=whole,
        unfinished=0 if ended else first[-1][0] if whole else LAST,
    )
    return Sample(source=source, encoding=encoding, cutter=cutter, grid=grid)


def _numbered(data: bytes, encoding: Encoding, name: str, *, cut_off: bool) -> Iterator[tuple[int, str]]:
    """Lines with their numbers; the last is left out where the bytes end within it."""
    pieces = list(blocks_of(io.BytesIO(data), encoding, name=name, size=max(len(data), 1)))
    lines = re.split(r"\r\n|\n", b"".join(pieces).decode("utf-8"))
    lines = lines[:-1] if cut_off or not lines[-1] else lines
    yield from enumerate(lines, 1)


def _comments(lines: list[tuple[int, str]], cutter: Cutter) -> Iterator[Row]:
    """Comments before the rows, their sign taken off, cut as the rows are."""
    for place, line in lines[:_MOST_ABOVE]:
        if line.strip() and cutter.is_comment(line):
            bare = line.lstrip('\ufeff \t"').lstrip("#/%!;- ")
            yield Row(line=place, cells=cutter.cells(bare))
        elif cutter.cells(line):
            seen = cutter.cells(line)
            if sum(cutter.is_number(cell) for cell in seen) >= 2:
                return
