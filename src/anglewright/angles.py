"""Angles that come round again: the shortest way between two, their mean, readings put into their turn."""

from math import gcd

import numpy as np
from numpy.typing import ArrayLike

from anglewright.circuits import Numeric

TURN = 2.0 * np.pi  # [rad]


def shortest(difference: Numeric, *, period: float = TURN) -> Numeric:
    """The shortest way round that is worth the same difference.

    Parameters
    ----------
    difference : float or array
        Any difference. [rad, or the unit of the period]
    period : float
        After how much everything comes round again. [rad]

    Returns
    -------
    float or array
        From minus half a period up to, not including, half a period. [rad]

    References
    ----------
    derived

    Examples
    --------
    From 359 degrees to 10 degrees it is 11 degrees on, not 349 back:

    >>> float(shortest(10.0 - 359.0, period=360.0)), float(shortest(359.0 - 10.0, period=360.0))
    (11.0, -11.0)
    """
    half = period / 2.0
    way = np.mod(np.asarray(difference) + half, period) - half
    return way if np.ndim(way) else float(way)


def nearest_turn(reading: Numeric, expected: Numeric, *, period: float = TURN) -> Numeric:
    """The reading, whole periods added or taken off until it lies next to what is expected.

    Parameters
    ----------
    reading : float or array
        What was read, in any turn. [rad, or the unit of the period]
    expected : float or array
        What it should be near. [rad]
    period : float
        After how much the reading comes round again. [rad]

    Returns
    -------
    float or array
        Within half a period of what is expected. [rad]

    References
    ----------
    derived

    Examples
    --------
    Code 3 of a 12-bit sensor that is expected at 4090 has gone round once:

    >>> float(nearest_turn(3.0, 4090.0, period=4096.0))
    4099.0
    """
    near = np.asarray(reading) + period * np.round((np.asarray(expected) - reading) / period)
    return near if np.ndim(near) else float(near)


def circular_mean(values: ArrayLike, *, period: float = TURN) -> float:
    r"""Mean of angles that come round again: the direction of the sum of their unit vectors.

    Parameters
    ----------
    values : array
        Angles or readings, in any turn. [rad, or the unit of the period]
    period : float
        After how much everything comes round again. [rad]

    Returns
    -------
    float
        From 0 up to, not including, one period; nan where a value is. [rad]

    Notes
    -----
    :math:`\mathrm{atan2}(\sum \sin, \sum \cos)`. It is no number to build on where `resultant` is small.

    References
    ----------
    mardia-jupp

    Examples
    --------
    The plain mean of 355, 5 and 15 degrees is 125 degrees:

    >>> round(circular_mean([355.0, 5.0, 15.0], period=360.0), 9)
    5.0
    """
    mean = float(np.angle(_vector(values, period))) / TURN * period
    return mean % period if mean % period < period else 0.0


def resultant(values: ArrayLike, *, period: float = TURN) -> float:
    """Length of the mean of the unit vectors of angles: 1 where all are alike, near 0 where they scatter.

    Parameters
    ----------
    values : array
        Angles or readings, in any turn. [rad, or the unit of the period]
    period : float
        After how much everything comes round again. [rad]

    Returns
    -------
    float
        One less the circular variance. [1]

    References
    ----------
    mardia-jupp

    Examples
    --------
    >>> round(resultant([0.0, 180.0], period=360.0), 9)
    0.0
    """
    return float(np.abs(_vector(values, period)))


def _vector(values: ArrayLike, period: float) -> np.complex128:
    """Mean of the unit vectors of angles, as a complex number."""
    return np.complex128(np.mean(np.exp(1j * TURN / period * np.asarray(values, dtype=float))))


def pair_limit(first: int, second: int) -> float:
    r"""Largest error that both sensors of a pair may have at once, each on its own gear.

    Parameters
    ----------
    first, second : int
        Teeth of the two gears. [1]

    Returns
    -------
    float
        Below it the turn is told rightly, whatever the signs of the errors. [rad]

    Notes
    -----
    The difference of the two readings, counted in teeth, is a multiple of the greatest common divisor `g`. It
    is told from its neighbours as long as :math:`z_1 |e_1| + z_2 |e_2| < g \pi`; for equal errors that is
    :math:`g \pi / (z_1 + z_2)`.

    References
    ----------
    derived

    Examples
    --------
    Gears of 24 and 18 teeth bear far more than 17 and 16, and tell fewer turns for it:

    >>> [round(float(np.degrees(pair_limit(*teeth))), 3) for teeth in ((17, 16), (24, 18))]
    [5.455, 25.714]
    """
    return gcd(first, second) * TURN / 2.0 / (first + second)


def first_turns(first_rad: Numeric, second_rad: Numeric, *, first: int, second: int) -> Numeric:
    r"""Whole turns that the first gear has made, from the readings of both sensors.

    Parameters
    ----------
    first_rad, second_rad : float or array
        Readings of the two sensors, each within its own turn. [rad]
    first, second : int
        Teeth of their gears. [1]

    Returns
    -------
    float or array
        From 0 up to, not including, the teeth of the second gear over the common divisor; nan stays nan. [1]

    Notes
    -----
    With :math:`a_i` the teeth that each sensor reads, :math:`(a_2 - a_1) / g` rounded to a whole number `m`
    gives the turns :math:`k = m (z_1 / g)^{-1} \bmod z_2 / g`. After :math:`z_1 z_2 / g` teeth both gears
    stand as before, and the count begins anew.

    References
    ----------
    derived

    Examples
    --------
    100 teeth are 5 turns and 15 teeth of a gear of 17, and 6 turns and 4 teeth of one of 16:

    >>> first_turns(15 / 17 * TURN, 4 / 16 * TURN, first=17, second=16)
    5.0
    """
    step = gcd(first, second)
    apart = np.round((second * np.asarray(second_rad) - first * np.asarray(first_rad)) / (step * TURN))
    turns = np.mod(apart * pow(first // step, -1, second // step), second // step)
    return turns if np.ndim(turns) else float(turns)
