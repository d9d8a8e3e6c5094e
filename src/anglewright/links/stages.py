"""Drives in a row from the axis to the sensor: a rack, then gears; each with its tolerances and play."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import Key, StagesKey
from anglewright.links.protocol import Array, Link, Number, Part, Port, Signal, State, Values
from anglewright.links.ratio import ConstantRatio
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Series:
    """Drives one behind the other; the turn that leaves one is the motion of the next.

    All but the last have a constant ratio, so that the play at the axis is the same everywhere.
    """

    takes: ClassVar[Signal] = Signal.POSITION
    gives: ClassVar[Signal] = Signal.SHAFT
    links: tuple[Link, ...]

    @property
    def port(self) -> Port:
        """What the last drive lets the next link know."""
        return self.links[-1].port

    @property
    def sense(self) -> int:
        """The senses of all of them together."""
        return int(np.prod([link.sense for link in self.links]))

    @property
    def lag(self) -> Numeric:
        """Half the free motion at the axis: each stage's, divided by the ratio before it. [m or rad]"""
        total: Numeric = 0.0
        ratio: Numeric = 1.0
        for link in self.links:
            total = total + link.lag / ratio
            ratio = ratio * link.ratio if isinstance(link, ConstantRatio) else ratio
        return total

    def _with_sides(self, side: Numeric) -> Iterator[tuple[Link, Numeric]]:
        for link in self.links:
            yield link, side
            side = side * link.sense

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the sensor-side shaft. [rad]"""
        for link, seen in self._with_sides(side):
            u = link.forward(u, side=seen)
        return u

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Position of the axis. [m or rad]"""
        for link, seen in reversed(list(self._with_sides(side))):
            y = link.backward(y, side=seen)
        return y

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor-side shaft; the state holds the stages' on its last axis. [rad]"""
        memories = []
        for place, link in enumerate(self.links):
            u, memory = link.follow(u, t, None if state is None else state[..., place])
            memories.append(np.asarray(memory))
        return u, np.stack(np.broadcast_arrays(*memories), axis=-1)

    def explain(self, u: float) -> tuple[Step, ...]:
        """The arithmetic of each stage in turn."""
        steps: list[Step] = []
        for place, link in enumerate(self.links, start=1):
            told = link.explain(u)
            steps += [replace(step, meaning=f"stage {place}, {step.meaning}") for step in told]
            u = float(np.mean(link.forward(u)))
        return tuple(steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class StagesPart:
    """Two or more drives in a row; the numbers of a stage are named with its place, `stages.1.backlash`."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "stages"
    label: ClassVar[str] = "Stages"
    KEYS: ClassVar[tuple[Key, ...]] = (
        StagesKey(
            name="stages",
            field="stages",
            meaning="drives from the axis to the sensor, each with its kind",
            room="drive",
            required=True,
            example=[
                {"kind": "rack", "teeth": 20, "module": "1 mm"},
                {"kind": "gears", "gears": [20, 60]},
            ],
        ),
    )
    stages: tuple[Part, ...]

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The numbers of every stage, named with its place."""
        return tuple(
            _placed(number, place)
            for place, stage in enumerate(self.stages, start=1)
            for number in stage.numbers
        )

    def link(self, values: Values, upstream: Port) -> Series:
        """The stages with plain numbers, each behind the one before."""
        links: list[Link] = []
        for place, stage in enumerate(self.stages, start=1):
            before = _prefix(place)
            own = {
                name.removeprefix(before): each for name, each in values.items() if name.startswith(before)
            }
            links.append(stage.link(own, upstream))
            upstream = links[-1].port
        return Series(links=tuple(links))

    def describe(self) -> str:
        """The stages by their kinds."""
        return ", then ".join(stage.describe() for stage in self.stages)

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """What the first stage that objects has to say, or one of varying ratio that is not the last."""
        for place, stage in enumerate(self.stages, start=1):
            found = stage.objections(low, high, upstream)
            if found:
                return tuple(_at_stage(each, place) for each in found)
            link = stage.link({number.field: number.variate.nominal for number in stage.numbers}, upstream)
            if place < len(self.stages) and not isinstance(link, ConstantRatio):
                return (_not_last(stage, place),)
            low, high, upstream = float(link.forward(low)), float(link.forward(high)), link.port
        return ()


def _prefix(place: int) -> str:
    return f"stages.{place}."


def _at_stage(problem: Problem, place: int) -> Problem:
    """The same problem, with the place of the stage that has it."""
    where = f"{problem.where}.{_prefix(place)[:-1]}"
    return Problem(where, problem.found, problem.limit, problem.remedy)


def _placed(number: Number, place: int) -> Number:
    name, comma, rest = number.meaning.partition(",")
    return replace(
        number,
        field=_prefix(place) + number.field,
        name=_prefix(place) + number.name,
        meaning=f"{name} in stage {place}{comma}{rest}",
    )


def _not_last(stage: Part, place: int) -> Problem:
    found = f"a {stage.kind} stands before another stage, and its ratio varies"
    remedy = "Put it last, or merge what follows it into the sensor's shaft."
    return Problem(f"drive.{_prefix(place)[:-1]}", found, "only the last stage may vary", remedy)


PARTS = (StagesPart,)
