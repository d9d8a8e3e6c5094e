"""The valid band: the codes that a healthy sensor can give between the stops of the mechanism."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Number
from anglewright.quantities.spread import SIGMAS_OF_A_LIMIT, Persistence
from anglewright.rig import Axis, at_mean, nudged, realise


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Lowest and highest code of a healthy sensor, both valid. [count]"""

    low_code: int
    high_code: int

    def holds(self, code: float) -> bool:
        """True where a code lies in the band."""
        return self.low_code <= code <= self.high_code


def _code_limits(axis: Axis, q: float) -> tuple[float, float]:
    """Lowest and highest code at a position with every number at its limit and either side of any play."""
    middle = float(realise(axis, at_mean).unrounded().forward(q))
    down = up = 0.0
    for number in axis.numbers:
        if number.variate.is_exact or number.variate.persistence is Persistence.READING:
            continue
        moved = [
            float(realise(axis, nudged(number.key, limit)).unrounded().forward(q)) - middle
            for limit in number.variate.limits
        ]
        down, up = down + min(*moved, 0.0), up + max(*moved, 0.0)
    loosest = realise(axis, _most_play).unrounded()
    lag = max(abs(float(loosest.forward(q, side=side)) - middle) for side in (-1, 1))
    return middle + down - lag, middle + up + lag


def _most_play(number: Number) -> Any:
    """Free motion at its upper limit, every other number at its mean. [SI]"""
    return number.variate.limits[1] if number.cured_by == ONE_SIDED else number.variate.mean


def valid_band(axis: Axis) -> Band:
    """Codes over the mechanism's stops, every spread at its limit, plus three standard deviations of noise.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and stops.

    Returns
    -------
    Band
        Clipped to the codes between the two end codes, which mean "at or beyond". [count]

    References
    ----------
    derived
    """
    noise = sum(
        float(np.max(np.abs(number.variate.nudges[0][1] - number.variate.mean)))
        for number in axis.numbers
        if number.variate.persistence is Persistence.READING
    )
    ends = [_code_limits(axis, stop) for stop in (axis.stops.low, axis.stops.high)]
    low = min(low for low, _ in ends) - SIGMAS_OF_A_LIMIT * noise
    high = max(high for _, high in ends) + SIGMAS_OF_A_LIMIT * noise
    top = 2**axis.converter.bits - 1
    return Band(low_code=max(1, math.floor(low)), high_code=min(top - 1, math.ceil(high)))
