"""Faults of codes: stuck bits, missing codes, a frozen value, spikes, torn bytes, failed reads."""

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.rig import Axis
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size

_SELDOM = 0.01  # share of the rows that a spike or a failed read hits [1]
_BYTE = 256
_COUNT = (Kind.COUNT,)


def _within(codes: Array, axis: Axis) -> Array:
    return np.asarray(np.clip(codes, axis.codes.low, axis.codes.high))


def _bit_set(codes: Array, scene: Scene) -> Array:
    bit = 1 << int(scene.size)
    return np.where(scene.on, (codes.astype(np.int64) | bit).astype(np.float64), codes)


def _bit_clear(codes: Array, scene: Scene) -> Array:
    bit = 1 << int(scene.size)
    return np.where(scene.on, (codes.astype(np.int64) & ~bit).astype(np.float64), codes)


def _has_bit(axis: Axis, size: float) -> str:
    bits = (axis.codes.count - 1).bit_length()
    return "" if size < bits else f"its codes have the bits 0 to {bits - 1}"


def _never_some(codes: Array, scene: Scene) -> Array:
    """Every code that is a multiple of the size comes out as the one above it."""
    hit = scene.on & (np.mod(codes, scene.size) == 0.0)
    return np.where(hit, _within(codes + 1.0, scene.axis), codes)


def _held(codes: Array, scene: Scene) -> Array:
    first = int(np.argmax(scene.on))
    return np.where(scene.on, codes[first], codes)


def _spiked(codes: Array, scene: Scene) -> Array:
    sign = scene.chance.choice([-1.0, 1.0], len(codes))
    return np.where(scene.struck(_SELDOM), _within(codes + sign * scene.size, scene.axis), codes)


def torn(codes: Array) -> Array:
    """Each code read as the high byte of the one before it and the low byte of its own. [count]

    Examples
    --------
    Rising over a byte's end the reading falls back by 256, falling over it it jumps up:

    >>> torn(np.array([254.0, 255.0, 256.0, 257.0, 255.0])) - np.array([254.0, 255.0, 256.0, 257.0, 255.0])
    array([   0.,    0., -256.,    0.,  256.])
    """
    high = np.floor_divide(codes, _BYTE)
    return np.asarray(np.concatenate([high[:1], high[:-1]]) * _BYTE + np.mod(codes, _BYTE))


def _torn(codes: Array, scene: Scene) -> Array:
    return np.where(scene.struck(scene.size), torn(codes), codes)


def _failed(codes: Array, scene: Scene) -> Array:
    return np.where(scene.struck(_SELDOM), scene.size, codes)


FAULTS = (
    Fault(
        name="stuck-bit",
        meaning="one bit of the code is always set; bit 0 is the lowest",
        notes="F14",
        size=Size(kinds=_COUNT, usual="3", least=0.0, whole=True),
        acts={Site.CODE: _bit_set},
        fits=_has_bit,
    ),
    Fault(
        name="lost-bit",
        meaning="one bit of the code is never set; bit 0 is the lowest",
        notes="F14",
        size=Size(kinds=_COUNT, usual="0", least=0.0, whole=True),
        acts={Site.CODE: _bit_clear},
        fits=_has_bit,
    ),
    Fault(
        name="missing-codes",
        meaning="one code in so many never comes, the one above it comes instead",
        notes="list 11",
        size=Size(kinds=_COUNT, usual="16", least=2.0, whole=True),
        acts={Site.CODE: _never_some},
    ),
    Fault(
        name="frozen",
        meaning="the reading stays exactly what it was",
        notes="list 24",
        event=True,
        acts={Site.CODE: _held},
    ),
    Fault(
        name="spikes",
        meaning="one reading in a hundred is off by so many counts, up or down",
        notes="F02",
        size=Size(kinds=_COUNT, usual="300", least=0.0),
        acts={Site.CODE: _spiked},
    ),
    Fault(
        name="torn",
        meaning="high and low byte of the code are read apart, in such a share of the readings",
        notes="F14",
        size=Size(kinds=(Kind.FRACTION,), usual="50 %", least=0.0, most=1.0),
        acts={Site.CODE: _torn},
    ),
    Fault(
        name="sentinel",
        meaning="one read in a hundred fails and gives this number instead; 65535 where all bits are set",
        notes="F13",
        size=Size(kinds=_COUNT, usual="3839", whole=True),
        acts={Site.CODE: _failed},
    ),
)
