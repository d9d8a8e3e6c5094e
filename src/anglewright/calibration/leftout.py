"""Points that a person leaves out of a calibration by stated word: listed on, and in no fit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from anglewright.calibration.points import CalibrationPoint
from anglewright.errors import Problem, UsageError

OPTION = "--without-point"
"""The option of the command line that leaves a point out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedPoint(CalibrationPoint):
    """A point that bears the number, from 1, by which it was taken, since others were left out. [1]"""

    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A point that was left out: its number as it was taken, from 1, and why, or empty. [1]"""

    number: int
    point: CalibrationPoint
    because: str = ""

    @property
    def said(self) -> str:
        """That it was left out, and why."""
        return f"left out: {self.because}" if self.because else "left out, no reason given"


def number_of(points: Sequence[CalibrationPoint], place: int) -> int:
    """Number from 1 of the point at a place of a sequence, as it was taken. [1]"""
    point = points[place]
    return point.number if isinstance(point, NumberedPoint) else place + 1


def out_of_fit(number: int) -> str:
    """What to do about one point that is off; its number, from 1, is that of the table of points."""
    leave = f'leave it out with {OPTION} "{number}: why"'
    return f"Take that point again, or {leave}. It stays in the fit until then."


def leave_out(
    points: Sequence[CalibrationPoint], without: Mapping[int, str]
) -> tuple[tuple[CalibrationPoint, ...], tuple[LeftOut, ...]]:
    """The points that stay in the fit, and those that were left out.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        All points in the order in which they were taken. [count, rad or m]
    without : mapping of int to str
        Numbers from 1 of the points to leave out, each with the reason, or an empty text. [1]

    Returns
    -------
    tuple of CalibrationPoint, tuple of LeftOut
        What stays bears its number, where anything was left out. [count, rad or m]

    Raises
    ------
    UsageError
        There is no point of such a number.

    Examples
    --------
    >>> taken = [CalibrationPoint(reference=q, raw=100.0 * q) for q in (0.0, 1.0, 2.0)]
    >>> kept, left = leave_out(taken, {2: "the table was bumped"})
    >>> [number_of(kept, place) for place in range(2)], left[0].said
    ([1, 3], 'left out: the table was bumped')
    """
    unknown = sorted(number for number in without if not 1 <= number <= len(points))
    if unknown:
        numbers = ", ".join(map(str, unknown))
        found = f"there is no point {numbers}"
        limit = f"the points are numbered 1 to {len(points)} in the order in which they were taken"
        remedy = "Their numbers stand in the table of points; --dry-run shows it and keeps nothing."
        raise UsageError(Problem(OPTION, found, limit, remedy))
    if not without:
        return tuple(points), ()
    kept = tuple(_numbered(point, k) for k, point in enumerate(points, 1) if k not in without)
    left = tuple(LeftOut(number=k, point=points[k - 1], because=without[k].strip()) for k in sorted(without))
    return kept, left


def _numbered(point: CalibrationPoint, number: int) -> NumberedPoint:
    return NumberedPoint(
        reference=point.reference,
        raw=point.raw,
        readings=point.readings,
        raw_sd=point.raw_sd,
        approach=point.approach,
        row=point.row,
        number=number,
    )
