"""From points to a curve: play taken out, a model chosen at the places, fitted to all points."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from anglewright.calibration.choice import NEIGHBOURS, Choice, Offer, Sample, choose_model
from anglewright.calibration.models.fitted import Fitted
from anglewright.calibration.models.straight import Line
from anglewright.calibration.pairing import Place, place_means, places
from anglewright.calibration.play import PlayEstimate, estimate_play, local_slopes
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.scatter import LackOfFit, Scatter, by_chance, known_scatter, lack_of_fit
from anglewright.calibration.uncertainty import (
    A_COUNT,
    ROUNDING,
    CurveError,
    ReferenceUncertainty,
    lasting_shifts,
    noise_of_mean,
    off_by_steps,
    pooled_noise,
    without_play,
)
from anglewright.errors import DataError, Problem
from anglewright.links.protocol import Array

TREND = 2  # degrees of freedom of the trial of a table, that the trend through the places takes [1]

STRAIGHT: tuple[Offer, ...] = (lambda codes: Line(),)
"""Only a straight line is offered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known beside the points: the reference, the noise of one reading, what changes later.

    Parameters
    ----------
    reference : ReferenceUncertainty
        Standard uncertainties of the reference. [rad or m, 1]
    noise : float
        Standard deviation of one reading, used where no point was read twice; 0 where unknown. [count]
    changes : float
        Standard uncertainty of what may change from one day to another. [rad or m]
    model : str
        Name of the model that is taken whatever the points say; empty leaves it to them.
    step : float
        Step in which a reading moves. [count]
    """

    reference: ReferenceUncertainty
    noise: float = 0.0
    changes: float = 0.0
    model: str = ""
    step: float = A_COUNT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CurveFit:
    """A curve through points, how it was chosen, and what is known of its errors.

    `residuals` are reference less curve, the lag of the play still in them; `rest` has it taken out.
    [rad or m]
    """

    points: tuple[CalibrationPoint, ...]
    found: tuple[Place, ...]
    play: PlayEstimate
    choice: Choice
    fitted: Fitted
    scatter: Scatter
    error: CurveError
    residuals: Array
    rest: Array

    @property
    def raw(self) -> Array:
        """Readings of the points. [count]"""
        return np.array([point.raw for point in self.points])

    @property
    def position(self) -> Array:
        """References of the points. [rad or m]"""
        return np.array([point.reference for point in self.points])

    @property
    def even(self) -> Array:
        """References with the lag of the play taken out as it was for the fit. [rad or m]"""
        return even_references(self.points, self.play)


def fit_curve(
    points: Sequence[CalibrationPoint], *, offers: Sequence[Offer] = STRAIGHT, known: Known
) -> CurveFit:
    r"""Choose a model of position over reading and fit it.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [count, rad or m]
    offers : sequence of Offer
        The models on offer; a straight line alone where none are named.
    known : Known
        The reference, the noise, the changes. [rad or m, count]

    Returns
    -------
    CurveFit
        The curve and what is known of its errors. [rad or m]

    Raises
    ------
    DataError
        All readings are the same, there are fewer than two positions, or too few points for any model.

    Notes
    -----
    Where play is seen the lag of half of it is taken out before the fit, so that places that were reached
    from one side alone do not pull the curve. All points have the same weight. The reading is taken as
    exact in the fit: its noise is small beside the span, and enters as position through the slope. The steps
    of a coarse sensor stay at each place, like marks that err.

    References
    ----------
    gum-h3
    esl
    """
    raw = np.array([point.raw for point in points])
    reference = np.array([point.reference for point in points])
    _held(raw, reference)
    found, play = places(points), estimate_play(points)
    even = even_references(points, play)
    scatter, noise = _scatter(points, even, found=found, known=known, spent=int(play.seen))
    known = replace(known, reference=known.reference.with_places(noise.stays))
    sample = _sample(raw, even, found=found, scatter=scatter, known=known)
    choice = choose_model(offers, sample, scale_u=known.reference.scale, wanted=known.model)
    model = choice.chosen.model
    fitted = model.fit(raw, even, weights=np.ones(len(raw)))
    residuals = reference - fitted.predict(raw)
    lack, lasting = _left(fitted, raw, even, found=found, scatter=scatter, reference=known.reference)
    return CurveFit(
        points=tuple(points),
        found=found,
        play=play,
        choice=choice,
        fitted=fitted,
        scatter=scatter,
        error=CurveError(
            fitted=fitted,
            lack=_between_nodes(lack, choice=choice, sample=sample, known=scatter),
            structure_dof=max(len(found) - (TREND if model.through_places else fitted.count), 0),
            noise=noise.sd,
            noise_dof=noise.dof,
            play=play.half,
            lasting=lasting,
            changes=known.changes,
            visits=math.sqrt(scatter.visits),
        ),
        residuals=residuals,
        rest=without_play(points, residuals, play),
    )


def _left(
    fitted: Fitted,
    raw: Array,
    even: Array,
    *,
    found: Sequence[Place],
    scatter: Scatter,
    reference: ReferenceUncertainty,
) -> tuple[LackOfFit, Array]:
    """What a curve leaves at the places, and what the lasting errors of the reference do to it."""
    lasting = lasting_shifts(fitted, raw, reference=reference, found=found)
    lack = lack_of_fit(
        even - fitted.predict(raw),
        found=found,
        count=len(found) if fitted.model.through_places else fitted.count,
        known=scatter,
        tilt=reference.scale * even - fitted.model.jacobian(fitted.values, raw) @ lasting[1],
        per_place=reference.per_place,
    )
    return lack, lasting


def even_references(points: Sequence[CalibrationPoint], play: PlayEstimate) -> Array:
    """References with the lag of half the play taken out, where play is seen.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points with their sides of approach. [rad or m]
    play : PlayEstimate
        Play at the axis. [rad or m]

    Returns
    -------
    array, (n,)
        What a curve is drawn through. [rad or m]

    References
    ----------
    play-operator
    """
    reference = np.array([point.reference for point in points])
    lag = play.half if play.seen else 0.0
    return np.asarray(reference - lag * np.array([point.approach for point in points]))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Noise:
    """Standard deviation of one reading, rounding and steps included, and its degrees of freedom.

    `stays` is what the steps leave at each place for good. [count, 1, rad or m]
    """

    sd: float
    dof: int
    stays: float


def _beside_places(raw: Array, even: Array, found: Sequence[Place]) -> tuple[Array, float]:
    """What the slope at its place leaves of each point, and the usual slope's size. [rad or m, per count]"""
    usual = float(Line().fit(raw, even, weights=np.ones(len(raw))).values[1])
    slopes = None
    if 3 < len(found) < len(raw):  # with one point a place there is nothing to compare along a slope
        slopes = local_slopes(place_means(found, raw), place_means(found, even))
    steep = np.full(len(raw), usual)
    if slopes is not None:
        for place, slope in zip(found, slopes, strict=True):
            steep[list(place.members)] = slope
    return even - steep * raw, abs(usual)


def _scatter(
    points: Sequence[CalibrationPoint], even: Array, *, found: Sequence[Place], known: Known, spent: int
) -> tuple[Scatter, _Noise]:
    """What one point scatters, and the noise of one reading."""
    rest, slope = _beside_places(np.array([point.raw for point in points]), even, found)
    repeated, dof = pooled_noise(points)
    sd = repeated if dof else known.noise
    usual = 1.0 / float(np.mean([1.0 / point.readings for point in points]))
    of_mean = slope * noise_of_mean(sd, readings=round(usual))
    fresh = known.reference.per_point
    stays = off_by_steps(sd, step=known.step)
    scatter = known_scatter(
        rest, found=found, fresh=fresh, noise=(of_mean, dof), spent=spent, stays=slope * stays
    )
    if not dof and not known.noise:  # what one place shows beyond the reference is noise
        sd = math.sqrt(max(scatter.variance - fresh**2, 0.0)) / slope
        scatter = replace(scatter, visits=0.0)
    return scatter, _Noise(sd=math.hypot(max(sd, ROUNDING), stays), dof=dof, stays=slope * stays)


def _sample(raw: Array, even: Array, *, found: Sequence[Place], scatter: Scatter, known: Known) -> Sample:
    """The places as a choice of model sees them."""
    return Sample(
        x=place_means(found, raw),
        y=place_means(found, even),
        weights=np.array([place.worth for place in found]),
        points=len(raw),
        scatter=math.sqrt(scatter.variance),
        per_place=known.reference.per_place,
    )


def _between_nodes(lack: LackOfFit, *, choice: Choice, sample: Sample, known: Scatter) -> LackOfFit:
    """What the curve leaves; of a table what the trial shows between its nodes, where that is surely more."""
    if not choice.chosen.model.through_places:
        return lack
    by_scatter = (1.0 + NEIGHBOURS) * sample.place_variance
    surely = by_scatter * by_chance(max(len(sample.x) - TREND, 1), known.dof)
    between = choice.chosen.error**2 - by_scatter if choice.chosen.error**2 > surely else 0.0
    return replace(lack, structure=math.sqrt(max(between, 0.0)))


def _held(raw: Array, position: Array) -> None:
    """Refuse what no curve can be drawn through."""
    if len(np.unique(position)) < 2:
        found = f"{len(raw)} readings at {len(np.unique(position))} position"
        remedy = "Take 5 or more, spread over the motion."
        raise DataError(Problem("calibration", found, "a line needs two different ones", remedy))
    if len(np.unique(raw)) < 2:
        found = f"all {len(raw)} points read {raw[0]:.6g}, so the reading does not follow the axis"
        remedy = "Look for a shaft that does not turn, a wrong column, or a broken lead."
        raise DataError(Problem("calibration", found, remedy=remedy))
