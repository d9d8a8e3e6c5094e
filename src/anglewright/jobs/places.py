"""A place of an axis that is known without its sensor: a mark, a stop, the index of the homing."""

import math
from dataclasses import dataclass

from anglewright.errors import Problem, QuantityError, UsageError, nearest
from anglewright.quantities.reading import read_quantity
from anglewright.rig import Axis

STOPS = {"low stop": "low", "low-stop": "low", "high stop": "high", "high-stop": "high"}
INDEX = "index"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place and the standard uncertainty of its position. [m or rad]"""

    name: str
    at: float
    within: float

    @property
    def words(self) -> str:
        """The place in the middle of a sentence."""
        return f"the {self.name}" if self.name in STOPS else f"'{self.name}'"


def place_of(axis: Axis, name: str, *, within: str | None = None) -> Place:
    """A place by its name.

    Parameters
    ----------
    axis : Axis
        The axis.
    name : str
        A mark, ``low stop``, ``high stop``, or ``index`` for the mark at which the axis is homed.
    within : str, optional
        How far the place may lie off, to either side, as ``0.1 deg``; what the mark says otherwise.

    Returns
    -------
    Place
        Where it is, and how well that is known. [m or rad]

    Raises
    ------
    UsageError
        There is no such place, or how well it is known is not said.
    """
    own = None if within is None else _limit(axis, within) / math.sqrt(3.0)
    if name in STOPS and name not in axis.marks:
        return _stop(axis, name, own)
    mark = axis.clamped_at if name == INDEX and axis.needs_homing and INDEX not in axis.marks else name
    if mark not in axis.marks:
        found = f"there is no mark '{name}'"
        known = [*axis.marks, "low stop", "high stop", *([INDEX] if axis.needs_homing else [])]
        raise UsageError(Problem(f"axis '{axis.name}'", found, "", nearest(name, known)))
    at = axis.marks[mark].at
    return Place(name=mark, at=at.mean, within=at.standard_uncertainty if own is None else own)


def _stop(axis: Axis, name: str, within: float | None) -> Place:
    where = f"axis '{axis.name}', {name}"
    if axis.stops_assumed:
        remedy = 'Write stops = { low = "...", high = "..." }, as measured.'
        raise UsageError(Problem(where, "the rig file does not say where it is", "", remedy))
    if within is None:
        found = "how well its place is known is not said"
        raise UsageError(Problem(where, found, "", f'Give it, as in --within "0.5 {axis.unit.name}".'))
    at = axis.stops.low if STOPS[name] == "low" else axis.stops.high
    return Place(name=name.replace("-", " "), at=at, within=within)


def _limit(axis: Axis, text: str) -> float:
    try:
        found = read_quantity(text.lstrip("±").strip(), kinds=axis.unit.kind).value
    except QuantityError as fault:
        raise UsageError([problem.within("--within") for problem in fault.problems]) from None
    if found < 0.0:
        raise UsageError(Problem("--within", f"'{text}' is below zero", "", "Give it without a sign."))
    return found
