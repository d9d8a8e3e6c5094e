"""The answers of a new rig, and what is wrong with them before a file is made of them."""

import math
import re
from dataclasses import dataclass

from anglewright.angles import TURN
from anglewright.errors import AnglewrightError, Problem, UsageError
from anglewright.quantities.reading import Quantity, read_quantity
from anglewright.quantities.units import Kind

ALONG = (Kind.ANGLE, Kind.LENGTH)
ROUND = ("-180 deg", "180 deg")
"""The range of an axis that turns without end, where none is given."""

_NEARLY = 1e-6  # a whole turn [rad]
_MARK = re.compile(r"\s*(?P<name>[^=]+?)\s*=\s*(?P<at>.+?)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What moves, from and to, how exact, kind of sensor, and what turns it.

    `ratio` is of turns or teeth, ``2`` or ``48:24``; `drive` says the same, or more, in the words of
    ``--drive``. Where neither is said a drive is assumed that lets the sensor reach over the motion. `marks`
    are places that can be found again, ``pin=47.5 deg``; the sensor is clamped at the first.
    """

    moves: str
    low: str
    high: str
    error: str
    sensor: str = "potentiometer"
    ratio: str = ""
    drive: str = ""
    endless: bool = False
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Both ends of a motion as they were typed."""

    low: Quantity
    high: Quantity

    @property
    def rotary(self) -> bool:
        """Whether the axis turns."""
        return self.low.kind is Kind.ANGLE

    @property
    def span(self) -> float:
        """From end to end. [m or rad]"""
        return self.high.value - self.low.value

    @property
    def numbers(self) -> tuple[float, float]:
        """Both ends in the unit of the first. [its unit]"""
        return self.low.unit.from_si(self.low.value), self.low.unit.from_si(self.high.value)

    @property
    def unit(self) -> str:
        """Name of the unit of the axis."""
        return self.low.unit.name


def held(text: str, *, kinds: Kind | tuple[Kind, ...], where: str) -> Quantity:
    """A quantity of an answer.

    Raises
    ------
    UsageError
        It is none, or one of another kind; `where` names the answer.
    """
    try:
        return read_quantity(text, kinds=kinds)
    except AnglewrightError as fault:
        raise UsageError([problem.within(where) for problem in fault.problems]) from None


def held_reach(low: str, high: str, *, endless: bool = False) -> Reach:
    """Both ends of the motion.

    Raises
    ------
    UsageError
        One cannot be read, they are of two kinds, turned round, or not one turn of an endless axis.

    Examples
    --------
    >>> held_reach("0 mm", "560 mm").rotary
    False
    """
    first = held(low, kinds=ALONG, where="from")
    reach = Reach(low=first, high=held(high, kinds=first.kind, where="to"))
    if reach.span < 0.0:
        remedy = f"Give --from {_typed(high)} --to {_typed(low)}; "
        remedy += "which way the reading rises is said by mount.output in the rig file."
        raise UsageError(Problem("from, to", f"the range runs down, from {low} to {high}", "", remedy))
    if reach.span == 0.0:
        raise UsageError(Problem("from, to", f"both ends are at {low}", "", "Give two ends."))
    if endless and not reach.rotary:
        found = "it is endless, and a motion along a line has ends"
        raise UsageError(Problem("endless", found, "", "Leave it out."))
    if endless and abs(reach.span - TURN) > _NEARLY:
        found, remedy = f"it is endless, and {low} to {high} is not one whole turn", "Leave the range out."
        raise UsageError(Problem("endless", found, "", remedy))
    return reach


def held_error(error: str, reach: Reach) -> Quantity:
    """How exact the axis must be.

    Raises
    ------
    UsageError
        It cannot be read, is of another kind than the motion, not above zero, or half of the range.
    """
    quantity = held(error, kinds=reach.low.kind, where="error")
    if quantity.value <= 0.0:
        remedy = "Give the most that it may be wrong, either way."
        raise UsageError(Problem("error", f"'{error}' is not above zero", "", remedy))
    if quantity.value >= reach.span / 2.0:
        found = f"'{error}' either way is all of the range"
        raise UsageError(Problem("error", found, "", "Look at its unit, or give the most it may be wrong."))
    return quantity


def held_mark(text: str, reach: Reach) -> tuple[str, str]:
    """Name and place of a mark.

    Raises
    ------
    UsageError
        It is no name with a place, or the place is of another kind than the motion, or far off it.

    Examples
    --------
    >>> held_mark("pin = 47.5 deg", held_reach("-20 deg", "115 deg"))
    ('pin', '47.5 deg')
    """
    found = _MARK.fullmatch(text)
    if found is None:
        remedy = 'Write a name and a place, as in --mark "pin=47.5 deg".'
        raise UsageError(Problem("mark", f"'{text}' is no mark", "", remedy))
    at = held(found["at"], kinds=reach.low.kind, where="mark")
    slack = reach.span / 10.0
    if not reach.low.value - slack <= at.value <= reach.high.value + slack:
        problem = f"'{text}' lies far outside of the range, {reach.low.text} to {reach.high.text}"
        raise UsageError(Problem("mark", problem, "", "Give a place that the axis can reach."))
    return found["name"], found["at"]


def _typed(text: str) -> str:
    return text.replace(" ", "")


def turns_said(reach: Reach) -> str:
    """How long the motion is, in a second unit, so that a wrong one is seen.

    Examples
    --------
    >>> turns_said(held_reach("0 rad", "90 rad"))
    '90 rad, which is 14.3 turns'
    """
    low, high = reach.numbers
    own = f"{high - low:.6g} {reach.unit}"
    if reach.rotary:
        turns = reach.span / TURN
        other = f"{turns:.3g} turns" if turns > 1.0 + _NEARLY else f"{turns:.3g} of a turn"
        return f"{own}, which is {'one whole turn' if math.isclose(turns, 1.0) else other}"
    return own if reach.unit == "m" else f"{own}, which is {reach.span:.4g} m"
