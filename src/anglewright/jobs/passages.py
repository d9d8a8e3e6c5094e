"""What passes through each link over the whole range: its input and output at every position shown."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from anglewright.links.linkage import FourBar
from anglewright.links.protocol import Array, Link, Part, Signal
from anglewright.links.stages import Series
from anglewright.report.symbols import Box, Drawing, Row
from anglewright.rig import Axis, at_mean, realise

POSITIONS = 136  # of the slider over the range [1]
_CLOCKWISE = ("clockwise", "down", "right")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Passage:
    """A part, its link with every number at its mean, and what goes in and comes out. [unit of the signal]"""

    axis: Axis
    part: Part
    link: Link
    goes_in: Array
    comes_out: Array

    @property
    def way(self) -> int:
        """+1 where a turn is drawn against the clock, -1 where the positive way is the clock's. [1]"""
        return -1 if self.axis.motion.rotary and self.axis.motion.positive in _CLOCKWISE else 1

    def stages(self) -> Iterator["Passage"]:
        """A passage for each drive of several in a row; itself where it is a single link."""
        if not isinstance(self.link, Series):
            yield self
            return
        value = self.goes_in
        for part, link in zip(getattr(self.part, "stages", ()), self.link.links, strict=True):
            passed = np.asarray(link.forward(value), dtype=float)
            yield replace(self, part=part, link=link, goes_in=value, comes_out=passed)
            value = passed


def passages(axis: Axis) -> tuple[Passage, ...]:
    """What passes through every link from the motion to the converter, at rest amid any play."""
    positions = axis.positions(POSITIONS)
    links, found, value = realise(axis, at_mean).links, [], positions
    for part, link in zip(axis.chain_parts, links, strict=True):
        passed = np.broadcast_to(np.asarray(link.forward(value), dtype=float), positions.shape)
        found.append(Passage(axis=axis, part=part, link=link, goes_in=value, comes_out=passed))
        value = passed
    return tuple(found)


def phases(passage: Passage, drawing: Drawing) -> tuple[Array, ...]:
    """What moves the drawing of a link, each over all positions: angles, levels, places. [deg or 1]

    Angles are in degrees, against the clock as drawn; levels and places are shares within 0 to 1.
    """
    if isinstance(drawing, Box):
        return (_place(passage.comes_out),)
    if isinstance(drawing, Row):
        stages = zip(passage.stages(), drawing.stages, strict=True)
        return tuple(each for stage, symbol in stages for each in phases(stage, symbol))
    if isinstance(passage.link, FourBar):
        return _levers(passage.link, passage)
    return _IN_ROOM[passage.part.room](passage)


def _place(values: Array) -> Array:
    """Each value's place between the lowest and the highest. [1]"""
    low, high = float(np.min(values)), float(np.max(values))
    return (values - low) / (high - low) if high > low else np.zeros_like(values)


def _degrees(passage: Passage, angle: Array) -> Array:
    return np.asarray(passage.way * np.degrees(angle))


def _moved(passage: Passage) -> tuple[Array, ...]:
    motion = passage.axis.motion
    return (_degrees(passage, passage.comes_out) if motion.rotary else _place(passage.comes_out),)


def _driven(passage: Passage) -> tuple[Array, ...]:
    return _place(passage.goes_in), _degrees(passage, passage.comes_out)


def _levers(link: FourBar, passage: Passage) -> tuple[Array, ...]:
    theta, rod, out = (np.asarray(each) for each in link.levers(passage.goes_in))
    return tuple(_degrees(passage, angle) for angle in (theta, rod - theta, out))


def _coupled(passage: Passage) -> tuple[Array, ...]:
    return _degrees(passage, passage.goes_in), _degrees(passage, passage.comes_out)


def _mounted(passage: Passage) -> tuple[Array, ...]:
    return (_degrees(passage, passage.comes_out),)


def _sensed(passage: Passage) -> tuple[Array, ...]:
    return passage.comes_out, _degrees(passage, passage.goes_in)


def _wired(passage: Passage) -> tuple[Array, ...]:
    if passage.link.gives is not Signal.VOLTAGE:
        return (passage.comes_out,)
    feed = float(np.mean(getattr(passage.link, "feed_v", np.max(passage.comes_out))))
    return (np.clip(passage.comes_out / feed, 0.0, 1.0),)


def _converted(passage: Passage) -> tuple[Array, ...]:
    if passage.part.kind == "counter":
        return passage.comes_out, _place(passage.comes_out)
    codes = passage.axis.codes
    return (np.clip((passage.comes_out - codes.low) / codes.count, 0.0, 1.0),)


_IN_ROOM = {
    "motion": _moved,
    "drive": _driven,
    "coupling": _coupled,
    "mount": _mounted,
    "sensor": _sensed,
    "wiring": _wired,
    "converter": _converted,
}
