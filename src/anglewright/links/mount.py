"""The mount: where on the axis the sensor was clamped, what it read there, and which way it turns."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, ChoiceKey, Key, QuantityKey
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
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

DIRECTIONS = {"rises": 1, "falls": -1}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mount:
    """Turn of the sensor since it was clamped: direction times the shaft's turn, plus the clamping error.

    Where its body gives, the shaft drags it along by `half_give_rad` either way before the sensor turns.
    """

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.TURN
    direction: int
    clamped_at_rad: Numeric
    error_rad: Numeric
    reading: Numeric
    half_give_rad: Numeric = 0.0

    @property
    def port(self) -> Port:
        """What the sensor read at the clamping."""
        return ReadingPort(reading=self.reading)

    @property
    def sense(self) -> int:
        """The direction in which the sensor was mounted."""
        return self.direction

    @property
    def lag(self) -> Numeric:
        """How far the body gives, either way. [rad]"""
        return self.half_give_rad

    def _turned(self, u: Numeric) -> Numeric:
        return self.direction * (u - self.clamped_at_rad) + self.error_rad

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn of the sensor since it was clamped. [rad]"""
        return self._turned(lagged(u, half=self.half_give_rad, side=side))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the shaft. [rad]"""
        return self.direction * (y - self.error_rad) + self.clamped_at_rad + self.half_give_rad * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor's turn. [rad]"""
        if not np.any(self.half_give_rad):
            return np.asarray(self._turned(u)), state
        path, state = follow_play(u, state, half=self.half_give_rad)
        return np.asarray(self._turned(path)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The turn since the clamping, and how far the body gives where it does."""
        return (self._turn(u), *self._give())

    def _give(self) -> tuple[Step, ...]:
        half = float(np.degrees(np.mean(self.half_give_rad)))
        if half == 0.0:
            return ()
        step = Step(
            symbol="r",
            meaning="the sensor's body is dragged along so far, either way, before the sensor turns",
            formula="give / 2",
            numbers={"give": 2.0 * half},
            result=half,
            unit="deg",
            source="play-operator",
        )
        return (step,)

    def _turn(self, u: float) -> Step:
        return Step(
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ClampPart:
    """A sensor clamped by hand at a mark of the axis, where it read `reading`, give or take `within`.

    Its body is a link too: a loose nut or a locating tab out of its hole lets it turn by `body_play` in all,
    a weak bracket gives by `deflection` either way under the drag of the shaft. Both look like slip of the
    shaft; neither is there unless it is given.
    """

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
        QuantityKey(
            name="body_play",
            field="body_play_rad",
            meaning="play of the sensor's body, total, of a loose nut or a tab out of its hole",
            kinds=(Kind.ANGLE,),
            least=0.0,
            cured_by=ONE_SIDED,
            example="2 deg",
        ),
        QuantityKey(
            name="deflection",
            field="deflection_rad",
            meaning="give of the sensor's bracket, either way, under the drag of the shaft",
            kinds=(Kind.ANGLE,),
            least=0.0,
            cured_by=ONE_SIDED,
            example="0.5 deg",
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
    body_play_rad: Spread | None = None
    deflection_rad: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The reading at the clamping, its error, and what the body gives."""
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
            half_give_rad=values.get("body_play_rad", 0.0) / 2.0 + values.get("deflection_rad", 0.0),
        )

    def describe(self) -> str:
        """What the output does when the axis moves the positive way."""
        return f"Output {self.output}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (ClampPart,)
