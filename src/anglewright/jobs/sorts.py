"""What a student calls a sensor: a kind, a word of the trade, or a row of the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from anglewright.catalogue.loading import load_catalogue
from anglewright.errors import Problem, UsageError, nearest
from anglewright.rigfile.kinds import ROOMS, USUAL, kinds_in, part_named
from anglewright.selection.offers import SensorOffer

WORDS: Mapping[str, str] = {
    "ten-turn": "10-turn, wirewound",
    "wirewound": "panel, wirewound, 300 deg",
    "endless-potentiometer": "servo, conductive plastic, endless, 340 deg, 1 %",
    "draw-wire": "draw-wire with 10-turn potentiometer, 1000 mm",
}
"""Words of the trade for sensors that are no kind of their own, and the row of the catalogue they mean."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sort:
    """A kind of sensor, and what a row of the catalogue knows of it: tables of the rig file by room."""

    kind: str
    row: str = ""
    tables: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    def kind_in(self, room: str) -> str:
        """The kind of part that goes into a room beside this sensor."""
        if room == "sensor":
            return self.kind
        goes_with = getattr(part_named("sensor", self.kind), "GOES_WITH", {})
        return str(self.tables.get(room, {}).get("kind", goes_with.get(room, USUAL[room])))

    def given(self, room: str) -> dict[str, Any]:
        """What the row of the catalogue gives for a room, its kind apart."""
        return {key: value for key, value in self.tables.get(room, {}).items() if key != "kind"}


def sort_named(name: str) -> Sort:
    """The sort of sensor that a name means.

    Parameters
    ----------
    name : str
        A kind of sensor, a word of the trade such as ``ten-turn``, or the name of a row of the catalogue.

    Returns
    -------
    Sort
        The kind, and what is known of it.

    Raises
    ------
    UsageError
        It means none; the nearest known names stand in the sentence.

    Examples
    --------
    >>> sort_named("ten-turn").given("sensor")["electrical_travel"]
    '3600 deg +10 deg / -0 deg'
    """
    name = name.strip()
    if name in kinds_in("sensor"):
        return Sort(kind=name)
    row = WORDS.get(name, name)
    for offer in load_catalogue().sensors:
        if offer.name == row:
            return _sort(offer)
    raise UsageError(Problem("sensor", f"kind '{name}' is not known", "", _remedy(name)))


def brings_a_drive(name: str) -> bool:
    """Whether a sensor has its drive built in, so that nobody has to say what turns it."""
    return "drive" in sort_named(name).tables


def _sort(offer: SensorOffer) -> Sort:
    tables = {room: offer.tables[room] for room in ROOMS if room in offer.tables}
    if offer.drive is not None:
        tables["drive"] = offer.drive.table
    return Sort(kind=offer.part.kind, row=offer.name, tables=tables)


def _remedy(name: str) -> str:
    """The nearest names; of a beginning, those that go on from it."""
    short = [*kinds_in("sensor"), *WORDS]
    known = [each for each in short if name and (each.startswith(name) or name in each.split("-"))]
    if known:
        return "Did you mean " + " or ".join(f"'{each}'" for each in sorted(known)) + "?"
    close = nearest(name, [*short, *(offer.name for offer in load_catalogue().sensors)])
    return close if close.startswith("Did") else nearest(name, short)
