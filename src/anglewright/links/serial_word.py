"""What reads a serial sensor: the word is the code."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.delay import follow_delay
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import (
    Array,
    CodeRange,
    Number,
    Port,
    Signal,
    State,
    Values,
    WordPort,
    numbers_of,
)
from anglewright.links.readiness import READY_KEYS
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WordReader:
    """Code of a word with so many positions; with `rounded` false the mean code, for nudging."""

    takes: ClassVar[Signal] = Signal.OUTPUT
    gives: ClassVar[Signal] = Signal.CODE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    positions: int
    delay_s: Numeric = 0.0
    rounded: bool = True

    @property
    def port(self) -> Port:
        """Nothing that a code could need."""
        return Port()

    @property
    def codes(self) -> CodeRange:
        """Every word is a position, and after the last comes the first. [count]"""
        return CodeRange(low=0, high=self.positions - 1, period=self.positions, ends_valid=True)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a share of the turn. [count]"""
        exact = self.positions * np.asarray(u)
        code = np.clip(np.floor(exact), 0.0, self.positions - 1.0) if self.rounded else exact - 0.5
        return code if np.ndim(code) else float(code)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share in the middle of a code. [1]"""
        return (y + 0.5) / self.positions

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the codes, each as late as the line is. [count]"""
        late, state = follow_delay(u, t, state, delay_s=self.delay_s, held=True)
        return np.asarray(self.forward(late)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The word, as a whole number."""
        count = float(self.positions)
        code = Step(
            symbol="n",
            meaning="word of the sensor, the code",
            formula="floor(Z * y)",
            numbers={"Z": count, "y": u},
            result=float(np.floor(count * u)),
            unit="count",
            source="derived",
        )
        return (code,)


@dataclass(frozen=True, slots=True, kw_only=True)
class SerialWordPart:
    """A serial line on which the controller reads the sensor's word, whole or its upper bits."""

    room: ClassVar[str] = "converter"
    kind: ClassVar[str] = "serial-word"
    label: ClassVar[str] = "Serial line"
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="bits",
            field="bits",
            meaning="upper bits of the word that the controller keeps, where it does not keep all",
            least=4,
            most=24,
            kind=Kind.BITS,
        ),
        QuantityKey(
            name="delay",
            field="delay_s",
            meaning="delay of the line, from the sensor's word to the controller's program",
            kinds=(Kind.TIME,),
            least=0.0,
            cured_by="a faster line",
            example="1 ms",
        ),
        *READY_KEYS,
    )
    ready_s: Spread
    good_frames: int
    bits: int | None = None
    delay_s: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The delay, where there is one."""
        return tuple(number for number in numbers_of(self) if number.field == "delay_s")

    def link(self, values: Values, upstream: Port) -> WordReader:
        """The line with plain numbers."""
        if not isinstance(upstream, WordPort):
            found = "a serial line must follow a sensor that sends words"
            remedy = "Change the converter's or the sensor's kind; the wiring between them is digital."
            raise RigError(Problem("converter", found, "", remedy))
        kept = upstream.positions if self.bits is None else 2**self.bits
        return WordReader(positions=kept, delay_s=values.get("delay_s", 0.0))

    def describe(self) -> str:
        """How much of the word is kept."""
        return "Serial word" if self.bits is None else f"Serial word, upper {self.bits} bits"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """More bits than the word has."""
        if self.bits is None or not isinstance(upstream, WordPort) or 2**self.bits <= upstream.positions:
            return ()
        word = int(upstream.positions).bit_length() - 1
        found, limit = f"{self.bits} bits are kept", f"the sensor's word has {word}"
        return (Problem("converter", found, limit, "Leave bits out to keep the whole word."),)


PARTS = (SerialWordPart,)
