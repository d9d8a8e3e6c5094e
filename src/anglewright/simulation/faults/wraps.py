"""Faults where a reading comes round again: averaging over the wrap, and values caught in it."""

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size, wrap_counts, wraps


def mean_of_reads(reads: Array) -> Array:
    """The plain mean of several codes, to a whole code; across the wrap it lies anywhere between. [count]

    Examples
    --------
    Nine reads of ten just below the wrap of 14 bits and one beyond it: 1640 counts, or 36 degrees, too low.

    >>> float(mean_of_reads(np.array([[16383.0] * 9 + [0.0]]))[0]) - 16383.5
    -1639.5
    """
    return np.asarray(np.floor(reads.mean(axis=-1)))


def _averaged(reads: Array, scene: Scene) -> Array:
    if reads.ndim == 1:  # another average has been taken already
        return reads
    return np.where(scene.on, mean_of_reads(reads), reads[..., -1])


def _caught(codes: Array, scene: Scene) -> Array:
    """The first reading after a wrap lies anywhere between the two ends."""
    span = wrap_counts(scene.axis) or np.inf
    jumped = np.abs(np.diff(codes, prepend=codes[:1])) > span / 2.0
    before = np.concatenate([codes[:1], codes[:-1]])
    between = np.floor(before + scene.chance.random(len(codes)) * (codes - before))
    return np.where(scene.on & jumped, between, codes)


FAULTS = (
    Fault(
        name="wrap-average",
        meaning="so many reads are averaged as plain numbers, also where they straddle the wrap",
        notes="F12, F16",
        size=Size(kinds=(Kind.COUNT,), usual="10", least=2.0, most=1000.0, whole=True),
        acts={Site.CODE: _averaged},
        reads=True,
        fits=wraps,
    ),
    Fault(
        name="smear",
        meaning="the first reading after a wrap is caught between the two ends",
        notes="F02",
        acts={Site.CODE: _caught},
        fits=wraps,
    ),
)
