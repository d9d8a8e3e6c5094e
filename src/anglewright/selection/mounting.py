"""Where to clamp the sensor's shaft: what it must read at a mark, and what to expect at the others."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

import numpy as np

from anglewright.angles import TURN
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.chain import Chain
from anglewright.errors import Problem, RangeError
from anglewright.links.motion import at_mark
from anglewright.links.protocol import Link
from anglewright.links.wiring import Wiring
from anglewright.quantities.spread import Spread
from anglewright.rig import Axis, at_nominal, realise


class Ends(Enum):
    """What lies at both ends of a sensor's output."""

    TRACK = "the end of the track"
    WRAP = "the wrap"
    NONE = "none: it counts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """What to read at a position of the axis [m or rad], and between which limits it should lie.

    `angle` is the sensor's, from where its output starts [rad], `share` of its output [1]; volts are those
    of a meter at the signal [V], None where the signal is no voltage; codes are the converter's [count].
    """

    position: float
    mark: str
    angle: float
    share: float
    code: int
    codes: tuple[int, int]
    volts: float | None = None
    volts_within: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Mounting:
    """An axis whose sensor is clamped at one of its marks, with nominal numbers.

    `full` is the shaft's turn from one end of the output to the other, for a sensor that counts one turn.
    `start` is the shaft's turn since the clamping at which the output starts. [rad]
    """

    axis: Axis
    mark: str
    ends: Ends
    full: float
    start: float
    chain: Chain
    links: dict[str, Link]

    @property
    def before_sensor(self) -> Chain:
        """The links whose last gives the turn of the sensor since the clamping."""
        return Chain(self.chain.links[: list(self.links).index("sensor")])

    @property
    def place(self) -> float:
        """Position of the mark. [m or rad]"""
        return self.axis.marks[self.mark].at.nominal

    def turn(self, q: float, *, side: int = 0) -> float:
        """Turn of the sensor since it was clamped. [rad]"""
        return float(self.before_sensor.forward(q, side=side))

    def angle(self, q: float) -> float:
        """Angle of the sensor from where its output starts. [rad]"""
        return self.turn(q) - self.start

    def position(self, angle: float) -> float:
        """Position at which the sensor has an angle from where its output starts, or nan. [m or rad]"""
        return float(self.before_sensor.backward(angle + self.start))

    @property
    def clamping_error(self) -> float:
        """How far off the clamping may be, at the sensor's shaft. [rad]"""
        numbers = self.axis.part("mount").numbers
        return sum(float(n.variate.limits[1] - n.variate.mean) for n in numbers if n.field == "error_rad")

    @property
    def sensor_stops(self) -> tuple[float, float] | None:
        """The sensor's own stops from where its output starts, taken as centred on its travel. [rad]"""
        between = getattr(self.axis.part("sensor"), "mechanical_rad", None)
        if not isinstance(between, Spread):
            return None
        beyond = (between.nominal - self.full) / 2.0
        return (-beyond, self.full + beyond)

    @property
    def centred(self) -> float:
        """Shift of the sensor that would bring the middle of the range to the middle of its output. [rad]"""
        motion = self.axis.motion
        return self.full / 2.0 - (self.angle(motion.low) + self.angle(motion.high)) / 2.0

    @property
    def sense(self) -> int:
        """+1 where the reading rises as the axis moves the positive way, -1 where it falls. [1]"""
        return 1 if self.angle(self.axis.motion.high) >= self.angle(self.axis.motion.low) else -1


def mounting_at(axis: Axis, mark: str) -> Mounting:
    """The axis as it is when its sensor is clamped at a mark.

    Parameters
    ----------
    axis : Axis
        The axis, designed to be clamped at the mark that its file names.
    mark : str
        Mark at which the user stands.

    Returns
    -------
    Mounting
        Clamped there so that the reading at the designed mark stays what it was designed to be.

    Raises
    ------
    UsageError
        There is no such mark.
    RangeError
        At that mark the sensor's shaft would stand off its track.

    Notes
    -----
    Nothing moves but the place of reference: what the sensor reads at the new mark is worked out by the
    chain with nominal numbers, without steps, from what it was to read at the old one.

    References
    ----------
    derived
    """
    axis.mark(mark)
    found = _mounting(axis, axis.clamped_at)
    return found if mark == axis.clamped_at else _mounting(_moved(found, mark), mark)


def _mounting(axis: Axis, mark: str) -> Mounting:
    chain = realise(axis, at_nominal).unrounded()
    links = dict(zip((part.room for part in axis.chain_parts), chain.links, strict=True))
    sensor, ends = links["sensor"], _ends(axis, chain)
    start = 0.0 if ends is Ends.NONE else float(sensor.backward(0.0))
    full = TURN if ends is Ends.NONE else float(sensor.backward(1.0)) - start
    return Mounting(axis=axis, mark=mark, ends=ends, full=full, start=start, chain=chain, links=links)


def _ends(axis: Axis, chain: Chain) -> Ends:
    if getattr(axis.part("sensor"), "travel_rad", None) is not None:
        return Ends.TRACK
    return Ends.NONE if getattr(axis.part("mount"), "needs_homing", False) else Ends.WRAP


def _moved(mounting: Mounting, mark: str) -> Axis:
    """The axis with its clamping moved to another mark."""
    axis, at = mounting.axis, mounting.axis.marks[mark].at
    angle = mounting.angle(at.nominal)
    if mounting.ends is Ends.TRACK and not -1e-9 <= angle <= mounting.full + 1e-9:
        stands = f"{np.degrees(angle):.4g} deg from the start of its track"
        found = f"at '{mark}' the sensor's shaft would stand {stands}"
        limit = f"the track is {np.degrees(mounting.full):.4g} deg long"
        raise RangeError(Problem(f"axis '{axis.name}'", found, limit, "Clamp it at another mark."))
    share = float(mounting.links["sensor"].forward(mounting.turn(at.nominal)))
    if mounting.ends is Ends.WRAP:
        share %= 1.0
    mount: Any = axis.part("mount")
    moved = replace(mount, reading=replace(mount.reading, nominal=share))
    parts = tuple(moved if part is mount else part for part in axis.parts)
    motion = replace(axis.motion, clamp=at_mark(at), clamp_name=mark)
    return replace(axis, motion=motion, parts=parts, clamped_at=mark)


def clamp_target(mounting: Mounting) -> Target:
    """What the sensor must read at the mark while it is clamped, within its clamping error.

    Parameters
    ----------
    mounting : Mounting
        The axis and its mark.

    Returns
    -------
    Target
        Reading and limits, as far as the clamping error of the rig's file reaches either way.

    References
    ----------
    derived
    """
    error = mounting.clamping_error
    turn = mounting.turn(mounting.place)
    ends = tuple(turn + way * error for way in (-1, 1))
    return _target(mounting, mounting.place, turn=turn, ends=ends)


def expected_at(mounting: Mounting, position: float, *, reach: float) -> Target:
    """What the sensor should read at another position after it was clamped.

    Parameters
    ----------
    mounting : Mounting
        The axis and the mark of its clamping.
    position : float
        Where the axis stands. [m or rad]
    reach : float
        How far off the reading may be either way, as a motion of the axis. [m or rad]

    Returns
    -------
    Target
        Reading of the nominal chain, with its limits.

    References
    ----------
    derived
    """
    ends = tuple(mounting.turn(position + way * reach) for way in (-1, 1))
    return _target(mounting, position, turn=mounting.turn(position), ends=ends)


def reaches(mounting: Mounting, positions: tuple[float, ...]) -> tuple[float, ...]:
    """How far readings lie from the expected ones, either way, with nothing but the data sheets.

    Parameters
    ----------
    mounting : Mounting
        The axis as clamped.
    positions : tuple of float
        Where it stands. [m or rad]

    Returns
    -------
    tuple of float
        Half-width that holds 95 % of machines, without the known bias of a straight line. [m or rad]

    References
    ----------
    gum
    """
    budget = budget_axis(mounting.axis).of(State.DATASHEET)
    bias = np.interp(positions, budget.positions, np.abs(budget.bias))
    return tuple(budget.half_width_at(q) - float(off) for q, off in zip(positions, bias, strict=True))


def _target(mounting: Mounting, position: float, *, turn: float, ends: tuple[float, ...]) -> Target:
    share, *around = (float(mounting.links["sensor"].forward(each)) for each in (turn, *ends))
    code, *codes = (_code(mounting, each) for each in (share, *around))
    wiring = mounting.links["wiring"]
    volts: list[float] = []
    if isinstance(wiring, Wiring):
        volts = [float(wiring.at_wiper(each)) for each in (share, *around)]
    marks = {mark.at.nominal: name for name, mark in mounting.axis.marks.items()}
    return Target(
        position=position,
        mark=marks.get(position, ""),
        angle=turn - mounting.start,
        share=share,
        code=code,
        codes=(min(codes), max(codes)),
        volts=volts[0] if volts else None,
        volts_within=(min(volts[1:]), max(volts[1:])) if volts else None,
    )


def _code(mounting: Mounting, share: float) -> int:
    """Code for a share of the output, in the turn that the converter knows. [count]"""
    code = float(mounting.links["converter"].forward(mounting.links["wiring"].forward(share)))
    codes = mounting.chain.codes
    if codes.period:
        code = codes.low + (code - codes.low) % codes.period
    return int(np.clip(np.floor(code + 0.5), codes.low, codes.high))


def ends_of_output(mounting: Mounting) -> Iterator[float]:
    """Positions of the axis at which the output would start and end, where there are such. [m or rad]"""
    if mounting.ends is not Ends.NONE:
        places = (mounting.position(angle) for angle in (0.0, mounting.full))
        yield from (place for place in places if np.isfinite(place))
