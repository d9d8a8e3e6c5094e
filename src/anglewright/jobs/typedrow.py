"""One typed reading held against its axis, so that a slip is told while it can still be typed again."""

import math

from anglewright.errors import Problem, UsageError
from anglewright.jobs.benchpoints import FEW_COUNTS
from anglewright.jobs.places import place_of
from anglewright.jobs.reading import shown_raw
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm, raw_of_code

_BEYOND, _BEYOND_ASSUMED = 0.02, 0.25  # of the motion, past stops that were measured and assumed [1]


def problem_of(axis: Axis, row: tuple[float | str, float, str], *, where: str) -> Problem | None:
    """What is wrong with a typed reading, None where nothing is.

    Parameters
    ----------
    axis : Axis
        The axis.
    row : tuple of (float or str, float, str)
        Reference in the axis's unit or the name of a mark, raw reading, side.
    where : str
        Where it was typed, for the sentence.

    Returns
    -------
    Problem or None
        A mark that is not there, a position beyond the stops, a reading that the converter cannot give.
    """
    at, raw, _ = row
    return _of_place(axis, at, where) or _of_raw(axis, raw, where)


def _of_place(axis: Axis, at: float | str, where: str) -> Problem | None:
    if isinstance(at, str):
        try:
            place_of(axis, at)
        except UsageError as fault:
            return fault.problems[0].within(where)
        return None
    if axis.motion.endless:
        return None
    stops, q = axis.stops, axis.unit.to_si(at)
    room = (_BEYOND_ASSUMED if axis.stops_assumed else _BEYOND) * (axis.motion.high - axis.motion.low)
    if stops.low - room <= q <= stops.high + room:
        return None
    found = f"the axis cannot stand at {show(q, axis.unit)}"
    whose = "its assumed stops are" if axis.stops_assumed else "its stops are"
    limit = f"{whose} at {show(stops.low, axis.unit)} and {show(stops.high, axis.unit)}"
    return Problem(where, found, limit, "Write the reference first, then the raw reading.")


def _of_raw(axis: Axis, raw: float, where: str) -> Problem | None:
    counts = axis.raw is RawForm.COUNTS
    edge = 0.0 if counts else 0.5
    ends = sorted(float(raw_of_code(axis, code)) for code in (axis.codes.low - edge, axis.codes.high + edge))
    if not ends[0] - 1e-9 <= raw <= ends[1] + 1e-9:
        low, high = (shown_raw(round(end, 6)) for end in ends)
        found, limit = f"the reading {shown_raw(raw)} cannot be", f"the controller shows {low} to {high}"
        remedy = "Read it again; if it is right, correct converter.bits or converter.raw."
        return Problem(where, found, limit, remedy)
    if counts and not math.isclose(raw, round(raw)) and abs(raw) < FEW_COUNTS:
        found = f"the reading {shown_raw(raw)} is no count"
        remedy = 'Write raw = "volts", "fraction" or "turns" under the converter, if it shows that.'
        return Problem(where, found, "and the rig file says that the controller shows counts", remedy)
    return None
