"""Text of a file cut into rows of cells: encoding, comments, delimiter, decimal comma."""

import csv
import math
import re
from dataclasses import dataclass
from pathlib import Path

from anglewright.errors import DataError, Problem

DELIMITERS = {"\t": "tab", ";": "semicolon", ",": "comma", " ": "blank"}
_SEEN = 400  # lines looked at to find the delimiter
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")


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
    """A file as rows of cells; `decisions` says what had to be found out about it."""

    path: Path
    rows: tuple[Row, ...]
    decimal_comma: bool
    decisions: tuple[str, ...]

    def number(self, cell: str) -> float | None:
        """A finite number in a cell, or None. [unit of the column]"""
        return number(cell, decimal_comma=self.decimal_comma)


def number(cell: str, *, decimal_comma: bool = False) -> float | None:
    """A finite number in a cell, or None. [unit of the column]"""
    text = cell.replace("\u2212", "-").strip()
    if decimal_comma and _DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text else None


def read_text(path: Path) -> tuple[str, str]:
    """Text of a file and the encoding it was read with.

    Raises
    ------
    DataError
        The file is missing, cannot be read, or holds no text.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise DataError(Problem(str(path), "there is no such file", "", "Check the path.")) from None
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise DataError(Problem(str(path), f"it cannot be read ({reason})", "", "Name a file.")) from None
    if not data.strip():
        raise DataError(Problem(str(path), "it is empty", "", "Name the file with the readings."))
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        return (data.decode("utf-16"), "UTF-16") if wide else (data.decode("utf-8-sig"), "UTF-8")
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def read_grid(path: Path) -> Grid:
    """Rows of cells of a file; blank lines and comments, which begin with a hash, are left out.

    Raises
    ------
    DataError
        The file cannot be read, or holds nothing but comments.
    """
    text, encoding = read_text(path)
    lines = [
        (place, line)
        for place, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip('\ufeff \t"').startswith("#")
    ]
    if not lines:
        raise DataError(Problem(str(path), "it holds only comments", "", "Name the file with the readings."))
    mark, comma = _delimiter([line for _, line in lines[:_SEEN]])
    decisions = [f"cells are parted by a {DELIMITERS[mark]}"] if mark != "," else []
    decisions += ["numbers have a decimal comma"] if comma else []
    decisions += [f"the text was read as {encoding}"] if encoding != "UTF-8" else []
    rows = tuple(Row(line=place, cells=cut(line, mark)) for place, line in lines)
    return Grid(path=path, rows=rows, decimal_comma=comma, decisions=tuple(decisions))


def cut(line: str, mark: str) -> tuple[str, ...]:
    """Cells of one line; a quoted cell may hold the mark."""
    if mark == " ":
        return tuple(line.split())
    try:
        return tuple(cell.strip() for cell in next(csv.reader([line], delimiter=mark)))
    except csv.Error:
        return tuple(cell.strip() for cell in line.split(mark))


def _delimiter(lines: list[str]) -> tuple[str, bool]:
    """The mark under which the most lines hold two numbers, and whether these have a decimal comma."""
    best, best_score, best_comma = ",", -1, False
    for mark in DELIMITERS:
        rows = [cut(line, mark) for line in lines]
        comma = mark != "," and any(_DECIMAL_COMMA.fullmatch(cell) for row in rows for cell in row)
        numeric = sum(_numbers(row, comma=comma) >= 2 for row in rows)
        score = 2 * numeric * len(lines) + _alike(rows)
        if score > best_score:
            best, best_score, best_comma = mark, score, comma
    return best, best_comma


def _numbers(row: tuple[str, ...], *, comma: bool) -> int:
    return sum(number(cell, decimal_comma=comma) is not None for cell in row)


def _alike(rows: list[tuple[str, ...]]) -> int:
    """How many rows have the usual number of cells; none where that is one."""
    counts = [len(row) for row in rows]
    usual = max(set(counts), key=counts.count)
    return counts.count(usual) if usual > 1 else 0
