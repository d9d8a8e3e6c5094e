"""The rows of a sheet a block at a time: from memory, from a long text, from a columnar file."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from anglewright.tables.cutting import Cutter
from anglewright.tables.encoding import BLOCK, blocks_of
from anglewright.tables.text import Row, Sample

if TYPE_CHECKING:
    import polars as pl

Lines = NDArray[np.int64]
_OTHER_BLANKS = re.compile(rb"[\x0b\x0c\x1c-\x1f]")
_BARE_RETURN = re.compile(rb"\r(?!\n)")


class Block(Protocol):
    """Some rows: the line of each, and their cells by column."""

    @property
    def lines(self) -> Lines:
        """Line of each row in the file. [1]"""
        ...

    @property
    def words(self) -> tuple[Row, ...]:
        """Lines among them that hold no row and are no comment."""
        ...

    def column(self, index: int) -> "Sequence[str] | pl.Series":
        """Cells of a column; what is not there is empty, or null in a series."""
        ...

    def row(self, index: int) -> Row:
        """One row with all its cells."""
        ...

    def longer(self, width: int) -> Lines:
        """Lines of the rows with something beyond so many columns. [1]"""
        ...


class Body(Protocol):
    """The rows of a sheet beneath its header."""

    def blocks(self) -> Iterator[Block]:
        """The rows from the first, a block at a time."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class RowBlock:
    """Rows in memory."""

    rows: tuple[Row, ...]
    words: tuple[Row, ...] = ()

    @property
    def lines(self) -> Lines:
        """Line of each row in the file. [1]"""
        return np.array([row.line for row in self.rows], dtype=np.int64)

    def column(self, index: int) -> Sequence[str]:
        """Cells of a column, empty where a row is too short."""
        return [row.cell(index) for row in self.rows]

    def row(self, index: int) -> Row:
        """One row."""
        return self.rows[index]

    def longer(self, width: int) -> Lines:
        """Lines of the rows with something beyond so many columns. [1]"""
        return np.array([row.line for row in self.rows if any(row.cells[width:])], dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True)
class RowsBody:
    """A sheet that is wholly in memory; `first` is the first row that counts."""

    rows: tuple[Row, ...]
    first: int = 0

    def blocks(self) -> Iterator[Block]:
        """All rows in one block."""
        yield RowBlock(rows=self.rows[self.first :])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FrameBlock:
    """Rows of text as the engine cut them; `text` holds the same lines, for those that need a second look."""

    frame: "pl.DataFrame"
    lines: Lines
    cutter: Cutter
    text: bytes = b""
    first: int = 0
    words: tuple[Row, ...] = ()
    split: list[bytes] = field(default_factory=list)

    def column(self, index: int) -> "pl.Series":
        """Cells of a column as text, null where a row is too short."""
        return self.frame[f"c{index}"]

    def row(self, index: int) -> Row:
        """One row, cut again from its line."""
        if not self.split:
            self.split.extend(self.text.split(b"\n"))
        line = int(self.lines[index])
        text = self.split[line - self.first].decode("utf-8").rstrip("\r")
        return Row(line=line, cells=self.cutter.cells(text))

    def longer(self, width: int) -> Lines:
        """Lines of the rows with something beyond so many columns. [1]"""
        beyond = self.frame[f"c{width}"]
        if beyond.null_count() == len(beyond):
            return np.array([], dtype=np.int64)
        return self.lines[beyond.fill_null("").str.strip_chars().str.len_bytes().to_numpy() > 0]


@dataclass(frozen=True, slots=True, kw_only=True)
class TextBody:
    """A long text, read again from its beginning; `after` is the last line of its header.

    `by_engine` hands the cutting to the streaming engine where the lines allow it.
    """

    sample: Sample
    after: int
    columns: tuple[int, ...]
    by_engine: bool = True
    size: int = BLOCK

    def blocks(self) -> Iterator[Block]:
        """Whole lines, about `size` bytes a block."""
        place, sample = 1, self.sample
        with sample.source.opened() as stream:
            for data in blocks_of(stream, sample.encoding, name=sample.source.name, size=self.size):
                text, first = _beneath(data, place, self.after)
                place += data.count(b"\n")
                if text:
                    yield self._block(text, first)

    def _block(self, text: bytes, first: int) -> Block:
        cutter = self.sample.cutter
        if self.by_engine and cutter.is_plain:
            frame = _cut_by_engine(text, cutter, max(self.columns))
            if frame is not None:
                return _without_comments(frame, text, cutter, first)
        return _cut_here(text, cutter, first)


def _beneath(data: bytes, place: int, after: int) -> tuple[bytes, int]:
    """What of a block stands beneath the header, and the number of its first line."""
    while place <= after and data:
        data, place = data[data.find(b"\n") + 1 or len(data) :], place + 1
    return data, place


def _cut_by_engine(text: bytes, cutter: Cutter, last: int) -> "pl.DataFrame | None":
    """A frame with a row for every line, or None where the engine would cut otherwise than the program does.

    That is so where a quoted cell runs over lines, where quotes stand alone or within a cell, where a bare
    carriage return or an unusual blank stands in a line.
    """
    import polars as pl

    lines = text.count(b"\n") + (not text.endswith(b"\n"))
    mark = cutter.mark.encode()
    if not _is_regular(text, cutter.mark):
        return None
    if cutter.mark == " ":
        text = re.sub(rb"[ \t]+", b" ", re.sub(rb"(?m)^[ \t]+|[ \t\r]+$", b"", text))
    names = mark.join(b"c%d" % index for index in range(last + 2))
    try:
        frame = pl.read_csv(
            names + b"\n" + text,
            separator=cutter.mark,
            quote_char='"' if cutter.mark != " " and b'"' in text else None,
            truncate_ragged_lines=True,
            infer_schema=False,
            null_values=None,
        )
    except pl.exceptions.PolarsError:  # stray quotes
        return None
    return frame if frame.height == lines else None


def _is_regular(text: bytes, mark: str) -> bool:
    """Whether quotes stand around whole cells alone, and blanks and line ends are the usual ones."""
    if b"\r" in text and _BARE_RETURN.search(text):
        return False
    if mark == " ":
        return text.isascii() and _OTHER_BLANKS.search(text) is None
    quotes = text.count(b'"')
    sign = re.escape(mark).encode()
    quoted = rb'(?:\A|(?<=[\n%b]))"[^"\n]*"(?=[%b\r\n]|\Z)' % (sign, sign)
    return not quotes or 2 * len(re.findall(quoted, text)) == quotes


def _without_comments(frame: "pl.DataFrame", text: bytes, cutter: Cutter, first: int) -> FrameBlock:
    """The frame without its comments and blank lines."""
    lines = np.arange(first, first + frame.height, dtype=np.int64)
    kept = ~_blank(frame, text)
    if any(mark.encode() in text for mark in cutter.comments):
        kept &= ~_commented(frame, cutter.comments)
    if not kept.all():
        frame, lines = frame.filter(kept), lines[kept]
    return FrameBlock(frame=frame, lines=lines, cutter=cutter, text=text, first=first)


def _commented(frame: "pl.DataFrame", comments: Sequence[str]) -> NDArray[np.bool_]:
    """Which rows begin like a comment."""
    import polars as pl

    start = pl.col("c0").str.strip_chars_start('\ufeff \t"')
    found = pl.any_horizontal(start.str.starts_with(mark) for mark in comments)
    return frame.select(found.fill_null(False)).to_series().to_numpy()


def _blank(frame: "pl.DataFrame", text: bytes) -> NDArray[np.bool_]:
    """Which rows are lines with nothing on them."""
    found = np.zeros(frame.height, dtype=np.bool_)
    empty = frame["c0"].fill_null("").str.strip_chars() == ""
    if empty.any():
        split = text.split(b"\n")
        for row in np.flatnonzero(empty.to_numpy()).tolist():
            found[row] = not split[row].strip()
    return found


def _cut_here(text: bytes, cutter: Cutter, first: int) -> RowBlock:
    """Rows cut line by line; lines that hold none are kept apart."""
    rows, words = [], []
    for place, line in enumerate(text.decode("utf-8").removesuffix("\n").split("\n"), first):
        line = line.rstrip("\r")
        cells = cutter.cells(line)
        if cells:
            rows.append(Row(line=place, cells=cells))
        elif line.strip() and not cutter.is_comment(line):
            words.append(Row(line=place, cells=(line.strip(),)))
    return RowBlock(rows=tuple(rows), words=tuple(words))
