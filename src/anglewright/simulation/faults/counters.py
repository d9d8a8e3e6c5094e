"""Faults of counting: counts that get lost, a register that is too narrow, a start that forgets the turns."""

import numpy as np

from anglewright.links.protocol import Array, PulsePort
from anglewright.quantities.units import Kind
from anglewright.rig import Axis
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size, counts_lines, sends_pulses


def _fewer(codes: Array, scene: Scene) -> Array:
    """Of every change since the fault began a share is not counted."""
    steps = np.diff(codes, prepend=codes[:1]) * np.where(scene.on, 1.0 - scene.size, 1.0)
    return np.asarray(codes[0] + np.trunc(np.cumsum(steps)))


def _fewer_rising(codes: Array, scene: Scene) -> Array:
    """A share is lost on the way up alone: out and back does not come back to where it began."""
    steps = np.diff(codes, prepend=codes[:1])
    steps = np.where(scene.on & (steps > 0.0), steps * (1.0 - scene.size), steps)
    return np.asarray(codes[0] + np.trunc(np.cumsum(steps)))


def _from_zero(codes: Array, scene: Scene) -> Array:
    first = codes[int(np.argmax(scene.on))]
    return np.where(scene.on, codes - first, codes)


def registered(codes: Array, *, bits: int, signed: bool) -> Array:
    """Codes as a register of so many bits holds them, signed or not. [count]

    Parameters
    ----------
    codes : array
        Codes. [count]
    bits : int
        Width of the register. [1]
    signed : bool
        Whether its upper half stands for numbers below zero.

    Returns
    -------
    array
        What it holds. [count]

    References
    ----------
    derived

    Examples
    --------
    One more than a signed register of 16 bits can hold, and one more than eight bits:

    >>> registered(np.array([32768.0]), bits=16, signed=True)
    array([-32768.])
    >>> registered(np.array([256.0]), bits=8, signed=False)
    array([0.])
    """
    whole = 2.0**bits
    low = whole / 2.0 if signed else 0.0
    return np.asarray(np.mod(codes + low, whole) - low)


def _too_narrow(codes: Array, scene: Scene) -> Array:
    signed = scene.axis.codes.low < 0
    return np.where(scene.on, registered(codes, bits=int(scene.size), signed=signed), codes)


def _can_overflow(axis: Axis, size: float) -> str:
    codes = axis.codes
    bits = (codes.count - 1).bit_length()
    return "" if size < bits else f"its codes fit into {bits} bits"


def _high_time_alone(codes: Array, scene: Scene) -> Array:
    """The pulse is longer by the clock's error, and its frame is not measured."""
    port = scene.link("sensor").port
    assert isinstance(port, PulsePort)
    wrong = np.floor((codes + port.first_clocks) * (1.0 + scene.size)) - port.first_clocks
    return np.where(scene.on, np.clip(wrong, scene.axis.codes.low, scene.axis.codes.high), codes)


FAULTS = (
    Fault(
        name="lost-counts",
        meaning="such a share of the counts is missed, both ways alike: 1/16 leaves 15/16",
        notes="F20",
        size=Size(kinds=(Kind.FRACTION,), usual="1/16", least=0.0, most=1.0),
        acts={Site.CODE: _fewer},
        fits=counts_lines,
    ),
    Fault(
        name="lost-rising",
        meaning="such a share of the counts is missed going up: out and back does not come back",
        notes="F20",
        size=Size(kinds=(Kind.FRACTION,), usual="1 %", least=0.0, most=1.0),
        acts={Site.CODE: _fewer_rising},
        fits=counts_lines,
    ),
    Fault(
        name="power-cut",
        meaning="the power fails for a moment and the count begins again at zero",
        notes="F26",
        event=True,
        acts={Site.CODE: _from_zero},
        fits=counts_lines,
    ),
    Fault(
        name="counter-wrap",
        meaning="the count is kept in a variable of so many bits",
        notes="list 18",
        size=Size(kinds=(Kind.BITS, Kind.COUNT), usual="8 bit", least=4.0, most=32.0, whole=True),
        acts={Site.CODE: _too_narrow},
        fits=_can_overflow,
    ),
    Fault(
        name="high-time",
        meaning="a pulse is measured without its frame, and the sensor's clock is off by such a share",
        notes="F28",
        size=Size(kinds=(Kind.FRACTION,), usual="5 %", least=-0.5, most=0.5),
        acts={Site.CODE: _high_time_alone},
        fits=sends_pulses,
    ),
)
