"""A log in memory: raw readings, the reference beside them, and how they were taken."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """Rows of one log in the order in which they were taken; the arrays are read-only copies.

    Parameters
    ----------
    raw : array, (R,)
        What the controller showed, in the units that `raw_meaning` names; nan where a row has none. [count]
    reference : array, (R,), or None
        Position of the axis by the reference. [rad or m]
    time_s : array, (R,), or None
        Time of each row. [s]
    approach : array, (R,), or None
        Side from which the position was reached: +1 going up, -1 coming down, 0 not known. [1]
    lines : array, (R,), or None
        Line of each row in the file it came from, for messages; None counts rows from 1. [1]
    source : str
        Where the rows came from, as a reader would name it.
    raw_meaning : str
        ``counts``, ``volts``, ``fraction`` or ``turns``.
    row_word : str
        What a row is called in messages: a line of a text, a row of a spreadsheet, a record.
    """

    raw: Array
    reference: Array | None = None
    time_s: Array | None = None
    approach: NDArray[np.int8] | None = None
    lines: NDArray[np.int64] | None = None
    source: str = "recording"
    raw_meaning: str = "counts"
    row_word: str = "line"

    def __post_init__(self) -> None:
        """Copy and lock the arrays, and hold that they are equally long."""
        for name, kind in _COLUMNS.items():
            column = getattr(self, name)
            if column is not None:
                object.__setattr__(self, name, _locked(column, kind))
        problems = [self._uneven(name) for name in _COLUMNS if self._length(name) not in (None, len(self))]
        if problems:
            raise DataError(problems)

    def __len__(self) -> int:
        """Number of rows."""
        return len(self.raw)

    def _length(self, name: str) -> int | None:
        column = getattr(self, name)
        return None if column is None else len(column)

    def _uneven(self, name: str) -> Problem:
        return Problem(
            f"{self.source}, column '{name}'",
            f"{self._length(name)} values stand beside {len(self)} raw readings",
            remedy="Give every row a value in each column, or leave the column out.",
        )

    def place(self, row: int) -> str:
        """Where a row stands, for a message: ``run3.csv, line 412``."""
        if self.lines is None:
            return f"{self.source}, row {row + 1}"
        return f"{self.source}, {self.row_word} {self.lines[row]}"


_COLUMNS: dict[str, type] = {
    "raw": np.float64,
    "reference": np.float64,
    "time_s": np.float64,
    "approach": np.int8,
    "lines": np.int64,
}


def _locked(column: NDArray[np.generic], kind: type) -> NDArray[np.generic]:
    """A read-only copy, one-dimensional, of one kind of number; what is that already is not copied."""
    column = np.asarray(column)
    own = column.base is None and not column.flags.writeable
    if own and column.ndim == 1 and column.dtype == kind:
        return column
    copy: NDArray[np.generic] = np.array(column, dtype=kind).reshape(-1)
    copy.flags.writeable = False
    return copy
