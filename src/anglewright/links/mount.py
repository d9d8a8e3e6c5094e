"""The mount: where on the axis the sensor was clamped, what it read there, and which way it turns."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric, nonzero
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, ChoiceKey, Key, QuantityKey
from anglewright.links.protocol import (
    Array,
    ClampedPort,
    HomedPort,
    Number,
    Port,
    ReadingPort,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

DIRECTIONS = {"rises": 1, "falls": -1}
SIDES = {"rising": 1, "falling": -1}
HALF_TURN = float(np.pi)  # [rad]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mount:
    """Turn of the sensor since it was clamped: direction times the shaft's turn, plus the clamping error.

    Where its body gives, the shaft drags it along by `half_give_rad` either way before the sensor turns.
    """

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.TURN
    since: ClassVar[str] = "clamped"
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
        shift = self.error_rad - self.direction * self.clamped_at_rad
        return shift + u if self.direction == 1 else shift - u

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn of the sensor since it was clamped. [rad]"""
        return self._turned(lagged(u, half=self.half_give_rad, side=side))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the shaft. [rad]"""
        return self.direction * (y - self.error_rad) + self.clamped_at_rad + self.half_give_rad * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor's turn. [rad]"""
        if not nonzero(self.half_give_rad):
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
            meaning=f"turn of the sensor since it was {self.since}",
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


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HomedMount(Mount):
    """Turn of the sensor since it was homed: a mount whose zero is found anew after each start."""

    since: ClassVar[str] = "homed"
    onto_index: bool = False

    @property
    def port(self) -> HomedPort:
        """What the sensor reads where it is homed."""
        return HomedPort(reading=self.reading, onto_index=self.onto_index)


def _reading_key(where: str, *, default: str) -> QuantityKey:
    return QuantityKey(
        name="reading",
        field="reading",
        meaning=f"reading at the {where}, as a share of the sensor's full output",
        kinds=(Kind.FRACTION,),
        default=default,
        least=0.0,
        cured_by="zeroing",
    )


_BODY_KEYS: tuple[Key, ...] = (
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
    ChoiceKey(
        name="body",
        field="body",
        meaning="how the sensor's body is held: fixed, or only kept from turning along and free to float",
        choices=("not said", "fixed", "held against rotation"),
        default="not said",
    ),
    QuantityKey(
        name="shaft",
        field="shaft_m",
        meaning="diameter of the sensor's shaft",
        kinds=(Kind.LENGTH,),
        above=0.0,
        example="6 mm",
    ),
    QuantityKey(
        name="bore",
        field="bore_m",
        meaning="bore of what sits on the sensor's shaft",
        kinds=(Kind.LENGTH,),
        above=0.0,
        example="6 mm",
    ),
)
_FITTING = {"shaft_m", "bore_m"}  # no reading depends on them


def _half_give(values: Values) -> Numeric:
    """How far the body gives, either way. [rad]"""
    play: Numeric = values.get("body_play_rad", 0.0)
    give: Numeric = values.get("deflection_rad", 0.0)
    return play / 2.0 + give


def _behind_coupling(upstream: Port) -> Numeric:
    """Where the shaft stood at the clamping; a mount must follow a coupling. [rad]"""
    if not isinstance(upstream, ClampedPort):
        raise RigError(Problem("mount", "it must follow a coupling", "", "Put a coupling before it."))
    return upstream.at


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
        _reading_key("clamping", default="50 %"),
        QuantityKey(
            name="within",
            field="error_rad",
            meaning="clamping error, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="3 deg",
            cured_by="zeroing",
            tolerance=True,
        ),
        *_BODY_KEYS,
    )
    reading: Spread
    error_rad: Spread
    output: str = "rises"
    body_play_rad: Spread | None = None
    deflection_rad: Spread | None = None
    body: str = "not said"
    shaft_m: Spread | None = None
    bore_m: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The reading at the clamping, its error, and what the body gives."""
        return tuple(number for number in numbers_of(self) if number.field not in _FITTING)

    def link(self, values: Values, upstream: Port) -> Mount:
        """The mount with plain numbers."""
        return Mount(
            direction=DIRECTIONS[self.output],
            clamped_at_rad=_behind_coupling(upstream),
            error_rad=values["error_rad"],
            reading=values["reading"],
            half_give_rad=_half_give(values),
        )

    def describe(self) -> str:
        """What the output does when the axis moves the positive way."""
        return f"Output {self.output}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HomedPart:
    """A sensor that counts from a place found anew after each start, at a mark of the axis.

    The axis runs onto a switch at the mark from one side. Where it finds it lies `within` so much of the mark
    for as long as the machine is not taken apart, and comes back within `repeatability`, either way, at each
    homing. An index of the sensor ends the homing better than the switch, which then only tells one turn of
    the sensor from the next. Until the axis is homed its code means nothing.

    Play is taken up on the side of the homing. An axis that comes to rest from either side keeps all of its
    play; one that always comes from the side of the homing feels none.
    """

    room: ClassVar[str] = "mount"
    kind: ClassVar[str] = "homed"
    label: ClassVar[str] = "Homing"
    needs_homing: ClassVar[bool] = True
    KEYS: ClassVar[tuple[Key, ...]] = (
        _reading_key("homing place", default="0 %"),
        QuantityKey(
            name="within",
            field="error_rad",
            meaning="distance of the homing place from its mark, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="3 deg",
            cured_by="zeroing",
            tolerance=True,
        ),
        QuantityKey(
            name="repeatability",
            field="repeatability_rad",
            meaning="repeatability of the homing, either way, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="1 deg",
            persistence=Persistence.CONDITION,
            cured_by="homing onto an index",
            tolerance=True,
        ),
        ChoiceKey(
            name="onto",
            field="onto",
            meaning="what ends the homing: a switch, or the sensor's index behind it",
            choices=("switch", "index"),
            default="switch",
        ),
        ChoiceKey(
            name="side",
            field="side",
            meaning="from which side the axis runs onto it; play is taken up on that side",
            choices=tuple(SIDES),
            default="rising",
        ),
        *_BODY_KEYS,
    )
    reading: Spread
    error_rad: Spread
    repeatability_rad: Spread
    onto: str = "switch"
    side: str = "rising"
    output: str = "rises"
    body_play_rad: Spread | None = None
    deflection_rad: Spread | None = None
    body: str = "not said"
    shaft_m: Spread | None = None
    bore_m: Spread | None = None

    @property
    def homing_side(self) -> int:
        """+1 where the homing runs the positive way, -1 where the negative. [1]"""
        return SIDES[self.side]

    @property
    def onto_index(self) -> bool:
        """True where the sensor's index ends the homing."""
        return self.onto == "index"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The reading at home, how far home lies from its mark, how well it is found, what the body gives.

        Onto an index the switch's repeatability is not felt.
        """
        silent = _FITTING | {"repeatability_rad"} if self.onto_index else _FITTING
        return tuple(number for number in numbers_of(self) if number.field not in silent)

    def link(self, values: Values, upstream: Port) -> HomedMount:
        """The mount with plain numbers."""
        return HomedMount(
            direction=DIRECTIONS[self.output],
            clamped_at_rad=_behind_coupling(upstream),
            error_rad=values["error_rad"] + values.get("repeatability_rad", 0.0),
            reading=values["reading"],
            half_give_rad=_half_give(values),
            onto_index=self.onto_index,
        )

    def describe(self) -> str:
        """What ends the homing, from which side, and what the output does."""
        return f"Homed {self.side} onto the {self.onto}, output {self.output}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A switch that repeats too badly to tell one turn, and so one index, from the next."""
        reach = self.repeatability_rad.limits[1]
        if not self.onto_index or reach < HALF_TURN:
            return ()
        found = f"the switch repeats within {np.degrees(reach):.4g} deg of the sensor's shaft"
        limit = "an index comes once in 360 deg and cannot be told from the next beyond 180 deg"
        return (Problem("mount", found, limit, "Take a better switch, or a lower ratio."),)


PARTS = (ClampPart, HomedPart)
