"""Whether a calibration meets the need, does not, or cannot tell, and why, in one sentence."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from anglewright.calibration.play import PlayEstimate
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import ReadingError
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit

TIMES_BETTER = 3.0  # the reference against the need (common practice, no source) [1]
COVERED = 0.8  # share of the motion that the points must span (common practice, no source) [1]


class Verdict(Enum):
    """The three answers of a calibration."""

    MEETS = "meets"
    FAILS = "fails"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """What a calibration is to serve.

    Parameters
    ----------
    low, high : float
        Ends of the motion. [rad or m]
    permissible_error : float
        Largest error that the use can bear, to either side. [rad or m]
    one_sided : bool
        True where every position will be reached from the side from which it was calibrated.
    changes : float
        Standard uncertainty of what may change between the day of the calibration and another. [rad or m]
    """

    low: float
    high: float
    permissible_error: float
    one_sided: bool = False
    changes: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the verdict rests on, positions and errors in [rad or m]."""

    error: ReadingError
    play: PlayEstimate
    largest_rest: float
    reference_95: float
    calibrated: tuple[float, float]
    clipped: int


def judge(evidence: Evidence, *, requirement: Requirement, unit: Unit) -> tuple[Verdict, str]:
    """The verdict and its reason.

    Parameters
    ----------
    evidence : Evidence
        What the calibration found. [rad or m]
    requirement : Requirement
        What it is to serve. [rad or m]
    unit : Unit
        The user's unit of the axis, for the sentence.

    Returns
    -------
    Verdict, str
        The answer and one sentence.

    Notes
    -----
    First what fails whatever the reference: half the play at its lower 95 % limit, or a departure
    from the line that the reference cannot explain, beyond the permissible error. Then what keeps the data
    from telling. Then the half-width of one reading against the permissible error.

    References
    ----------
    practice
    """
    need = requirement.permissible_error
    failed = next(_failures(evidence, requirement, unit), None)
    if failed is not None:
        return Verdict.FAILS, failed
    doubt = next(_doubts(evidence, requirement, unit), None)
    if doubt is not None:
        return Verdict.CANNOT_TELL, doubt
    half = evidence.error.half_width_95
    compared = (
        f"95 % of readings are within ±{_beside(half, need, unit)}, and the need is ±{show(need, unit)}."
    )
    return (Verdict.MEETS if half <= need else Verdict.FAILS), compared


def _beside(value: float, need: float, unit: Unit) -> str:
    """A size to three digits; to more where it would look like the need that it is held against."""
    shown = show(value, unit, digits=3)
    return shown if value == need or shown != show(need, unit, digits=3) else show(value, unit, digits=6)


def _failures(evidence: Evidence, requirement: Requirement, unit: Unit) -> Iterator[str]:
    """What is beyond the need on its own."""
    need, daily = requirement.permissible_error, coverage_factor(math.inf) * requirement.changes
    limit = f"the need of ±{show(need, unit)}"
    if evidence.play.low is not None and evidence.play.low / 2 > need:
        yield f"Half the play is at least {_beside(evidence.play.low / 2, need, unit)}, beyond {limit}."
    surely = evidence.largest_rest - evidence.reference_95
    if surely > need:
        yield f"A point departs from the line by at least {_beside(surely, need, unit)}, beyond {limit}."
    if daily > need:
        yield f"What changes from one day to another is worth ±{_beside(daily, need, unit)}, beyond {limit}."


def _doubts(evidence: Evidence, requirement: Requirement, unit: Unit) -> Iterator[str]:
    """What keeps the data from telling."""
    need, reference = requirement.permissible_error, evidence.reference_95
    if evidence.largest_rest > need:
        yield (
            f"A point departs from the line by {_beside(evidence.largest_rest, need, unit)}, beyond the need "
            f"of ±{show(need, unit)}, and the reference could explain a part. Take that point again."
        )
    if TIMES_BETTER * reference > need:
        yield (
            f"The reference is known to ±{_beside(reference, need, unit)} and should be {TIMES_BETTER:.0f} "
            f"times better than the need of ±{show(need, unit)}. Use a better reference."
        )
    if evidence.clipped:
        count = "1 point stands" if evidence.clipped == 1 else f"{evidence.clipped} points stand"
        yield f"{count} at an end code, which means at or beyond. Turn the sensor, or leave them out."
    low, high = evidence.calibrated
    if high - low < COVERED * (requirement.high - requirement.low):
        yield (
            f"The points span {show(low, unit)} to {show(high, unit)} of a motion from "
            f"{show(requirement.low, unit)} to {show(requirement.high, unit)}. Take points near both ends."
        )
    yield from _unseen(evidence, evidence.error, requirement, unit)


def _unseen(evidence: Evidence, error: ReadingError, requirement: Requirement, unit: Unit) -> Iterator[str]:
    """What more or other points would show."""
    need, half = requirement.permissible_error, error.half_width_95
    if half <= need and evidence.play.value is None and not requirement.one_sided:
        yield f"Play is not known: {evidence.play.why}."
    if half > need >= error.half_width_95_if_many:
        yield (
            f"With so few positions the half-width of ±{_beside(half, need, unit)} is mostly ignorance; with "
            f"many it could be ±{_beside(error.half_width_95_if_many, need, unit)}. Take more positions."
        )
