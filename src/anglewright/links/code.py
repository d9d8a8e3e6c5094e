"""What the controller computes: the model that turns a code into a position."""

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.links.protocol import Array, Port, Signal, State
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CodeLine:
    """Straight line: position = offset + slope * code; `offset` is the position at code 0. [m or rad]

    `rotary` says in which unit it explains itself.
    """

    takes: ClassVar[Signal] = Signal.CODE
    gives: ClassVar[Signal] = Signal.POSITION
    lag: ClassVar[float] = 0.0
    offset: float
    slope: float
    rotary: bool = True

    @property
    def port(self) -> Port:
        """Nothing follows."""
        return Port()

    @property
    def sense(self) -> int:
        """Sign of the slope."""
        return 1 if self.slope > 0 else -1

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Position of a code. [m or rad]"""
        return self.offset + self.slope * u

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a position, not rounded. [count]"""
        return (y - self.offset) / self.slope

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the positions. [m or rad]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The line itself, in degrees or millimetres."""
        size, unit = (math.pi / 180.0, "deg") if self.rotary else (1e-3, "mm")
        step = Step(
            symbol="q",
            meaning="position that the controller computes",
            formula="offset + slope * n",
            numbers={"offset": self.offset / size, "slope": self.slope / size, "n": u},
            result=float(self.forward(u)) / size,
            unit=unit,
            source="derived",
        )
        return (step,)
