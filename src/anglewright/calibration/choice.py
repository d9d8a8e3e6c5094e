"""Choosing a model: every candidate predicts places that it has not seen; the simplest good one is taken."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from anglewright.calibration.models.fitted import Model
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.errors import DataError, Problem, nearest
from anglewright.links.protocol import Array

Offer: TypeAlias = Callable[[Array], Model]
"""A model for the codes of the places, rising. [count]"""

LEAST_DOF = 3  # residual degrees of freedom that a model must leave (common practice, no source) [1]
ERRORS = 1.0  # standard errors within which a simpler model counts as being as good [1]
SAME_SLOPE = 2.0  # standard uncertainties within which a free slope agrees with a known one [1]
THINNER = 9.0  # a table without one node in two misses the square of three times as much (own study) [1]
BETWEEN = 257  # codes over the places, at which a curve must be known [1]
MOST_GAIN = 3.0  # standard uncertainties of a place, by which a curve between places may be uncertain [1]
NEIGHBOURS = 0.75  # share of a place's variance that its neighbours bring into what joins them [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """A model on trial.

    `missed` (P,) are departures of each place from the curve that had not seen it [rad or m]; empty, with
    the reason in `why`, where it could not be tried.
    """

    model: Model
    missed: Array
    why: str = ""

    @property
    def count(self) -> int:
        """Number of parameters. [1]"""
        return len(self.model.names)

    @property
    def tried(self) -> bool:
        """Whether it could be tried."""
        return len(self.missed) > 0

    @property
    def error(self) -> float:
        """Root mean square of the departures of places not seen; infinite where not tried. [rad or m]"""
        return math.sqrt(float(np.mean(np.square(self.missed)))) if self.tried else math.inf


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sample:
    """Means at the places (P,), the points each is worth, the number of points, what is known to scatter.

    Codes [count], positions [rad or m], weights [1]; `scatter` is a standard deviation of one point, 0 where
    nothing is known of it, `per_place` that of where a place stands. [rad or m]
    """

    x: Array
    y: Array
    weights: Array
    points: int
    scatter: float
    per_place: float = 0.0

    @property
    def place_variance(self) -> float:
        """Known variance of the mean of a usual place. [rad² or m²]"""
        return self.scatter**2 / float(np.mean(self.weights)) + self.per_place**2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """The model that was chosen, all that were on trial with the simplest first, and why.

    `preferred` is what the points alone would have chosen, where a model was asked for.
    """

    chosen: Candidate
    candidates: tuple[Candidate, ...]
    agrees: bool = False
    wanted: str = ""
    preferred: Candidate | None = None

    @property
    def rival(self) -> Candidate | None:
        """What the points surely prefer to the model that was asked for; None where there is nothing."""
        better = self.preferred is not None and self.preferred.error < self.chosen.error
        return self.preferred if better else None

    @property
    def because(self) -> str:
        """Why, as the end of a sentence."""
        able = [each for each in self.candidates if each.tried]
        if self.wanted:
            return "it was asked for"
        fixed = "the counts of a turn fix the slope, and a free one agrees with it"
        if self.agrees and isinstance(self.chosen.model, FixedSlope):
            return fixed
        if len(able) == 1:
            return "there are too few points to try any other"
        if self.chosen is min(able, key=lambda each: each.error):
            least = "shown all places but one, it misses that one by least, and nothing simpler comes near"
            return f"{least}; {fixed}" if self.agrees else least
        return "shown all places but one, no other is surely nearer to that one, and this is the simplest"


def choose_model(
    offers: Sequence[Offer], sample: Sample, *, scale_u: float = 0.0, wanted: str = ""
) -> Choice:
    """The simplest model that predicts places it has not seen as well as the best one.

    Parameters
    ----------
    offers : sequence of Offer
        The models to be tried.
    sample : Sample
        Means at the places. [count, rad or m]
    scale_u : float
        Standard uncertainty of the reference's scale, within which a slope may differ. [1]
    wanted : str
        Name of the model that is taken, whatever its rivals do; empty leaves the choice to the points.

    Returns
    -------
    Choice
        The model, its rivals, the reason.

    Raises
    ------
    DataError
        No model leaves three residual degrees of freedom; how many points it takes is said.

    Notes
    -----
    Each place is left out once. A simpler model is as good where the mean of the differences of the squared
    departures is within one standard error of them. A table is tried with twice its usual distance between
    nodes, where it misses more than it will: what stands above the known scatter counts by a ninth.

    Places that all lie a whole number of turns apart see each wave at one phase alone, and any wave passes
    them. So a curve whose standard uncertainty between the places is anywhere more than three times that of
    a place is passed over.

    Where the slope is known (counts per turn of a digital sensor) and the free slope lies within two
    standard uncertainties of it, models with a free slope are out.

    References
    ----------
    esl
    """
    order = np.argsort(sample.x)
    candidates = tuple(
        sorted((_tried(offer(sample.x[order]), sample) for offer in offers), key=lambda each: each.count)
    )
    able = [each for each in candidates if each.tried and wanted in ("", each.model.name)]
    if not able:
        raise DataError(_too_few_for_any(candidates, sample, wanted))
    agrees = _agrees(candidates, sample, scale_u)
    fit = [each for each in candidates if each.tried and not (agrees and "slope" in each.model.names)]
    preferred, loose = _steady(fit, sample)
    if wanted:
        return Choice(chosen=able[0], candidates=candidates, wanted=wanted, preferred=preferred)
    candidates = tuple(
        replace(each, missed=np.empty(0), why=_LOOSE) if each in loose else each for each in candidates
    )
    return Choice(chosen=preferred, candidates=candidates, agrees=agrees)


_LOOSE = "between the places these points do not tell its curve"


def _steady(able: Sequence[Candidate], sample: Sample) -> tuple[Candidate, list[Candidate]]:
    """The simplest good one whose curve is known between the places too, and those that were passed over."""
    rest, loose = list(able), list[Candidate]()
    while True:
        chosen = _simplest(rest)
        if len(rest) == 1 or not _is_loose(chosen.model, sample):
            return chosen, loose
        rest.remove(chosen)
        loose.append(chosen)


def _is_loose(model: Model, sample: Sample) -> bool:
    """Whether a curve is far less known somewhere between the places than a place is."""
    fitted = model.fit(sample.x, sample.y, weights=sample.weights)
    codes = np.linspace(float(sample.x.min()), float(sample.x.max()), BETWEEN)
    return bool(np.max(fitted.gain(codes)) * math.sqrt(float(np.mean(sample.weights))) > MOST_GAIN)


def _simplest(able: Sequence[Candidate]) -> Candidate:
    best = min(able, key=lambda each: (each.error, each.count))
    for each in sorted(able, key=lambda each: (each.count, each.error)):
        worse = np.square(each.missed) - np.square(best.missed)
        if float(np.mean(worse)) <= ERRORS * float(np.std(worse, ddof=1)) / math.sqrt(len(worse)):
            return each
    return best


def _tried(model: Model, sample: Sample) -> Candidate:
    nothing = np.empty(0)
    if not enough(model, points=sample.points, positions=len(sample.x)):
        return Candidate(model=model, missed=nothing, why=_too_few(model, sample))
    try:
        missed = model.missed(sample.x, sample.y, weights=sample.weights)
    except DataError as fault:
        return Candidate(model=model, missed=nothing, why=fault.problems[0].found)
    if not np.isfinite(missed).all():
        return Candidate(model=model, missed=nothing, why="without one place it cannot be found")
    if model.through_places:
        missed = missed * _share_of_table(missed, sample)
    return Candidate(model=model, missed=missed)


def _share_of_table(missed: Array, sample: Sample) -> float:
    """By what a table with all its nodes misses less than the one that was tried. [1]"""
    square = float(np.mean(np.square(missed)))
    known = (1.0 + NEIGHBOURS) * sample.place_variance
    if not 0.0 < known < square:
        return 1.0
    return math.sqrt((known + (square - known) / THINNER) / square)


def enough(model: Model, *, points: int, positions: int) -> bool:
    """Whether points tell the parameters of a model, and how good it is.

    Parameters
    ----------
    model : Model
        The model.
    points, positions : int
        Number of points, and of the different positions at which they were taken. [1]

    Returns
    -------
    bool
        True where three residual degrees of freedom are left, and a position beside the parameters.

    References
    ----------
    practice
    """
    return points - len(model.names) >= LEAST_DOF and positions >= _least_places(model)


def _least_places(model: Model) -> int:
    """Positions that a model takes. [1]"""
    return max(len(model.names) + (not model.through_places), 3)


def _too_few(model: Model, sample: Sample) -> str:
    """How many points and positions it takes, and how many there are."""
    count = len(model.names)
    return (
        f"{model.name} has {count} parameter{'s' * (count > 1)} and takes {count + LEAST_DOF} points "
        f"at {_least_places(model)} positions; there are {sample.points} at {len(sample.x)}"
    )


def _too_few_for_any(candidates: Sequence[Candidate], sample: Sample, wanted: str) -> Problem:
    named = [each for each in candidates if wanted in ("", each.model.name)]
    if not named:
        found = f"the model '{wanted}' does not suit this sensor"
        return Problem("calibration", found, "", nearest(wanted, [each.model.name for each in candidates]))
    found = f"there are {sample.points} points at {len(sample.x)} positions"
    least = named[0].count + LEAST_DOF
    limit = f"and a {named[0].model.name} takes {least} at 3 or more, so that three tell how good it is"
    return Problem("calibration", found, limit, f"Take {max(least, 5)} or more, spread over the motion.")


def _agrees(candidates: Sequence[Candidate], sample: Sample, scale_u: float) -> bool:
    """Whether a free slope is, within its uncertainty, the one that is known."""
    known = [each.model for each in candidates if isinstance(each.model, FixedSlope)]
    if not known or len(candidates) == 1:
        return False
    line = Line().fit(sample.x, sample.y, weights=sample.weights)
    scatter = max(sample.scatter, _weighted_sd(line.residuals, sample.weights, line.count))
    u = math.hypot(scatter * math.sqrt(line.spread[1, 1]), scale_u * known[0].slope)
    return bool(abs(line.values[1] - known[0].slope) <= SAME_SLOPE * u)


def _weighted_sd(residuals: Array, weights: Array, count: int) -> float:
    """Standard deviation of one point by what a curve leaves. [rad or m]"""
    dof = len(residuals) - count
    return math.sqrt(float(np.sum(weights * np.square(residuals))) / dof) if dof > 0 else 0.0
