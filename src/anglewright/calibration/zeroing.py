"""The zero of a calibration moved alone, from readings at one place: the new line and what it is worth."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.fitting import even_references
from anglewright.calibration.pairing import Place, places
from anglewright.calibration.play import PlayEstimate, estimate_play
from anglewright.calibration.record import CalibrationRecord, RecordError
from anglewright.calibration.recordshift import KnownLine
from anglewright.calibration.scatter import Scatter, known_scatter, lack_of_fit
from anglewright.calibration.student import coverage_factor, effective_dof, expanded
from anglewright.calibration.uncertainty import (
    A_COUNT,
    ROUNDING,
    ReadingError,
    noise_of_mean,
    off_by_steps,
    pooled_noise,
)
from anglewright.errors import DataError, Problem

Array = NDArray[np.float64]

SPREAD = 6.0  # standard deviations between the largest and the smallest of a few readings [1]
SURELY = 0.95  # probability with which readings must be too restless before their own noise counts [1]
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What is known of a reading beside the points.

    Parameters
    ----------
    changes : float
        Standard uncertainty of what may change from one day to another by itself. [rad or m]
    noise : float
        Standard deviation of one reading, used where no point was read twice; 0 where unknown. [count]
    step : float
        Step in which a reading moves. [count]
    """

    changes: float = 0.0
    noise: float = 0.0
    step: float = A_COUNT


@dataclass(frozen=True, slots=True, kw_only=True)
class ZeroedError(ReadingError):
    """The parts of the error of one reading by a line with a moved zero. [rad or m]

    `zero_noise` is that part of `reference` which the noise of the few readings at the place leaves; the
    same number says what a reading is off by, so both have its degrees of freedom together.
    """

    zero_noise: float = 0.0

    @property
    def dof(self) -> float:
        """Effective degrees of freedom. [1]

        References
        ----------
        gum-g
        """
        place = math.sqrt(max(self.reference**2 - self.zero_noise**2, 0.0))
        parts = [
            (math.hypot(self.noise, self.zero_noise), self.noise_dof),
            (self.structure, self.structure_dof),
            (self.fit, self.fit_dof),
            (math.hypot(place, self.play, self.changes, self.visits), 0),
        ]
        return effective_dof([(u, float(dof) if dof else math.inf) for u, dof in parts])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MovedZero:
    """The new line, and how far its zero lies from that of the line in use. [rad or m]

    `moved` is what the line in use read too much at the place; `moved_95` its uncertainty at 95 %; `error`
    what one reading by the new line may be off; `behind` what the record keeps of that.
    """

    offset: float
    slope: float
    covariance: Array
    moved: float
    moved_95: float
    error: ZeroedError
    behind: RecordError


@dataclass(frozen=True, slots=True, kw_only=True)
class _Noise:
    """Standard deviation of one reading, and its degrees of freedom; 0 stands for very many. [count, 1]"""

    sd: float
    dof: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Worth:
    """What a calibration says of a reading, the line itself apart; and the play. [rad or m, count]"""

    structure: float
    structure_dof: int
    noise: _Noise
    visits: float
    play: PlayEstimate


def move_zero(
    base: CalibrationRecord,
    reading: PlaceReading,
    *,
    in_use: CalibrationRecord,
    ends: tuple[float, float],
    known: Conditions,
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
    known : Conditions
        What the rig file says of the day and of the noise. [rad or m, count]

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
    budget it is a difference of two errors; it is what the calibration found, or by the same arithmetic what
    the points of its record show. The noise of a reading is that of their repeats, else the rig file's, else
    what the points at one place show; readings at the place that are surely more restless than that count by
    their own spread. The slope's uncertainty grows with the distance from the place.
    The reference of the calibration leaves the zero and stays in the slope. A place beyond the calibrated
    codes is as uncertain as a reading there.

    References
    ----------
    gum, gum-h3, play-operator
    """
    worth = _worth(base, known)
    noise = _noise_here(worth.noise, reading)
    code, slope, half = reading.code, base.slope, worth.play.half
    lag = reading.side * half
    mean = abs(slope) * noise_of_mean(noise.sd, readings=len(reading.codes))
    stays = abs(slope) * off_by_steps(noise.sd, step=known.step)
    place = [
        (math.hypot(reading.within, stays, worth.visits), math.inf),
        (mean, noise.dof or math.inf),
        *_unsure(base, worth.play, reading),
    ]
    zero_u = math.hypot(*(u for u, _ in place))
    slope_u = math.sqrt(base.covariance[1][1])
    offset = base.offset + reading.at - lag - float(base.at(code))
    far = max(abs((end - offset) / slope - code) for end in ends)
    curve = (worth.structure, worth.structure_dof or math.inf)
    line = KnownLine.of(in_use).zero_parts(code)
    return MovedZero(
        offset=offset,
        slope=slope,
        covariance=_covariance(zero_u, slope_u, code),
        moved=float(in_use.at(code)) - (reading.at - lag),
        moved_95=expanded([*place, *line, curve, (known.changes, math.inf)]),
        error=_error(base, worth, noise, zero=(zero_u, mean), far=far, known=known),
        behind=RecordError(
            dof=effective_dof(place),
            structure=worth.structure,
            structure_dof=worth.structure_dof,
            visits=worth.visits,
        ),
    )


def _error(
    base: CalibrationRecord,
    worth: _Worth,
    noise: _Noise,
    *,
    zero: tuple[float, float],
    far: float,
    known: Conditions,
) -> ZeroedError:
    """The parts of the error of one reading, `far` codes from the place; of its zero all, and its noise."""
    dof, stays = base.dof, off_by_steps(noise.sd, step=known.step)
    return ZeroedError(
        structure=math.sqrt(2.0) * worth.structure,
        noise=abs(base.slope) * math.hypot(noise_of_mean(noise.sd, readings=1), stays),
        fit=math.sqrt(base.covariance[1][1]) * far,
        play=worth.play.half,
        reference=zero[0],
        structure_dof=worth.structure_dof,
        fit_dof=0 if math.isinf(dof) else max(round(dof), 1),
        noise_dof=noise.dof,
        changes=known.changes,
        visits=worth.visits,
        zero_noise=zero[1],
    )


def _worth(base: CalibrationRecord, known: Conditions) -> _Worth:
    """As the calibration found it, else as the points of its record show it."""
    found, play = places(base.points), estimate_play(base.points)
    if len(found) < 3:
        found_text = f"calibration {base.name} has {len(found)} positions"
        limit = "3 or more are needed to say what a reading is worth"
        raise DataError(Problem("zero", found_text, limit, "Calibrate at 5 positions or more."))
    raw = np.array([point.raw for point in base.points])
    rest = np.asarray(even_references(base.points, play) - base.at(raw))
    scatter, noise = _scatter(base, rest, found=found, known=known, spent=int(play.seen))
    kept, dof = base.error, len(found) - max(len(base.parameters), 2)
    structure, structure_dof, visits = 0.0, max(dof, 0), math.sqrt(scatter.visits)
    if kept is not None:
        structure, structure_dof, visits = kept.structure, kept.structure_dof, kept.visits
    elif dof > 0:
        count = len(found) - dof
        structure = lack_of_fit(rest, found=found, count=count, known=scatter).structure
    else:  # a table through every place: its interval tells what its residuals cannot
        whole = base.half_width_95 / coverage_factor(math.inf)
        others = math.hypot(max(noise.sd, ROUNDING) * base.slope, play.half)
        structure = math.sqrt(max(whole**2 - others**2, 0.0))
    return _Worth(
        structure=structure,
        structure_dof=structure_dof,
        noise=noise,
        visits=visits,
        play=play,
    )


def _scatter(
    base: CalibrationRecord, rest: Array, *, found: Sequence[Place], known: Conditions, spent: int
) -> tuple[Scatter, _Noise]:
    """What one point of the calibration scatters, and the noise of one reading."""
    repeated, dof = pooled_noise(base.points)
    sd, slope = repeated if dof else known.noise, abs(base.slope)
    reference = None if base.error is None else base.error.reference
    fresh = 0.0 if reference is None else reference.per_point
    usual = 1.0 / float(np.mean([1.0 / point.readings for point in base.points]))
    of_mean = slope * noise_of_mean(sd, readings=round(usual))
    stays = slope * off_by_steps(sd, step=known.step)
    scatter = known_scatter(rest, found=found, fresh=fresh, noise=(of_mean, dof), spent=spent, stays=stays)
    if not dof and not known.noise:  # what one place shows beyond the reference is noise
        sd = math.sqrt(max(scatter.variance - fresh**2 - (ROUNDING * slope) ** 2, 0.0)) / slope
        dof = 0 if math.isinf(scatter.dof) else round(scatter.dof)
        scatter = replace(scatter, visits=0.0)
    return scatter, _Noise(sd=sd, dof=dof)


def _noise_here(noise: _Noise, reading: PlaceReading) -> _Noise:
    """The noise by the readings at the place, where they are surely more restless than is known."""
    from scipy.special import chdtri, fdtri

    dof, ground = len(reading.codes) - 1, math.hypot(noise.sd, ROUNDING)
    if not dof:
        return noise
    ratio = fdtri(dof, noise.dof, SURELY) if noise.dof else chdtri(dof, 1.0 - SURELY) / dof
    return _Noise(sd=reading.spread, dof=dof) if reading.spread**2 > ratio * ground**2 else noise


def _unsure(base: CalibrationRecord, play: PlayEstimate, reading: PlaceReading) -> list[tuple[float, float]]:
    """What else the place is uncertain by: the play, and how far it lies beyond the calibrated codes."""
    half_u = (play.standard_uncertainty or 0.0) / 2.0
    far, slope_u, end = base.widening(reading.code)
    beyond = far * (slope_u + end / 2.0)
    lag = (half_u, float(play.dof) or math.inf) if reading.side else (play.half, math.inf)
    return [lag, (beyond, math.inf)]


def _covariance(zero_u: float, slope_u: float, code: float) -> Array:
    """Covariance of offset and slope of a line that is known to `zero_u` at a code."""
    covariance = np.array(
        [[zero_u**2 + (code * slope_u) ** 2, -code * slope_u**2], [-code * slope_u**2, slope_u**2]]
    )
    covariance.flags.writeable = False
    return covariance


def at_rest(noise: float, *, step: float = A_COUNT) -> float:
    """How far apart the largest and the smallest of a few readings at rest may be.

    Parameters
    ----------
    noise : float
        Standard deviation of one reading, rounding apart. [count]
    step : float
        Step in which a reading moves. [count]

    Returns
    -------
    float
        Six standard deviations, and a step. [count]

    References
    ----------
    practice

    Examples
    --------
    >>> at_rest(1.5), at_rest(1.5, step=12.0)
    (10.0, 21.0)
    """
    return SPREAD * noise + step


def steady(codes: Sequence[float], *, noise: float, step: float = A_COUNT) -> bool:
    """Whether readings at one place spread no more than noise does, so that nothing moved.

    Parameters
    ----------
    codes : sequence of float
        Readings, all in one turn. [count]
    noise : float
        Standard deviation of one reading, rounding apart. [count]
    step : float
        Step in which a reading moves. [count]

    Returns
    -------
    bool
        True where the largest less the smallest is within what `at_rest` allows.

    References
    ----------
    practice

    Examples
    --------
    A converter of 1.5 counts of noise, at rest and on the move:

    >>> steady([2041, 2044, 2042], noise=1.5), steady([2041, 2060, 2081], noise=1.5)
    (True, False)
    """
    return max(codes) - min(codes) <= at_rest(noise, step=step) + ROUNDED
