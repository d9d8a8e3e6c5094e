"""A straight-line calibration from its points: the line, its errors, and whether it meets the need."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.line import LineFit, fit_line
from anglewright.calibration.linearity import absolute, independent, terminal_based, zero_based
from anglewright.calibration.outliers import Outlier, outliers
from anglewright.calibration.pairing import Place, place_means, places, runs
from anglewright.calibration.play import PlayEstimate, estimate_play
from anglewright.calibration.points import CalibrationPoint, at_an_end
from anglewright.calibration.repeatability import (
    Measured,
    hysteresis_by_pairs,
    hysteresis_of_averages,
    repeatability,
)
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import (
    ReadingError,
    ReferenceUncertainty,
    reading_error,
    without_play,
)
from anglewright.calibration.verdict import Evidence, Requirement, Verdict, judge
from anglewright.errors import DataError, Problem
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import Unit

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Linearity:
    """Largest departure of the mean of up and down from four lines, as a share of the calibrated span, [1].

    `absolute` is None where no nominal line was given; `span` is the calibrated span, [rad or m].
    """

    independent: float
    zero_based: float
    terminal_based: float
    absolute: float | None
    span: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineCalibration:
    """Result of a straight-line calibration: ``position = offset + slope raw``.

    Parameters
    ----------
    offset : float
        Position at code 0. [rad or m]
    slope : float
        Position per count. [rad or m per count]
    covariance : array, (2, 2)
        Of offset and slope, the lasting part of the reference included. [rad² or m², per count, per count²]
    points : tuple of CalibrationPoint
        The points, in the order in which they were taken. [count, rad or m]
    residuals : tuple of float
        Reference less line, one a point. [rad or m]
    residual_sd : float or None
        Standard deviation of the residuals; None where none are left. [rad or m]
    n_positions : int
        Number of different nominal positions. [1]
    linearity : Linearity
        Departure from straight lines. [1]
    hysteresis, hysteresis_of_averages, repeatability : Measured
        By pairs of runs, of the averaged runs, and among runs of one direction. [rad or m]
    play : PlayEstimate
        Total, at the axis. [rad or m]
    outliers : tuple of Outlier
        Points shown by the robust rule; all of them are in the fit. [rad or m]
    clipped : tuple of int
        Numbers of points that stand at an end code, which means at or beyond. [1]
    error : ReadingError or None
        Parts of the error of one reading; None with fewer than three positions. [rad or m]
    verdict : Verdict
        Whether the need is met.
    reason : str
        Why, in one sentence.
    """

    offset: float
    slope: float
    covariance: Array
    points: tuple[CalibrationPoint, ...]
    residuals: tuple[float, ...]
    residual_sd: float | None
    n_positions: int
    linearity: Linearity
    hysteresis: Measured
    hysteresis_of_averages: Measured
    repeatability: Measured
    play: PlayEstimate
    outliers: tuple[Outlier, ...]
    clipped: tuple[int, ...]
    error: ReadingError | None
    verdict: Verdict
    reason: str

    @property
    def n_points(self) -> int:
        """Number of points. [1]"""
        return len(self.points)

    @property
    def half_width_95(self) -> float | None:
        """Half-width of the 95 % interval of one reading; None where the data cannot tell. [rad or m]"""
        return None if self.error is None else self.error.half_width_95


def calibrate_line(
    points: Sequence[CalibrationPoint],
    *,
    requirement: Requirement,
    reference: ReferenceUncertainty,
    codes: CodeRange,
    unit: Unit,
    nominal: tuple[float, float] | None = None,
) -> LineCalibration:
    r"""Fit position over reading by a straight line and say what that is worth.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [count, rad or m]
    requirement : Requirement
        Motion and permissible error. [rad or m]
    reference : ReferenceUncertainty
        Standard uncertainties of the reference. [rad or m, 1]
    codes : CodeRange
        The codes that the converter can give. [count]
    unit : Unit
        The user's unit of the axis, for the sentences.
    nominal : tuple of float, or None
        Offset and slope of the data-sheet line, for absolute linearity. [rad or m, per count]

    Returns
    -------
    LineCalibration
        The line and everything said about it. [rad or m]

    Raises
    ------
    DataError
        All readings are the same, or fewer than two different positions.

    Notes
    -----
    All points have the same weight, whichever side they were reached from: with as many up as down the
    lag of half the play cancels in the line. The readings are taken as exact in the fit, since their noise
    is small beside the span. The covariance of the fit is widened by the error that all
    references share (it moves the offset) and by their scale error (it moves both). The interval of one
    reading is `reading_error`, at the worse end of the motion: to first order, ``k u``.

    References
    ----------
    gum-h3
    gum-g
    """
    work = _fitted(points)
    error = _error(work, requirement=requirement, reference=reference)
    clipped = tuple(np.flatnonzero(at_an_end(work.raw, codes)).tolist())
    evidence = _evidence(work, error=error, reference=reference, clipped=len(clipped))
    verdict, reason = judge(evidence, requirement=requirement, unit=unit)
    up, down = runs(work.found, work.line.residuals)
    return LineCalibration(
        offset=work.line.offset,
        slope=work.line.slope,
        covariance=_widened(work.line, reference),
        points=work.points,
        residuals=tuple(work.line.residuals.tolist()),
        residual_sd=work.line.residual_sd if work.line.dof else None,
        n_positions=len(work.found),
        linearity=_linearity(work, nominal),
        hysteresis=hysteresis_by_pairs(up, down),
        hysteresis_of_averages=hysteresis_of_averages(up, down),
        repeatability=repeatability(up, down),
        play=work.play,
        outliers=outliers(work.rest, least=abs(work.line.slope)),
        clipped=clipped,
        error=error,
        verdict=verdict,
        reason=reason,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Work:
    """The fit and what was read from the points for it."""

    points: tuple[CalibrationPoint, ...]
    position: Array
    raw: Array
    line: LineFit
    found: tuple[Place, ...]
    play: PlayEstimate
    rest: Array


def _fitted(points: Sequence[CalibrationPoint]) -> _Work:
    """Line, positions, play, and what remains beside them."""
    raw = np.array([point.raw for point in points])
    position = np.array([point.reference for point in points])
    _held(raw, position)
    line, play = fit_line(raw, position), estimate_play(points)
    rest = without_play(points, line.residuals, play)
    return _Work(
        points=tuple(points),
        position=position,
        raw=raw,
        line=line,
        found=places(points),
        play=play,
        rest=rest,
    )


def _error(work: _Work, *, requirement: Requirement, reference: ReferenceUncertainty) -> ReadingError | None:
    error = reading_error(
        work.points,
        line=work.line,
        found=work.found,
        play=work.play,
        reference=reference,
        ends=(requirement.low, requirement.high),
    )
    return None if error is None else replace(error, changes=requirement.changes)


def _evidence(
    work: _Work, *, error: ReadingError | None, reference: ReferenceUncertainty, clipped: int
) -> Evidence:
    ends = (float(work.position.min()), float(work.position.max()))
    return Evidence(
        error=error,
        play=work.play,
        largest_rest=float(np.abs(work.rest).max()),
        reference_95=coverage_factor(math.inf) * max(reference.at(end) for end in ends),
        calibrated=ends,
        clipped=clipped,
    )


def _held(raw: Array, position: Array) -> None:
    """Refuse what no line can be drawn through."""
    if len(np.unique(position)) < 2:
        found = f"{len(raw)} readings at {len(np.unique(position))} position"
        remedy = "Take 5 or more, spread over the motion."
        raise DataError(Problem("calibration", found, "a line needs two different ones", remedy))
    if len(np.unique(raw)) < 2:
        found = f"all {len(raw)} points read {raw[0]:.6g}, so the reading does not follow the axis"
        remedy = "Look for a shaft that does not turn, a wrong column, or a broken lead."
        raise DataError(Problem("calibration", found, remedy=remedy))


def _widened(line: LineFit, reference: ReferenceUncertainty) -> Array:
    """Covariance of the parameters with what the reference leaves for good."""
    shared = np.array([reference.shared, 0.0])
    scale = reference.scale * np.array([line.offset, line.slope])
    covariance = line.covariance + np.outer(shared, shared) + np.outer(scale, scale)
    covariance.flags.writeable = False
    return np.asarray(covariance)


def _linearity(work: _Work, nominal: tuple[float, float] | None) -> Linearity:
    """The four figures on the mean of up and down, as shares of the calibrated span."""
    x, y = place_means(work.found, work.position), place_means(work.found, work.raw)
    span = float(np.ptp(x))
    share = abs(work.line.slope) / span
    given = None
    if nominal is not None:
        offset, slope = nominal
        given = share * absolute(x, y, offset=-offset / slope, slope=1 / slope).deviation
    return Linearity(
        independent=share * independent(x, y).deviation,
        zero_based=share * zero_based(x, y).deviation,
        terminal_based=share * terminal_based(x, y).deviation,
        absolute=given,
        span=span,
    )
