"""Text of a file cut into cells: encoding, comments, delimiter, header."""

import csv
from dataclasses import dataclass
from pathlib import Path

from anglewright.errors import DataError, Problem

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", " ": "blank"}
_SEEN = 20  # lines looked at to find the delimiter


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Header and rows of cells, each row with its line in the file; `decisions` says what was found."""

    source: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    decimal_comma: bool
    decisions: tuple[str, ...]


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
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16"), "UTF-16"
    try:
        return data.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def _delimiter(lines: list[str]) -> str:
    """The mark that cuts the most lines into the same number of cells, two or more."""
    best, best_score = ",", 0
    for mark in DELIMITERS:
        counts = [len(_cut(line, mark)) for line in lines[-_SEEN:]]
        usual = max(set(counts), key=counts.count)
        score = counts.count(usual) * 10 + (mark in ";\t") if usual > 1 else 0
        if score > best_score:
            best, best_score = mark, score
    return best


def _cut(line: str, mark: str) -> list[str]:
    if mark == " ":
        return line.split()
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark))]


def number(cell: str, *, decimal_comma: bool = False) -> float | None:
    """A finite number in a cell, or None. [unit of the column]"""
    import math

    text = cell.replace("\u2212", "-").strip()
    if decimal_comma:
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def cut_cells(path: Path) -> Cells:
    """Header and rows of a file.

    Raises
    ------
    DataError
        There is no row of numbers in it.
    """
    text, encoding = read_text(path)
    lines = [
        (place, line)
        for place, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise DataError(Problem(str(path), "it holds only comments", "", "Name the file with the readings."))
    mark = _delimiter([line for _, line in lines[:_SEEN]])
    cut = [(place, tuple(_cut(line, mark))) for place, line in lines]
    comma = mark in ";\t " and any("," in cell for _, cells in cut for cell in cells if _digits(cell))
    first = next((k for k, (_, row) in enumerate(cut) if _numeric(row, comma)), None)
    if first is None:
        remedy = "Name the file with the readings, one position and one raw value in a row."
        raise DataError(Problem(str(path), "no row of it holds two numbers", "", remedy))
    header = cut[first - 1][1] if first else ()
    decisions = [f"cells are parted by a {DELIMITERS[mark]}"] if mark != "," else []
    decisions += ["numbers have a decimal comma"] if comma else []
    decisions += [f"the text was read as {encoding}"] if encoding != "UTF-8" else []
    decisions += [f"{first - 1} lines above the header were passed over"] if first > 1 else []
    rows = tuple((place, row) for place, row in cut[first:] if row != header)
    return Cells(source=str(path), header=header, rows=rows, decimal_comma=comma, decisions=tuple(decisions))


def _digits(cell: str) -> bool:
    return any(sign.isdigit() for sign in cell)


def _numeric(row: tuple[str, ...], comma: bool) -> bool:
    """A row that holds two numbers or more."""
    return sum(number(cell, decimal_comma=comma) is not None for cell in row) >= 2
