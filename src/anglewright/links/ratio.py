"""A drive of constant ratio, with play and stretch: what gears, racks, chains, belts and screws share."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric, nonzero
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, ChoiceKey, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Port, Signal, State
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence
from anglewright.quantities.units import Kind
from anglewright.steps import Step

TURN = 2.0 * float(np.pi)  # one turn [rad]

SEAT_KEYS: tuple[Key, ...] = (
    ChoiceKey(
        name="sensor_at",
        field="sensor_at",
        meaning="where the sensor sits: at the joint, or on the motor's side of the drive",
        choices=("joint", "motor"),
        default="joint",
    ),
    ChoiceKey(
        name="flank",
        field="flank",
        meaning="what decides on which flank the drive rests: friction, or gravity that always pulls one way",
        choices=("friction", "gravity"),
        default="friction",
    ),
)
"""Keys of a drive that may carry the load.

At the joint the drive turns the sensor alone, and the sensor's own friction decides which flank it rests
on: the play is two-sided. On the motor's side the load goes through the drive. Gravity that always pulls the
same way keeps it on one flank, and the play is not felt at all. This holds only as long as the load does not
change its sign: an arm that swings through its upright position changes flanks there by the whole play, and
its flank is ``friction``.
"""


def flat_backlash(where: str, *, default: str) -> QuantityKey:
    """Key of the backlash of a drive that turns a length into an angle, as a length."""
    return QuantityKey(
        name="backlash",
        field="backlash_m",
        meaning=f"backlash of the {where}, total, along the motion",
        kinds=(Kind.LENGTH,),
        default=default,
        least=0.0,
        cured_by=ONE_SIDED,
    )


def stretch_key(what: str) -> QuantityKey:
    """Key of the stretch under load, as a length either way."""
    return QuantityKey(
        name="stretch",
        field="stretch_m",
        meaning=f"stretch of the {what}, under the loads of the work, along its run",
        kinds=(Kind.LENGTH,),
        default="0 mm",
        persistence=Persistence.CONDITION,
        cured_by="the sensor at the joint, or a stiffer drive",
        tolerance=True,
    )


def felt_half(half: Numeric, *, sensor_at: str, flank: str) -> Numeric:
    """Half the play as far as the sensor can feel it: none on a flank that gravity holds. [as given]"""
    return 0.0 if (sensor_at, flank) == ("motor", "gravity") else half


def seat_problems(sensor_at: str, flank: str) -> tuple[Problem, ...]:
    """A flank held by gravity, with a sensor that the load does not pull on."""
    if (sensor_at, flank) != ("joint", "gravity"):
        return ()
    found = "gravity is said to hold the flank, and at the joint the sensor's own friction decides"
    remedy = 'Write sensor_at = "motor" if the load goes through this drive, or leave flank out.'
    return (Problem("drive", found, "", remedy),)


def behind_motion(upstream: Port) -> Numeric:
    """Where the moving side stood when the sensor was clamped; a drive must follow something that moves.

    Parameters
    ----------
    upstream : Port
        What the link before lets this one know.

    Returns
    -------
    float or array
        Position or angle. [m or rad]

    Raises
    ------
    RigError
        The link before is no motion.
    """
    if not isinstance(upstream, ClampedPort):
        raise RigError(Problem("drive", "it must follow the motion", "", "Put the drive first in the chain."))
    return upstream.at


def takes_angle(upstream: Port) -> tuple[Problem, ...]:
    """A motion along a line, before a drive that nothing but a turn can move."""
    if not isinstance(upstream, ClampedPort) or upstream.rotary:
        return ()
    found = "the motion is a length, and this drive takes an angle"
    remedy = "Take a drive for lengths: rack, chain, belt, drum, screw or draw-wire."
    return (Problem("drive", found, "", remedy),)


def takes_length(upstream: Port) -> tuple[Problem, ...]:
    """A turning motion, before a drive that nothing but a length can move."""
    if not isinstance(upstream, ClampedPort) or not upstream.rotary:
        return ()
    found = "the motion is an angle, and this drive takes a length"
    remedy = "Take a drive for angles: direct, gears, four-bar, or a chain or belt with axis_teeth."
    return (Problem("drive", found, "", remedy),)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Figure:
    """The arithmetic behind one number of a drive, in the units that people read."""

    symbol: str
    meaning: str
    formula: str
    numbers: Mapping[str, Numeric]
    result: Numeric
    unit: str
    source: str

    def step(self) -> Step:
        """The arithmetic as a step, arrays at their mean."""
        return Step(
            symbol=self.symbol,
            meaning=self.meaning,
            formula=self.formula,
            numbers={name: float(np.mean(value)) for name, value in self.numbers.items()},
            result=float(np.mean(self.result)),
            unit=self.unit,
            source=self.source,
        )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ConstantRatio:
    """`ratio` of shaft angle to position, with half the free motion and the stretch given at the axis.

    `ratio` is in rad/rad, or in rad/m where the motion is a length; `half_play` and `stretch` are then
    lengths too. `figures` are what the ratio was worked out from, the ratio or the travel per turn last.
    """

    takes: ClassVar[Signal] = Signal.POSITION
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    ratio: Numeric
    half_play: Numeric
    clamped_at: Numeric
    stretch: Numeric = 0.0
    rotary: bool = True
    figures: tuple[Figure, ...] = ()

    @property
    def port(self) -> Port:
        """Where the sensor-side shaft stood when the sensor was clamped."""
        return ClampedPort(at=self.ratio * self.clamped_at)

    @property
    def lag(self) -> Numeric:
        """Half the free motion, at the axis. [m or rad]"""
        return self.half_play

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the sensor-side shaft. [rad]"""
        turned = self.ratio * (u + self.stretch if nonzero(self.stretch) else u)
        return lagged(turned, half=self.ratio * self.half_play, side=side)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Position of the axis. [m or rad]"""
        return y / self.ratio - self.stretch + self.half_play * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor-side shaft, flank by flank. [rad]"""
        path, state = follow_play(u, state, half=self.half_play)
        return self.ratio * (path + self.stretch), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The ratio, or the travel of one turn, then the angle of the shaft."""
        steps = tuple(figure.step() for figure in self.figures)
        source = steps[-1].source if steps else "derived"
        return (*steps, self._turn(u, source))

    def _turn(self, u: float, source: str) -> Step:
        """Angle of the shaft from a position in degrees or millimetres."""
        shown = float(np.degrees(1.0)) if self.rotary else 1e3
        stretch, ratio = float(np.mean(self.stretch)) * shown, float(np.mean(self.ratio))
        factor = {"N": ratio} if self.rotary else {"s": TURN / ratio * shown}
        moved = "(q + e)" if stretch else "q"
        return Step(
            symbol="phi",
            meaning="angle of the sensor-side shaft",
            formula=f"N * {moved}" if self.rotary else f"360 * {moved} / s",
            numbers=factor | {"q": u * shown} | ({"e": stretch} if stretch else {}),
            result=float(np.degrees(np.mean(self.forward(u)))),
            unit="deg",
            source=source,
        )


def travel_figure(formula: str, numbers: Mapping[str, Numeric], *, travel_m: Numeric, source: str) -> Figure:
    """The arithmetic of the travel per turn, lengths in millimetres.

    Parameters
    ----------
    formula : str
        Expression in the names of `numbers`.
    numbers : mapping
        What is put in; lengths in millimetres.
    travel_m : float or array
        The travel per turn that it gives. [m]
    source : str
        Key of the register of sources.

    Returns
    -------
    Figure
        To be shown with symbol s.
    """
    meaning = "travel per turn of the sensor-side shaft"
    return Figure(
        symbol="s",
        meaning=meaning,
        formula=formula,
        numbers=numbers,
        result=1e3 * travel_m,
        unit="mm",
        source=source,
    )
