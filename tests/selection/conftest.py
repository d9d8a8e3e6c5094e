"""Needs, sensors and drives to choose from, written as their tables would be in a rig file or a catalogue."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pytest

from anglewright.catalogue.fitting import fitted
from anglewright.catalogue.loading import Catalogue, load_catalogue
from anglewright.jobs.choosing import choose_for
from anglewright.jobs.chosen import ChooseResult
from anglewright.rig import Axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.reading import build_rig, read_part
from anglewright.selection.drives import drives_of
from anglewright.selection.figures import figures_of
from anglewright.selection.judging import Judged, judge
from anglewright.selection.needs import need_of
from anglewright.selection.offers import DriveOffer, Price, SensorOffer, Shaft

Chosen = Callable[..., ChooseResult]


def axis_from(text: str) -> Axis:
    """The one axis of a text that has no parts which fit yet."""
    document = parse_document(text, source="need.toml")
    return next(iter(build_rig(document, source="need.toml", fitted=False).axes.values()))


def part_from(room: str, table: Mapping[str, Any]) -> Any:
    """A part from its table, which must be right."""
    reader = TableReader()
    part = read_part(room, table, reader, where="test")
    assert not reader.problems, [str(each) for each in reader.problems]
    return part


def sensor_offer(name: str, table: Mapping[str, Any], *, cost: float = 10.0, **more: Any) -> SensorOffer:
    """A sensor at a cost; other rooms by name in `tables`."""
    tables = {"sensor": table} | more.pop("tables", {})
    return SensorOffer(
        name=name,
        part=part_from("sensor", table),
        tables=tables,
        price=Price(low=cost, high=cost, year=2025),
        shaft=Shaft(diameter_m=6e-3, form="flat", bush="bush"),
        connector="3-pin",
        **more,
    )


def gear_offer(teeth: list[int], *, cost: float = 0.0, backlash: str = "0 mm") -> DriveOffer:
    """A gear train at a cost."""
    table = {"kind": "gears", "gears": teeth, "backlash": backlash, "module": "1 mm"}
    part = part_from("drive", table)
    price = Price(low=cost, high=cost, year=2025)
    return DriveOffer(name=part.describe(), part=part, table=table, price=price, bore_m=6e-3)


def drive_offer(table: Mapping[str, Any], *, cost: float = 0.0, built_in: bool = False) -> DriveOffer:
    """Any drive at a cost."""
    part = part_from("drive", table)
    price = Price(low=cost, high=cost, year=2025)
    return DriveOffer(name=part.describe(), part=part, table=table, price=price, built_in=built_in)


def judged_of(axis: Axis, sensors: list[SensorOffer], drives: list[DriveOffer]) -> Judged:
    """Every sensor at every drive."""
    need = need_of(axis)
    columns = drives_of(need, drives)
    with np.errstate(invalid="ignore"):
        return judge(need, [figures_of(need, fitted(each, axis), columns) for each in sensors], columns)


class Make:
    """What tests build from plain words."""

    axis = staticmethod(axis_from)
    part = staticmethod(part_from)
    sensor = staticmethod(sensor_offer)
    gears = staticmethod(gear_offer)
    drive = staticmethod(drive_offer)
    judged = staticmethod(judged_of)


@pytest.fixture(scope="session")
def make() -> Make:
    """Axes, parts, sensors and drives from their tables, and all of them held against each other."""
    return Make()


@pytest.fixture(scope="session")
def shipped() -> Catalogue:
    """The shipped catalogue."""
    return load_catalogue()


@pytest.fixture(scope="session")
def chosen(shipped: Catalogue) -> Chosen:
    """Chooses from the shipped catalogue for the one axis of a text; the same text is chosen for once."""

    @cache
    def run(text: str) -> ChooseResult:
        return choose_for(axis_from(text), shipped)

    return run
