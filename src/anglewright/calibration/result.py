"""A calibration from its points: the curve, its errors, and whether it meets the need."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.beside import Beside, fitted_otherwise
from anglewright.calibration.choice import Offer
from anglewright.calibration.fitting import STRAIGHT, CurveFit, Known, fit_curve
from anglewright.calibration.handed import HandedCurve, handed_curve
from anglewright.calibration.line import fit_line
from anglewright.calibration.linearity import absolute, independent, terminal_based, zero_based
from anglewright.calibration.outliers import Outlier, outliers
from anglewright.calibration.pairing import place_means, runs
from anglewright.calibration.play import PlayEstimate
from anglewright.calibration.points import CalibrationPoint, at_an_end
from anglewright.calibration.repeatability import (
    Measured,
    hysteresis_by_pairs,
    hysteresis_of_averages,
    repeatability,
)
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import A_COUNT, ReadingError, ReferenceUncertainty
from anglewright.calibration.verdict import Evidence, Requirement, Verdict, judge
from anglewright.links.code import CodeLine
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import Unit

Array = NDArray[np.float64]

PLACES = 33  # over the motion, at which the error of one reading is looked at [1]
WIDTHS = 17  # over the calibrated codes, at which a record keeps the half-width [1]


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
class Calibration:
    """Result of a calibration: a curve of position over reading, and everything said about it.

    Parameters
    ----------
    fit : CurveFit
        The curve, its rivals, what is known of its errors. [rad or m]
    handed : HandedCurve
        Line and table of corrections as the controller computes them. [rad or m]
    residual_sd : float or None
        Standard deviation of the residuals, the lag of the play in them; None where none are left. [rad or m]
    linearity : Linearity
        Departure from straight lines. [1]
    hysteresis, hysteresis_of_averages, repeatability : Measured
        By pairs of runs, of the averaged runs, and among runs of one direction. [rad or m]
    outliers : tuple of Outlier
        Points shown by the robust rule; all of them are in the fit. [rad or m]
    clipped : tuple of int
        Numbers of points that stand at an end code, which means at or beyond. [1]
    error : ReadingError
        Parts of the error of one reading where it is worth least. [rad or m]
    beside : tuple of Beside
        The same points fitted in other ways. [rad or m]
    verdict : Verdict
        Whether the need is met.
    reason : str
        Why, in one sentence.
    """

    fit: CurveFit
    handed: HandedCurve
    residual_sd: float | None
    linearity: Linearity
    hysteresis: Measured
    hysteresis_of_averages: Measured
    repeatability: Measured
    outliers: tuple[Outlier, ...]
    clipped: tuple[int, ...]
    error: ReadingError
    beside: tuple[Beside, ...]
    verdict: Verdict
    reason: str

    @property
    def model(self) -> str:
        """Name of the model."""
        return self.fit.fitted.model.name

    @property
    def offset(self) -> float:
        """Position at code 0 of the line, any corrections apart. [rad or m]"""
        return self.handed.offset

    @property
    def slope(self) -> float:
        """Slope of the line. [rad or m per count]"""
        return self.handed.slope

    @property
    def covariance(self) -> Array:
        """Covariance of offset and slope of the line. [rad or m, squared]"""
        return self.handed.covariance

    @property
    def points(self) -> tuple[CalibrationPoint, ...]:
        """The points, in the order in which they were taken. [count, rad or m]"""
        return self.fit.points

    @property
    def residuals(self) -> tuple[float, ...]:
        """Reference less curve, one a point. [rad or m]"""
        return tuple(self.fit.residuals.tolist())

    @property
    def play(self) -> PlayEstimate:
        """Total play at the axis. [rad or m]"""
        return self.fit.play

    @property
    def n_points(self) -> int:
        """Number of points. [1]"""
        return len(self.fit.points)

    @property
    def n_positions(self) -> int:
        """Number of different nominal positions. [1]"""
        return len(self.fit.found)

    @property
    def half_width_95(self) -> float:
        """Half-width of the 95 % interval of one reading, where it is worth least. [rad or m]"""
        return self.error.half_width_95

    @property
    def half_widths(self) -> tuple[float, ...]:
        """That of one reading at codes evenly spaced over the calibrated ones. [rad or m]"""
        codes = np.linspace(*self.handed.domain, WIDTHS)
        return tuple(self.fit.error.at(float(code)).half_width_95 for code in codes)

    def line(self, *, rotary: bool = True) -> CodeLine:
        """What the controller computes. [rad or m]"""
        handed = self.handed
        return CodeLine(
            offset=handed.offset, slope=handed.slope, rotary=rotary, corrections=handed.corrections
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """What a calibration is made for, and by what means.

    Parameters
    ----------
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
    noise : float
        Standard deviation of one reading by the rig file, for where nothing was read twice. [count]
    model : str
        Name of the model that is taken whatever the points say; empty leaves it to them.
    step : float
        Step in which a reading moves. [count]
    """

    requirement: Requirement
    reference: ReferenceUncertainty
    codes: CodeRange
    unit: Unit
    nominal: tuple[float, float] | None = None
    noise: float = 0.0
    model: str = ""
    step: float = A_COUNT


def calibrate_points(
    points: Sequence[CalibrationPoint], *, task: Task, offers: Sequence[Offer] = STRAIGHT
) -> Calibration:
    r"""Fit position over reading by the model that suits the points, and say what that is worth.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [count, rad or m]
    task : Task
        Need, reference, codes, unit. [rad or m, count]
    offers : sequence of Offer
        The models on offer; a straight line alone where none are named.

    Returns
    -------
    Calibration
        The curve and everything said about it. [rad or m]

    Raises
    ------
    DataError
        All readings are the same, fewer than two different positions, or too few points for any model.

    Notes
    -----
    The covariance holds the lasting errors of the reference: the one that all points share and that of its
    scale. The interval of one reading is `CurveError` where it is widest over the motion.

    References
    ----------
    gum-h3
    gum-g
    """
    requirement = task.requirement
    known = Known(
        reference=task.reference,
        noise=task.noise,
        changes=requirement.changes,
        model=task.model,
        step=task.step,
    )
    fit = fit_curve(points, offers=offers, known=known)
    error = fit.error.worst(_codes_of_use(fit, requirement))
    clipped = tuple(np.flatnonzero(at_an_end(fit.raw, task.codes)).tolist())
    evidence = _evidence(fit, error=error, reference=task.reference, clipped=len(clipped))
    verdict, reason = judge(evidence, requirement=requirement, unit=task.unit)
    up, down = runs(fit.found, fit.residuals)
    handed = handed_curve(
        fit.fitted,
        fit.raw,
        covariance=fit.error.covariance,
        found=fit.found,
        half_width=error.half_width_95,
    )
    return Calibration(
        fit=fit,
        handed=handed,
        residual_sd=_residual_sd(fit),
        linearity=_linearity(fit, handed.slope, task.nominal),
        hysteresis=hysteresis_by_pairs(up, down),
        hysteresis_of_averages=hysteresis_of_averages(up, down),
        repeatability=repeatability(up, down),
        outliers=outliers(fit.rest, least=abs(handed.slope)),
        clipped=clipped,
        error=error,
        beside=fitted_otherwise(fit),
        verdict=verdict,
        reason=reason,
    )


def _codes_of_use(fit: CurveFit, requirement: Requirement) -> Array:
    """Codes from one end of the motion to the other, by the straight line through the points. [count]"""
    line = fit_line(fit.raw, fit.position)
    places = np.linspace(requirement.low, requirement.high, PLACES)
    return np.asarray((places - line.offset) / line.slope)


def _residual_sd(fit: CurveFit) -> float | None:
    dof = len(fit.points) - fit.fitted.count
    return math.sqrt(float(np.sum(np.square(fit.residuals))) / dof) if dof > 0 else None


def _evidence(
    fit: CurveFit, *, error: ReadingError, reference: ReferenceUncertainty, clipped: int
) -> Evidence:
    ends = (float(fit.position.min()), float(fit.position.max()))
    return Evidence(
        error=error,
        play=fit.play,
        largest_rest=float(np.abs(fit.rest).max()),
        reference_95=coverage_factor(math.inf) * max(reference.at(end) for end in ends),
        calibrated=ends,
        clipped=clipped,
    )


def _linearity(fit: CurveFit, slope: float, nominal: tuple[float, float] | None) -> Linearity:
    """The four figures on the mean of up and down, as shares of the calibrated span."""
    x, y = place_means(fit.found, fit.even), place_means(fit.found, fit.raw)
    span = float(np.ptp(x))
    share = abs(slope) / span
    given = None
    if nominal is not None:
        offset, steep = nominal
        given = share * absolute(x, y, offset=-offset / steep, slope=1 / steep).deviation
    return Linearity(
        independent=share * independent(x, y).deviation,
        zero_based=share * zero_based(x, y).deviation,
        terminal_based=share * terminal_based(x, y).deviation,
        absolute=given,
        span=span,
    )
