"""Parquet files: columns that know their kind, read a slice at a time."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from anglewright.errors import DataError, Problem
from anglewright.tables.blocks import Block, Lines
from anglewright.tables.source import Source, whole_of
from anglewright.tables.text import Grid, Row

if TYPE_CHECKING:
    import polars as pl

_SLICE = 250_000  # rows read at a time [1]
_SAMPLE = 2000  # rows of the first pass [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColumnarBlock:
    """Rows of a slice."""

    frame: "pl.DataFrame"
    first: int
    words: tuple[Row, ...] = ()

    @property
    def lines(self) -> Lines:
        """Number of each row, from 1. [1]"""
        return np.arange(self.first, self.first + self.frame.height, dtype=np.int64)

    def column(self, index: int) -> "pl.Series":
        """A column: numbers as they are, all else as text."""
        return _readable(self.frame.to_series(index))

    def row(self, index: int) -> Row:
        """One row as text."""
        return Row(line=self.first + index, cells=_texts(self.frame.row(index)))

    def longer(self, width: int) -> Lines:
        """None: every row has all columns and no more. [1]"""
        return np.array([], dtype=np.int64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColumnarBody:
    """A columnar file, a slice at a time."""

    lazy: "pl.LazyFrame"
    rows: int

    def blocks(self) -> Iterator[Block]:
        """Slices from the first row on."""
        for first in range(0, self.rows, _SLICE):
            yield ColumnarBlock(frame=self.lazy.slice(first, _SLICE).collect(), first=first + 1)


def open_columnar(source: Source) -> tuple[Grid, ColumnarBody]:
    """The first rows of a Parquet file, and the file as slices.

    Raises
    ------
    DataError
        It is damaged or empty.
    """
    import polars as pl

    try:
        here = None if source.packed() else source.path
        lazy = pl.scan_parquet(here or io.BytesIO(whole_of(source)))
        rows = lazy.select(pl.len()).collect().item()
        sample = lazy.head(_SAMPLE).collect()
    except (pl.exceptions.PolarsError, OSError):
        raise DataError(Problem(source.name, "it is Parquet, and damaged", "", "Write it anew.")) from None
    if not rows:
        raise DataError(Problem(source.name, "it is empty", "", "Name the file with the readings."))
    names = Row(line=0, cells=tuple(sample.columns))
    texts = [_texts(row) for row in sample.rows()]
    body = tuple(Row(line=k, cells=cells) for k, cells in enumerate(texts, 1))
    grid = Grid(name=source.name, rows=(names, *body), place="row", whole=False)
    return grid, ColumnarBody(lazy=lazy, rows=rows)


def _texts(row: tuple[object, ...]) -> tuple[str, ...]:
    return tuple("" if cell is None else str(cell) for cell in row)


def _readable(series: "pl.Series") -> "pl.Series":
    import polars as pl

    if series.dtype.is_numeric() or series.dtype == pl.Boolean:
        return series.cast(pl.Float64)
    return series.cast(pl.String)
