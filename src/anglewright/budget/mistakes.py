"""What is usually wrong with a line in the code: its slope off by a known factor, its offset by a turn."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from anglewright.budget.states import planned_line
from anglewright.budget.totals import StateBudget
from anglewright.links.code import CodeLine
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis, at_nominal, datasheet_line, realise

SLOPE_MAY_DIFFER = 0.03  # from the data sheet's without being a mistake: tolerance of the sensor [1]
NEAR = 0.006  # relative distance at which a slope counts as off by a known factor [1]
_OF_A_COUNT = 0.1  # share of the difference between 4095 and 4096 to which a slope must agree with it [1]
_TURN = 2.0 * math.pi  # [rad]


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A factor by which slopes are usually off, as people say it, and how it comes about. [1]"""

    factor: float
    words: str
    cause: str


_RPM = "turns per minute and degrees per second were taken as one"
FACTORS = tuple(
    Factor(factor=factor, words=words, cause=cause)
    for factor, words, cause in (
        (2.0, "twice", "half the counts of a turn were taken (lines for edges, or a bit too few)"),
        (
            4.0,
            "4 times",
            "a quarter of the counts of a turn were taken (lines for edges, or two bits too few)",
        ),
        (1.0 / 2.0, "half", "twice the counts of a turn were taken (edges for lines, or a bit too many)"),
        (1.0 / 4.0, "a quarter of", "4 times the counts of a turn were taken (or two bits too many)"),
        (15.0 / 16.0, "15/16 of", "16 counts were taken where 15 come"),
        (16.0 / 15.0, "16/15 of", "15 counts were taken where 16 come, so one in 16 was lost then"),
        (360.0 / 450.0, "360/450 of", "450 counts were taken for 360"),
        (450.0 / 360.0, "450/360 of", "360 counts were taken for 450"),
        (6.0, "6 times", _RPM),
        (1.0 / 6.0, "a sixth of", _RPM),
        (math.pi / 180.0, "pi/180 of", "it is in radians where degrees are meant"),
        (180.0 / math.pi, "180/pi times", "it is in degrees where radians are meant"),
        (1.0 / 360.0, "1/360 of", "it is in turns where degrees are meant"),
        (1e-3, "a thousandth of", "it is in metres where millimetres are meant"),
        (1e3, "1000 times", "it is in millimetres where metres are meant"),
        (1.0 / 25.4, "1/25.4 of", "it is in inches where millimetres are meant"),
    )
)
"""By common practice, and by mistakes that people report; no other source."""


def likely_mistake(axis: Axis, line: CodeLine, found: StateBudget) -> str:
    """The mistake that a line in the code most likely holds, in a sentence.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    line : CodeLine
        What the code computes. [m or rad, m/count or rad/count]
    found : StateBudget
        Its budget, for how exactly the data sheet fixes the offset. [m or rad]

    Returns
    -------
    str
        What is likely wrong and how it can be seen; empty where nothing known fits.

    References
    ----------
    practice
    """
    right = datasheet_line(axis)
    for reference in (right, planned_line(axis)):
        said = known_factor(axis, line.slope / reference.slope)
        if said:
            return f"The slope is {said}. {_TURN_IT}"
    if abs(line.slope / right.slope - 1.0) > SLOPE_MAY_DIFFER:
        return ""
    return _of_offset(axis, line, found) or _of_last_code(axis, line.slope / right.slope)


_TURN_IT = "Move the axis from one mark to another by hand and compare what the code makes of it."


def known_factor(axis: Axis, ratio: float) -> str:
    """Which known factor a slope is off by, sign included, and how that comes about; empty where none fits.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    ratio : float
        The slope over that of the data sheet. [1]

    Returns
    -------
    str
        As it continues "The slope is ...".

    References
    ----------
    practice
    """
    factor = _nearest(axis, abs(ratio))
    if factor is not None:
        turned = ", with its sign reversed" if ratio < 0.0 else ""
        return f"{factor.words} that of the data sheet{turned}: {factor.cause}"
    if abs(ratio + 1.0) <= SLOPE_MAY_DIFFER:
        return "that of the data sheet with its sign reversed: the code turns the sensor the other way round"
    return ""


def _nearest(axis: Axis, size: float) -> Factor | None:
    """The known factor next to a ratio of slopes, where one is near enough."""
    candidates = [*_of_drive(axis), *_of_travel(axis), *FACTORS]
    best = min(candidates, key=lambda each: abs(size / each.factor - 1.0))
    return best if abs(size / best.factor - 1.0) <= NEAR else None


def _of_drive(axis: Axis) -> Iterator[Factor]:
    """The ratio of the drive left out, or put in twice; nothing where it is one to one."""
    ratio = _turns_of_sensor(axis)
    if not axis.motion.rotary or abs(ratio - 1.0) <= SLOPE_MAY_DIFFER or not math.isfinite(ratio):
        return
    times = f"{ratio:.4g} to 1"
    yield Factor(factor=ratio, words=f"{ratio:.4g} times", cause=f"the drive's {times} was left out")
    yield Factor(factor=1.0 / ratio, words=f"1/{ratio:.4g} of", cause=f"the drive's {times} was put in twice")


def _of_travel(axis: Axis) -> Iterator[Factor]:
    """A whole turn, or the turn between the stops, taken for that over which the output changes."""
    place = axis.index_of("sensor")
    sensor, part = realise(axis, at_nominal).links[place], axis.chain_parts[place]
    whole = abs(float(sensor.backward(1.0)) - float(sensor.backward(0.0)))
    stops = getattr(part, "mechanical_rad", None)
    taken = ((_TURN, "a whole turn"), (stops.nominal if stops else math.nan, "the turn between its stops"))
    for angle, name in taken:
        if abs(angle / whole - 1.0) > SLOPE_MAY_DIFFER:
            cause = (
                f"{name}, {_degrees(angle)}, was taken for the sensor's electrical travel, {_degrees(whole)}"
            )
            yield Factor(factor=angle / whole, words=f"{angle / whole:.3f} times", cause=cause)


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.4g} deg"


def _turns_of_sensor(axis: Axis) -> float:
    """Turns of the sensor's shaft for one turn of the axis, over the working range. [1]"""
    chain = realise(axis, at_nominal)
    before = axis.index_of("sensor") - 1
    turned = np.asarray(chain.trace(axis.positions(2))[before])
    return abs(float(turned[1] - turned[0])) / (axis.motion.high - axis.motion.low)


def _of_offset(axis: Axis, line: CodeLine, found: StateBudget) -> str:
    """A sentence where the offset is off by a whole or half turn, or has the wrong sign."""
    middle = len(found.positions) // 2
    off, known = float(found.bias[middle]), float(found.half_width[middle] - abs(found.bias[middle]))
    right = line.offset - off
    if known < abs(right) / 2.0 and abs(line.offset + right) <= known:
        said = f"The offset has the wrong sign: {_about(right, axis.unit)} goes with this slope"
        return f"{said}. {_TURN_IT}"
    for size, name in _turns(axis):
        if known < size / 4.0 and abs(abs(off) - size) <= known + SLOPE_MAY_DIFFER * size:
            high = "high" if off > 0.0 else "low"
            return f"The offset is too {high} by about {name}, {show(size, axis.unit)}. {_TURN_IT}"
    return ""


def _about(value: float, unit: Unit) -> str:
    return f"about {show(value, unit, digits=3)}"


def _turns(axis: Axis) -> Iterator[tuple[float, str]]:
    """Sizes by which an offset is usually off, each with its name. [m or rad]"""
    shaft = _TURN / _turns_of_sensor(axis)
    yield shaft, "one turn of the sensor"
    yield shaft / 2.0, "half a turn of the sensor"
    if axis.motion.rotary:
        yield _TURN, "one turn of the axis"


def _of_last_code(axis: Axis, ratio: float) -> str:
    """A sentence where the highest code stands for the number of codes."""
    count = axis.codes.count
    apart = count / (count - 1.0) - 1.0
    if abs(ratio - 1.0 - apart) > _OF_A_COUNT * apart:
        return ""
    said = f"The slope is {count}/{count - 1} of that of the data sheet: the highest code, {count - 1}, was"
    return f"{said} taken for the number of codes, {count}. Over the whole scale that is one code."
