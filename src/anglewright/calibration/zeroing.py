"""The zero of a calibration moved alone, from readings at one place: the new line and what it is worth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.line import uncertainty_at
from anglewright.calibration.pairing import place_means, places
from anglewright.calibration.play import PlayEstimate, estimate_play
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import (
    ROUNDING,
    ReadingError,
    noise_of_mean,
    pooled_noise,
    without_play,
)
from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]

SPREAD = 6.0  # standard deviations between the largest and the smallest of a few readings [1]
ROUNDED = 1e-9  # what volts or turns lose on their way to a code [count]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceReading:
    """Readings at one place that is known without the sensor: a mark, a stop, an index.

    Parameters
    ----------
    at : float
        The place. [rad or m]
    within : float
        Standard uncertainty of the place. [rad or m]
    codes : tuple of float
        Readings, all in one turn. [count]
    side : int
        +1 where it was reached going up, -1 coming down, 0 where that is not known. [1]
    """

    at: float
    within: float
    codes: tuple[float, ...]
    side: int = 0

    @property
    def code(self) -> float:
        """Mean of the readings. [count]"""
        return math.fsum(self.codes) / len(self.codes)

    @property
    def spread(self) -> float:
        """Standard deviation of one reading; 0 where there is only one. [count]"""
        return float(np.std(self.codes, ddof=1)) if len(self.codes) > 1 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MovedZero:
    """The new line, and how far its zero lies from that of the line in use. [rad or m]

    `moved` is what the line in use read too much at the place; `moved_u` its standard uncertainty; `error`
    what one reading by the new line may be off.
    """

    offset: float
    slope: float
    covariance: Array
    moved: float
    moved_u: float
    error: ReadingError

    @property
    def moved_95(self) -> float:
        """Uncertainty of the move at 95 %. [rad or m]"""
        return coverage_factor(self.error.dof) * self.moved_u


def move_zero(
    base: CalibrationRecord,
    reading: PlaceReading,
    *,
    in_use: CalibrationRecord,
    ends: tuple[float, float],
    changes: float,
) -> MovedZero:
    r"""Move the zero of a calibration so that it is right at a place.

    Parameters
    ----------
    base : CalibrationRecord
        The calibration whose slope is kept. [rad or m per count]
    reading : PlaceReading
        What was read at the place. [count, rad or m]
    in_use : CalibrationRecord
        The record in use so far, with which the move is compared. [rad or m]
    ends : tuple of float
        Lowest and highest position of use; the worse of the two is taken. [rad or m]
    changes : float
        Standard uncertainty of what may change from one day to another by itself. [rad or m]

    Returns
    -------
    MovedZero
        The line with its covariance, the move, the error of one reading. [rad or m]

    Raises
    ------
    DataError
        The calibration has too few positions to say what its readings are worth.

    Notes
    -----
    With the place :math:`q_0` read as :math:`\bar n`, the offset becomes
    :math:`q_0 - s r - b \bar n - c(\bar n)`, c the corrections of the curve: after going up (s = 1) a sensor
    with half-play r shows r less. Where the side is not known, s is 0 and r goes into the uncertainty whole.
    What the curve cannot follow counts twice, at the place and at the reading: as in the zeroed state of the
    budget it is a difference of two errors. The slope's uncertainty grows with the distance from the place.
    The reference of the calibration leaves the zero and stays in the slope. A place beyond the calibrated
    codes is as uncertain as a reading there.

    References
    ----------
    gum, gum-h3, play-operator
    """
    parts, play = _worth(base)
    half, half_u = play.half, (play.standard_uncertainty or 0.0) / 2.0
    code, slope = reading.code, base.slope
    lag = reading.side * half
    beyond = (base.half_width_at(code) - base.half_width_95) / 2.0
    zero_u = math.hypot(
        reading.within, _noise_of_mean(base, reading), half_u if reading.side else half, beyond
    )
    slope_u = math.sqrt(base.covariance[1][1])
    offset = base.offset + reading.at - lag - float(base.at(code))
    far = max(abs((end - offset) / slope - code) for end in ends)
    error = replace(
        parts,
        structure=math.sqrt(2.0) * parts.structure,
        fit=slope_u * far,
        reference=zero_u,
        changes=changes,
    )
    return MovedZero(
        offset=offset,
        slope=slope,
        covariance=_covariance(zero_u, slope_u, code),
        moved=float(in_use.at(code)) - (reading.at - lag),
        moved_u=math.hypot(zero_u, float(uncertainty_at(in_use.covariance, code)), parts.structure, changes),
        error=error,
    )


def _worth(base: CalibrationRecord) -> tuple[ReadingError, PlayEstimate]:
    """What the points of a calibration say of a reading, the line itself apart; and the play. [rad or m]"""
    found, play = places(base.points), estimate_play(base.points)
    if len(found) < 3:
        found_text = f"calibration {base.name} has {len(found)} positions"
        limit = "3 or more are needed to say what a reading is worth"
        raise DataError(Problem("zero", found_text, limit, "Calibrate at 5 positions or more."))
    count, noise_dof = pooled_noise(base.points)
    noise = max(count, ROUNDING) * abs(base.slope)
    dof = len(found) - max(len(base.parameters), 2)
    rest = place_means(found, without_play(base.points, _residuals(base), play))
    error = ReadingError(
        structure=_structure(base, rest, dof=dof, others=math.hypot(noise, play.half)),
        noise=noise,
        fit=0.0,
        play=play.half,
        reference=0.0,
        structure_dof=max(dof, 0),
        fit_dof=max(len(base.points) - 2, 1),
        noise_dof=noise_dof,
    )
    return error, play


def _structure(base: CalibrationRecord, rest: Array, *, dof: int, others: float) -> float:
    """What the curve cannot follow, by its residuals; where they tell nothing, by its interval. [rad or m]"""
    if dof > 0:
        return math.sqrt(float(np.sum(np.square(rest))) / dof)
    whole = base.half_width_95 / coverage_factor(math.inf)
    return math.sqrt(max(whole**2 - others**2, 0.0))


def _residuals(base: CalibrationRecord) -> Array:
    """Reference less the record's position at its own points. [rad or m]"""
    raw = np.array([point.raw for point in base.points])
    reference = np.array([point.reference for point in base.points])
    return np.asarray(reference - base.at(raw))


def _noise_of_mean(base: CalibrationRecord, reading: PlaceReading) -> float:
    """Standard uncertainty of the mean of the readings; quiet ones keep the rounding. [rad or m]"""
    noise, _ = pooled_noise(base.points)
    sd = max(noise, reading.spread)
    return abs(base.slope) * noise_of_mean(sd, readings=len(reading.codes))


def _covariance(zero_u: float, slope_u: float, code: float) -> Array:
    """Covariance of offset and slope of a line that is known to `zero_u` at a code."""
    covariance = np.array(
        [[zero_u**2 + (code * slope_u) ** 2, -code * slope_u**2], [-code * slope_u**2, slope_u**2]]
    )
    covariance.flags.writeable = False
    return covariance


def steady(codes: Sequence[float], *, noise: float) -> bool:
    """Whether readings at one place spread no more than noise does, so that nothing moved.

    Parameters
    ----------
    codes : sequence of float
        Readings, all in one turn. [count]
    noise : float
        Standard deviation of one reading, rounding apart. [count]

    Returns
    -------
    bool
        True where the largest less the smallest is within six standard deviations, and a count for rounding.

    References
    ----------
    practice

    Examples
    --------
    A converter of 1.5 counts of noise, at rest and on the move:

    >>> steady([2041, 2044, 2042], noise=1.5), steady([2041, 2060, 2081], noise=1.5)
    (True, False)
    """
    return max(codes) - min(codes) <= SPREAD * noise + 1.0 + ROUNDED
