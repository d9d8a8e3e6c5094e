"""Couplings from shaft to sensor: rigid, or with play between a flat and its bore."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Coupling:
    """Shaft to shaft with half the free turn `half_play_rad`; a rigid one has none."""

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    half_play_rad: Numeric
    clamped_at_rad: Numeric

    @property
    def port(self) -> Port:
        """Where the shaft stood when the sensor was clamped."""
        return ClampedPort(at=self.clamped_at_rad)

    @property
    def lag(self) -> Numeric:
        """Half the free turn. [rad]"""
        return self.half_play_rad

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the far side. [rad]"""
        return lagged(u, half=self.half_play_rad, side=side)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the near side. [rad]"""
        return y + self.half_play_rad * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the far side. [rad]"""
        return follow_play(u, state, half=self.half_play_rad)

    def explain(self, u: float) -> tuple[Step, ...]:
        """How far the far side may lag, as total free turn halved."""
        half = float(np.degrees(np.mean(self.half_play_rad)))
        if half == 0.0:
            return ()
        step = Step(
            symbol="r",
            meaning="the far side lags by half the free turn, either way",
            formula="play / 2",
            numbers={"play": 2.0 * half},
            result=half,
            unit="deg",
            source="play-operator",
        )
        return (step,)


def _behind(upstream: Port) -> Numeric:
    if not isinstance(upstream, ClampedPort):
        raise RigError(Problem("coupling", "it must follow a drive", "", "Put a drive before it."))
    return upstream.at


@dataclass(frozen=True, slots=True, kw_only=True)
class DBorePart:
    """A shaft with a flat in a bore with a flat; `play` is the total free turn at the sensor's shaft."""

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "d-bore"
    label: ClassVar[str] = "D-bore"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="play",
            field="play_rad",
            meaning="play of the coupling, total, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="4 deg",
            persistence=Persistence.BUILD,
            least=0.0,
            cured_by=ONE_SIDED,
        ),
    )
    play_rad: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The play."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The coupling with its play."""
        return Coupling(half_play_rad=values["play_rad"] / 2.0, clamped_at_rad=_behind(upstream))

    def describe(self) -> str:
        """Its kind."""
        return "D-bore"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RigidPart:
    """A clamp hub or another coupling without free turn."""

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "rigid"
    label: ClassVar[str] = "Rigid coupling"
    KEYS: ClassVar[tuple[Key, ...]] = ()

    @property
    def numbers(self) -> tuple[Number, ...]:
        """None: nothing in it can move."""
        return ()

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The coupling without play."""
        return Coupling(half_play_rad=0.0, clamped_at_rad=_behind(upstream))

    def describe(self) -> str:
        """Its kind."""
        return "Rigid, no play"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (DBorePart, RigidPart)
