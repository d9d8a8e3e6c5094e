"""Stock that drives are made of: gears, racks, pulleys, sprockets, drums and screws as they are sold."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from anglewright.catalogue.rows import RowReader
from anglewright.links.fields import ChoiceKey, Key, QuantityKey
from anglewright.quantities.units import Kind
from anglewright.rigfile.keys import TableReader
from anglewright.selection.offers import Price

LEAST_TEETH, MOST_TEETH = 6, 1000

STOCK_KEYS: tuple[Key, ...] = (
    ChoiceKey(
        name="kind",
        field="kind",
        meaning="what it is",
        choices=("gear", "rack", "pulley", "belt", "sprocket", "chain", "drum", "rope", "screw"),
        default="gear",
    ),
    QuantityKey(name="bore", field="bore", meaning="diameter of its bore", kinds=(Kind.LENGTH,), above=0.0),
    QuantityKey(
        name="length",
        field="length",
        meaning="length in which it is sold",
        kinds=(Kind.LENGTH,),
        above=0.0,
    ),
)

SIZES: Mapping[str, str] = {
    "gear": "module",
    "rack": "module",
    "pulley": "pitch",
    "belt": "pitch",
    "sprocket": "pitch",
    "chain": "pitch",
    "drum": "diameter",
    "rope": "diameter",
    "screw": "lead",
}
"""The key that says which pieces go together, or how large one is."""

TOOTHED = ("gear", "pulley", "sprocket")
PLAYING = ("gear", "rack", "belt", "chain", "screw")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stock:
    """One row of stock: pieces of a kind and size, sold with so many teeth, or by the length. [m]

    `size` and `backlash` are as written in the row, as they go into a rig file.
    """

    name: str
    kind: str
    size: str
    size_m: float
    price: Price
    teeth: tuple[int, ...] = ()
    backlash: str = ""
    bore_m: float | None = None
    length_m: float | None = None
    source: str = ""
    sources: Mapping[str, str] = field(default_factory=dict)


def read_stock(row: Mapping[str, Any], reader: TableReader, *, where: str) -> Stock | None:
    """A row of stock, or None with problems kept."""
    own, before = RowReader(reader=reader, where=where, row=row), len(reader.problems)
    kind = str(row.get("kind", "gear"))
    size_key = SIZES.get(kind, "module")
    keys = (*STOCK_KEYS, _size_key(size_key), *((_BACKLASH,) if kind in PLAYING else ()))
    extra = ("name", "source", "price", "sources", *(("teeth",) if kind in TOOTHED else ()))
    fields = own.fields(keys, extra=extra)
    name, source, price, sources = own.text("name"), own.text("source"), own.price(), own.sources()
    teeth = _teeth(own) if kind in TOOTHED else ()
    if price is None or len(reader.problems) > before:
        return None
    return Stock(
        name=name,
        kind=kind,
        size=str(row[size_key]),
        size_m=fields["size"].nominal,
        price=price,
        teeth=teeth,
        backlash=str(row.get("backlash", "")),
        bore_m=fields["bore"].nominal if fields["bore"] else None,
        length_m=fields["length"].nominal if fields["length"] else None,
        source=source,
        sources=sources,
    )


_BACKLASH = QuantityKey(
    name="backlash",
    field="backlash",
    meaning="backlash, total, along its run",
    kinds=(Kind.LENGTH,),
    required=True,
    least=0.0,
)


def _size_key(name: str) -> QuantityKey:
    return QuantityKey(name=name, field="size", meaning=name, kinds=(Kind.LENGTH,), required=True, above=0.0)


def _teeth(own: RowReader) -> tuple[int, ...]:
    """Numbers of teeth that are sold."""
    given = own.row.get("teeth")
    remedy = "Write the numbers that are sold, as in teeth = [12, 15, 20]."
    if not isinstance(given, list) or not given:
        own.complain("teeth", "it is missing" if given is None else f"'{given}' is not a row", remedy)
        return ()
    bad = [each for each in given if not _is_teeth(each)]
    if bad:
        limit = f"a whole number from {LEAST_TEETH} to {MOST_TEETH} belongs here"
        own.complain("teeth", f"{bad[0]} stands among them", remedy, limit=limit)
        return ()
    return tuple(sorted(set(given)))


def _is_teeth(value: Any) -> bool:
    whole = isinstance(value, int) and not isinstance(value, bool)
    return whole and LEAST_TEETH <= value <= MOST_TEETH
