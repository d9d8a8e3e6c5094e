"""Spreadsheet files of the two open formats: packed XML, read with the standard library alone."""

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from datetime import datetime, timedelta
from xml.etree import ElementTree

from anglewright.errors import DataError, Problem
from anglewright.tables.numbers import PLAIN
from anglewright.tables.source import Source, whole_of
from anglewright.tables.text import Grid, Row
from anglewright.tables.wishes import Ask, Question, chosen_by

_MOST_BYTES = 512 << 20  # of one unpacked part [byte]
_MOST_COLUMNS = 1000  # columns that are read [1]
_DAY_ZERO = datetime(1899, 12, 30)  # day 0 of a spreadsheet, by which day 60 and later come right
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_DATES = frozenset((14, 15, 16, 17, 18, 19, 20, 21, 22, 45, 46, 47))  # formats of day and time in every book
_QUOTED = re.compile(r'"[^"]*"|\[[^\]]*\]|\\.')

Sheets = dict[str, tuple[Row, ...]]


def grid_of_workbook(source: Source, *, sheet: str, ask: Ask | None) -> Grid:
    """The rows of one sheet of a spreadsheet file.

    Parameters
    ----------
    source : Source
        The file.
    sheet : str
        Name of the sheet, empty where there is one with numbers.
    ask : callable or None
        Puts a question to a person.

    Returns
    -------
    Grid
        Rows as they are numbered in the sheet; a formula counts with its stored value.

    Raises
    ------
    DataError
        It is no spreadsheet, is damaged, holds no sheet of that name, or several and nobody can be asked.

    References
    ----------
    ecma-376, odf-1.3
    """
    name, data = source.name, whole_of(source)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            sheets = _sheets(book, name)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError):
        raise DataError(Problem(name, "it is packed, and damaged or cut off", "", _SAVE)) from None
    except (ElementTree.ParseError, KeyError, ValueError, IndexError, OverflowError):
        raise DataError(Problem(name, "its tables cannot be read", "", _SAVE)) from None
    chosen = _chosen(sheets, name, sheet, ask)
    said = [f"sheet '{chosen}' is read"] if len(sheets) > 1 else []
    return Grid(name=name, rows=sheets[chosen], decisions=tuple(said), place="row")


_SAVE = "Save it anew as .xlsx or .ods, or save the table as CSV."


def _sheets(book: zipfile.ZipFile, name: str) -> Sheets:
    """All sheets with something in them."""
    members = set(book.namelist())
    if "xl/workbook.xml" in members:
        found = _of_open_xml(book)
    elif "content.xml" in members:
        found = _of_open_document(book)
    else:
        remedy = "Unpack it and name the table, or pack a single table with gzip."
        raise DataError(Problem(name, "it is a packed folder and no spreadsheet", "", remedy))
    return {title: rows for title, rows in found.items() if rows}


def _chosen(sheets: Sheets, name: str, wished: str, ask: Ask | None) -> str:
    if wished in sheets:
        return wished
    if wished or not sheets:
        found = f"it has no sheet '{wished}' with anything in it" if wished else "it is empty"
        listed = ", ".join(sheets)
        remedy = f"There are: {listed}." if sheets else "Name the file with the readings."
        raise DataError(Problem(name, found, "", remedy))
    numeric = [title for title, rows in sheets.items() if _has_numbers(rows)] or list(sheets)
    if len(numeric) == 1:
        return numeric[0]
    question = Question(
        where=name,
        found=f"{len(numeric)} sheets hold numbers: {', '.join(numeric)}",
        asks="Which sheet holds the readings?",
        answers=tuple((f"sheet={title}", f"{len(sheets[title])} rows") for title in numeric[:8]),
    )
    return _chosen(sheets, name, chosen_by(question, ask).sheet, None)


def _has_numbers(rows: tuple[Row, ...]) -> bool:
    """Whether two rows hold two numbers each."""
    numeric = [sum(PLAIN.value(cell) is not None for cell in row.cells) for row in rows]
    return sum(count >= 2 for count in numeric) >= 2


def _part(book: zipfile.ZipFile, member: str) -> ElementTree.Element:
    """One part of a book as a tree.

    Raises
    ------
    ValueError
        It is too large, or declares entities of its own.
    """
    if book.getinfo(member).file_size > _MOST_BYTES:
        raise ValueError(member)
    data = book.read(member)
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise ValueError(member)
    return ElementTree.fromstring(data)


def _of_open_xml(book: zipfile.ZipFile) -> Sheets:
    strings = _shared_strings(book)
    dates = _date_styles(book)
    links = {
        each.get("Id", ""): each.get("Target", "").removeprefix("/xl/").removeprefix("xl/")
        for each in _part(book, "xl/_rels/workbook.xml.rels")
    }
    found = {}
    for each in _part(book, "xl/workbook.xml").iter(f"{_MAIN}sheet"):
        tree = _part(book, f"xl/{links[each.get(_LINK, '')]}")
        found[each.get("name", "")] = tuple(_xml_rows(tree, strings, dates))
    return found


def _shared_strings(book: zipfile.ZipFile) -> list[str]:
    if "xl/sharedStrings.xml" not in book.namelist():
        return []
    items = _part(book, "xl/sharedStrings.xml").iter(f"{_MAIN}si")
    return ["".join(text.text or "" for text in item.iter(f"{_MAIN}t")) for item in items]


def _date_styles(book: zipfile.ZipFile) -> frozenset[int]:
    """Numbers of the cell styles that show a day or a time."""
    if "xl/styles.xml" not in book.namelist():
        return frozenset()
    tree = _part(book, "xl/styles.xml")
    own = {
        int(each.get("numFmtId", "0"))
        for each in tree.iter(f"{_MAIN}numFmt")
        if set("ymdhs") & set(_QUOTED.sub("", each.get("formatCode", "")).lower())
    }
    styles = tree.find(f"{_MAIN}cellXfs")
    formats = [int(each.get("numFmtId", "0")) for each in (() if styles is None else styles)]
    return frozenset(k for k, number in enumerate(formats) if number in _DATES | own)


def _xml_rows(tree: ElementTree.Element, strings: list[str], dates: frozenset[int]) -> Iterator[Row]:
    for place, row in enumerate(tree.iter(f"{_MAIN}row"), 1):
        cells: dict[int, str] = {}
        for k, cell in enumerate(row.iter(f"{_MAIN}c")):
            column = _column_of(cell.get("r", ""), k)
            if column < _MOST_COLUMNS:
                cells[column] = _xml_cell(cell, strings, dates)
        if any(cells.values()):
            width = max(cells) + 1
            texts = tuple(cells.get(k, "") for k in range(width))
            yield Row(line=int(row.get("r", place)), cells=texts)


def _column_of(reference: str, otherwise: int) -> int:
    """Column of a cell from its name: A1 is 0, AA7 is 26. [1]"""
    letters = re.match(r"[A-Z]+", reference)
    if letters is None:
        return otherwise
    number = 0
    for letter in letters[0]:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number - 1


def _xml_cell(cell: ElementTree.Element, strings: list[str], dates: frozenset[int]) -> str:
    kind, value = cell.get("t", "n"), cell.findtext(f"{_MAIN}v", "")
    if kind == "s":
        return strings[int(value)].strip()
    if kind == "inlineStr":
        return "".join(text.text or "" for text in cell.iter(f"{_MAIN}t")).strip()
    if kind == "n" and value and int(cell.get("s", "0")) in dates:
        return (_DAY_ZERO + timedelta(days=float(value))).isoformat(sep=" ")
    return value.strip()


def _of_open_document(book: zipfile.ZipFile) -> Sheets:
    tables = _part(book, "content.xml").iter(f"{_TABLE}table")
    return {table.get(f"{_TABLE}name", ""): tuple(_document_rows(table)) for table in tables}


def _document_rows(table: ElementTree.Element) -> Iterator[Row]:
    place = 0
    for row in table.iter(f"{_TABLE}table-row"):
        place += 1
        cells: list[str] = []
        for cell in row:
            times = int(cell.get(f"{_TABLE}number-columns-repeated", "1"))
            cells += [_document_cell(cell)] * min(times, _MOST_COLUMNS - len(cells))
        while cells and not cells[-1]:
            cells.pop()
        times = int(row.get(f"{_TABLE}number-rows-repeated", "1"))
        if cells:
            yield from (Row(line=place + k, cells=tuple(cells)) for k in range(min(times, _MOST_COLUMNS)))
        place += times - 1


def _document_cell(cell: ElementTree.Element) -> str:
    kind = cell.get(f"{_OFFICE}value-type", "")
    if kind in ("float", "percentage", "currency"):
        return cell.get(f"{_OFFICE}value", "")
    if kind == "date":
        return cell.get(f"{_OFFICE}date-value", "").replace("T", " ")
    return " ".join("".join(each.itertext()) for each in cell.iter(f"{_TEXT}p")).strip()
