"""What the drive and the mount of an axis mean: turns of the sensor, and where to clamp it."""

from typing import Any

import numpy as np

from anglewright.angles import TURN
from anglewright.links.mount import DIRECTIONS
from anglewright.links.protocol import ClampedPort, Part, ReadingPort
from anglewright.quantities.showing import show
from anglewright.rig import Axis
from anglewright.selection.figures import CENTRE
from anglewright.selection.needs import middle_of

_STRAIGHT = 1e-9  # of the turn over the whole motion, what a constant ratio leaves [1]


def shaft_turn(axis: Axis, q: float, *, drive: Part | None = None) -> float:
    """Angle of the sensor-side shaft at a position, by the drive's mean numbers. [rad]"""
    drive = drive or axis.part("drive")
    port = ClampedPort(at=0.0, rotary=axis.motion.rotary)
    return float(drive.link(_means(drive), port).forward(q))


def _means(part: Part) -> dict[str, Any]:
    return {number.field: number.variate.mean for number in part.numbers}


def centred_reading(axis: Axis, *, drive: Part, sensor: Part, output: str) -> float:
    """What a sensor reads at the clamping mark when it is centred between the stops. [1]"""
    away = shaft_turn(axis, axis.motion.clamp.nominal, drive=drive)
    away -= shaft_turn(axis, middle_of(axis), drive=drive)
    link = sensor.link(_means(sensor), ReadingPort(reading=CENTRE))
    return float(link.forward(DIRECTIONS[output] * away))


def sensor_turns(axis: Axis) -> float:
    """Turns of the sensor's shaft over the motion, end to end. [1]"""
    low, high = (shaft_turn(axis, end) for end in (axis.motion.low, axis.motion.high))
    return abs(high - low) / TURN


def drive_said(axis: Axis, *, drive: Part | None = None) -> str:
    """How far the sensor turns for the axis, in words."""
    low, high = axis.motion.low, axis.motion.high
    turns = [shaft_turn(axis, q, drive=drive) / TURN for q in (low, (low + high) / 2.0, high)]
    whole = turns[2] - turns[0]
    if whole == 0.0 or abs(turns[1] - (turns[0] + turns[2]) / 2.0) > _STRAIGHT * abs(whole):
        return f"the sensor turns {_plural(abs(whole))} from end to end, not evenly"
    if axis.motion.rotary:
        return f"{_plural(abs(whole) * TURN / (high - low))} of the sensor a turn of the axis"
    travel = show((high - low) / abs(whole), axis.unit, digits=4)
    return f"{travel} of travel a turn of the sensor"


def is_drive_said(remark: str) -> bool:
    """Whether a remark is one that `drive_said` makes."""
    ends = (" of the sensor a turn of the axis", " of travel a turn of the sensor", " end to end, not evenly")
    return remark.strip().endswith(ends)


def _plural(turns: float) -> str:
    return "1 turn" if np.isclose(turns, 1.0) else f"{turns:.4g} turns"


def use_said(axis: Axis) -> str:
    """What the motion takes of the sensor, in words."""
    turns = _plural(sensor_turns(axis))
    if axis.motion.endless:
        return f"{turns} in one of the axis, without end"
    return f"{turns} from end to end ({360.0 * sensor_turns(axis):.4g} deg)"


def clamp_said(axis: Axis) -> str:
    """What the sensor should read at its mark, in words."""
    place = show(axis.motion.clamp.nominal, axis.unit, digits=4)
    if axis.needs_homing:
        return f"'{axis.clamped_at}' at {place}: the axis is homed there after each start"
    reading = next(each for each in axis.numbers if each.key == "mount.reading").variate.mean
    return f"'{axis.clamped_at}' at {place}: clamp the sensor so that it reads {100.0 * reading:.4g} % there"
