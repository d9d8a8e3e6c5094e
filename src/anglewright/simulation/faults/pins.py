"""Faults at the pin: a converter that bends, channels that remember, a gap in the track, delay, noise."""

from collections.abc import Mapping

import numpy as np

from anglewright.angles import TURN
from anglewright.delay import follow_delay
from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.simulation.faults.protocol import (
    Fault,
    Scene,
    Site,
    Size,
    gives_volts,
    has_track,
    wrap_counts,
)

_BENT_AT = (0.0, 0.1300, 0.8190, 1.6410, 2.4620, 3.2000, 3.3000)  # voltage at the pin [V]
_BENT_READS = (0.0, 0.0, 823.0, 1814.0, 2811.0, 4095.0, 4095.0)  # of 4095, as reported [count]
_BENT_FULL_V, _BENT_TOP = 3.3, 4095.0
_RESTING = 0.28  # of full scale, where an input that nothing drives comes to rest [1]
_CHANNELS = 4  # that are read after this one, none of them driven [1]
_HAIR_S = 1e-9  # so that a delay of whole samples is one of so many [s]
_NEIGHBOUR_S = 1.7  # period of the neighbour's signal [s]


def bent(share: Array) -> Array:
    """Share of full scale that a bent converter shows: dead at the bottom, flat at the top. [1]"""
    at, reads = np.array(_BENT_AT) / _BENT_FULL_V, np.array(_BENT_READS) / _BENT_TOP
    return np.asarray(np.interp(share, at, reads))


def _full_volts(scene: Scene) -> float:
    """Voltage at the converter's full scale. [V]"""
    converter, codes = scene.links[-1], scene.axis.codes
    return float(np.mean(converter.backward(float(codes.high)) - converter.backward(float(codes.low))))


def _bent_at(volts: Array, scene: Scene) -> Array:
    full = _full_volts(scene)
    return np.where(scene.on, bent(volts / full) * full, volts)


def _neighbour(scene: Scene) -> Array:
    """Share of full scale of the channel that is read before this one. [1]"""
    return np.asarray(0.5 + 0.45 * np.sin(TURN * scene.t / _NEIGHBOUR_S))


def _remembered(volts: Array, scene: Scene) -> Array:
    """The sampling capacitor keeps a share of the channel read before."""
    before = _neighbour(scene) * _full_volts(scene)
    return np.where(scene.on, volts + scene.size * (before - volts), volts)


def _neighbour_raw(scene: Scene) -> Mapping[str, Array]:
    return {"neighbour_raw": np.floor(_neighbour(scene) * scene.axis.codes.count)}


def _grounded(volts: Array, scene: Scene) -> Array:
    return np.where(scene.on, 0.0, volts)


def undriven(first: Array, *, towards: float, share: float) -> tuple[Array, ...]:
    """Inputs that nothing drives, read one after the other behind one that is driven.

    Parameters
    ----------
    first : array
        Share of full scale of the driven input. [1]
    towards : float
        Where an undriven input comes to rest. [1]
    share : float
        How much of the way there each of them goes. [1]

    Returns
    -------
    tuple of array
        Share of full scale of each, in the order of reading. [1]

    Notes
    -----
    Each keeps the charge of the one before and creeps from it towards rest: a ramp in the order of reading.

    References
    ----------
    derived

    Examples
    --------
    Behind a grounded input, on 10 bits, with a third of the way each:

    >>> ramp = undriven(np.zeros(1), towards=0.28, share=1 / 3)
    >>> [round(1023 * float(each[0])) for each in ramp]
    [95, 159, 202, 230]
    """
    found, last = [], first
    for _ in range(_CHANNELS):
        last = last + share * (towards - last)
        found.append(last)
    return tuple(found)


def _channels(scene: Scene) -> Mapping[str, Array]:
    first = np.where(scene.on, 0.0, _RESTING)
    ramp = undriven(first, towards=_RESTING, share=scene.size)
    count = scene.axis.codes.count
    return {
        f"raw_{place}": np.floor(each * count + 2.0 * scene.chance.standard_normal(len(scene.t)))
        for place, each in enumerate(ramp, start=1)
    }


def _over_the_gap(share: Array, scene: Scene) -> Array:
    """Within the gap at the upper end of the track the wiper touches nothing, or both ends."""
    inside = scene.on & (share > 1.0 - scene.size / TURN)
    return np.where(inside, scene.chance.random(len(share)), share)


def _delayed(signal: Array, scene: Scene) -> Array:
    wraps = wrap_counts(scene.axis) is not None  # then nothing lies between two readings
    late, _ = follow_delay(signal, scene.t, None, delay_s=max(scene.size - _HAIR_S, 0.0), held=wraps)
    return np.where(scene.on, late, signal)


def _louder(noise: Array, scene: Scene) -> Array:
    return np.where(scene.on, noise * scene.size, noise)


FAULTS = (
    Fault(
        name="bent-converter",
        meaning="a converter that is dead below 0.13 V, bends above 2.5 V and is flat from 3.2 V of 3.3 V on",
        notes="F07",
        acts={Site.INPUT: _bent_at},
        fits=gives_volts,
    ),
    Fault(
        name="crosstalk",
        meaning="the converter keeps a share of the channel read before; adds that channel",
        notes="F03",
        size=Size(kinds=(Kind.FRACTION,), usual="2 %", least=0.0, most=1.0),
        acts={Site.INPUT: _remembered},
        columns=_neighbour_raw,
        fits=gives_volts,
    ),
    Fault(
        name="channel-memory",
        meaning="grounded, and four open inputs behind it, each a share of the way to rest from the last",
        notes="F03",
        size=Size(kinds=(Kind.FRACTION,), usual="33 %", least=0.0, most=1.0),
        acts={Site.INPUT: _grounded},
        columns=_channels,
        fits=gives_volts,
    ),
    Fault(
        name="dead-gap",
        meaning="a gap of the track at its upper end, where the wiper touches nothing or both ends",
        notes="F17",
        size=Size(kinds=(Kind.ANGLE,), usual="5 deg", least=0.0),
        acts={Site.OUTPUT: _over_the_gap},
        fits=has_track,
    ),
    Fault(
        name="delay",
        meaning="each reading is of a moment so long ago",
        notes="list 22",
        size=Size(kinds=(Kind.TIME,), usual="20 ms", least=0.0),
        acts={Site.INPUT: _delayed},
    ),
    Fault(
        name="noise",
        meaning="the noise of a reading is so many times what the rig file says",
        notes="F01",
        size=Size(kinds=(Kind.COUNT,), usual="5", least=0.0),
        acts={Site.NOISE: _louder},
    ),
)
