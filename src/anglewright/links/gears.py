"""Gears from the axis to the sensor: a ratio of teeth, and backlash."""

from dataclasses import dataclass
from math import prod
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey, TeethKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


def ratio_of(teeth: tuple[int, ...]) -> float:
    """Turns of the sensor per turn of the axis, from teeth in pairs axis to sensor. [1]

    Examples
    --------
    48 teeth on the joint driving 24 on the sensor:

    >>> ratio_of((48, 24))
    2.0
    """
    return prod(teeth[::2]) / prod(teeth[1::2])


def backlash_angle(backlash_m: Numeric, *, module_m: Numeric, teeth: int) -> Numeric:
    r"""Free turn of a gear whose mate is held. [rad]

    Parameters
    ----------
    backlash_m : float or array
        Circumferential backlash at the pitch circle, total. [m]
    module_m : float or array
        Module: pitch diameter over number of teeth. [m]
    teeth : int
        Teeth of the gear that turns. [1]

    Returns
    -------
    float or array
        Total free turn. [rad]

    Notes
    -----
    :math:`2 j / d` with the pitch diameter :math:`d = m z`.

    References
    ----------
    iso54

    Examples
    --------
    0.1 mm on a pitch circle of 50 mm is 0.229 deg:

    >>> round(float(np.degrees(backlash_angle(0.1e-3, module_m=1e-3, teeth=50))), 5)
    0.22918
    """
    return 2.0 * backlash_m / (module_m * teeth)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class GearTrain:
    """`ratio` turns of the sensor per turn of the axis; `half_play_rad` is half the free turn of the axis."""

    takes: ClassVar[Signal] = Signal.POSITION
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    ratio: Numeric
    half_play_rad: Numeric
    clamped_at_rad: Numeric
    teeth: tuple[int, ...] = ()

    @property
    def port(self) -> Port:
        """Where the sensor-side shaft stood when the sensor was clamped."""
        return ClampedPort(at=self.ratio * self.clamped_at_rad)

    @property
    def lag(self) -> Numeric:
        """Half the free turn, at the axis. [rad]"""
        return self.half_play_rad

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the sensor-side shaft. [rad]"""
        return self.ratio * lagged(u, half=self.half_play_rad, side=side)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the axis. [rad]"""
        return y / self.ratio + self.half_play_rad * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor-side shaft, flank by flank. [rad]"""
        path, state = follow_play(u, state, half=self.half_play_rad)
        return self.ratio * path, state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The ratio from the teeth, then the angle of the shaft."""
        names = [f"z{k + 1}" for k in range(len(self.teeth))]
        over = " * ".join(names[::2]), " * ".join(names[1::2])
        train = Step(
            symbol="N",
            meaning="turns of the sensor per turn of the axis",
            formula=f"({over[0]}) / ({over[1]})",
            numbers=dict(zip(names, map(float, self.teeth), strict=True)),
            result=float(np.mean(self.ratio)),
            unit="",
            source="iso54",
        )
        degrees = float(np.degrees(u))
        turn = Step(
            symbol="phi",
            meaning="angle of the sensor-side shaft",
            formula="N * q",
            numbers={"N": train.result, "q": degrees},
            result=float(np.degrees(self.forward(u))),
            unit="deg",
            source="iso54",
        )
        return (train, turn)


def _behind_motion(upstream: Port) -> Numeric:
    if not isinstance(upstream, ClampedPort):
        raise RigError(Problem("drive", "it must follow the motion", "", "Put the drive first in the chain."))
    return upstream.at


def _along_a_line(upstream: Port) -> tuple[Problem, ...]:
    if not isinstance(upstream, ClampedPort) or upstream.rotary:
        return ()
    found = "the motion is a length, and this drive takes an angle"
    remedy = "Describe the shaft that the length turns: give from and to as angles."
    return (Problem("drive", found, "", remedy),)


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsPart:
    """A train of spur gears; teeth from the axis to the sensor, in pairs that mesh."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "gears"
    label: ClassVar[str] = "Gears"
    KEYS: ClassVar[tuple[Key, ...]] = (
        TeethKey(name="gears", field="teeth", meaning="teeth from the axis to the sensor", required=True),
        QuantityKey(
            name="backlash",
            field="backlash_m",
            meaning="backlash of the gears, total, at the pitch circle of the axis gear",
            kinds=(Kind.LENGTH,),
            default="0.1 mm",
            persistence=Persistence.BUILD,
            least=0.0,
            cured_by=ONE_SIDED,
        ),
        QuantityKey(
            name="module",
            field="module_m",
            meaning="module of the axis gear",
            kinds=(Kind.LENGTH,),
            default="1 mm",
            above=0.0,
        ),
    )
    teeth: tuple[int, ...]
    backlash_m: Spread
    module_m: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Backlash and module."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> GearTrain:
        """The train with plain numbers, behind a rotary motion."""
        free = backlash_angle(values["backlash_m"], module_m=values["module_m"], teeth=self.teeth[0])
        return GearTrain(
            ratio=ratio_of(self.teeth),
            half_play_rad=free / 2.0,
            clamped_at_rad=_behind_motion(upstream),
            teeth=self.teeth,
        )

    def describe(self) -> str:
        """The teeth."""
        return "Gears " + " : ".join(str(count) for count in self.teeth)

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion along a line: nothing here turns it into a turn of the shaft."""
        return _along_a_line(upstream)


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectPart:
    """The sensor sits on the axis itself: one turn per turn, nothing that could play."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "direct"
    label: ClassVar[str] = "Direct"
    KEYS: ClassVar[tuple[Key, ...]] = ()

    @property
    def numbers(self) -> tuple[Number, ...]:
        """None."""
        return ()

    def link(self, values: Values, upstream: Port) -> GearTrain:
        """A train of one to one without backlash."""
        return GearTrain(ratio=1.0, half_play_rad=0.0, clamped_at_rad=_behind_motion(upstream), teeth=(1, 1))

    def describe(self) -> str:
        """One to one."""
        return "On the axis itself"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion along a line: nothing here turns it into a turn of the shaft."""
        return _along_a_line(upstream)


PARTS = (GearsPart, DirectPart)
