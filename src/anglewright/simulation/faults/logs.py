"""Faults of the log and of what stands beside the reading: rows twice or not at all, a poor reference."""

import numpy as np
from numpy.typing import NDArray

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size

_SHARE = (Kind.FRACTION,)
_POSITION = (Kind.ANGLE, Kind.LENGTH)


def _twice(scene: Scene) -> NDArray[np.intp]:
    hit = scene.struck(scene.size)
    return np.repeat(np.arange(len(hit)), np.where(hit, 2, 1))


def _lost(scene: Scene) -> NDArray[np.intp]:
    hit = scene.struck(scene.size)
    hit[0] = False
    return np.flatnonzero(~hit)


def _unsigned(reference: Array, scene: Scene) -> Array:
    return np.where(scene.on, np.abs(reference), reference)


def _by_hand(reference: Array, scene: Scene) -> Array:
    off = scene.chance.uniform(-scene.size, scene.size, len(reference))
    return np.where(scene.on, reference + off, reference)


FAULTS = (
    Fault(
        name="duplicates",
        meaning="such a share of the rows stands twice",
        notes="list 23",
        size=Size(kinds=_SHARE, usual="12 %", least=0.0, most=1.0),
        rows=_twice,
    ),
    Fault(
        name="dropped",
        meaning="such a share of the rows is missing",
        notes="list 23",
        size=Size(kinds=_SHARE, usual="5 %", least=0.0, most=0.9),
        rows=_lost,
    ),
    Fault(
        name="unsigned-reference",
        meaning="the reference shows no sign: a V in place of a line",
        notes="list 9",
        acts={Site.REFERENCE: _unsigned},
    ),
    Fault(
        name="hand-read-reference",
        meaning="the reference is read off by hand, to so much either way",
        notes="list 9",
        size=Size(kinds=_POSITION, usual="4 deg", least=0.0),
        acts={Site.REFERENCE: _by_hand},
    ),
)
