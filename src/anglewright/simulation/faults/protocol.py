"""What a fault is: its name, what it means, how large it is, and at which place of the chain it acts."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from anglewright.links.protocol import Array, LinesPort, Link, Port, PulsePort, Signal, TrackPort, VoltagePort
from anglewright.quantities.units import Kind
from anglewright.rig import Axis, at_nominal, realise


class Site(Enum):
    """Where in the chain a fault takes hold of what passes; the value says it in words."""

    NOISE = "noise of a reading"
    DRIVEN = "shaft that leaves the drive"
    SHAFT = "shaft that enters the sensor"
    TURN = "turn of the sensor in its body"
    OUTPUT = "output of the sensor"
    CIRCUIT = "wires and pin"
    INPUT = "input of the converter"
    CODE = "code"
    RAW = "what the user's program makes of the code"
    REFERENCE = "reference"
    TIME = "time stamp"
    ROWS = "rows of the log"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """What a fault may see: the machine, times and true positions of the signal, its own size and start.

    `t` (N,) [s]; `q` (N,) [m or rad]; `size` in SI units; `since_s` [s]. `chance` is the fault's own source
    of random numbers.
    """

    axis: Axis
    links: tuple[Link, ...]
    t: Array
    q: Array
    size: float
    since_s: float
    chance: "np.random.Generator"

    @property
    def on(self) -> NDArray[np.bool_]:
        """Where the fault has begun, (N,)."""
        return np.asarray(self.t >= self.since_s)

    def link(self, room: str) -> Link:
        """The secret machine's link in a room of the chain."""
        return self.links[self.axis.index_of(room)]

    def struck(self, share: float) -> NDArray[np.bool_]:
        """Rows hit by chance since the fault began, a share of them, (N,)."""
        return np.asarray(self.on & (self.chance.random(len(self.t)) < share))


SignalAct: TypeAlias = Callable[[Array, Scene], Array]
"""What passes at a site, changed."""

CircuitAct: TypeAlias = Callable[[Link, Scene], Link]
"""The wires with the fault in them; they take over from the sound ones when the fault begins."""

RowsAct: TypeAlias = Callable[[Scene], NDArray[np.intp]]
"""Which rows are written, by number, in their order."""

ColumnsAct: TypeAlias = Callable[[Scene], Mapping[str, Array]]
"""Columns that the log gets beside the raw reading, by name, (N,) each."""

Fits: TypeAlias = Callable[[Axis, float], str]
"""Why a fault of a size cannot be given to an axis; nothing where it can."""


def fits_all(axis: Axis, size: float) -> str:
    """Nothing: it can be given to every axis."""
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How a fault's size is written, what it is where none is given, and between which values it lies. [SI]

    With `whole` it is a whole number.
    """

    kinds: tuple[Kind, ...]
    usual: str
    least: float | None = None
    most: float | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fault:
    """One fault: `acts` on what passes at a site, on the `circuit`, on the `rows`; may add `columns`.

    `notes` are the rows of the project's field notes that it is taken from. An `event` begins in the middle
    of the run where no time is given, anything else at its start. With `reads` the size is the number of
    codes that go into one reading.
    """

    name: str
    meaning: str
    notes: str
    size: Size | None = None
    event: bool = False
    acts: Mapping[Site, SignalAct] = field(default_factory=dict)
    circuit: CircuitAct | None = None
    rows: RowsAct | None = None
    columns: ColumnsAct | None = None
    fits: Fits = fits_all
    reads: bool = False

    @property
    def sites(self) -> tuple[Site, ...]:
        """Every place where it takes hold."""
        own = (*self.acts, *((Site.CIRCUIT,) if self.circuit else ()), *((Site.ROWS,) if self.rows else ()))
        return tuple(site for site in Site if site in own)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Planted:
    """A fault given to a bench: its size in SI units and when it begins. [s]

    `since_s` is None where the fault is to begin at its usual time.
    """

    fault: Fault
    size: float = 0.0
    since_s: float | None = None

    def begins(self, end_s: float) -> float:
        """When it begins in a run that ends at a time. [s]"""
        if self.since_s is not None:
            return self.since_s
        return end_s / 2.0 if self.fault.event else 0.0


def sensor_port(axis: Axis) -> Port:
    """What the nominal sensor of an axis lets the wiring know."""
    return realise(axis, at_nominal).links[axis.index_of("sensor")].port


def wrap_counts(axis: Axis) -> float | None:
    """After how many codes the reading of an axis comes round again.

    Parameters
    ----------
    axis : Axis
        The axis.

    Returns
    -------
    float or None
        None where it does not come round. [count]
    """
    codes, port = axis.codes, sensor_port(axis)
    if codes.period is not None:
        return float(codes.period)
    if isinstance(port, VoltagePort):
        return float(np.mean(port.high - port.low)) * codes.count
    return None


def wraps(axis: Axis, size: float) -> str:
    """Nothing where the reading comes round again, else that it does not."""
    return "" if wrap_counts(axis) else "its readings do not wrap"


def counts_lines(axis: Axis, size: float) -> str:
    """Nothing where lines are counted, else that they are not."""
    return "" if isinstance(sensor_port(axis), LinesPort) else "its sensor's lines are not counted"


def sends_pulses(axis: Axis, size: float) -> str:
    """Nothing where the sensor sends pulses, else that it does not."""
    return "" if isinstance(sensor_port(axis), PulsePort) else "its sensor sends no pulses"


def has_track(axis: Axis, size: float) -> str:
    """Nothing where the sensor is a resistive track, else that it is none."""
    return "" if isinstance(sensor_port(axis), TrackPort) else "its sensor is no resistive track"


def gives_volts(axis: Axis, size: float) -> str:
    """Nothing where a voltage is converted, else that none is."""
    volts = realise(axis, at_nominal).links[-1].takes is Signal.VOLTAGE
    return "" if volts else "its converter takes no voltage"
