"""Wires that carry pulses or words: what is sent arrives as it was sent."""

from dataclasses import dataclass
from typing import ClassVar

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import (
    Array,
    LinesPort,
    Number,
    Port,
    PulsePort,
    Signal,
    State,
    Values,
    WordPort,
)
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DigitalWiring:
    """A cable for levels that are only low or high; `port` is what the sensor sends, handed on."""

    takes: ClassVar[Signal] = Signal.OUTPUT
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    port: Port

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """What is sent. [1]"""
        return u

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """What was sent. [1]"""
        return y

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of what is sent. [1]"""
        return u, state

    def explain(self, u: float) -> tuple[Step, ...]:
        """Nothing: it changes nothing."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DigitalPart:
    """Feed and cable of a sensor that sends pulses or words."""

    room: ClassVar[str] = "wiring"
    kind: ClassVar[str] = "digital"
    label: ClassVar[str] = "Wiring"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="feed",
            field="feed_v",
            meaning="feed of the sensor",
            kinds=(Kind.VOLTAGE,),
            default="3.3 V",
            persistence=Persistence.CONDITION,
            above=0.0,
            cured_by="a regulated feed",
        ),
        QuantityKey(
            name="length",
            field="lead_length_m",
            meaning="length of the cable, one way",
            kinds=(Kind.LENGTH,),
            least=0.0,
            example="2 m",
        ),
        WholeKey(
            name="gauge",
            field="lead_gauge",
            meaning="American wire gauge of the cable's copper",
            least=10,
            most=36,
            default=24,
            only_with="length",
        ),
    )
    feed_v: Spread
    lead_length_m: Spread | None = None
    lead_gauge: int | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """None: no reading depends on them."""
        return ()

    def link(self, values: Values, upstream: Port) -> DigitalWiring:
        """The cable, handing on what the sensor sends."""
        if not isinstance(upstream, WordPort | PulsePort | LinesPort):
            found = "digital wiring must follow a sensor that sends pulses or words"
            raise RigError(Problem("wiring", found, "", "Change the wiring's or the sensor's kind."))
        return DigitalWiring(port=upstream)

    def describe(self) -> str:
        """Its length, where it is known."""
        if self.lead_length_m is None:
            return "Digital"
        return f"Digital, {self.lead_length_m.nominal:g} m of cable"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (DigitalPart,)
