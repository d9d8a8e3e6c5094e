"""The mount: where on the axis the sensor was clamped, what it read there, and which way it turns."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ChoiceKey, Key, QuantityKey
from anglewright.links.protocol import (
    Array,
    ClampedPort,
    Number,
    Port,
    ReadingPort,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

DIRECTIONS = {"rises": 1, "falls": -1}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mount:
    """Turn of the sensor since it was clamped: direction times the shaft's turn, plus the clamping error."""

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.TURN
    lag: ClassVar[float] = 0.0
    direction: int
    clamped_at_rad: Numeric
    error_rad: Numeric
    reading: Numeric

    @property
    def port(self) -> Port:
        """What the sensor read at the clamping."""
        return ReadingPort(reading=self.reading)

    @property
    def sense(self) -> int:
        """The direction in which the sensor was mounted."""
        return self.direction

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn of the sensor since it was clamped. [rad]"""
        return self.direction * (u - self.clamped_at_rad) + self.error_rad

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the shaft. [rad]"""
        return self.direction * (y - self.error_rad) + self.clamped_at_rad

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor's turn. [rad]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The turn since the clamping."""
        step = Step(
            symbol="dphi",
            meaning="turn of the sensor since it was clamped",
            formula="d * (phi - phi_c) + e",
            numbers={
                "d": float(self.direction),
                "phi": float(np.degrees(u)),
                "phi_c": float(np.degrees(np.mean(self.clamped_at_rad))),
                "e": float(np.degrees(np.mean(self.error_rad))),
            },
            result=float(np.degrees(np.mean(self.forward(u)))),
            unit="deg",
            source="derived",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampPart:
    """A sensor clamped by hand at a mark of the axis, where it read `reading`, give or take `within`."""

    room: ClassVar[str] = "mount"
    kind: ClassVar[str] = "clamp"
    label: ClassVar[str] = "Mount"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="reading",
            field="reading",
            meaning="reading at the clamping, as a share of the sensor's full output",
            kinds=(Kind.FRACTION,),
            default="50 %",
            least=0.0,
            cured_by="zeroing",
        ),
        QuantityKey(
            name="within",
            field="error_rad",
            meaning="clamping error, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="3 deg",
            cured_by="zeroing",
            tolerance=True,
        ),
        ChoiceKey(
            name="output",
            field="output",
            meaning="what the sensor's output does when the axis moves the positive way",
            choices=tuple(DIRECTIONS),
            default="rises",
        ),
    )
    reading: Spread
    error_rad: Spread
    output: str = "rises"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The reading at the clamping and its error."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Mount:
        """The mount with plain numbers."""
        if not isinstance(upstream, ClampedPort):
            raise RigError(Problem("mount", "it must follow a coupling", "", "Put a coupling before it."))
        return Mount(
            direction=DIRECTIONS[self.output],
            clamped_at_rad=upstream.at,
            error_rad=values["error_rad"],
            reading=values["reading"],
        )

    def describe(self) -> str:
        """What the output does when the axis moves the positive way."""
        return f"Output {self.output}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (ClampPart,)
