"""Catalogues from their files: the one that is shipped, and the user's own beside it."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, TypeVar

from anglewright.catalogue.rows import read_sensor
from anglewright.catalogue.stock import Stock, read_stock
from anglewright.errors import Problem, RigError, nearest
from anglewright.rigfile.document import Document, load_document, parse_document
from anglewright.rigfile.keys import TableReader
from anglewright.selection.offers import SensorOffer

SHIPPED = ("sensors.toml", "stock.toml")
TEMPLATE = "own-parts.toml"
_TOP = ("sensor", "stock")

_Read = TypeVar("_Read", SensorOffer, Stock)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Catalogue:
    """Sensors and stock by their order in the files."""

    sensors: tuple[SensorOffer, ...]
    stock: tuple[Stock, ...]

    def of(self, kind: str) -> tuple[Stock, ...]:
        """The stock of a kind."""
        return tuple(each for each in self.stock if each.kind == kind)


def load_catalogue(own: Iterable[str | Path] = ()) -> Catalogue:
    """The shipped catalogue, with the user's own parts behind it.

    Parameters
    ----------
    own : iterable of str or Path
        Files of the user, in the form of the template.

    Returns
    -------
    Catalogue
        Every sensor and piece of stock.

    Raises
    ------
    DataError
        A file cannot be read.
    RigError
        A row cannot be; every problem is named by file, row and key.

    References
    ----------
    practice, typical-sheets, ten-turn-sheet, precision-sheet

    Examples
    --------
    >>> len(load_catalogue().sensors) >= 30
    True
    """
    documents = [(name, parse_document(shipped_text(name), source=name)) for name in SHIPPED]
    documents += [(str(path), load_document(Path(path))) for path in own]
    return read_catalogue(documents)


def shipped_text(name: str) -> str:
    """The text of a file of the shipped catalogue, or of the template for own parts."""
    return files("anglewright.catalogue").joinpath(name).read_text(encoding="utf-8")


def read_catalogue(documents: Iterable[tuple[str, Document]]) -> Catalogue:
    """A catalogue from tables already read, each with the name of its file.

    Raises
    ------
    RigError
        A row cannot be; every problem is named by file, row and key.
    """
    reader = TableReader()
    sensors: list[SensorOffer] = []
    stock: list[Stock] = []
    for source, document in documents:
        for key in document:
            if key not in _TOP:
                reader.complain(source, f"key '{key}' is not known", nearest(key, _TOP))
        sensors += _rows(document.get("sensor", []), reader, f"{source}, sensor", read_sensor)
        stock += _rows(document.get("stock", []), reader, f"{source}, stock", read_stock)
    reader.problems.extend(_doubles("sensor", [each.name for each in sensors]))
    reader.problems.extend(_doubles("stock", [each.name for each in stock]))
    if reader.problems:
        raise RigError(reader.problems)
    return Catalogue(sensors=tuple(sensors), stock=tuple(stock))


def _rows(rows: Any, reader: TableReader, where: str, read: Callable[..., _Read | None]) -> list[_Read]:
    """Every row that can be read; the others leave problems."""
    if not isinstance(rows, list):
        reader.complain(where, "it is no row of tables", "Begin each row with two pairs of brackets.")
        return []
    found = []
    for place, row in enumerate(rows, start=1):
        name = row.get("name", place) if isinstance(row, Mapping) else place
        if isinstance(row, Mapping):
            found.append(read(row, reader, where=f"{where} '{name}'"))
        else:
            reader.complain(f"{where} {place}", f"'{row}' is not a table", "Write one key a line.")
    return [each for each in found if each is not None]


def _doubles(what: str, names: list[str]) -> list[Problem]:
    """Names that stand twice."""
    twice = sorted({name for name in names if names.count(name) > 1})
    remedy = "Give one of them another name."
    return [Problem(f"{what} '{name}'", "there are two of that name", "", remedy) for name in twice]
