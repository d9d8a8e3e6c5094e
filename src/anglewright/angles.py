"""Angles that come round again: the shortest way between two, and readings put back into their turn."""

import numpy as np

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
