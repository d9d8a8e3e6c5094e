"""Cells become checked numbers; each that does not is counted and named, and so is each row passed over."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import DataError, Problem
from anglewright.tables.blocks import Block, Lines, RowBlock
from anglewright.tables.clocks import over_midnight
from anglewright.tables.columns import Columns
from anglewright.tables.header import NO_REFERENCE
from anglewright.tables.numbers import PLAIN
from anglewright.tables.sheet import Refused
from anglewright.tables.sides import SIDES
from anglewright.tables.text import LAST, Grid, Row

if TYPE_CHECKING:
    import polars as pl

Array = NDArray[np.float64]
_CUT_OFF = "is cut off with the file"
_MOST_SHOWN = 10  # problems of one kind that are shown [1]
_MOST_KEPT = 1000  # refused cells that are kept to be shown; the others are counted [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """The rows of a block that hold a reference and a raw reading, in the units of the columns."""

    lines: Lines
    reference: Array
    raw: Array
    time_s: Array | None
    sides: NDArray[np.int8] | None

    def thinned(self, offset: int, step: int) -> "Part":
        """Every `step`-th row, from `offset` on; copied, because a view would hold all that is left out."""
        if step == 1 and not offset:
            return self
        pick = slice(offset, None, step)
        return Part(
            lines=self.lines[pick].copy(),
            reference=self.reference[pick].copy(),
            raw=self.raw[pick].copy(),
            time_s=None if self.time_s is None else self.time_s[pick].copy(),
            sides=None if self.sides is None else self.sides[pick].copy(),
        )


def joined(parts: list[Part]) -> Part:
    """Parts one after the other, locked; the list is used up, so that no row is held twice."""
    lines, raw = [part.lines for part in parts], [part.raw for part in parts]
    reference = [part.reference for part in parts]
    times = [part.time_s for part in parts if part.time_s is not None]
    sides = [part.sides for part in parts if part.sides is not None]
    parts.clear()
    return Part(
        lines=_one_of(lines),
        reference=_one_of(reference),
        raw=_one_of(raw),
        time_s=_one_of(times) if times else None,
        sides=_one_of(sides) if sides else None,
    )


_Kind = TypeVar("_Kind", bound=np.generic)


def _one_of(pieces: list[NDArray[_Kind]]) -> NDArray[_Kind]:
    """One locked array of several, which are let go."""
    whole = np.concatenate(pieces)
    pieces.clear()
    whole.flags.writeable = False
    return whole


class Checker:
    """Holds the blocks of one sheet against its columns and keeps count of all that is passed over."""

    def __init__(self, grid: Grid, columns: Columns, *, missing: Sequence[str] = ()) -> None:
        """Begin with nothing counted; `missing` are cells that stand for no reading."""
        self._grid, self._columns, self._pair = grid, columns, columns.pair
        self._missing = frozenset(missing)
        self._marks = {column: self._marks_of(column) for column in (columns.reference, columns.raw)}
        self._last_reference, self._last_clock = math.nan, math.nan
        self.rows = self.lost = self.blank = self.marked = self.refused_cells = 0
        self.repeated: list[int] = []
        self.words: list[Row] = []
        self.longer = self._first_longer = 0
        self.refused: list[Refused] = []

    def _marks_of(self, column: int) -> Array:
        """Numbers that stand for no reading in a column: decimal, or as the column writes its own."""
        form = self._columns.header.forms[column]
        values = [(PLAIN.value(each), form.value(each)) for each in self._missing]
        return np.array([plain if plain is not None else own for plain, own in values], dtype=np.float64)

    def part(self, block: Block) -> Part:
        """The rows of a block that are whole.

        Raises
        ------
        DataError
            A side of approach that is none.
        """
        block = self._unlisted(block)
        columns = self._columns
        raw = self._values(block, columns.raw)
        reference = self._values(block, columns.reference)
        self.words.extend(block.words)
        self._see_longer(block.longer(len(columns.header.forms)))
        good = np.isfinite(raw) & np.isfinite(reference)
        if self._pair and not good.all():
            reference, good = self._carried(block, reference, raw)
        elif self._pair and len(reference):
            self._last_reference = float(reference[-1])
        if not good.all():
            self._judge(block, np.flatnonzero(~good), reference, raw)
        self.rows += int(np.count_nonzero(good))
        lines = block.lines
        return Part(
            lines=lines[good],
            reference=reference[good],
            raw=raw[good] * columns.raw_size,
            time_s=self._times(block, good),
            sides=self._sides(block, good),
        )

    def _see_longer(self, lines: Lines) -> None:
        """Take note of rows that have more cells than there are columns."""
        if len(lines) and not self.longer:
            self._first_longer = int(lines[0])
        self.longer += len(lines)

    def _values(self, block: Block, column: int) -> Array:
        values = self._columns.header.forms[column].values(block.column(column))
        if self._missing:
            values[np.isin(values, self._marks[column])] = math.nan
        return values

    def _unlisted(self, block: Block) -> Block:
        """The block with a row for every reading where a cell holds several."""
        raw = self._columns.raw
        mark = self._columns.header.forms[raw].listed
        if not mark:
            return block
        rows = []
        for index in range(len(block.lines)):
            row = block.row(index)
            for text in row.cell(raw).split(mark) if row.cell(raw) else [""]:
                cells = (*row.cells[:raw], text.strip(), *row.cells[raw + 1 :])
                rows.append(Row(line=row.line, cells=cells))
        return RowBlock(rows=tuple(rows), words=block.words)

    def _carried(self, block: Block, reference: Array, raw: Array) -> tuple[Array, NDArray[np.bool_]]:
        """Each raw reading with the reference that was last seen before it."""
        seen = np.isfinite(reference)
        filled = np.concatenate([[self._last_reference], reference])
        places = np.maximum.accumulate(np.where(np.concatenate([[True], seen]), np.arange(len(filled)), 0))
        carried = np.asarray(filled[places][1:])
        self._last_reference = float(carried[-1]) if len(carried) else self._last_reference
        good = np.isfinite(raw) & np.isfinite(carried)
        return np.where(good | ~seen, carried, reference), good

    def _judge(self, block: Block, rows: NDArray[np.int64], reference: Array, raw: Array) -> None:
        """Why rows are not used: blank, a header again, words of a log, or cells that hold no number."""
        columns = self._columns
        first = _texts(block.column(columns.reference), rows)
        second = _texts(block.column(columns.raw), rows)
        for index, one, other in zip(rows.tolist(), first, second, strict=True):
            line = int(block.lines[index])
            known = math.isfinite(reference[index]), math.isfinite(raw[index])
            if not block.row(index).cells:
                continue  # a rule that the engine took for a row
            if not one and not other and not self._is_words(block, index):
                self.blank += 1
            elif self._is_header(one, other):
                self.repeated.append(line)
            elif not any(known) and self._is_words(block, index):
                self.words.append(block.row(index))
            elif not self._stand_for_none(one, other):
                if self._pair and (not one or not other):
                    self.blank += 1
                else:
                    self._refuse(line, (one, other), known)

    def _is_header(self, one: str, other: str) -> bool:
        names, columns = self._columns.names, self._columns
        return self._columns.header.named and (one, other) == (names[columns.reference], names[columns.raw])

    def _is_words(self, block: Block, index: int) -> bool:
        """Whether a line has another length than a row, and something in it."""
        cells = block.row(index).cells
        return len(cells) != len(self._columns.header.forms) and any(cells)

    def _stand_for_none(self, one: str, other: str) -> bool:
        """Whether either cell is one of those that stand for no reading, which are counted."""
        if not self._missing:
            return False
        columns = self._columns
        marked = self._is_mark(columns.reference, one) + self._is_mark(columns.raw, other)
        self.marked += marked
        return marked > 0

    def _is_mark(self, column: int, text: str) -> bool:
        value = self._columns.header.forms[column].value(text)
        return text in self._missing or (value is not None and value in self._marks[column])

    def _refuse(self, line: int, texts: tuple[str, str], known: tuple[bool, bool]) -> None:
        columns = self._columns
        self.lost += 1
        for column, text, good in zip((columns.reference, columns.raw), texts, known, strict=True):
            if good:
                continue
            self.refused_cells += 1
            why = "is not a number" if text else "is empty"
            if not text and line == self._grid.unfinished:
                why = _CUT_OFF
            if len(self.refused) < _MOST_KEPT:
                name = columns.names[column]
                self.refused.append(Refused(line=line, column=name, text=text, why=why))

    def _times(self, block: Block, good: NDArray[np.bool_]) -> Array | None:
        time, clock = self._columns.time, self._columns.clock
        if time is None or clock is None:
            return None
        times = clock.seconds(block.column(time))[good]
        if clock.form != "clock":
            return times
        times = over_midnight(times, last=self._last_clock)
        known = times[np.isfinite(times)]
        self._last_clock = float(known[-1]) if len(known) else self._last_clock
        return times - clock.zero_s

    def _sides(self, block: Block, good: NDArray[np.bool_]) -> NDArray[np.int8] | None:
        """Side of approach of each row; nothing where no column says it.

        Raises
        ------
        DataError
            A cell is no side.
        """
        side = self._columns.side
        if side is None:
            return None
        rows = np.flatnonzero(good)
        texts = [text.lower() for text in _texts(block.column(side), rows)]
        bad = [k for k, text in enumerate(texts) if text not in SIDES]
        if bad:
            name, remedy = self._columns.names[side], "Write up or down, or 1 or -1."
            cells = _texts(block.column(side), rows[bad[:_MOST_SHOWN]])
            places = [block.row(int(row)) for row in rows[bad[:_MOST_SHOWN]]]
            raise DataError(
                Problem(f"{self._grid.where(place)}, column '{name}'", f"'{text}' is no side", "", remedy)
                for place, text in zip(places, cells, strict=True)
            )
        return np.array([SIDES[text] for text in texts], dtype=np.int8)

    def refused_to(self, lines: Lines) -> tuple[Refused, ...]:
        """The refused cells; an empty one in a last line without its end is called cut off."""
        last = self.refused[-1] if self.refused else None
        if last is None or self._grid.unfinished != LAST or last.text or last.line < lines[-1]:
            return tuple(self.refused)
        return (*self.refused[:-1], replace(last, why=_CUT_OFF))

    def too_few(self) -> Problem:
        """Why the sheet cannot be used, by its first refused cell."""
        grid = self._grid
        if not self.refused:
            remedy = "Name the file with the readings, one position and one raw value in a row."
            return Problem(grid.name, "no row of it holds two numbers", "", remedy)
        first = self.refused[0]
        where = f"{grid.name}, {grid.place} {first.line}, column '{first.column}'"
        rows = self.rows + self.lost
        limit = f"and {self.lost} of {rows} rows are like it" if self.lost > 1 else ""
        reference = self._columns.names[self._columns.reference]
        if not first.text and first.column == reference:
            return Problem(where, "it is empty", limit, NO_REFERENCE)
        return Problem(where, f"'{first.text}' {first.why}", limit, "Name another file, or mend its columns.")

    def decisions(self) -> tuple[str, ...]:
        """What was passed over, a sentence each."""
        said = [f"rows without reference and raw, passed over: {self.blank}"] if self.blank else []
        if self.repeated:
            lines = ", ".join(map(str, self.repeated[:_MOST_SHOWN]))
            place = self._grid.place if len(self.repeated) == 1 else f"{self._grid.place}s"
            said.append(
                f"the header stands again in {place} {lines}: the program restarted, or runs were joined"
            )
        if self.words:
            first = self.words[0]
            text = " ".join(first.cells)[:60]
            said.append(
                f"lines that hold no row, passed over: {len(self.words)}, first line {first.line}: '{text}'"
            )
        if self.longer:
            where = f"first {self._grid.place} {self._first_longer}"
            said.append(f"rows with more cells than there are columns: {self.longer}, {where}")
        if self.marked:
            marks = ", ".join(sorted(self._missing))
            said.append(f"cells that stand for no reading ({marks}), passed over: {self.marked}")
        if self.refused_cells > len(self.refused):
            said.append(f"cells refused beyond those listed: {self.refused_cells - len(self.refused)}")
        return tuple(said)


def _texts(cells: "Sequence[str] | pl.Series", rows: NDArray[np.int64]) -> list[str]:
    """Cells of some rows as text, empty where there is none."""
    if isinstance(cells, Sequence):
        return [cells[row].strip() for row in rows.tolist()]
    return ["" if text is None else str(text).strip() for text in cells.gather(rows).to_list()]
