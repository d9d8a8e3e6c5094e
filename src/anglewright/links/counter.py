"""The counter behind two tracks of lines: turns since the homing to a whole number of counts."""

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import (
    Array,
    CodeRange,
    LinesPort,
    Number,
    Port,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

DECODES = (1, 2, 4)  # edges of a line that are counted: one, both of one track, all of both [1]
ALL_EDGES = 4
MOST_BITS = 32


def edge_rate(turns_per_s: float, *, lines: int, decode: int = ALL_EDGES) -> float:
    r"""Counts that an incremental sensor gives in a second.

    Parameters
    ----------
    turns_per_s : float
        Speed of the sensor's shaft. [1/s]
    lines : int
        Lines of one turn. [1]
    decode : int
        Counts of one line: 1, 2 or 4. [1]

    Returns
    -------
    float
        Counts in a second. [1/s]

    Notes
    -----
    :math:`f = d \cdot l \cdot n`; one track alone gives :math:`l n`.

    References
    ----------
    practice

    Examples
    --------
    1024 lines at 3000 rpm are 51.2 kHz on each track, and four counts for each period of it:

    >>> edge_rate(3000 / 60, lines=1024, decode=1), edge_rate(3000 / 60, lines=1024)
    (51200.0, 204800.0)
    """
    return decode * lines * turns_per_s


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Counter:
    """Counts since the homing, in a register that goes round; `per_turn` counts are one turn.

    `phase_counts` is where within its count the homing left the sensor, 0 to 1. With `rounded` false the
    mean count of a sensor homed anywhere within a count, which goes on beyond the ends of the register.
    """

    takes: ClassVar[Signal] = Signal.OUTPUT
    gives: ClassVar[Signal] = Signal.CODE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    width: int
    per_turn: int
    phase_counts: Numeric
    rounded: bool = True

    @property
    def port(self) -> Port:
        """Nothing that a code could need."""
        return Port()

    @property
    def codes(self) -> CodeRange:
        """The codes of a signed register; every one can be a position. [count]"""
        half = 2 ** (self.width - 1)
        return CodeRange(low=-half, high=half - 1, period=2 * half, ends_valid=True)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Count of a number of turns since the homing. [count]"""
        exact = self.per_turn * np.asarray(u) + self.phase_counts
        count = self._held(np.floor(exact)) if self.rounded else exact - 0.5
        return count if np.ndim(count) else float(count)

    def _held(self, count: Array) -> Array:
        """What a register of this width holds after so many counts. [count]"""
        half = 2.0 ** (self.width - 1)
        return np.asarray(np.mod(count + half, 2.0 * half) - half)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turns in the middle of a count, the register not having gone round. [1]"""
        return (y + 0.5 - self.phase_counts) / self.per_turn

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the counts. [count]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The count, before the register goes round."""
        phase = float(np.mean(self.phase_counts))
        step = Step(
            symbol="n",
            meaning="counts since the homing",
            formula="floor(c * s + p)",
            numbers={"c": float(self.per_turn), "s": u, "p": phase},
            result=float(np.floor(self.per_turn * u + phase)),
            unit="count",
            source="practice",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class CounterPart:
    """A counter of the edges of two tracks, signed, of so many bits; it starts anew at each homing."""

    room: ClassVar[str] = "converter"
    kind: ClassVar[str] = "counter"
    label: ClassVar[str] = "Counter"
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="width",
            field="width",
            meaning="bits of the signed counter that the controller reads",
            least=8,
            most=MOST_BITS,
            default=MOST_BITS,
            kind=Kind.BITS,
        ),
        WholeKey(
            name="decode",
            field="decode",
            meaning="edges of a line that are counted: 1, both of one track, or all 4",
            least=min(DECODES),
            most=max(DECODES),
            default=ALL_EDGES,
        ),
        QuantityKey(
            name="home_phase",
            field="phase_counts",
            meaning="place within a count at which the homing leaves the sensor, 0 to 1",
            kinds=(Kind.COUNT,),
            default="0.5 LSB ± 0.5 LSB",
            persistence=Persistence.CONDITION,
            least=0.0,
            cured_by="more lines, or all four edges",
        ),
        QuantityKey(
            name="top_rate",
            field="top_rate_hz",
            meaning="highest rate of edges that the counter follows",
            kinds=(Kind.FREQUENCY,),
            above=0.0,
            example="1 MHz",
        ),
    )
    width: int
    phase_counts: Spread
    decode: int = ALL_EDGES
    top_rate_hz: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Where within a count the homing leaves the sensor."""
        return tuple(number for number in numbers_of(self) if number.field != "top_rate_hz")

    def link(self, values: Values, upstream: Port) -> Counter:
        """The counter with plain numbers, behind two tracks of lines."""
        if not isinstance(upstream, LinesPort):
            found = "a counter must follow a sensor with lines to count"
            raise RigError(Problem("converter", found, "", "Change the sensor's or converter's kind."))
        return Counter(
            width=self.width,
            per_turn=self.decode * upstream.lines,
            phase_counts=values["phase_counts"],
        )

    def describe(self) -> str:
        """Width and counts of a line."""
        return f"{self.width} bit counter, {self.decode} counts a line"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Edges that a line does not have, or a motion of more counts than the register holds."""
        if self.decode not in DECODES:
            found = f"{self.decode} edges of a line cannot be counted"
            return (Problem("converter", found, "", "Write decode = 1, 2 or 4."),)
        if not isinstance(upstream, LinesPort):
            return ()
        counter = Counter(width=self.width, per_turn=self.decode * upstream.lines, phase_counts=0.5)
        smooth = replace(counter, rounded=False)
        first, last = sorted(round(float(smooth.forward(turns))) for turns in (low, high))
        codes = counter.codes
        if codes.low <= first and last <= codes.high:
            return ()
        found = f"the motion takes the count from {first} to {last}"
        limit = f"the {self.width}-bit counter goes round at {codes.low} and {codes.high}"
        return (Problem("converter", found, limit, _remedy(first, last)),)


def _remedy(first: int, last: int) -> str:
    """The narrowest register that holds the counts, or fewer of them."""
    bits = max(-first - 1, last).bit_length() + 1
    home = "home at a mark nearer to the middle of the range"
    if bits > MOST_BITS:
        return f"Take fewer lines or a smaller ratio, or {home}."
    return f"Take a counter of {bits} bits or more, or {home}."


PARTS = (CounterPart,)
