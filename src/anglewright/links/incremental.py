"""An incremental sensor: two tracks of lines a quarter apart, to be counted from where the axis was homed."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.angles import TURN
from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.harmonics import UnknownWaves, angle_behind, waves_error
from anglewright.links.fields import ChoiceKey, Key, QuantityKey, TurnLimitKey, WholeKey
from anglewright.links.protocol import (
    Array,
    HomedPort,
    LinesPort,
    Number,
    Port,
    ReadingPort,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Incremental:
    """Turns of the shaft since the homing, to be counted in lines; it never comes round.

    `waves` holds the departure of the lines from their places, shape (..., 9). [rad] Where the axis was
    homed the counter was set, so that what the lines err there is taken off everywhere.
    """

    takes: ClassVar[Signal] = Signal.TURN
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    lines: int
    index: bool
    waves: Array
    jitter_rad: Numeric
    reading: Numeric

    @property
    def port(self) -> LinesPort:
        """The lines to be counted."""
        return LinesPort(lines=self.lines, index=self.index)

    @property
    def _at_home(self) -> Numeric:
        """What is taken off everywhere: the departure at home. [rad]

        The mean is zero on any disc, and carries the worst case: the limit here, its opposite at home.
        """
        return waves_error(self.waves, 0.0) - 2.0 * self.waves[..., 0]

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turns since the homing, from what was set there. [1]"""
        departure = waves_error(self.waves, u) - self._at_home + self.jitter_rad
        turns = self.reading + (np.asarray(u) + departure) / TURN
        return turns if np.ndim(turns) else float(turns)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn of the sensor since the homing. [rad]"""
        read = (np.asarray(y) - self.reading) * TURN + self._at_home - self.jitter_rad
        return angle_behind(read if np.ndim(read) else float(read), self.waves)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the turns. [1]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The turns since the homing."""
        reading = float(np.mean(self.reading))
        step = Step(
            symbol="s",
            meaning="turns of the sensor since the homing",
            formula="s_0 + dphi / 360",
            numbers={"s_0": reading, "dphi": float(np.degrees(u))},
            result=reading + u / TURN,
            unit="",
            source="practice",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class IncrementalPart:
    """An incremental sensor, optical, magnetic or capacitive; a counter behind it counts its lines.

    It says how far the shaft has turned and never where it is: the axis is homed after each start.
    """

    room: ClassVar[str] = "sensor"
    kind: ClassVar[str] = "incremental"
    label: ClassVar[str] = "Incremental sensor"
    GOES_WITH: ClassVar[Mapping[str, str]] = {"mount": "homed", "wiring": "digital", "converter": "counter"}
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="lines",
            field="lines",
            meaning="lines of one turn, on each of its two tracks",
            least=1,
            most=1_000_000,
            required=True,
            example=1024,
        ),
        ChoiceKey(
            name="index",
            field="index",
            meaning="whether a third track marks one place of each turn",
            choices=("no", "yes"),
            default="no",
        ),
        TurnLimitKey(
            name="line_error",
            field="waves",
            meaning="error of the places of the lines, the limit",
            default="0.2 deg",
        ),
        QuantityKey(
            name="edge_jitter",
            field="jitter_rad",
            meaning="jitter of an edge, fresh each time it is passed",
            kinds=(Kind.ANGLE,),
            persistence=Persistence.READING,
            shape=Shape.NORMAL,
            cured_by="averaging",
            tolerance=True,
            example="0.02 deg rms",
        ),
        TurnLimitKey(
            name="once_per_turn",
            field="eccentric",
            meaning="error of a disc or ring off its centre, once a turn",
            orders=(1,),
            sure=True,
            cured_by="a centred disc, or a second head half a turn apart",
            example="0.5 deg",
        ),
        QuantityKey(
            name="top_rate",
            field="top_rate_hz",
            meaning="highest rate of lines on one track",
            kinds=(Kind.FREQUENCY,),
            above=0.0,
            example="100 kHz",
        ),
    )
    lines: int
    waves: UnknownWaves
    index: str = "no"
    jitter_rad: Spread | None = None
    eccentric: UnknownWaves | None = None
    top_rate_hz: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Errors of the lines, of the disc's centre, and the jitter of the edges."""
        return tuple(number for number in numbers_of(self) if number.field != "top_rate_hz")

    def link(self, values: Values, upstream: Port) -> Incremental:
        """The sensor with plain numbers."""
        if not isinstance(upstream, ReadingPort):
            raise RigError(
                Problem("sensor", "an incremental sensor must follow a mount", "", "Put a mount before it.")
            )
        waves = values["waves"] + values["eccentric"] if "eccentric" in values else values["waves"]
        return Incremental(
            lines=self.lines,
            index=self.index == "yes",
            waves=waves,
            jitter_rad=values.get("jitter_rad", 0.0),
            reading=upstream.reading,
        )

    def describe(self) -> str:
        """Its lines, and its index where it has one."""
        return f"Incremental, {self.lines} lines" + (", index" if self.index == "yes" else "")

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A mount that is not homed, or a homing onto an index that is not there."""
        if not isinstance(upstream, HomedPort):
            found = "an incremental sensor forgets where it is when it loses its supply, and is never homed"
            remedy = 'Write kind = "homed" in the mount, with the mark it is homed at.'
            return (Problem("sensor", found, "", remedy),)
        if upstream.onto_index and self.index == "no":
            remedy = 'Write index = "yes" if the sensor has one, else onto = "switch" in the mount.'
            return (Problem("sensor", "the homing ends at an index, and it has none", "", remedy),)
        return ()


PARTS = (IncrementalPart,)
