"""Every kind of part, found by walking the links, each built in several variants behind a usual chain."""

import importlib
import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

import anglewright.links
from anglewright.links.fields import (
    ChoiceKey,
    CurveKey,
    Key,
    LimitKey,
    QuantityKey,
    TableKey,
    TeethKey,
    TurnLimitKey,
    WholeKey,
)
from anglewright.links.protocol import Link, Number, Part, Port, Signal
from anglewright.quantities.spread import Persistence
from anglewright.quantities.units import units_of
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import ROOMS, USUAL, part_named

RANGES: Mapping[Signal, tuple[float, float]] = {
    Signal.POSITION: (-0.3, 1.9),
    Signal.SHAFT: (-0.6, 3.9),
    Signal.TURN: (-2.1, 2.1),
    Signal.OUTPUT: (0.05, 0.95),
    Signal.VOLTAGE: (0.1, 3.2),
    Signal.CODE: (10.0, 4000.0),
}
"""Inputs that lie inside the working range of a link with usual numbers, in SI units."""


def found_parts() -> dict[str, type[Part]]:
    """Every part that a module of the links declares."""
    found = {}
    for module in pkgutil.iter_modules(anglewright.links.__path__):
        loaded = importlib.import_module(f"anglewright.links.{module.name}")
        found |= {f"{part.room}/{part.kind}": part for part in getattr(loaded, "PARTS", ())}
    return found


def found_links() -> dict[str, type[Link]]:
    """Every class of the links that carries a signal from one kind to another."""
    found = {}
    for module in pkgutil.iter_modules(anglewright.links.__path__):
        loaded = importlib.import_module(f"anglewright.links.{module.name}")
        for name, each in vars(loaded).items():
            here = isinstance(each, type) and each.__module__ == loaded.__name__
            if here and isinstance(getattr(each, "takes", None), Signal):
                found[name] = each
    return found


def required(key: Key) -> Any:
    """A usual value of a key that has no default: its own example, else ten of its unit."""
    if key.example is not None:
        return key.example
    if isinstance(key, TeethKey):
        return [48, 24]
    if isinstance(key, TurnLimitKey):
        return f"1 {units_of((key.kind,))[0].name}"
    assert isinstance(key, QuantityKey)
    return f"10 {units_of(key.kinds)[0].name}"


def needs_value(key: Key) -> bool:
    """Whether a table without the key cannot be read."""
    return key.required


def tables(keys: tuple[Key, ...]) -> Iterator[dict[str, Any]]:
    """The shortest table, one for each word of each choice, and one with every optional quantity given."""
    least = {key.name: required(key) for key in keys if needs_value(key)}
    yield least
    for key in keys:
        if isinstance(key, ChoiceKey):
            yield from (least | {key.name: word} for word in key.choices if word != key.default)
        if isinstance(key, QuantityKey | TurnLimitKey) and key.default is None and not key.required:
            yield least | {key.name: required(key)}
        if isinstance(key, CurveKey) or (isinstance(key, LimitKey) and key.default is None):
            yield least | {key.name: required(key)}
        if isinstance(key, WholeKey) and key.example is not None:
            yield least | {key.name: required(key)}
        if isinstance(key, TableKey):
            inner = [table for table in tables(key.keys) if table]
            yield from (least | {key.name: table} for table in inner)
            whole = {name: value for table in inner for name, value in table.items()}
            for each in key.keys:
                if isinstance(each, ChoiceKey):
                    yield from (least | {key.name: whole | {each.name: word}} for word in each.choices)


def read_part(part: type[Part], table: Mapping[str, Any]) -> Part:
    """The part of a table that has nothing wrong with it."""
    reader = TableReader()
    fields = reader.fields(table, part.KEYS, where=part.room)
    assert reader.problems == []
    return part(**fields)


Pick = Callable[[Number], Any]


def nominal(number: Number) -> Any:
    """What the data sheet states."""
    return number.variate.nominal


def company_of(part: type[Part]) -> dict[str, str]:
    """Kinds by room around a part: those that its sensor goes with, or that it goes with, else the usual."""
    sensors = [each for each in found_parts().values() if each.room == "sensor"]
    if part.room == "sensor":
        return USUAL | {"sensor": part.kind} | dict(getattr(part, "GOES_WITH", {}))
    for sensor in sensors:
        goes_with = dict(getattr(sensor, "GOES_WITH", {}))
        if goes_with.get(part.room) == part.kind:
            return USUAL | {"sensor": sensor.kind} | goes_with
    return USUAL


def upstream_of(part: type[Part]) -> list[Part]:
    """The parts before one: of each room the kind that goes with it."""
    if part.room not in ROOMS:
        return []
    before = [read_part(found_parts()["motion/motion"], {"from": "-20 deg", "to": "115 deg"})]
    company = company_of(part)
    for each in ROOMS[: ROOMS.index(part.room)]:
        kind = part_named(each, company[each])
        before.append(read_part(kind, {key.name: required(key) for key in kind.KEYS if needs_value(key)}))
    return before


def link_of(parts: list[Part], pick: Pick) -> Link:
    """The last of some parts as a link, behind the links of those before it."""
    port, link = Port(), None
    for part in parts:
        link = part.link({number.field: pick(number) for number in part.numbers}, port)
        port = link.port
    assert link is not None
    return link


@dataclass(frozen=True)
class Case:
    """One variant of one kind of part, with the parts before it."""

    name: str
    parts: list[Part]

    @property
    def part(self) -> Part:
        """The part itself."""
        return self.parts[-1]

    def link(self, pick: Pick = nominal) -> Link:
        """The part as a link."""
        return link_of(self.parts, pick)

    def inputs(self, count: int) -> np.ndarray:
        """So many inputs inside the working range."""
        return np.linspace(*RANGES[self.link().takes], count)

    def builds(self, count: int) -> tuple[Pick, list[Pick]]:
        """Drawn numbers of virtual builds, quiet readings: all of them together, and each alone."""
        rng = np.random.default_rng(11)
        values = {
            number.key: number.variate.draw(rng, (count, 1))
            for part in self.parts
            for number in part.numbers
            if number.variate.persistence is not Persistence.READING
        }

        def together(number: Number) -> Any:
            return values.get(number.key, 0.0)

        def alone(build: int) -> Pick:
            return lambda number: values[number.key][build, 0] if number.key in values else 0.0

        return together, [alone(build) for build in range(count)]


def cases() -> list[Case]:
    """Every variant of every kind of part."""
    return [
        Case(f"{name}{table or ''}", [*upstream_of(part), read_part(part, table)])
        for name, part in found_parts().items()
        for table in tables(part.KEYS)
    ]


CASES = cases()


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give each test that asks for a case every one of them."""
    if "case" in metafunc.fixturenames:
        metafunc.parametrize("case", CASES, ids=[case.name for case in CASES])


@pytest.fixture(scope="session")
def every_part() -> dict[str, type[Part]]:
    """Kinds of part by room and kind."""
    return found_parts()


@pytest.fixture(scope="session")
def every_link() -> dict[str, type[Link]]:
    """Classes of link by name."""
    return found_links()


@pytest.fixture(scope="session")
def every_case() -> list[Case]:
    """All variants at once."""
    return CASES
