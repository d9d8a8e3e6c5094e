"""Where the axis is taken while it is tested: one place for the ohms, its marks, both stops."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from anglewright.chain import Chain
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.rig import Axis, at_mean, realise

SPREAD = 0.25  # of the output between the marks, at least, or both ends of the range are visited too [1]
STOP_WITHIN, ASSUMED_WITHIN = 0.01, 0.05  # how well a stop is known, as a share of the range [1]
STOPS = ("stop-low", "stop-high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One place: its name in the sheet, where it is found, position and how well it is found. [m or rad]"""

    name: str
    text: str
    position: float
    within: float

    @property
    def is_stop(self) -> bool:
        """True at a stop of the mechanism."""
        return self.name in STOPS


def output_share(axis: Axis, q: Array) -> Array:
    """Share of full output at positions, every number at its mean. [1]"""
    chain = Chain(realise(axis, at_mean).links[: axis.index_of("sensor") + 1]).unrounded()
    return np.asarray(chain.forward(q), dtype=float)


def visits_of(axis: Axis) -> tuple[Visit, ...]:
    """The place for the ohms first, then marks or ends of the range, then both stops.

    Parameters
    ----------
    axis : Axis
        The axis.

    Returns
    -------
    tuple of Visit
        The ohms are measured where the wiper stands furthest from its middle: there the two ends of a track
        cannot be mistaken for each other. Where the marks lie too near to each other both ends of the range
        are visited too.

    References
    ----------
    practice
    """
    places = tuple(_places(axis))
    shares = output_share(axis, np.array([place.position for place in places]))
    first = places[int(np.argmax(np.abs(shares - 0.5)))]
    return (first, *places, *_stops(axis))


def _places(axis: Axis) -> Iterator[Visit]:
    for name, mark in sorted(axis.marks.items(), key=lambda item: item[1].at.nominal):
        how = f", {mark.how}" if mark.how else ""
        where = show(mark.at.nominal, axis.unit)
        text = f"mark '{name}' ({where}{how})"
        yield Visit(name=name, text=text, position=mark.at.nominal, within=mark.at.half_width)
    marks = np.array([mark.at.nominal for mark in axis.marks.values()])
    if np.ptp(output_share(axis, marks)) < SPREAD:
        yield from _ends(axis)


def _ends(axis: Axis) -> Iterator[Visit]:
    """Both ends of the range; of an axis without ends two places a third of a turn apart."""
    low, span = axis.motion.low, axis.motion.high - axis.motion.low
    shares = (1.0 / 3.0, 2.0 / 3.0) if axis.motion.endless else (0.0, 1.0)
    within = STOP_WITHIN * span
    for name, share in zip(("end-low", "end-high"), shares, strict=True):
        q = low + share * span
        yield Visit(name=name, text=show(q, axis.unit), position=q, within=within)


def _stops(axis: Axis) -> Iterator[Visit]:
    if axis.motion.endless:
        return
    share = ASSUMED_WITHIN if axis.stops_assumed else STOP_WITHIN
    within = share * (axis.motion.high - axis.motion.low)
    for name, q in zip(STOPS, (axis.stops.low, axis.stops.high), strict=True):
        yield Visit(name=name, text=f"the stop at {show(q, axis.unit)}", position=q, within=within)
