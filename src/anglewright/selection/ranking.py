"""The kept choices in their order, the front of cost against error, and what each need rules out."""

import numpy as np
from numpy.typing import NDArray

from anglewright.selection.judging import CHECKS, NEVER, Judged
from anglewright.selection.needs import Places

NEEDS = {
    "travel": "the motion and its stops",
    "stops": "the motion and its stops",
    "endless motion": "the endless motion",
    "wrap": "the motion and its stops",
    "speed": "the speed",
    "life": "the life",
    "homing": "no homing",
    "resolution": "the permissible error",
    "counter": "the motion and its stops",
    "voltage": "the feed",
    "reach": "the motion and its stops",
    "error": "the permissible error",
}
"""Which need is behind a check."""


def kept(judged: Judged) -> Places:
    """Places of the choices that nothing rules out: by cost, then margin, then names."""
    return ordered(judged, np.flatnonzero(~judged.ruled_out.any(axis=0)))


def refused(judged: Judged) -> Places:
    """Places of the choices that are ruled out: by how many checks, how far they miss, cost, then names.

    Those whose error is not known, because the sensor does not reach over the motion, come last.
    """
    found = np.flatnonzero(judged.ruled_out.any(axis=0))
    by_cost = ordered(judged, found)
    out = judged.ruled_out[:, by_cost]
    missed = np.log(np.where(out, np.minimum(judged.shortfall[:, by_cost], NEVER), 1.0)).sum(axis=0)
    unknown = np.isnan(judged.half_width[by_cost])
    return np.asarray(by_cost[np.lexsort((missed, out.sum(axis=0), unknown))])


def ordered(judged: Judged, places: Places) -> Places:
    """Some choices by cost, then the larger margin, then the names of sensor and drive."""
    sensors = _ranks([sensor.offer.name for sensor in judged.sensors])[judged.sensor[places]]
    drives = _ranks([offer.name for offer in judged.drives.offers])[judged.drive[places]]
    margin, cost = judged.margin[places], judged.cost[places]
    return np.asarray(places[np.lexsort((drives, sensors, -np.nan_to_num(margin, nan=-1.0), cost))])


def _ranks(names: list[str]) -> Places:
    """Place of each name in the alphabet; the same for the same name."""
    return np.asarray(np.searchsorted(sorted(names), names))


def front(judged: Judged, places: Places) -> Places:
    """Of choices in the order of their cost, those for which no cheaper one is as exact."""
    best = np.minimum.accumulate(np.concatenate([[np.inf], judged.half_width[places]]))
    return np.asarray(places[judged.half_width[places] < best[:-1]])


def by_need(judged: Judged) -> dict[str, NDArray[np.bool_]]:
    """Which choices each need rules out, (N,) each."""
    found: dict[str, NDArray[np.bool_]] = {}
    for check, out in zip(CHECKS, judged.ruled_out, strict=True):
        need = NEEDS[check]
        found[need] = found[need] | out if need in found else out
    return found


def rules_out(judged: Judged) -> dict[str, int]:
    """How many choices each need rules out, the most first. [1]"""
    sizes = {need: int(np.count_nonzero(out)) for need, out in by_need(judged).items()}
    return {need: size for need, size in sorted(sizes.items(), key=lambda pair: -pair[1]) if size}
