"""Free motion of the whole chain, from positions reached going up and coming down."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.pairing import place_means, places
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.student import coverage_factor, upper_quantile

Array = NDArray[np.float64]

SMOOTH = 25  # positions, from which slopes are those of a smooth curve [1]
BOWS = 7  # power of that curve [1]
SURE = 0.999  # play is reported as seen only where it is above zero with this probability [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayEstimate:
    """Total play at the axis with its 95 % limits; all None, with the reason, where data cannot tell.

    `seen` says that play stands out of the scatter; where it does not, `high` says how much may be there.
    """

    value: float | None = None
    low: float | None = None
    high: float | None = None
    standard_uncertainty: float | None = None
    dof: int = 0
    seen: bool = False
    why: str | None = None

    @property
    def half(self) -> float:
        """Half the play, by which a reading may be off to either side; 0 where it is not known. [rad or m]"""
        return 0.0 if self.value is None else self.value / 2


def estimate_play(points: Sequence[CalibrationPoint]) -> PlayEstimate:
    r"""Total play at the axis from the difference between the way up and the way down.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points of one calibration, in the order in which they were taken. [count, rad or m]

    Returns
    -------
    PlayEstimate
        Value, 95 % limits and standard uncertainty, total and at the axis. [rad or m]

    Notes
    -----
    Free motion :math:`2r` makes the sensor lag: it shows :math:`q - r` after going up to :math:`q` and
    :math:`q + r` after coming down. With the local slope :math:`s` of position over reading, each pair
    gives :math:`(q_u - q_d) - s (n_u - n_d) = 2r` plus the scatter of reading and reference. The value is the
    mean of the pairs, the limits follow from their scatter by Student's distribution, and both stop at zero.
    The scatter is taken as at least that of two readings rounded to a count: quiet readings hide what
    lies between.

    The slope comes from a cubic spline through the mean of up and down at each position, because a
    departure from linearity of 1 % changes it by 10 to 20 % from place to place. The spline cannot follow a
    departure with a wave shorter than about three steps between positions. Of more than 25 positions it comes
    from a polynomial. An error that all references
    share cancels; their scale error acts on the play in proportion, which is left out.

    References
    ----------
    play-operator
    gum-g

    Examples
    --------
    0.01 rad of play on a sensor of 0.001 rad a count, read to the count:

    >>> sweep = [(0.0, -5, 1), (1.0, 995, 1), (2.0, 1995, 1), (2.0, 2005, -1), (1.0, 1005, -1), (0.0, 4, -1)]
    >>> play = estimate_play([CalibrationPoint(reference=q, raw=n, approach=a) for q, n, a in sweep])
    >>> round(play.value, 4), play.seen
    (0.0097, True)
    """
    found = [place for place in places(points) if place.pairs]
    if len(found) < 2:
        return PlayEstimate(why=_too_few(points))
    reference = np.array([point.reference for point in points])
    raw = np.array([point.raw for point in points])
    slopes = local_slopes(place_means(found, raw), place_means(found, reference))
    if slopes is None:
        return PlayEstimate(why="the readings do not keep rising, or falling, with the position")
    gaps = [
        reference[up] - reference[down] - slope * (raw[up] - raw[down])
        for place, slope in zip(found, slopes, strict=True)
        for up, down in place.pairs
    ]
    return _from_gaps(np.array(gaps), count=float(np.abs(slopes).mean()))


def _too_few(points: Sequence[CalibrationPoint]) -> str:
    """Why there are no two pairs."""
    sides = {point.approach for point in points}
    if sides <= {0}:
        return "the side from which the positions were reached is not known"
    if not sides >= {1, -1}:
        return "all positions were reached from one side; take them going up and coming down"
    return "fewer than two positions were reached from both sides"


def local_slopes(raw: Array, reference: Array) -> Array | None:
    """Slope of position over reading at each position, by a spline through all, or by a smooth curve.

    Parameters
    ----------
    raw : array, (P,)
        Mean reading at each position. [count]
    reference : array, (P,)
        The positions. [rad or m]

    Returns
    -------
    array, (P,), or None
        None where the readings do not keep rising, or falling, with the position. [rad or m per count]

    Notes
    -----
    More than 25 positions, as of a sweep on the move, lie so close that noise makes neighbours change places:
    the slope is then that of a polynomial of reading over position.

    References
    ----------
    derived
    """
    if len(raw) > SMOOTH:
        steep = np.polynomial.Chebyshev.fit(reference, raw, BOWS).deriv()(reference)
        return np.asarray(1.0 / steep) if np.all(steep > 0.0) or np.all(steep < 0.0) else None
    from scipy.interpolate import CubicSpline

    order = np.argsort(raw)
    steps = np.diff(reference[order])
    if (np.diff(raw[order]) <= 0.0).any() or not ((steps > 0.0).all() or (steps < 0.0).all()):
        return None
    spline = CubicSpline(raw[order], reference[order])
    return np.asarray(spline(raw, 1), dtype=float)


def _from_gaps(gaps: Array, *, count: float) -> PlayEstimate:
    """Mean of the pairs with limits by Student's distribution, stopped at zero; `count` is one count."""
    mean, dof = float(np.mean(gaps)), len(gaps) - 1
    scatter = max(float(np.std(gaps, ddof=1)), count / math.sqrt(6.0))
    u = scatter / math.sqrt(len(gaps))
    half = coverage_factor(dof) * u
    surely = upper_quantile(dof, probability=SURE) * u
    return PlayEstimate(
        value=max(mean, 0.0),
        low=max(mean - half, 0.0),
        high=max(mean + half, 0.0),
        standard_uncertainty=u,
        dof=dof,
        seen=mean - surely > 0.0,
        why=_doubt(mean, surely),
    )


def _doubt(mean: float, surely: float) -> str | None:
    """What keeps the estimate from being play that was seen."""
    if mean + surely < 0.0:
        return "the readings lead instead of lagging: check that the approach column is not turned round"
    if mean - surely <= 0.0:
        return "it does not stand out of the scatter of the readings"
    return None
