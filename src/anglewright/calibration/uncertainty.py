"""What one reading is worth after a calibration: the parts of its error, and their sum."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.models.fitted import Fitted
from anglewright.calibration.pairing import Place
from anglewright.calibration.play import PlayEstimate
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.scatter import LackOfFit
from anglewright.calibration.student import coverage_factor, effective_dof

Array = NDArray[np.float64]

HALF_COUNT = 0.5  # noise from which rounding averages out [count]
ROUNDING = 1.0 / math.sqrt(12.0)  # standard uncertainty of a reading rounded to a count [count]
A_COUNT = 1.0  # the step of a sensor that has none of its own [count]


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
    per_place : float
        Of the error that each place has of its own, the same at every visit: where a mark stands. [rad or m]
    """

    per_point: float = 0.0
    shared: float = 0.0
    scale: float = 0.0
    per_place: float = 0.0

    def with_places(self, own: float) -> "ReferenceUncertainty":
        """The same where each place keeps a further error of its own. [rad or m]"""
        return replace(self, per_place=math.hypot(self.per_place, own))

    def at(self, position: float) -> float:
        """Standard uncertainty of one reference value at a position. [rad or m]"""
        return math.hypot(self.per_point, self.lasting_at(position))

    def lasting_at(self, position: float) -> float:
        """The part of it that no visit of the place averages out. [rad or m]"""
        return math.hypot(self.shared, self.scale * position, self.per_place)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingError:
    """Standard uncertainties of the position that one reading gives, [rad or m].

    `structure` is what the curve cannot follow, `noise` that of one reading, `visits` what the same place
    shows at another visit beyond noise and reference, `fit` that of the curve, `play` half the play,
    `reference` what the reference leaves for good, `changes` what may have changed since: conditions of
    another day, which no residual shows. Degrees of freedom of 0 stand for very many.
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
    visits: float = 0.0

    @property
    def standard_uncertainty(self) -> float:
        """Root of the sum of squares. [rad or m]"""
        others = (self.play, self.reference, self.changes)
        return math.hypot(self.structure, self.noise, self.visits, self.fit, *others)

    @property
    def dof(self) -> float:
        """Effective degrees of freedom. [1]

        References
        ----------
        gum-g
        """
        curve = [(self.structure, self.structure_dof), (self.fit, self.fit_dof)]
        if self.structure > 0.0 and self.structure_dof:  # both come from the same residuals
            curve = [(math.hypot(self.structure, self.fit), self.structure_dof)]
        curve.append((self.visits, self.fit_dof))
        others = math.hypot(self.play, self.reference, self.changes)
        parts = [*curve, (self.noise, self.noise_dof), (others, 0)]
        return effective_dof([(u, float(dof) if dof else math.inf) for u, dof in parts])

    @property
    def half_width_95(self) -> float:
        """Half-width of the 95 % interval of one reading, by Student's factor. [rad or m]"""
        return coverage_factor(self.dof) * self.standard_uncertainty

    @property
    def half_width_95_if_many(self) -> float:
        """The same, had the parts been found from very many points. [rad or m]"""
        return coverage_factor(math.inf) * self.standard_uncertainty


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveError:
    """What is known of a calibrated curve's errors, wherever it is read.

    Parameters
    ----------
    fitted : Fitted
        The curve. [rad or m]
    lack : LackOfFit
        What the curve leaves at the places. [rad² or m², rad or m]
    structure_dof : int
        Degrees of freedom of the structure. [1]
    noise : float
        Standard deviation of one reading, rounding included. [count]
    noise_dof : int
        Degrees of freedom of the noise; 0 where it is not from repeats. [1]
    play : float
        Half the play. [rad or m]
    lasting : array, (2, p) or (2 + P, p)
        What the lasting errors of the reference do to the parameters, as `lasting_shifts` gives it.
    changes : float
        Standard uncertainty of what may change from one day to another. [rad or m]
    visits : float
        Standard deviation of what the same place shows at another visit. [rad or m]
    """

    fitted: Fitted
    lack: LackOfFit
    structure_dof: int
    noise: float
    noise_dof: int
    play: float
    lasting: Array
    changes: float = 0.0
    visits: float = 0.0

    @property
    def covariance(self) -> Array:
        """Covariance of the parameters, with what the reference leaves for good. [rad or m, squared]"""
        found = self.lack.point_variance * self.fitted.spread + self.lasting.T @ self.lasting
        found.flags.writeable = False
        return np.asarray(found)

    def at(self, code: float) -> ReadingError:
        """The parts of the error of one reading of a code. [count, rad or m]

        References
        ----------
        gum-h3
        """
        here = np.array([code])
        dof = self.lack.dof
        act = self.fitted.model.jacobian(self.fitted.values, here)[0]
        return ReadingError(
            structure=self.lack.structure,
            noise=self.noise * abs(float(self.fitted.slope(here)[0])),
            fit=math.sqrt(self.lack.point_variance) * float(self.fitted.gain(here)[0]),
            play=self.play,
            reference=math.hypot(*(self.lasting @ act)),
            structure_dof=self.structure_dof,
            fit_dof=0 if math.isinf(dof) else max(round(dof), 1),
            noise_dof=self.noise_dof,
            changes=self.changes,
            visits=self.visits,
        )

    def worst(self, codes: Array) -> ReadingError:
        """The parts of the error where one reading is worth least. [count, rad or m]"""
        return max((self.at(float(code)) for code in codes), key=lambda error: error.half_width_95)


def lasting_shifts(
    fitted: Fitted, raw: Array, *, reference: ReferenceUncertainty, found: Sequence[Place]
) -> Array:
    """What the lasting errors of the reference do to the parameters of a curve.

    Parameters
    ----------
    fitted : Fitted
        The curve. [rad or m]
    raw : array, (n,)
        Readings of the points. [count]
    reference : ReferenceUncertainty
        Its shared error, that of its scale, and that of each place. [rad or m, 1]
    found : sequence of Place
        The places, P of them. [1]

    Returns
    -------
    array, (2, p) or (2 + P, p)
        Shifts by one standard uncertainty of the shared error and of the scale; of each place, where places
        have an error of their own. [rad or m]

    Notes
    -----
    An error that all points share is fitted like any other: the parameters move by the least-squares
    solution for a column of ones, of positions, or of ones at the points of one place. A slope that is
    known does not move.

    References
    ----------
    gum
    """
    act = fitted.model.jacobian(fitted.values, raw)
    columns = [reference.shared * np.ones(len(raw)), reference.scale * fitted.predict(raw)]
    for place in found if reference.per_place else ():
        columns.append(np.zeros(len(raw)))
        columns[-1][list(place.members)] = reference.per_place
    long = np.linalg.norm(act, axis=0)
    shifts = np.linalg.lstsq(act / long, np.column_stack(columns), rcond=None)[0]
    return np.asarray(shifts.T / long)


def without_play(points: Sequence[CalibrationPoint], residuals: Array, play: PlayEstimate) -> Array:
    """Residuals (reference less curve) with the lag of half the play taken out.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of the fit. [1]
    residuals : array, (n,)
        Reference less curve. [rad or m]
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


def off_by_steps(noise: float, *, step: float) -> float:
    r"""Standard uncertainty that the steps of a sensor leave at each place, however often it is read.

    Parameters
    ----------
    noise : float
        Standard deviation of one reading. [count]
    step : float
        The step inside the sensor; of one count or less it is the rounding, which counts elsewhere. [count]

    Returns
    -------
    float
        :math:`s / \sqrt{12}` while the noise is below half a step; then it averages out. [count]

    References
    ----------
    gum-quantisation

    Examples
    --------
    Steps of 12 counts beside a noise of 2, and of 20:

    >>> [round(off_by_steps(noise, step=12.0), 3) for noise in (2.0, 20.0)]
    [3.464, 0.0]
    """
    return ROUNDING * step if step > A_COUNT and noise < HALF_COUNT * step else 0.0


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
