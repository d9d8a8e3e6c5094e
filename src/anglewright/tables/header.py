"""The header of a sheet: which row names the columns, which row beneath it names their units."""

import re
from collections import Counter
from dataclasses import dataclass, replace
from typing import NamedTuple

from anglewright.errors import DataError, Problem
from anglewright.quantities.units import Kind, find_unit
from anglewright.tables.numbers import PLAIN, NumberForm, form_of, looks_like_number
from anglewright.tables.text import Grid, Row
from anglewright.tables.wishes import OPTION, Wishes

REFERENCE = (
    "reference",
    "ref",
    "true",
    "position",
    "angle",
    "protractor",
    "inclinometer",
    "target",
    "deg",
    "mm",
)
RAW = ("raw", "code", "codes", "counts", "count", "adc", "reading", "volts", "voltage", "fraction", "turns")
SIDE = ("approach", "side", "direction", "came")
TIME = ("time", "t", "timestamp", "stamp", "ts", "datetime", "date", "clock", "millis", "unix")
NO_REFERENCE = (
    "Write there, on every line with a raw reading, where the axis really stood: measured, not where it "
    "was aimed."
)
"""The remedy where the reference is blank in most rows."""

_NO_RAW = "Write there, on every line, what the controller showed."
_WORD = re.compile(r"[a-z]+")
_ALIKE = 20  # rows by whose cells the forms of the columns are judged, at least [1]
_HIGHEST = 60  # rows among which the names of the columns are looked for [1]
_MOST_COLUMNS = 1000  # columns that are read [1]
_USUAL = 4000  # rows of the sample by which they are judged, at most [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """Names of the columns, their numbers where it has none, and where the rows begin.

    `begin` is the first row of the sample beneath the header, `first` the first of numbers; `forms` says
    how each column writes its numbers.
    """

    names: tuple[str, ...]
    named: bool
    begin: int
    first: int
    forms: tuple[NumberForm, ...]
    decisions: tuple[str, ...] = ()


class _Start(NamedTuple):
    """Where the rows begin, where the numbers, and how the columns write them."""

    begin: int
    first: int
    forms: tuple[NumberForm, ...]


def header_of(grid: Grid, wishes: Wishes) -> Header:
    """The header of a sheet.

    Raises
    ------
    DataError
        No row holds two numbers, or the rows have more cells than the header has names.
    """
    forms = _forms(grid)
    named = next((k for k, row in enumerate(grid.rows[:_HIGHEST]) if _names_both(row.cells)), -1)
    first = _first_numbers(grid, forms, beneath=named + 1)
    if first is None:
        if named >= 0:
            _hold_blank(grid, named)
        remedy = "Name the file with the readings, one position and one raw value in a row."
        raise DataError(Problem(grid.name, "no row of it holds two numbers", "", remedy))
    if wishes.header:
        return _as_wished(grid, wishes.header, first, forms)
    found = named if named >= 0 else _worded(grid, first, forms)
    if found is None:
        return _from_comment(grid, first, forms)
    said = [f"{found} lines above the header were passed over"] if found else []
    return _named(grid, grid.rows[found].cells, _Start(found + 1, first, forms), said=tuple(said))


def _hold_blank(grid: Grid, named: int) -> None:
    """Refuse a sheet whose reference or raw column is named and blank on every line.

    Raises
    ------
    DataError
        It is.
    """
    names, rows = grid.rows[named].cells, grid.rows[named + 1 :]
    for words, remedy in ((REFERENCE, NO_REFERENCE), (RAW, _NO_RAW)):
        column = column_named(names, words)
        if rows and column is not None and not any(row.cell(column) for row in rows):
            where = f"{grid.name}, column '{names[column]}'"
            raise DataError(Problem(where, "it is empty on every line", "", remedy))


def _first_numbers(grid: Grid, forms: tuple[NumberForm, ...], *, beneath: int = 0) -> int | None:
    """The first row that holds two numbers, or one where there is but one column."""
    least = min(2, len(forms))
    rows = range(beneath, len(grid.rows) if forms else 0)
    return next((k for k in rows if _numbers(grid.rows[k], forms) >= least), None)


def _names_both(names: tuple[str, ...]) -> bool:
    return column_named(names, REFERENCE) is not None and column_named(names, RAW) is not None


def column_named(names: tuple[str, ...], words: tuple[str, ...]) -> int | None:
    """First column whose name is, or begins with, one of the words; an earlier word goes before."""
    plain = [_first_word(name) for name in names]
    return next((plain.index(word) for word in words if word in plain), None)


def columns_named(names: tuple[str, ...], words: tuple[str, ...]) -> list[int]:
    """Columns that one of the words names, in the first word of the name or in any of it."""
    firsts = [k for k, name in enumerate(names) if _first_word(name) in words]
    return firsts or [k for k, name in enumerate(names) if set(name_words(name)) & set(words)]


def name_words(name: str) -> list[str]:
    """Words of a name in small letters, of a path those after the last slash."""
    last = name.rsplit("/", 1)[-1] if name.startswith("/") else name
    return _WORD.findall(last.lower())


def _first_word(name: str) -> str:
    return next(iter(name_words(name)), "")


def _forms(grid: Grid) -> tuple[NumberForm, ...]:
    """How each column writes its numbers, by the rows of the usual length.

    Raises
    ------
    DataError
        There are too many columns.
    """
    lengths = Counter(len(row.cells) for row in grid.rows[:_USUAL] if _digits(row))
    if not lengths:
        return ()
    width = max(lengths, key=lambda length: (lengths[length], length))
    if width > _MOST_COLUMNS:
        found = f"its rows have {width} cells, and over {_MOST_COLUMNS} columns are not read"
        remedy = f"Name a file with a row for each reading, or say {OPTION} turned=yes: lines are variables."
        raise DataError(Problem(grid.name, found, "", remedy))
    rows = [row for row in grid.rows[:_USUAL] if len(row.cells) >= min(width, 2) and _holds_numbers(row)]
    cells = [[row.cell(column) for row in rows] for column in range(width)]
    forms = (form_of(each, decimal_comma=grid.decimal_comma) for each in cells)
    if not grid.grouped:
        return tuple(forms)
    return tuple(replace(form, grouped=True, listed=form.listed.replace(",", "")) for form in forms)


def _holds_numbers(row: Row) -> bool:
    """Whether a row is one of numbers and not the names above them, of which some look like digits: adc."""
    return _digits(row) and not _names_both(row.cells)


def _digits(row: Row) -> bool:
    return any(re.search(r"\d", cell) for cell in row.cells)


def _numbers(row: Row, forms: tuple[NumberForm, ...]) -> int:
    return sum(form.value(row.cell(k)) is not None for k, form in enumerate(forms)) + sum(
        bool(form.listed) and bool(row.cell(k)) for k, form in enumerate(forms)
    )


def _worded(grid: Grid, first: int, forms: tuple[NumberForm, ...]) -> int | None:
    """The last row of words above the first row of numbers, with a cell for every column."""
    least, width = min(2, len(forms)), _width(grid, first, forms)
    found = [
        k
        for k, row in enumerate(grid.rows[:first])
        if _is_worded(row, grid)
        and not _is_units(row)
        and sum(map(bool, row.cells)) >= least
        and len(row.cells) >= width
    ]
    return found[-1] if found else None


def _is_worded(row: Row, grid: Grid) -> bool:
    return not any(looks_like_number(cell, decimal_comma=grid.decimal_comma) for cell in row.cells)


def _unit_in(cell: str) -> bool:
    bare = cell.strip().strip("()[]").strip()
    return bool(bare) and find_unit(bare, kinds=tuple(Kind)) is not None


def _is_units(row: Row) -> bool:
    """Whether a row names nothing but units."""
    filled = [cell for cell in row.cells if cell.strip(" -")]
    return len(filled) > 0 and all(_unit_in(cell) for cell in filled) and not _names_columns(row)


def _names_columns(row: Row) -> bool:
    return any(_first_word(cell) in (*REFERENCE[:-2], *RAW[:1], *TIME[:1]) for cell in row.cells)


def _named(grid: Grid, names: tuple[str, ...], start: _Start, *, said: tuple[str, ...] = ()) -> Header:
    """The header with the units of a row beneath it, where there is one."""
    beneath = range(start.begin, start.first)
    units = next((k for k in beneath if _is_units(grid.rows[k])), None)
    if units is None:
        return _fitted(grid, names, start, said=said)
    row = grid.rows[units]
    bare = [row.cell(k).strip("()[] -") for k in range(len(names))]
    both = tuple(f"{name} ({unit})" if unit else name for name, unit in zip(names, bare, strict=True))
    start = start._replace(begin=units + 1)
    return _fitted(grid, both, start, said=(*said, f"line {row.line} names the units"))


def _from_comment(grid: Grid, first: int, forms: tuple[NumberForm, ...]) -> Header:
    """Names from the last comment above the rows that has one for each column, else none."""
    above = [row for row in grid.comments if row.line < grid.rows[first].line]
    for row in reversed(above):
        cells = row.cells
        named = columns_named(cells, REFERENCE) and columns_named(cells, RAW)
        if len(cells) == len(forms) and named and _is_worded(row, grid):
            said = f"the names of the columns stand in the comment of line {row.line}"
            return _fitted(grid, cells, _Start(0, first, forms), said=(said,))
    return _unnamed(grid, first, forms)


def _as_wished(grid: Grid, line: int, first: int, forms: tuple[NumberForm, ...]) -> Header:
    """Names from a line, or none, as was asked."""
    if line < 0:
        return _unnamed(grid, first, forms)
    row = next((row for row in (*grid.rows, *grid.comments) if row.line == line), None)
    if row is None:
        why = f"line {line} holds no names"
        raise DataError(Problem(grid.name, why, "", "Give the line of the names, or header=none."))
    beneath = next((k for k, each in enumerate(grid.rows) if each.line > line), len(grid.rows))
    found = _first_numbers(grid, forms, beneath=beneath)
    first = first if found is None else found
    return _named(grid, row.cells, _Start(beneath, first, forms))


def _unnamed(grid: Grid, first: int, forms: tuple[NumberForm, ...]) -> Header:
    """No names at all: the columns are numbered from 1."""
    names = tuple(str(k + 1) for k in range(len(forms)))
    return Header(names=names, named=False, begin=0, first=first, forms=forms)


def _fitted(grid: Grid, names: tuple[str, ...], start: _Start, *, said: tuple[str, ...]) -> Header:
    """The header, held against the length of the rows beneath it."""
    begin, first, forms = start
    width = _width(grid, first, forms)
    if len(names) > len(forms):
        joined = _joined(names)
        names = joined if len(joined) == width else names
    if len(names) < width:
        found = f"its rows have {width} cells, and the header names {len(names)} columns"
        remedy = "Name every column; if numbers have decimal commas, part the cells with semicolons."
        raise DataError(Problem(grid.name, found, "", remedy))
    forms = (*forms, *[PLAIN] * (len(names) - len(forms)))
    names = (*names, *(str(k + 1) for k in range(len(names), len(forms))))
    return Header(names=names, named=True, begin=begin, first=first, forms=forms, decisions=said)


def _width(grid: Grid, first: int, forms: tuple[NumberForm, ...]) -> int:
    """Columns that most rows fill, and all before them. [1]"""
    return max((k + 1 for k in range(len(forms)) if _filled(grid, first, k)), default=0)


def _filled(grid: Grid, first: int, column: int) -> bool:
    """Whether most rows hold something in a column."""
    cells = [row.cell(column) for row in grid.rows[first : first + _ALIKE * 10]]
    return 2 * sum(map(bool, cells)) > len(cells)


def _joined(names: tuple[str, ...]) -> tuple[str, ...]:
    """Names that blanks tore apart, put together again: ``Time (s)``."""
    found: list[str] = []
    for name in names:
        if found and name.startswith(("(", "[")):
            found[-1] = f"{found[-1]} {name}"
        else:
            found.append(name)
    return tuple(found)
