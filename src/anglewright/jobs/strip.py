"""The chain as the report's strip: one room a link, with the drawing of its kind and its share."""

from collections.abc import Callable, Mapping
from typing import Any

from anglewright.budget.totals import Share, StateBudget
from anglewright.jobs.inside import inside
from anglewright.jobs.lines import LINES, LineInUse
from anglewright.jobs.passages import Passage, passages
from anglewright.jobs.sketches import (
    always,
    band,
    circuit,
    d_bore,
    drum,
    edges,
    four_bar,
    gears,
    home,
    lines,
    motion,
    pair,
    pulse,
    rack,
    rollers,
    screw,
    track,
)
from anglewright.links.protocol import LinesPort, Part, Signal, TrackPort
from anglewright.links.stages import Series
from anglewright.quantities.showing import show
from anglewright.report.document import Room
from anglewright.report.symbols import (
    Bellows,
    Box,
    Cable,
    Clamp,
    ClampHub,
    CodeSheet,
    Direct,
    Drawing,
    DrawWire,
    Magnet,
    Row,
    Staircase,
    Symbol,
    Tube,
    Universal,
    Word,
)
from anglewright.rig import Axis

DRAWINGS: Mapping[tuple[str, str], Callable[[Passage, Any], Symbol]] = {
    ("motion", "motion"): motion,
    ("drive", "direct"): always(Direct()),
    ("drive", "gears"): gears,
    ("drive", "rack"): rack,
    ("drive", "chain"): band,
    ("drive", "belt"): band,
    ("drive", "drum"): drum,
    ("drive", "draw-wire"): always(DrawWire()),
    ("drive", "screw"): screw,
    ("drive", "four-bar"): four_bar,
    ("coupling", "rigid"): always(ClampHub()),
    ("coupling", "d-bore"): d_bore,
    ("coupling", "flexible"): always(Bellows()),
    ("coupling", "elastic-tube"): always(Tube()),
    ("coupling", "universal"): always(Universal()),
    ("coupling", "friction"): rollers,
    ("mount", "clamp"): always(Clamp()),
    ("mount", "homed"): home,
    ("sensor", "potentiometer"): track,
    ("sensor", "magnetic"): always(Magnet(sends="voltage")),
    ("sensor", "pulse-width"): always(Magnet(sends="pulse")),
    ("sensor", "serial"): always(Magnet(sends="word")),
    ("sensor", "incremental"): lines,
    ("sensor", "gear-pair"): pair,
    ("wiring", "analogue"): circuit,
    ("wiring", "digital"): always(Cable()),
    ("converter", "adc"): always(Staircase()),
    ("converter", "pulse-timer"): pulse,
    ("converter", "serial-word"): always(Word()),
    ("converter", "counter"): edges,
}
"""What draws a kind of link. Drives in a row are a row of these; a kind that is not here is a plain box."""


def drawing_of(passage: Passage) -> Drawing:
    """The drawing of a link: its kind's own, a row of those of its stages, or a plain box."""
    if isinstance(passage.link, Series):
        return Row(stages=tuple(_symbol(stage) for stage in passage.stages()))
    return _symbol(passage)


def _symbol(passage: Passage) -> Symbol:
    drawn = DRAWINGS.get((passage.part.room, passage.part.kind))
    return drawn(passage, passage.part) if drawn else Box()


def rooms(in_use: LineInUse, budget: StateBudget) -> tuple[Room, ...]:
    """One room a link from motion to code, with its share of the variance."""
    found = [_room(passage, budget) for passage in passages(in_use.axis)]
    record = in_use.record
    basis = f"line of calibration {record.name}" if record else f"line of the {LINES[in_use.state]}"
    code = Room(kind="Code", part=basis, drawing=CodeSheet(), leaves="reported", share_reason="no share")
    return (*found, code)


def _room(passage: Passage, budget: StateBudget) -> Room:
    part = passage.part
    rows = [row for row in budget.shares if row.link == part.room]
    share = sum(row.share for row in rows)
    return Room(
        kind=part.room.capitalize(),
        part=_named(passage.axis, part),
        drawing=drawing_of(passage),
        leaves=_leaves(passage),
        share=min(1.0, max(0.0, share)),
        share_reason=_reason(rows),
        inside=inside(part),
    )


def _named(axis: Axis, part: Part) -> str:
    if part.room != "motion":
        return part.describe()
    low, high = show(axis.motion.low, axis.unit), show(axis.motion.high, axis.unit)
    return f"{axis.name}, endless" if axis.motion.endless else f"{axis.name}, {low} to {high}"


def _reason(rows: list[Share]) -> str:
    return rows[0].meaning if rows and rows[0].share >= 0.0005 else "no share"


def _leaves(passage: Passage) -> str:
    """What the value is that leaves a link, by the signal that it gives."""
    link = passage.link
    if link.gives is not Signal.OUTPUT:
        return (
            f"since it was {getattr(link, 'since', 'clamped')}"
            if link.gives is Signal.TURN
            else _LEAVES[link.gives]
        )
    if isinstance(link.port, LinesPort):
        return "turns since it was homed"
    return "of the track" if isinstance(link.port, TrackPort) else "of the full output"


_LEAVES = {
    Signal.POSITION: "position",
    Signal.SHAFT: "sensor shaft",
    Signal.VOLTAGE: "at the pin",
    Signal.CODE: "counts",
}
