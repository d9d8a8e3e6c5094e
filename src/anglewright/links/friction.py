"""A friction wheel or tape between two shafts: a ratio that no tooth keeps."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FrictionWheel:
    """Shaft to shaft by two rims that roll on each other; the ratio is driving over driven diameter."""

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    driving_m: Numeric
    driven_m: Numeric
    clamped_at_rad: Numeric

    @property
    def ratio(self) -> Numeric:
        """Turns of the far side for one of the near side. [1]"""
        return self.driving_m / self.driven_m

    @property
    def port(self) -> Port:
        """Where the far side stood when the sensor was clamped."""
        return ClampedPort(at=self.ratio * self.clamped_at_rad)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the far side. [rad]"""
        return self.ratio * u

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the near side. [rad]"""
        return y / self.ratio

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the far side. [rad]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The angle of the far side from the two diameters."""
        step = Step(
            symbol="psi",
            meaning="angle of the far side, as long as nothing slips",
            formula="phi * D_driving / D_driven",
            numbers={
                "phi": float(np.degrees(u)),
                "D_driving": 1e3 * float(np.mean(self.driving_m)),
                "D_driven": 1e3 * float(np.mean(self.driven_m)),
            },
            result=float(np.degrees(np.mean(self.forward(u)))),
            unit="deg",
            source="practice",
        )
        return (step,)


def _diameter(which: str, of: str) -> QuantityKey:
    return QuantityKey(
        name=which,
        field=f"{which}_m",
        meaning=f"diameter of the {which} wheel, on the {of} shaft, where the two roll",
        kinds=(Kind.LENGTH,),
        required=True,
        above=0.0,
        example="40 mm ± 0.1 mm",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FrictionPart:
    """A friction wheel, or a tape round two wheels: no play, a ratio known as well as its diameters.

    Slip is a fault and not a spread: it adds up without limit, so that no budget can hold it. Two wheels that
    touch turn opposite ways: say so with the mount's ``output``.
    """

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "friction"
    label: ClassVar[str] = "Friction drive"
    KEYS: ClassVar[tuple[Key, ...]] = (_diameter("driving", "axis-side"), _diameter("driven", "sensor's"))
    driving_m: Spread
    driven_m: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The two diameters."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> FrictionWheel:
        """The wheels with plain numbers."""
        if not isinstance(upstream, ClampedPort):
            raise RigError(Problem("coupling", "it must follow a drive", "", "Put a drive before it."))
        return FrictionWheel(
            driving_m=values["driving_m"], driven_m=values["driven_m"], clamped_at_rad=upstream.at
        )

    def describe(self) -> str:
        """Its ratio."""
        return f"Friction drive, {self.driving_m.nominal / self.driven_m.nominal:.4g} turns a turn, may slip"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (FrictionPart,)
