"""Points of a sensor that wraps, put into their turns: beside what is expected, or beside one another."""

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import nearest_turn

Array = NDArray[np.float64]

FAR_BETTER = 0.25  # of the scatter: what the order must leave to go before the data sheet [1]


def in_turns(raw: Array, expected: Array, *, period: float) -> Array:
    """Readings with whole periods added or taken off, so that together they follow the axis.

    Parameters
    ----------
    raw : array, (n,)
        Readings, in any turn. [count]
    expected : array, (n,)
        What the data sheet expects at the same positions. [count]
    period : float
        After how many codes the reading comes round again. [count]

    Returns
    -------
    array, (n,)
        The same readings in their turns. [count]

    Notes
    -----
    As a rule each lies within half a period of what is expected. Where the zero is off by about half a turn,
    or the sensor turns the other way round, that tears the points apart: then they are unwrapped in the order
    of what is expected, which needs less than half a period between neighbours. Of the two, the second is
    taken only where it leaves a quarter of the scatter about a line.

    References
    ----------
    derived

    Examples
    --------
    The zero is off by half a turn, and the reading comes round in the middle:

    >>> import numpy as np
    >>> expected = np.array([0.0, 1000.0, 2000.0, 3000.0])
    >>> in_turns(np.array([2040.0, 3060.0, 4040.0, 950.0]), expected, period=4096.0).tolist()
    [2040.0, 3060.0, 4040.0, 5046.0]
    """
    usual = np.asarray(nearest_turn(raw, expected, period=period))
    order = np.argsort(expected, kind="stable")
    sequence = np.empty_like(usual)
    sequence[order] = np.unwrap(raw[order], period=period)
    sequence += period * np.rint(np.median(expected - sequence) / period)
    better = _scatter(sequence, expected) < FAR_BETTER * _scatter(usual, expected)
    return sequence if better and _scatter(usual, expected) > period / 100.0 else usual


def _scatter(codes: Array, expected: Array) -> float:
    """Root mean square departure from a line. [count]"""
    design = np.column_stack([np.ones_like(expected), expected])
    rest = codes - design @ np.linalg.lstsq(design, codes, rcond=None)[0]
    return float(np.sqrt(np.mean(np.square(rest))))
