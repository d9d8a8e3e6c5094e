"""The measured motion itself: the first link, which only knows where the sensor was clamped."""

from dataclasses import dataclass, field
from typing import ClassVar

from anglewright.angles import TURN
from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import ChoiceKey, FlagKey, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

_POSITION = (Kind.ANGLE, Kind.LENGTH)
_SPEED = (Kind.ANGULAR_SPEED, Kind.LINEAR_SPEED)
_STRENGTH = (Kind.TORQUE, Kind.FORCE)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Motion:
    """Position in, position out; `clamped_at` is where the axis really stood at the clamping. [m or rad]"""

    takes: ClassVar[Signal] = Signal.POSITION
    gives: ClassVar[Signal] = Signal.POSITION
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    clamped_at: Numeric
    rotary: bool = True

    @property
    def port(self) -> Port:
        """Where the axis stood when the sensor was clamped."""
        return ClampedPort(at=self.clamped_at, rotary=self.rotary)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """The position itself. [m or rad]"""
        return u

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """The position itself. [m or rad]"""
        return y

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """The path itself. [m or rad]"""
        return u, state

    def explain(self, u: float) -> tuple[Step, ...]:
        """Nothing to compute yet."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionPart:
    """What moves, between which positions, how fast, and from which side it comes to rest.

    `clamp` is the mark at which the sensor was clamped, with how well the axis stands there; the rig
    puts it in from the mount's table. `rotary` is False for a motion along a line.
    """

    room: ClassVar[str] = "motion"
    kind: ClassVar[str] = "motion"
    label: ClassVar[str] = "Motion"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="from", field="from_", meaning="low end of the working range", kinds=_POSITION, required=True
        ),
        QuantityKey(
            name="to", field="to", meaning="high end of the working range", kinds=_POSITION, required=True
        ),
        QuantityKey(name="speed", field="speed", meaning="top speed", kinds=_SPEED, above=0.0),
        QuantityKey(
            name="strength",
            field="strength",
            meaning="most that the motor can do at the axis, a torque or along a line a force",
            kinds=_STRENGTH,
            above=0.0,
            example="12 N m",
        ),
        ChoiceKey(
            name="positive",
            field="positive",
            meaning="which way positive is",
            choices=("up", "down", "out", "in", "left", "right", "clockwise", "counter-clockwise", "forward"),
            default="up",
        ),
        ChoiceKey(
            name="settles",
            field="settles",
            meaning="from which side the axis comes to rest before it is read",
            choices=("two-sided", "one-sided", "dithered"),
            default="two-sided",
        ),
        FlagKey(
            name="endless",
            field="endless",
            meaning="it turns round and round; the range is one whole turn",
            example=True,
        ),
    )
    from_: Spread
    to: Spread
    speed: Spread | None = None
    strength: Spread | None = None
    positive: str = "up"
    settles: str = "two-sided"
    endless: bool = False
    clamp: Spread = field(default_factory=lambda: Spread(nominal=0.0))
    clamp_name: str = ""
    rotary: bool = True

    @property
    def low(self) -> float:
        """Low end of the working range. [m or rad]"""
        return self.from_.nominal

    @property
    def high(self) -> float:
        """High end of the working range. [m or rad]"""
        return self.to.nominal

    @property
    def middle(self) -> float:
        """Middle of the working range. [m or rad]"""
        return (self.low + self.high) / 2.0

    @property
    def numbers(self) -> tuple[Number, ...]:
        """How well the axis stood at the mark where the sensor was clamped."""
        where = f"place of the mark '{self.clamp_name}' at the clamping"
        return (
            Number(
                room=self.room,
                field="clamp",
                name="clamp",
                meaning=where,
                cured_by="zeroing",
                variate=self.clamp,
            ),
        )

    def link(self, values: Values, upstream: Port) -> Motion:
        """The first link of the chain."""
        return Motion(clamped_at=values["clamp"], rotary=self.rotary)

    def describe(self) -> str:
        """Which way is positive."""
        return f"positive {self.positive}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """An endless motion whose range is not one whole turn."""
        if not self.endless or (self.rotary and abs(high - low - TURN) < 1e-6):
            return ()
        found = "it is endless, and its range is not one whole turn"
        return (Problem("motion", found, "", 'Write from = "-180 deg", to = "180 deg".'),)


def at_mark(at: Spread) -> Spread:
    """The clamp's place from a mark: its `within` as a tolerance that lasts as long as the build."""
    return Spread(nominal=at.nominal, below=at.below, above=at.above, persistence=Persistence.BUILD)


PARTS = (MotionPart,)
