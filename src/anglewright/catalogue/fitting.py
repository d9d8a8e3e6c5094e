"""A sensor of the catalogue put into an axis: which of the rig's parts serve it, and what it brings along."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from anglewright.links.protocol import Part
from anglewright.rig import Axis
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import ROOMS, USUAL
from anglewright.rigfile.reading import read_part
from anglewright.selection.offers import SensorOffer

BEHIND = ROOMS[1:]
"""Rooms behind the drive, in the order of the chain."""


def fitted(offer: SensorOffer, axis: Axis) -> SensorOffer:
    """The sensor with the parts that would stand before and behind it on an axis.

    A part of the rig serves where it is of the kind that the sensor goes with; the usual part of that kind
    stands in where it is not. A coupling is the rig's, unless the sensor brings its own.

    Parameters
    ----------
    offer : SensorOffer
        The sensor.
    axis : Axis
        The axis with its coupling, mount, wiring and converter.

    Returns
    -------
    SensorOffer
        With its parts.
    """
    return replace(offer, parts=tuple(_part(offer, axis, room) for room in BEHIND))


def _part(offer: SensorOffer, axis: Axis, room: str) -> Part:
    if room == "sensor":
        return offer.part
    present, kind = axis.part(room), kind_for(offer, axis, room)
    own = offer.tables.get(room)
    if present.kind == kind and (own is None or room in ("wiring", "converter")):
        return present
    part = read_part(room, own or {"kind": kind}, TableReader(), where=axis.name)
    if part is None:
        raise ValueError(f"the usual part of kind '{kind}' cannot be read")
    return _fed_alike(part, present) if own is None else part


def _fed_alike(part: Part, present: Part) -> Part:
    """Wiring of another kind has the feed of the rig's own."""
    feed = getattr(present, "feed_v", None)
    if part.room != "wiring" or feed is None or getattr(part, "feed_v", None) is None:
        return part
    wiring: Any = part
    fed: Part = replace(wiring, feed_v=feed)
    return fed


def kind_for(offer: SensorOffer, axis: Axis, room: str) -> str:
    """The kind of part that a sensor wants in a room."""
    if room in offer.tables:
        return str(offer.tables[room].get("kind", USUAL[room]))
    goes_with: Mapping[str, str] = getattr(offer.part, "GOES_WITH", {})
    return axis.part(room).kind if room == "coupling" else goes_with.get(room, USUAL[room])
