"""One row of a catalogue held against its keys: a sensor, or a piece of stock for a drive."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from anglewright.errors import Problem, nearest
from anglewright.links.fields import ChoiceKey, Key, QuantityKey, WholeKey
from anglewright.links.protocol import Part
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.reading import read_part
from anglewright.selection.offers import DriveOffer, Price, SensorOffer, Shaft

ROOMS = ("coupling", "mount", "wiring", "converter")
"""Rooms of the rig file that a row may bring along, beside the sensor and a drive that is built in."""

EARLIEST, LATEST = 1980, 2100  # years a price may be of
MOST_SHAFT = 0.1  # diameter of a shaft [m]

SENSOR_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="shaft",
        field="shaft",
        meaning="diameter of the shaft",
        kinds=(Kind.LENGTH,),
        required=True,
        above=0.0,
    ),
    ChoiceKey(
        name="form",
        field="form",
        meaning="form of the shaft",
        choices=("round", "flat", "slotted", "splined", "hollow", "magnet", "wire"),
        default="round",
    ),
    WholeKey(
        name="life_cycles", field="life_cycles", meaning="life in full strokes", least=1, most=1_000_000_000
    ),
    WholeKey(
        name="life_turns",
        field="life_turns",
        meaning="life in turns of the shaft",
        least=1,
        most=1_000_000_000,
    ),
    QuantityKey(
        name="top_speed",
        field="top_speed",
        meaning="top speed of the shaft",
        kinds=(Kind.ANGULAR_SPEED,),
        above=0.0,
    ),
    QuantityKey(
        name="supply",
        field="supply",
        meaning="supply that it needs, with its tolerance",
        kinds=(Kind.VOLTAGE,),
        above=0.0,
    ),
    QuantityKey(
        name="longest",
        field="longest",
        meaning="longest motion of a wire",
        kinds=(Kind.LENGTH,),
        above=0.0,
    ),
)
"""Keys of a sensor's row that are quantities or words of a list."""

_TEXTS = ("name", "bush", "connector", "source")
_TABLES = ("price", "sources", "sensor", "drive", *ROOMS)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class RowReader:
    """Reads one row, with all its problems kept in `reader`."""

    reader: TableReader
    where: str
    row: Mapping[str, Any]

    def complain(self, key: str, found: str, remedy: str, *, limit: str = "") -> None:
        """Keep a problem of one key of the row."""
        self.reader.problems.append(Problem(f"{self.where}, {key}", found, limit, remedy))

    def fields(self, keys: Iterable[Key], *, extra: Iterable[str]) -> dict[str, Any]:
        """Fields of the row's own keys; their problems name row and key."""
        before = len(self.reader.problems)
        found = self.reader.fields(self.row, keys, where=self.where, extra=extra)
        for place, problem in enumerate(self.reader.problems[before:], start=before):
            where = problem.where.replace(f"{self.where}.", f"{self.where}, ", 1)
            self.reader.problems[place] = Problem(where, problem.found, problem.limit, problem.remedy)
        return found

    def text(self, key: str) -> str:
        """A text that must be there and not be empty."""
        value = self.row.get(key)
        if not isinstance(value, str) or not value.strip():
            found = "it is missing" if value is None else f"{value!r} is no text"
            self.complain(key, found, "Write it in quotes.")
            return ""
        return value.strip()

    def price(self) -> Price | None:
        """The dated band of prices."""
        table = self.row.get("price")
        remedy = "Write price = { low = 2, high = 3, year = 2025 }, in units of money."
        if not isinstance(table, Mapping) or set(table) != {"low", "high", "year"}:
            found = "it is missing" if table is None else f"'{table}' is not a dated band"
            self.complain("price", found, remedy)
            return None
        low, high, year = table["low"], table["high"], table["year"]
        if not all(_is_number(each) for each in (low, high)) or not 0.0 <= low <= high:
            self.complain(
                "price", f"it runs from {low} to {high}", remedy, limit="from 0 upwards belongs here"
            )
        elif not isinstance(year, int) or not EARLIEST <= year <= LATEST:
            limit = f"{EARLIEST} to {LATEST} belongs here"
            self.complain(
                "price.year", f"it is {year}", "Write the year that the prices are of.", limit=limit
            )
        else:
            return Price(low=float(low), high=float(high), year=year)
        return None

    def sources(self) -> dict[str, str]:
        """Where single numbers come from, where not from the row's own source."""
        table = self.row.get("sources", {})
        if not isinstance(table, Mapping) or not all(isinstance(each, str) for each in table.values()):
            self.complain(
                "sources", f"'{table}' is not a table of texts", 'Write sources = { shaft = "practice" }.'
            )
            return {}
        names = numbers_in(self.row)
        for name in table:
            if name not in names:
                self.complain(f"sources.{name}", "the row has no such number", nearest(name, names))
        return {str(name): str(source) for name, source in table.items()}


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def numbers_in(row: Mapping[str, Any], *, prefix: str = "") -> list[str]:
    """Dotted names of all that a row states, texts of its own apart."""
    found = []
    for key, value in row.items():
        if prefix or key not in (*_TEXTS, "sources", "form", "kind"):
            deep = isinstance(value, Mapping) and key != "price"
            found += numbers_in(value, prefix=f"{prefix}{key}.") if deep else [f"{prefix}{key}"]
    return found


def read_sensor(row: Mapping[str, Any], reader: TableReader, *, where: str) -> SensorOffer | None:
    """A sensor from its row, or None with problems kept."""
    own, before = RowReader(reader=reader, where=where, row=row), len(reader.problems)
    fields = own.fields(SENSOR_KEYS, extra=(*_TEXTS, *_TABLES))
    name, bush, connector, source = (own.text(key) for key in _TEXTS)
    price, sources = own.price(), own.sources()
    part = read_part("sensor", row.get("sensor", {}), reader, where=where)
    drive = _built_in(own, name)
    _check_rooms(own)
    if part is None or price is None or len(reader.problems) > before:
        return None
    _check_numbers(own, part, fields)
    if len(reader.problems) > before:
        return None
    return SensorOffer(
        name=name,
        part=part,
        tables={room: row[room] for room in ("sensor", *ROOMS) if room in row},
        price=price,
        shaft=Shaft(diameter_m=fields["shaft"].nominal, form=fields["form"], bush=bush),
        connector=connector,
        life_cycles=fields["life_cycles"],
        life_turns=fields["life_turns"],
        top_speed=_nominal(fields["top_speed"]),
        supply=None if fields["supply"] is None else fields["supply"].limits,
        drive=drive,
        longest_m=_nominal(fields["longest"]),
        source=source,
        sources=sources,
    )


def _nominal(spread: Spread | None) -> float | None:
    return None if spread is None else spread.nominal


def _built_in(own: RowReader, name: str) -> DriveOffer | None:
    """The drive that is built into the sensor, where there is one."""
    if "drive" not in own.row:
        return None
    part = read_part("drive", own.row["drive"], own.reader, where=own.where)
    price = Price(low=0.0, high=0.0, year=LATEST)
    if part is None:
        return None
    return DriveOffer(name=part.describe(), part=part, table=own.row["drive"], price=price, built_in=True)


def _check_rooms(own: RowReader) -> None:
    """Every room that the row brings along holds a part."""
    for room in ROOMS:
        if room in own.row:
            read_part(room, own.row[room], own.reader, where=own.where)


def _check_numbers(own: RowReader, part: Part, fields: Mapping[str, Any]) -> None:
    """Numbers that each may be and together cannot."""
    travel, stops = getattr(part, "travel_rad", None), getattr(part, "mechanical_rad", None)
    if isinstance(travel, Spread) and isinstance(stops, Spread) and stops.nominal < travel.nominal:
        found = f"its stops are {math.degrees(stops.nominal):.4g} deg apart"
        limit = f"its track is {math.degrees(travel.nominal):.4g} deg long"
        own.complain("sensor.mechanical_travel", found, "Correct one of them.", limit=limit)
    if fields["shaft"].nominal > MOST_SHAFT:
        found = f"it is {1e3 * fields['shaft'].nominal:.4g} mm"
        own.complain("shaft", found, "Write its diameter.", limit=f"{1e3 * MOST_SHAFT:g} mm is the most")
    if fields["life_cycles"] is not None and fields["life_turns"] is not None:
        own.complain("life_turns", "'life_cycles' stands beside it", "Leave one of them out.")
