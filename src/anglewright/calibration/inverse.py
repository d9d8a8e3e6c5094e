"""Inverse prediction: where a reading belongs on a line of reading over position, and how surely."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from anglewright.calibration.line import fit_line
from anglewright.calibration.student import coverage_factor
from anglewright.errors import DataError, Problem

MOST_G = 1.0  # from which a slope is not surely other than 0 and the limits are no interval [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class InversePrediction:
    """Position of a reading, with its uncertainty and exact limits. [unit of x]

    `standard_uncertainty` is that of first order; `low` and `high` are Fieller's limits, which hold however
    badly the slope is known; `g` says how badly: below 0.05 both agree. [1]
    """

    position: float
    standard_uncertainty: float
    half_width: float
    low: float
    high: float
    g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NewReading:
    """A reading to be placed: the mean of so many, of a weight beside the points', with which probability."""

    value: float
    readings: int = 1
    weight: float = 1.0
    probability: float = 0.95


def predict_inverse(
    x: ArrayLike, y: ArrayLike, reading: NewReading, *, weights: ArrayLike | None = None
) -> InversePrediction:
    r"""Position at which a line through points gives a reading.

    Parameters
    ----------
    x, y : array, (n,)
        Positions, and the readings there. [any units]
    reading : NewReading
        What was read. [unit of y]
    weights : array, (n,), or None
        Relative weights of the points. [1]

    Returns
    -------
    InversePrediction
        Position and limits. [unit of x]

    Raises
    ------
    DataError
        Fewer than three points, or a slope that is not surely other than 0.

    Notes
    -----
    With the line :math:`y = a + b x`, :math:`x_0 = (y_0 - a) / b` and

    .. math:: u(x_0) = \frac{s}{b} \sqrt{\frac{1}{w m} + \frac{1}{\sum w} + \frac{(y_0 - \bar y)^2}{b^2 S}}

    Fieller: with :math:`g = t^2 s^2 / (b^2 S)` and :math:`h = 1 / w m + 1 / \sum w` the limits are
    :math:`\bar x + [(x_0 - \bar x) \pm (t s / b) \sqrt{(1 - g) h + (x_0 - \bar x)^2 / S}] / (1 - g)`.

    References
    ----------
    draper-smith
    fieller

    Examples
    --------
    Five readings of a straight sensor, and where 25 belongs:

    >>> signals = [0.2, 9.9, 20.1, 29.8, 40.1]
    >>> found = predict_inverse([0.0, 1.0, 2.0, 3.0, 4.0], signals, NewReading(value=25.0))
    >>> round(found.position, 3), round(found.half_width, 3)
    (2.499, 0.064)
    """
    line = fit_line(x, y, weights=weights)
    if not line.dof:
        found, remedy = "2 points leave nothing to judge by", "Take 5 or more."
        raise DataError(Problem("line", found, "an inverse prediction takes 3", remedy))
    across = np.asarray(x, dtype=float)
    heavy = np.ones(len(across)) if weights is None else np.asarray(weights, dtype=float)
    middle = float(np.average(across, weights=heavy))
    spread = float(np.sum(heavy * np.square(across - middle)))
    t = coverage_factor(line.dof, probability=reading.probability)
    g = (t * line.residual_sd / line.slope) ** 2 / spread
    if g >= MOST_G:
        found = "the reading hardly follows the position: its slope is not surely other than 0"
        remedy = "Look for a shaft that does not turn, or a wrong column."
        raise DataError(Problem("line", found, remedy=remedy))
    away = (reading.value - line.offset) / line.slope - middle
    fresh = 1.0 / (reading.weight * reading.readings) + 1.0 / float(np.sum(heavy))
    unit = line.residual_sd / abs(line.slope)
    u = unit * math.sqrt(fresh + away**2 / spread)
    reach = t * unit * math.sqrt((1.0 - g) * fresh + away**2 / spread)
    return InversePrediction(
        position=middle + away,
        standard_uncertainty=u,
        half_width=t * u,
        low=middle + (away - reach) / (1.0 - g),
        high=middle + (away + reach) / (1.0 - g),
        g=g,
    )
