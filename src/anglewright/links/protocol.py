"""What every link and every part must be, and what one link lets the next one know."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from typing import Any, ClassVar, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric, Thevenin
from anglewright.errors import Problem
from anglewright.links.fields import Key, LimitKey, QuantityKey, StagesKey, TableKey, TurnLimitKey
from anglewright.links.signals import (
    NO_INDEX,
    NO_PULSES,
    ONE_AT_A_TIME,
    ONE_SIGNAL,
    ONE_TRACK,
    PULSES,
    SAME_WORD,
    WIPER,
    WORD_NAMES,
    SignalWire,
    track_wires,
    word_wires,
)
from anglewright.quantities.spread import Persistence
from anglewright.steps import Step

Array: TypeAlias = NDArray[np.float64]
State: TypeAlias = Array | None
Values: TypeAlias = Mapping[str, Any]
"""Plain numbers for a part's fields: floats, or arrays whose leading axis is virtual builds."""


class Signal(Enum):
    """What travels between two links."""

    POSITION = "position of the axis"
    SHAFT = "angle of the sensor-side shaft"
    TURN = "turn of the sensor since it was clamped"
    OUTPUT = "share of the sensor's full output"
    VOLTAGE = "voltage at the pin"
    CODE = "code of the converter"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Port:
    """What a link lets the next one know, beside the signal itself."""

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """Wires of a sensor with this port, feed and ground apart, in the order of the connector."""
        return ONE_SIGNAL

    @property
    def wire_notes(self) -> tuple[str, ...]:
        """What to mind about these wires: how they are named, what is read with one of them open."""
        return ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ClampedPort(Port):
    """Where the moving side stood when the sensor was clamped: a position, then a shaft angle. [m or rad]

    `rotary` is False where it moves along a line; `endless` is True where the motion has no ends.
    """

    at: Numeric
    rotary: bool = True
    endless: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReadingPort(Port):
    """What the sensor read when it was clamped, as a share of full output. [1]

    `endless` is True where the motion has no ends.
    """

    reading: Numeric
    endless: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HomedPort(ReadingPort):
    """What the sensor reads where it is homed after each start, and whether its index ends the homing. [1]"""

    onto_index: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TrackPort(Port):
    """A resistive track to be fed from both ends, and the resistance of its wiper. [ohm]"""

    track_ohm: Numeric
    wiper_ohm: Numeric = 0.0

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """The wiper's."""
        return WIPER


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class VoltagePort(Port):
    """A driven output: its levels at share 0 and 1, as shares of the feed, behind a resistance. [1, ohm]"""

    low: Numeric
    high: Numeric
    source_ohm: Numeric


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WordPort(Port):
    """A position sent as a word: how many positions it tells apart, how late it is. [1, s]

    It is put together from the words of so many `senders`, each asked by a select of its own.
    """

    positions: int
    delay_s: Numeric = 0.0
    senders: int = 1

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """Data and clock, shared by all senders, and a select for each: trade terms of synchronous serial."""
        return word_wires(self.senders)

    @property
    def wire_notes(self) -> tuple[str, ...]:
        """Every word is a position, so that a broken wire only shows by what it does not do."""
        shared = (ONE_AT_A_TIME,) if self.senders > 1 else ()
        return (WORD_NAMES, *shared, SAME_WORD)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PulsePort(Port):
    """A position sent as the length of a pulse in a frame, in the sensor's own clocks. [1, s]

    The pulse lasts `first_clocks` at position 0 and one clock more for each position.
    """

    positions: int
    frame_clocks: int
    first_clocks: int
    clock_s: Numeric

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """The one that the pulses come over."""
        return PULSES

    @property
    def wire_notes(self) -> tuple[str, ...]:
        """No pulse comes."""
        return NO_PULSES


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LinesPort(Port):
    """Two tracks of lines a quarter apart, to be counted; and whether there is an index once a turn. [1]"""

    lines: int
    index: bool = False

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """One for each track: A, B, and the index where there is one."""
        return track_wires(index=self.index)

    @property
    def wire_notes(self) -> tuple[str, ...]:
        """With one track alone there is no direction."""
        return (ONE_TRACK, NO_INDEX) if self.index else (ONE_TRACK,)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FeedPort(Port):
    """The feed of the sensor, for a converter that refers to it, and the pin behind the wiring. [V, F]

    `nominal_v` is the feed as stated; `pin` gives voltage and source resistance at the pin for a share of the
    sensor's full output, and `pin_f` is the capacitor there.
    """

    feed_v: Numeric
    nominal_v: float
    pin: Callable[[Numeric], Thevenin]
    pin_f: Numeric


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeRange:
    """The codes that a converter can give, both ends included. [count]

    `period` codes on, an endless sensor reads the same again; None where nothing wraps. `ends_valid` is
    False where the end codes mean "at or beyond".
    """

    low: int
    high: int
    period: int | None = None
    ends_valid: bool = False

    @classmethod
    def of_bits(cls, bits: int) -> "CodeRange":
        """The codes of an analogue-to-digital converter of so many bits. [count]"""
        return cls(low=0, high=2**bits - 1)

    @property
    def lowest_valid(self) -> int:
        """The lowest code that can be a position. [count]"""
        return self.low + (not self.ends_valid)

    @property
    def highest_valid(self) -> int:
        """The highest code that can be a position. [count]"""
        return self.high - (not self.ends_valid)

    @property
    def count(self) -> int:
        """How many codes there are. [1]"""
        return self.high - self.low + 1


class Variate(Protocol):
    """A number that is not known exactly, or a family of shapes that is not."""

    @property
    def persistence(self) -> Persistence:
        """How long it stays what it is."""

    @property
    def dof(self) -> float:
        """Degrees of freedom of its standard uncertainty. [1]"""

    @property
    def nominal(self) -> Any:
        """What the data sheet states. [SI]"""

    @property
    def mean(self) -> Any:
        """Middle of what it can be. [SI]"""

    @property
    def is_exact(self) -> bool:
        """True where it has no spread."""

    @property
    def nudges(self) -> tuple[tuple[Any, Any], ...]:
        """Values one standard uncertainty down and up, one pair a mode. [SI]"""

    @property
    def limits(self) -> tuple[Any, Any]:
        """Values at both limits. [SI]"""

    def draw(self, rng: "np.random.Generator", shape: tuple[int, ...]) -> Array:
        """Random values, one per virtual build or reading. [SI]"""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Number:
    """One number of a part, as the budget, the builds and the simulator see it."""

    room: str
    field: str
    name: str
    meaning: str
    cured_by: str
    variate: Variate

    @property
    def key(self) -> str:
        """Room and name as in the rig file: ``coupling.play``."""
        return f"{self.room}.{self.name}"


class Link(Protocol):
    """One element of the measuring chain with plain numbers, or arrays of them over virtual builds."""

    takes: ClassVar[Signal]
    gives: ClassVar[Signal]

    @property
    def port(self) -> Port:
        """What the next link may know."""

    @property
    def sense(self) -> int:
        """+1 where the output rises with the input, -1 where it falls."""

    @property
    def lag(self) -> Numeric:
        """Half the free motion, in units of the input; zero for a link without memory of direction."""

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Output at rest for an input reached from a side: +1 rising, -1 falling, 0 the middle."""

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Input that rests at an output, approached from a side."""

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Outputs along a path of inputs `u` at times `t` [s], and the state it ends in."""

    def explain(self, u: float) -> tuple[Step, ...]:
        """The arithmetic from an input to the output, for nominal numbers."""


class Part(Protocol):
    """What a user buys and builds: the numbers of one link, with their spreads."""

    room: ClassVar[str]
    kind: ClassVar[str]
    label: ClassVar[str]
    KEYS: ClassVar[tuple[Key, ...]]

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Every number of the part that a budget can nudge."""

    def link(self, values: Values, upstream: Port) -> Link:
        """The link with these numbers, behind what the link before it lets it know."""

    def describe(self) -> str:
        """The part in a few words, for the chain strip."""

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """What makes it impossible to take inputs from `low` to `high`: nothing, or sentences."""


def flat_keys(keys: tuple[Key, ...], *, prefix: str = "") -> Iterator[tuple[str, Key]]:
    """Every key with its dotted name, tables inside the table opened."""
    for key in keys:
        if isinstance(key, TableKey):
            yield from flat_keys(key.keys, prefix=f"{prefix}{key.name}.")
        else:
            yield f"{prefix}{key.name}", key


def settings_of(part: Part) -> Iterator[tuple[str, Any]]:
    """Dotted name and value of all that a part was given; parts in a row inside it are opened."""
    for name, key in flat_keys(part.KEYS):
        value = getattr(part, key.field)
        if not isinstance(key, StagesKey):
            yield name, value
            continue
        for place, stage in enumerate(value, start=1):
            yield f"{name}.{place}.kind", stage.kind
            yield from ((f"{name}.{place}.{inner}", held) for inner, held in settings_of(stage))


def numbers_of(part: Part) -> tuple[Number, ...]:
    """Every number of a part that carries a spread or could."""
    found = []
    for name, key in _number_keys(type(part)):
        variate = getattr(part, key.field)
        if variate is not None:
            found.append(
                Number(
                    room=part.room,
                    field=key.field,
                    name=name,
                    meaning=key.meaning,
                    cured_by=key.cured_by,
                    variate=variate,
                )
            )
    return tuple(found)


@cache
def _number_keys(kind: type[Part]) -> tuple[tuple[str, QuantityKey | LimitKey | TurnLimitKey], ...]:
    """Dotted name and key of all that can be a number in a kind of part, found once a kind."""
    wanted = (QuantityKey, LimitKey, TurnLimitKey)
    return tuple((name, key) for name, key in flat_keys(kind.KEYS) if isinstance(key, wanted))
