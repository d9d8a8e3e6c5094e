"""A magnetic absolute sensor that sends its position as the length of a pulse in a frame of fixed clocks."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from anglewright.errors import Problem
from anglewright.links.absolute import TURN_KEYS, AbsolutePart
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import Port, PulsePort, Values
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseWidthPart(AbsolutePart):
    """A magnetic absolute sensor with a pulse-width output, timed by a clock of its own.

    Its clock is only good to some per cent and drifts with temperature, so the length of the pulse alone
    means little: pulse and frame share the clock, and their ratio does not depend on it.
    """

    kind: ClassVar[str] = "pulse-width"
    label: ClassVar[str] = "Pulse-width sensor"
    GOES_WITH: ClassVar[Mapping[str, str]] = {"wiring": "digital", "converter": "pulse-timer"}
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="positions",
            field="positions",
            meaning="positions that the sensor tells apart over one turn",
            least=16,
            most=1 << 20,
            default=4096,
        ),
        WholeKey(
            name="frame",
            field="frame_clocks",
            meaning="length of a whole frame, pulse and pause, in clocks of the sensor",
            least=17,
            most=1 << 21,
            default=4098,
        ),
        WholeKey(
            name="first",
            field="first_clocks",
            meaning="length of the pulse at position 0, in clocks of the sensor",
            least=0,
            most=1 << 20,
            default=1,
        ),
        QuantityKey(
            name="clock",
            field="clock_s",
            meaning="clock of the sensor, the time of one of its clocks",
            kinds=(Kind.TIME,),
            default="1 us ± 5 %",
            persistence=Persistence.CONDITION,
            above=0.0,
            cured_by="the ratio of pulse and frame",
        ),
        *TURN_KEYS,
    )
    positions: int
    frame_clocks: int
    first_clocks: int
    clock_s: Spread

    @property
    def positions_a_turn(self) -> int:
        """Positions that it tells apart over one turn. [1]"""
        return self.positions

    def sends(self, values: Values) -> PulsePort:
        """Its frame, in its own clocks, and the clock."""
        return PulsePort(
            positions=self.positions,
            frame_clocks=self.frame_clocks,
            first_clocks=self.first_clocks,
            clock_s=values["clock_s"],
        )

    def describe(self) -> str:
        """Its positions and its frame."""
        frame = 1e6 * self.clock_s.nominal * self.frame_clocks
        return f"Pulse width, {self.positions} positions, frame {frame:.4g} us"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A pulse that fills its frame, or a motion that one turn cannot tell."""
        longest = self.first_clocks + self.positions - 1
        if longest < self.frame_clocks:
            return AbsolutePart.objections(self, low, high, upstream)
        found = f"its longest pulse is {longest} clocks"
        limit = f"the frame ends after {self.frame_clocks}"
        return (Problem("sensor", found, limit, "Mend positions, first or frame."),)


PARTS = (PulseWidthPart,)
