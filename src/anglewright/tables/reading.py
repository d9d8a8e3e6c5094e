"""A sheet becomes a recording, whole or in blocks; every refused cell and every decision is kept."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import DataError
from anglewright.recording import Array, Recording
from anglewright.tables.checking import Checker, Part, joined
from anglewright.tables.columns import Columns
from anglewright.tables.gaps import TimeWatch
from anglewright.tables.marks import hold_impossible, suspected_marks
from anglewright.tables.opening import Opened, open_table
from anglewright.tables.proposing import Wanted
from anglewright.tables.sheet import Sheet
from anglewright.tables.source import Source, of_path
from anglewright.tables.wishes import NO_WISHES, Ask, Wishes

_MOST_REFUSED = 0.5  # share of rows whose loss means that the wrong file or column was named [1]


def open_sheet(
    source: Source | Path, *, wanted: Wanted, wishes: Wishes = NO_WISHES, ask: Ask | None = None
) -> "Reader":
    """The first pass over a file of readings: what it is, how it is cut, which columns are which.

    Parameters
    ----------
    source : Source or Path
        The file, packed with gzip or not, or another source of bytes.
    wanted : Wanted
        What the axis expects: the unit where none is named, what the controller shows, the ranges.
    wishes : Wishes
        What was said about the file; it goes before what would be found out.
    ask : callable, optional
        Puts a question to a person where two readings are possible.

    Returns
    -------
    Reader
        Gives the rows whole or in blocks; they are read when they are asked for.

    Raises
    ------
    DataError
        It cannot be read, or two readings of it are possible and nobody can be asked.
    UsageError
        A wish names what is not there.
    """
    where = of_path(source) if isinstance(source, Path) else source
    opened = open_table(where, wanted=wanted, wishes=wishes, ask=ask)
    return Reader(opened, wishes=wishes, wanted=wanted)


def read_sheet(
    source: Source | Path,
    *,
    wanted: Wanted,
    wishes: Wishes = NO_WISHES,
    ask: Ask | None = None,
    most_rows: int | None = None,
) -> Sheet:
    """Readings beside a reference, from a file.

    Parameters
    ----------
    source : Source or Path
        The file, packed with gzip or not, or another source of bytes.
    wanted : Wanted
        What the axis expects: the unit where none is named, what the controller shows, the ranges.
    wishes : Wishes
        What was said about the file; it goes before what would be found out.
    ask : callable, optional
        Puts a question to a person where two readings are possible.
    most_rows : int, optional
        Rows that are kept; of a longer file every n-th is, so that it fits into memory. [1]

    Returns
    -------
    Sheet
        Rows kept, with the reference in SI units; cells refused; decisions.

    Raises
    ------
    DataError
        No numbers, no column that could be the reference or the raw reading, half of the rows unreadable,
        or two readings of it are possible and nobody can be asked.
    UsageError
        A wish names what is not there.
    """
    return open_sheet(source, wanted=wanted, wishes=wishes, ask=ask).whole(most_rows=most_rows)


class Reader:
    """An opened sheet on its way into recordings: the columns chosen, and what was met while reading."""

    def __init__(self, opened: Opened, *, wishes: Wishes, wanted: Wanted) -> None:
        """Begin at the first row."""
        self.opened, self._wanted, self._wishes = opened, wanted, wishes
        self.checker = self._fresh()
        self.watch = TimeWatch()

    def _fresh(self) -> Checker:
        opened, wishes = self.opened, self._wishes
        return Checker(opened.grid, opened.columns, missing=wishes.missing)

    def parts(self) -> Iterator[Part]:
        """The good rows, a block at a time."""
        self.checker, self.watch = self._fresh(), TimeWatch()
        for block in self.opened.body.blocks():
            part = self.checker.part(block)
            if part.time_s is not None:
                self.watch.see(part.time_s, part.lines)
            yield part

    def recordings(self) -> Iterator[Recording]:
        """The good rows as recordings, a block at a time, with the reference in SI units."""
        for part in self.parts():
            if len(part.raw):
                yield self._recording([part])

    def whole(self, *, most_rows: int | None = None) -> Sheet:
        """All good rows as one sheet; where there are more than `most_rows`, every n-th of them.

        Raises
        ------
        DataError
            No good row, or half of the rows unreadable, a side of approach that is none, or a few readings
            that the converter cannot give.
        """
        parts, step = self._kept(most_rows)
        checker, columns = self.checker, self.opened.columns
        if not checker.rows or checker.rows < _MOST_REFUSED * (checker.rows + checker.lost):
            raise DataError(checker.too_few())
        thinned = () if step == 1 else (f"of {checker.rows} rows one in {step} was kept, to save memory",)
        recording = self._recording(parts)
        if columns.raw_size == 1.0:
            hold_impossible(
                recording,
                column=columns.names[columns.raw],
                low=self._wanted.raw_low,
                high=self._wanted.raw_high,
            )
        marks = suspected_marks(recording.raw, lines_of(recording), place=self.opened.grid.place)
        return Sheet(
            recording=recording,
            reference_column=columns.names[columns.reference],
            raw_column=columns.names[columns.raw],
            why=columns.why,
            refused=checker.refused_to(lines_of(recording)),
            refused_cells=checker.refused_cells,
            decisions=(*self.decisions(), *marks, *thinned),
            named=self.opened.grid.named,
            rows_read=checker.rows,
        )

    def decisions(self) -> tuple[str, ...]:
        """What had to be decided, and what was passed over as far as it was read."""
        opened = self.opened
        time = self.watch.decisions(place=opened.grid.place)
        return (*opened.grid.decisions, *opened.columns.decisions, *self.checker.decisions(), *time)

    def _kept(self, most_rows: int | None) -> tuple[list[Part], int]:
        """The parts, thinned to every n-th row by halves whenever they become too many, and that n."""
        parts: list[Part] = []
        step, rows, seen = 1, 0, 0
        for part in self.parts():
            parts.append(part.thinned(-seen % step, step))
            seen, rows = seen + len(part.raw), rows + len(parts[-1].raw)
            while most_rows is not None and rows > most_rows:
                parts, step = [joined(parts).thinned(0, 2)], 2 * step
                rows = len(parts[0].raw)
        return parts, step

    def _recording(self, parts: list[Part]) -> Recording:
        """One recording of some parts, which are used up on the way."""
        columns, grid = self.opened.columns, self.opened.grid
        part = joined(parts)
        return Recording(
            raw=part.raw,
            reference=_in_si(part.reference, columns),
            approach=part.sides if part.sides is not None and np.any(part.sides) else None,
            time_s=part.time_s,
            lines=part.lines,
            source=grid.name,
            row_word=grid.place,
            raw_meaning=self._wanted.raw_meaning,
        )


def lines_of(recording: Recording) -> NDArray[np.int64]:
    """Line of each row; counted from 1 where that is not known. [1]"""
    return np.arange(1, len(recording) + 1) if recording.lines is None else recording.lines


def _in_si(values: Array, columns: Columns) -> Array:
    """Numbers of the reference column as positions. [m or rad]"""
    convert: Any = columns.unit.to_si  # arithmetic alone, so that an array will do
    found: Array = convert(values)
    found.flags.writeable = False
    return found
