"""How the points of a calibration scatter: about the curve, and as far as is known without one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.calibration.pairing import Place, place_means
from anglewright.calibration.student import effective_dof
from anglewright.links.protocol import Array

LIKELY = 2.576  # standard uncertainties within which a normal error stays with 99 % [1]
SURELY = 0.9  # probability with which a curve must be found wanting before it is said to be [1]
BEYOND_DOUBT = 0.99  # ... with which places must scatter more than is stated [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Variance of one point, with its degrees of freedom, known without any curve. [rad² or m², 1]

    `visits` is what of it the same place shows at another visit beyond all that is stated, if it surely does.
    """

    variance: float
    dof: float
    visits: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LackOfFit:
    """What a curve leaves.

    `point_variance` (with `dof`) is that of one point, from which the uncertainty of the curve follows;
    `structure` the standard deviation of what the curve cannot follow, 0 where the scatter of the points
    explains all that it leaves. [rad² or m², rad or m, 1]
    """

    point_variance: float
    dof: float
    structure: float


def known_scatter(
    rest: Array,
    *,
    found: Sequence[Place],
    fresh: float,
    noise: tuple[float, float],
    spent: int = 0,
    stays: float = 0.0,
) -> Scatter:
    r"""How much one point scatters, as told by the reference, the repeats of a reading and of a place.

    Parameters
    ----------
    rest : array, (n,)
        Residuals of any curve that follows the places, play taken out. [rad or m]
    found : sequence of Place
        The places. [1]
    fresh : float
        Standard uncertainty of the reference that is fresh at each point. [rad or m]
    noise : tuple of float
        Standard uncertainty of the mean reading of a point, and its degrees of freedom. [rad or m, 1]
    spent : int
        Degrees of freedom that the play took from the differences at the places. [1]
    stays : float
        Standard uncertainty that the steps of a sensor leave at a place, which they do not at every visit.
        [rad or m]

    Returns
    -------
    Scatter
        The larger of what is stated and what the points at one place show. [rad² or m², 1]

    Notes
    -----
    Points at one place that scatter beyond the 99 % quantile of what is stated show something that no one
    knew of, a hub or a magnet that is loose; a reading in use has it too. A reference that is set worse than
    is stated looks the same.

    References
    ----------
    gum-g
    """
    stated = fresh**2 + noise[0] ** 2
    stated_dof = effective_dof([(fresh, math.inf), (noise[0], noise[1] or math.inf)])
    within, dof = _within_places(rest, found)
    dof -= spent
    if dof >= 2 and within / dof > stated:
        explained = stated + stays**2
        sure = within / dof > explained * by_chance(dof, stated_dof, probability=BEYOND_DOUBT)
        visits = within / dof - explained if sure else 0.0
        return Scatter(variance=within / dof, dof=float(dof), visits=visits)
    return Scatter(variance=stated, dof=stated_dof)


def _within_places(rest: Array, found: Sequence[Place]) -> tuple[float, int]:
    """Sum of squares about the means of the places, and its degrees of freedom."""
    groups = [rest[list(place.members)] for place in found if len(place.members) > 1]
    squares = sum(float(np.sum(np.square(group - np.mean(group)))) for group in groups)
    return squares, len(rest) - len(found)


def lack_of_fit(
    rest: Array,
    *,
    found: Sequence[Place],
    count: int,
    known: Scatter,
    tilt: Array | float = 0.0,
    per_place: float = 0.0,
) -> LackOfFit:
    r"""Whether a curve leaves more at the places than the points scatter, and how much more.

    Parameters
    ----------
    rest : array, (n,)
        Residuals of the curve, play taken out. [rad or m]
    found : sequence of Place
        The places, P of them. [1]
    count : int
        Parameters of the curve. [1]
    known : Scatter
        Variance of one point without any curve. [rad² or m²]
    tilt : array, (n,), or float
        What a standard uncertainty of the reference's scale leaves beside a curve that cannot follow it.
        [rad or m]
    per_place : float
        Standard uncertainty of where each place stands, the same at every visit. [rad or m]

    Returns
    -------
    LackOfFit
        Variance of a point, its degrees of freedom, and what the curve cannot follow. [rad² or m², rad or m]

    Notes
    -----
    The mean square of the places about the curve, :math:`M = \sum w_j \bar e_j^2 / (P - p)`, with the
    number of points w that the mean of a place is worth, is held against the known variance
    :math:`\sigma^2` of one point, and of places :math:`\bar w \tau^2` more. Where their ratio is beyond the
    90 % quantile of its distribution, the curve leaves :math:`\sqrt{(M - \sigma^2) / \bar w - \tau^2}`
    for good and M is what a point departs by. Otherwise sigma² is.

    References
    ----------
    gum-g
    """
    dof = len(found) - count
    if dof <= 0:
        return LackOfFit(point_variance=known.variance, dof=known.dof, structure=0.0)
    sizes = np.array([place.worth for place in found])
    placed = per_place**2 * float(np.mean(sizes))
    square = float(np.sum(sizes * np.square(place_means(found, rest)))) / dof
    tilted = np.broadcast_to(np.asarray(tilt, dtype=float), rest.shape)
    excused = float(np.sum(sizes * np.square(LIKELY * place_means(found, tilted)))) / dof
    expected = known.variance + placed
    square = max(square - excused, min(square, expected))
    if known.variance > 0.0 and square <= expected * by_chance(dof, known.dof):
        return LackOfFit(point_variance=known.variance, dof=known.dof, structure=0.0)
    structure = math.sqrt(max(square - expected, 0.0) / float(np.mean(sizes)))
    return LackOfFit(point_variance=max(square - placed, known.variance), dof=float(dof), structure=structure)


def by_chance(dof: float, known_dof: float, *, probability: float = SURELY) -> float:
    """Ratio of two variances that chance alone stays below with a probability.

    Parameters
    ----------
    dof, known_dof : float
        Degrees of freedom of the variance that is looked at, and of the one that is known. [1]
    probability : float
        The probability. [1]

    Returns
    -------
    float
        The ratio. [1]

    References
    ----------
    gum-g

    Examples
    --------
    Of one degree of freedom the square of the normal distribution's 1.645, as every table has it:

    >>> round(by_chance(1.0, math.inf), 3)
    2.706
    """
    from scipy.special import chdtri, fdtri

    if math.isinf(known_dof):
        return float(chdtri(dof, 1.0 - probability)) / dof
    return float(fdtri(dof, known_dof, probability))
