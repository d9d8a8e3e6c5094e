"""Faults of the user's own program: wrong factors, integers that overflow or divide, the wrong variable."""

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.rig import Axis, RawForm
from anglewright.simulation.faults.counters import registered
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size

_SHORT = 16  # bits of a short integer [1]
_DEGREES = 90.0  # that the divided integer is scaled to [deg]
_OUT_OF, _OF_IN = 179.0, 1023.0  # the usual scaling of a 10-bit reading to a servo's angle
_COUNT = (Kind.COUNT,)


def in_counts(axis: Axis, size: float) -> str:
    """Nothing where the controller shows counts, else that it does not."""
    return "" if axis.raw is RawForm.COUNTS else f"its controller shows {axis.raw.value}, not counts"


def _rescaled(raw: Array, scene: Scene) -> Array:
    return np.where(scene.on, raw * scene.size, raw)


def overflowed(raw: Array, *, factor: float, divisor: float) -> Array:
    """Product of a reading and a factor in 16 bits, then divided as integers are. [1]

    Parameters
    ----------
    raw : array
        Reading. [count]
    factor : float
        What it is multiplied by first. [1]
    divisor : float
        What it is divided by then. [1]

    Returns
    -------
    array
        What the program has. [1]

    Notes
    -----
    The product goes round at 32 768; the division cuts towards zero, as C has it.

    References
    ----------
    c99

    Examples
    --------
    10 bits to a byte: 128 is right, from 129 on the sign flips, since 129 x 255 = 32 895.

    >>> overflowed(np.array([128.0, 129.0]), factor=255.0, divisor=1024.0)
    array([ 31., -31.])
    """
    product = registered(raw * factor, bits=_SHORT, signed=True)
    return np.asarray(np.trunc(product / divisor))


def _overflowed(raw: Array, scene: Scene) -> Array:
    return np.where(scene.on, overflowed(raw, factor=scene.size, divisor=float(scene.axis.codes.count)), raw)


def divided(raw: Array, *, half: float) -> Array:
    """Angle from a reading by (raw - half) / half in whole numbers: 0 almost everywhere. [deg]

    Examples
    --------
    >>> divided(np.array([0.0, 9.0, 1023.0]), half=512.0) + 0.0
    array([-90.,   0.,   0.])
    """
    return np.asarray(np.trunc((raw - half) / half) * _DEGREES)


def _divided(raw: Array, scene: Scene) -> Array:
    return np.where(scene.on, divided(raw, half=scene.axis.codes.count / 2.0), raw) + 0.0


def _in_plain_counts(axis: Axis, size: float) -> str:
    return "its codes have a sign of their own" if axis.codes.low < 0 else in_counts(axis, size)


def _scaled_pin(raw: Array, scene: Scene) -> Array:
    return np.where(scene.on, np.trunc(scene.size * _OUT_OF / _OF_IN), raw)


FAULTS = (
    Fault(
        name="wrong-counts",
        meaning="the reading is off by a factor, as of wrong counts per turn: 2, 4, 15/16, 4095/4096",
        notes="F20, F21, F22",
        size=Size(kinds=_COUNT, usual="2"),
        acts={Site.RAW: _rescaled},
    ),
    Fault(
        name="rounded-scale",
        meaning="the program shows degrees by so many a count, rounded: 0.022 for 0.02197",
        notes="list 12",
        size=Size(kinds=_COUNT, usual="0.022", least=0.0),
        acts={Site.RAW: _rescaled},
        fits=in_counts,
    ),
    Fault(
        name="integer-overflow",
        meaning="the program multiplies by this in 16 bits before it divides by the number of codes",
        notes="F09, F11",
        size=Size(kinds=_COUNT, usual="255", least=1.0),
        acts={Site.RAW: _overflowed},
        fits=in_counts,
    ),
    Fault(
        name="integer-division",
        meaning="the program divides the reading less half by half in whole numbers, then takes it times 90",
        notes="F08",
        acts={Site.RAW: _divided},
        fits=_in_plain_counts,
    ),
    Fault(
        name="pin-number",
        meaning="the program scales the number of the pin instead of its reading",
        notes="F10",
        size=Size(kinds=_COUNT, usual="14", least=0.0, whole=True),
        acts={Site.RAW: _scaled_pin},
        fits=in_counts,
    ),
)
