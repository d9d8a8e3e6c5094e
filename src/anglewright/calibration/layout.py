"""The points of a calibration side by side: position, reading, what the nominal chain expects, departures."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.outliers import SCALE
from anglewright.calibration.pairing import Place, place_means, places
from anglewright.calibration.play import local_slopes
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.student import upper_quantile
from anglewright.calibration.uncertainty import ReferenceUncertainty, noise_of_mean, pooled_noise
from anglewright.links.protocol import CodeRange

Array = NDArray[np.float64]

MOST_POINTS = 600  # points that are looked at; of more, every n-th [1]
WORTH_SAYING = 0.25  # of the permissible error: less is not worth a word (common practice, no source) [1]
FALSE_ALARM = 0.002  # chance that one check speaks of sound points [1]
PRIOR_DOF = 20.0  # points that the plan's word on the scatter counts for [1]
WORSE = 2.5  # times the planned variance, from which the points alone are believed [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """What the plan and the data sheet say beforehand.

    Parameters
    ----------
    codes : CodeRange
        The codes that the converter can give. [count]
    size : float
        Position per code by the data sheet, with its sign. [rad or m per count]
    need : float
        Permissible error. [rad or m]
    low, high : float
        Ends of the motion. [rad or m]
    reference : ReferenceUncertainty
        Of the reference. [rad or m, 1]
    period : float or None
        After so many codes the reading comes round again. [count]
    endless : bool
        Whether the motion has no ends.
    waves : float
        Largest departure that comes round with the shaft by the data sheet. [rad or m]
    exact : float or None
        How far the slope may lie off the data sheet's by the spreads of its parts. [1]
    bend : float
        How far the spreads of the parts may bend the reading off a straight line at mid-travel. [rad or m]
    bow : float
        The same, and what the nominal parts bend themselves: what a line through two ends may be off there.
        [rad or m]
    zero : float
        How far a reading may lie off the nominal chain by the data sheet alone, clamping included. [rad or m]
    steps : float
        Standard uncertainty that the steps of the sensor leave at each place. [count]
    """

    codes: CodeRange
    size: float
    need: float
    low: float
    high: float
    reference: ReferenceUncertainty
    period: float | None = None
    endless: bool = False
    waves: float = 0.0
    exact: float | None = None
    bend: float = 0.0
    bow: float = 0.0
    zero: float = math.inf
    steps: float = 0.0


class Layout:
    """The points as arrays, with a robust line through them; all in the order in which they were taken."""

    def __init__(self, points: Sequence[CalibrationPoint], expected: Array, given: Expectation) -> None:
        """Take the points; `expected` are the codes that the nominal chain gives at their positions."""
        self.numbers = np.arange(len(points))[:: -(-len(points) // MOST_POINTS)]
        self.points = tuple(points[k] for k in self.numbers)
        self.expected = np.asarray(expected, dtype=float)[self.numbers]
        self.given = given
        self.position = np.array([point.reference for point in self.points])
        self.raw = np.array([point.raw for point in self.points])
        self.side = np.array([point.approach for point in self.points], dtype=float)

    @cached_property
    def found(self) -> tuple[Place, ...]:
        """The nominal positions. [1]"""
        return places(self.points)

    @cached_property
    def line(self) -> tuple[float, float]:
        """Reading at expected code 0 and codes per code expected, by the median of slopes. [count, 1]"""
        first, second = np.triu_indices(len(self.raw), 1)
        run = self.expected[second] - self.expected[first]
        far = np.abs(run) > 0.05 * np.ptp(self.expected)
        if not far.any():
            return float(np.median(self.raw - self.expected)), 1.0
        slope = float(np.median((self.raw[second] - self.raw[first])[far] / run[far]))
        return float(np.median(self.raw - slope * self.expected)), slope

    @cached_property
    def count_size(self) -> float:
        """Position per code read, without its sign. [rad or m per count]"""
        slope = abs(self.line[1])
        return abs(self.given.size) / slope if slope > 0.0 else math.inf

    @cached_property
    def departure(self) -> Array:
        """What each reading shows beyond its reference, off the robust line. [rad or m]"""
        offset, slope = self.line
        away = self.raw - offset - slope * self.expected
        return np.asarray(away * (self.given.size / slope)) if slope else np.zeros_like(away)

    @cached_property
    def spread(self) -> float:
        """Robust standard deviation of the departures, at least that which was planned. [rad or m]"""
        away = self.departure - np.median(self.departure)
        return max(SCALE * float(np.median(np.abs(away))), self.planned_sd)

    @cached_property
    def planned_sd(self) -> float:
        """Scatter of one point by the plan: error of the reference there and noise of a mean. [rad or m]"""
        noise, _ = pooled_noise(self.points)
        readings = max(1, round(float(np.median([point.readings for point in self.points]))))
        return math.hypot(
            self.given.reference.per_point,
            self.given.reference.per_place,
            self.count_size * self.given.steps,
            self.count_size * noise_of_mean(noise, readings=readings),
        )

    @cached_property
    def lag(self) -> Array:
        """What one unit of half-play makes of each departure: its side, by the slope at its place. [1]"""
        if not np.ptp(self.side) or len(self.found) < 3:
            return -self.side
        slopes = self._slopes()
        if slopes is None:
            return -self.side
        lag = np.empty_like(self.side)
        for place, slope in zip(self.found, slopes * self.line[1], strict=True):
            lag[list(place.members)] = -self.side[list(place.members)] / slope
        return lag

    def _slopes(self) -> Array | None:
        """Codes expected per code read at each position; of many, by a smooth curve. [1]"""
        slopes = local_slopes(self.means(self.raw), self.means(self.expected))
        return slopes if slopes is not None and np.all(slopes * self.line[1] > 0.0) else None

    @cached_property
    def play(self) -> float:
        """Robust size of the gap between the way up and the way down; 0 where one is missing. [rad or m]"""
        up, down = self.departure[self.side > 0.0], self.departure[self.side < 0.0]
        return abs(float(np.median(down) - np.median(up))) if len(up) and len(down) else 0.0

    @cached_property
    def gaps(self) -> Array:
        """Departure coming down less that going up, of each pair at one position. [rad or m]"""
        away = self.departure
        return np.array([away[down] - away[up] for place in self.found for up, down in place.pairs])

    @cached_property
    def pair_sd(self) -> float:
        """Scatter of one point, from the pairs alone; 0 with fewer than three. [rad or m]"""
        return float(np.std(self.gaps, ddof=1)) / math.sqrt(2.0) if len(self.gaps) > 2 else 0.0

    @cached_property
    def paired(self) -> int:
        """Positions that were reached from both sides. [1]"""
        return sum(bool(place.pairs) for place in self.found)

    def means(self, values: Array) -> Array:
        """Mean of a value at each nominal position, both sides alike. [any unit]"""
        return place_means(self.found, values)

    @property
    def worth(self) -> float:
        """What is worth a word: a quarter of the permissible error. [rad or m]"""
        return WORTH_SAYING * self.given.need

    def numbered(self, which: Sequence[int] | NDArray[np.intp]) -> tuple[int, ...]:
        """Numbers of points as they were taken, from 0. [1]"""
        return tuple(int(self.numbers[k]) for k in which)


def scatter(square: float, dof: int, *, planned: float) -> tuple[float, float]:
    r"""Standard deviation of a point from what is left over and from the plan, with its degrees of freedom.

    Parameters
    ----------
    square : float
        Sum of the squares that are left over. [rad² or m²]
    dof : int
        Degrees of freedom of it. [1]
    planned : float
        What the plan says. [rad or m]

    Returns
    -------
    float, float
        Standard deviation, degrees of freedom. [rad or m, 1]

    Notes
    -----
    Nine positions up and down leave so few degrees of freedom that a fault of seven standard deviations
    hides behind Student's factor. So the plan's word counts as 20 further points,
    :math:`(\sum e^2 + 20 \sigma_0^2) / (\nu + 20)`, unless the points contradict it: from 2.5 times the
    planned variance on they stand alone.

    References
    ----------
    practice

    Examples
    --------
    >>> scatter(7.0, 7, planned=1.0), scatter(70.0, 7, planned=1.0)[1]
    ((1.0, 27.0), 7.0)
    """
    if dof and square / dof > WORSE * planned**2:
        return math.sqrt(square / dof), float(dof)
    return math.sqrt((square + PRIOR_DOF * planned**2) / (dof + PRIOR_DOF)), dof + PRIOR_DOF


def threshold(dof: float, *, trials: int) -> float:
    """Student's factor that the largest of so many sound values passes twice in a thousand times.

    Parameters
    ----------
    dof : float
        Degrees of freedom of the standard deviation. [1]
    trials : int
        How many values the largest is taken of. [1]

    Returns
    -------
    float
        The factor, both signs counted, by Bonferroni's inequality. [1]

    References
    ----------
    practice

    Examples
    --------
    The normal distribution leaves one in a thousand above 3.09, as every table of it has:

    >>> round(threshold(math.inf, trials=1), 2)
    3.09
    """
    return upper_quantile(dof, probability=1.0 - FALSE_ALARM / (2.0 * max(trials, 1)))
