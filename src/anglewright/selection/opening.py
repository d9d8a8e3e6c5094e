"""The smallest change of one need that makes a choice possible, where none is."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.quantities.showing import show
from anglewright.selection.judging import CHECKS, NEVER, Judged, missing
from anglewright.selection.ranking import NEEDS, by_need
from anglewright.selection.reasons import above, below, stops_apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A change of one need, by which factor it is, and the place of the choice that it makes possible."""

    need: str
    factor: float
    place: int
    change: str


def opening(judged: Judged) -> Opening | None:
    """The smallest change of one need that makes a choice possible; None where no single one does.

    A need that is a matter of yes or no counts as the largest change.
    """
    needs = by_need(judged)
    out = np.array(list(needs.values()))
    alone = np.flatnonzero(out.sum(axis=0) == 1)
    if not len(alone):
        return None
    worst = np.minimum(judged.shortfall[:, alone].max(axis=0), NEVER)
    best = int(np.lexsort((judged.cost[alone], worst))[0])
    place = int(alone[best])
    need = list(needs)[int(np.argmax(out[:, place]))]
    return Opening(need=need, factor=float(worst[best]), place=place, change=_CHANGES[need](judged, place))


def _short(judged: Judged, place: int, need: str) -> float:
    """By how much the checks of a need are missed at most. [1]"""
    rows = [row for row, check in enumerate(CHECKS) if NEEDS[check] == need]
    return float(np.max(missing(judged.asked[rows, place], judged.there[rows, place])))


def _error(judged: Judged, place: int) -> str:
    axis = judged.need.axis
    return f'need.error = "{above(axis.permissible * _short(judged, place, NEEDS["error"]), axis.unit)}"'


def _stops(judged: Judged, place: int) -> str:
    apart = stops_apart(judged, place)
    if apart <= 0.0:
        return "another drive, for the play and the clamping alone are too much for the sensor"
    unit = judged.need.axis.unit
    return f"stops no further apart than {below(apart, unit)}, and the motion within them"


def _speed(judged: Judged, place: int) -> str:
    axis, speed = judged.need.axis, judged.need.speed or 0.0
    return f"a top speed of {below(speed / _short(judged, place, NEEDS['speed']), axis.unit)}/s"


def _life(judged: Judged, place: int) -> str:
    share = 1.0 / _short(judged, place, NEEDS["life"])
    return f"strokes and hunting moves at {100.0 * share:.3g} % of what they are, or spares to change in time"


def _feed(judged: Judged, place: int) -> str:
    row = CHECKS.index("voltage")
    level = max(judged.sensors[judged.sensor[place]].levels, key=lambda each: each.asked / each.there)
    asked, there = float(judged.asked[row, place]), float(judged.there[row, place])
    if level.what.startswith("the least supply"):
        return f"a feed of {asked:.4g} V"
    return f"{level.what} {there / asked:.3g} times as high"


_CHANGES: Mapping[str, Callable[[Judged, int], str]] = {
    NEEDS["error"]: _error,
    NEEDS["travel"]: _stops,
    NEEDS["speed"]: _speed,
    NEEDS["life"]: _life,
    NEEDS["voltage"]: _feed,
    NEEDS["homing"]: lambda judged, place: 'need.homing = "allowed"',
    NEEDS["endless motion"]: lambda judged, place: "a motion with ends",
}


def told(judged: Judged, found: Opening) -> str:
    """The change and the choice that it makes possible, in a sentence."""
    sensor = judged.sensors[judged.sensor[found.place]].offer.name
    drive = judged.drives.offers[judged.drive[found.place]].name
    good = float(judged.half_width[found.place])
    exact = f", good to ±{show(good, judged.need.axis.unit, digits=3)}" if np.isfinite(good) else ""
    return f"The smallest change that opens one: {found.change}, for '{sensor}', {drive}{exact}."
