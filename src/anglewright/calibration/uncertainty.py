"""What one reading is worth after a calibration: the parts of its error, and their sum."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.line import LineFit
from anglewright.calibration.pairing import Place, place_means
from anglewright.calibration.play import PlayEstimate
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.student import coverage_factor, effective_dof

Array = NDArray[np.float64]

HALF_COUNT = 0.5  # noise from which rounding averages out [count]
ROUNDING = 1.0 / math.sqrt(12.0)  # standard uncertainty of a reading rounded to a count [count]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceUncertainty:
    """Standard uncertainties of the reference.

    Parameters
    ----------
    per_point : float
        Of the error that is fresh at each point. [rad or m]
    shared : float
        Of the error that all points share, which their residuals never show. [rad or m]
    scale : float
        Of the scale, as a share of the position from the axis's zero. [1]
    """

    per_point: float = 0.0
    shared: float = 0.0
    scale: float = 0.0

    def at(self, position: float) -> float:
        """Standard uncertainty of one reference value at a position. [rad or m]"""
        return math.hypot(self.per_point, self.lasting_at(position))

    def lasting_at(self, position: float) -> float:
        """The part of it that no number of points averages out. [rad or m]"""
        return math.hypot(self.shared, self.scale * position)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingError:
    """Standard uncertainties of the position that one reading gives, at the worst place, [rad or m].

    `structure` is what the line cannot follow, `noise` that of one reading, `fit` that of the line,
    `play` half the play, `reference` what the reference leaves for good, `changes` what may have changed
    since: conditions of another day, which no residual shows.
    """

    structure: float
    noise: float
    fit: float
    play: float
    reference: float
    structure_dof: int
    fit_dof: int
    noise_dof: int
    changes: float = 0.0

    @property
    def standard_uncertainty(self) -> float:
        """Root of the sum of squares. [rad or m]"""
        return math.hypot(self.structure, self.noise, self.fit, self.play, self.reference, self.changes)

    @property
    def dof(self) -> float:
        """Effective degrees of freedom. [1]

        References
        ----------
        gum-g
        """
        noise_dof = float(self.noise_dof) if self.noise_dof else math.inf
        return effective_dof(
            [
                (self.structure, float(self.structure_dof)),
                (self.fit, float(self.fit_dof)),
                (self.noise, noise_dof),
                (math.hypot(self.play, self.reference, self.changes), math.inf),
            ]
        )

    @property
    def half_width_95(self) -> float:
        """Half-width of the 95 % interval of one reading, by Student's factor. [rad or m]"""
        return coverage_factor(self.dof) * self.standard_uncertainty

    @property
    def half_width_95_if_many(self) -> float:
        """The same, had the parts been found from very many points. [rad or m]"""
        return coverage_factor(math.inf) * self.standard_uncertainty


def reading_error(
    points: Sequence[CalibrationPoint],
    *,
    line: LineFit,
    found: Sequence[Place],
    play: PlayEstimate,
    reference: ReferenceUncertainty,
    ends: tuple[float, float],
) -> ReadingError | None:
    r"""The parts of the error of one reading after a straight line was fitted.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of the fit. [count, rad or m]
    line : LineFit
        Position over reading. [rad or m per count]
    found : sequence of Place
        The nominal positions of the points. [1]
    play : PlayEstimate
        Play at the axis. [rad or m]
    reference : ReferenceUncertainty
        What is known of the reference. [rad or m, 1]
    ends : tuple of float
        Lowest and highest position of use; the worse of the two is taken. [rad or m]

    Returns
    -------
    ReadingError or None
        The parts; None with fewer than three positions, whose residuals show nothing. [rad or m]

    Notes
    -----
    `structure` is the root mean square of the residuals, the play's share taken out, averaged at each
    position, over P - 2 degrees of freedom. It still holds the fresh error of the reference, which errs on
    the safe side. `noise` is pooled from the repeats, at least that of rounding to a count. `play` is
    the whole half-play: after any longer move the sensor lags by all of it. `fit` and `reference` are taken
    where they are largest. What may change since the calibration no reading can show: `changes` is left 0.

    References
    ----------
    gum-h3
    gum-g
    """
    if len(found) < 3:
        return None
    rest = place_means(found, without_play(points, line.residuals, play))
    noise, noise_dof = pooled_noise(points)
    raws = (np.array(ends) - line.offset) / line.slope
    return ReadingError(
        structure=math.sqrt(float(np.sum(np.square(rest))) / (len(found) - 2)),
        noise=max(noise, ROUNDING) * abs(line.slope),
        fit=float(np.max(line.predict_standard_uncertainty(raws))),
        play=play.half,
        reference=max(reference.lasting_at(end) for end in ends),
        structure_dof=len(found) - 2,
        fit_dof=line.dof,
        noise_dof=noise_dof,
    )


def without_play(points: Sequence[CalibrationPoint], residuals: Array, play: PlayEstimate) -> Array:
    """Residuals (reference less line) with the lag of half the play taken out.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of the fit. [1]
    residuals : array, (n,)
        Reference less line. [rad or m]
    play : PlayEstimate
        Play at the axis. [rad or m]

    Returns
    -------
    array, (n,)
        What remains. [rad or m]

    References
    ----------
    play-operator
    """
    return residuals - play.half * np.array([point.approach for point in points])


def noise_of_mean(sd: float, *, readings: int) -> float:
    """Standard uncertainty of the mean of readings that are rounded to a count.

    Parameters
    ----------
    sd : float
        Standard deviation of one reading. [count]
    readings : int
        How many. [1]

    Returns
    -------
    float
        Noise and rounding together. Below half a count of noise the rounding does not average out. [count]

    References
    ----------
    gum-quantisation

    Examples
    --------
    Four quiet readings tell no more than one:

    >>> [round(noise_of_mean(0.0, readings=count), 4) for count in (1, 4)]
    [0.2887, 0.2887]
    """
    root = math.sqrt(readings)
    return math.hypot(sd / root, ROUNDING if sd < HALF_COUNT else ROUNDING / root)


def pooled_noise(points: Sequence[CalibrationPoint]) -> tuple[float, int]:
    """Standard deviation of one reading, pooled over the points that were read more than once.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of the fit. [count]

    Returns
    -------
    float, int
        Standard deviation and its degrees of freedom; both 0 where nothing was repeated. [count, 1]

    References
    ----------
    gum

    Examples
    --------
    Two points, each read three times:

    >>> quiet = CalibrationPoint(reference=0.0, raw=0.0, readings=3, raw_sd=1.0)
    >>> noisy = CalibrationPoint(reference=1.0, raw=9.0, readings=3, raw_sd=2.0)
    >>> noise, dof = pooled_noise([quiet, noisy])
    >>> round(noise, 4), dof
    (1.5811, 4)
    """
    repeats = [(point.readings - 1, point.raw_sd) for point in points]
    known = [(dof, sd) for dof, sd in repeats if sd is not None]
    dof = sum(count for count, _ in known)
    if not dof:
        return 0.0, 0
    return math.sqrt(sum(count * sd**2 for count, sd in known) / dof), dof
