"""The valid band: the codes that a healthy sensor can give between the stops of the mechanism."""

import math
from dataclasses import dataclass
from typing import Any

from anglewright.chain import Chain
from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Number
from anglewright.quantities.spread import SIGMAS_OF_A_LIMIT, Persistence
from anglewright.rig import Axis, Pick, at_mean, nudged, realise


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Lowest and highest code of a healthy sensor, both valid. [count]"""

    low_code: int
    high_code: int

    def holds(self, code: float) -> bool:
        """True where a code lies in the band."""
        return self.low_code <= code <= self.high_code


def _code_limits(axis: Axis, value: float, *, first: int = 0) -> tuple[float, float]:
    """Lowest and highest code with every number at its limit and either side of any play.

    `value` is a position, or with `first` what goes into the link of that index.
    """

    def code(pick: Pick, *, side: int = 0) -> float:
        links = realise(axis, pick).unrounded().links[first:]
        return float(Chain(links).forward(value, side=side))

    middle, down, up = code(at_mean), 0.0, 0.0
    for number in axis.numbers:
        if number.variate.is_exact or number.variate.persistence is Persistence.READING:
            continue
        moved = [code(nudged(number.key, limit)) - middle for limit in number.variate.limits]
        down, up = down + min(*moved, 0.0), up + max(*moved, 0.0)
    lag = max(abs(code(_most_play, side=side) - middle) for side in (-1, 1))
    return middle + down - lag, middle + up + lag


def reading_noise(axis: Axis, q: float) -> float:
    """Standard deviation of all that is another in every reading, added up, at a position.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    q : float
        The position. [m or rad]

    Returns
    -------
    float
        Without rounding. [count]

    References
    ----------
    derived
    """
    middle = float(realise(axis, at_mean).unrounded().forward(q))
    noisy = [number for number in axis.numbers if number.variate.persistence is Persistence.READING]
    return sum(
        abs(float(realise(axis, nudged(number.key, high)).unrounded().forward(q)) - middle)
        for number in noisy
        for _, high in number.variate.nudges
    )


def step_size(axis: Axis, q: float) -> float:
    """The step in which a reading moves at a position: that of the sensor, where it is more than a count.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    q : float
        The position. [m or rad]

    Returns
    -------
    float
        At least 1. [count]

    References
    ----------
    derived
    """
    stepping = [number for number in axis.numbers if number.variate.persistence is Persistence.MOTION]
    ends = [
        [
            float(realise(axis, nudged(number.key, limit)).unrounded().forward(q))
            for limit in number.variate.limits
        ]
        for number in stepping
    ]
    return max(1.0, sum(max(codes) - min(codes) for codes in ends))


def _most_play(number: Number) -> Any:
    """Free motion at its upper limit, every other number at its mean. [SI]"""
    return number.variate.limits[1] if number.cured_by == ONE_SIDED else number.variate.mean


def _ends(axis: Axis) -> tuple[tuple[int, float], ...]:
    """What bounds the codes: both stops, or both ends of an output that comes round, behind the sensor."""
    if not axis.motion.endless:
        return ((0, axis.stops.low), (0, axis.stops.high))
    behind = axis.index_of("sensor") + 1
    return ((behind, 0.0), (behind, 1.0))


def valid_band(axis: Axis) -> Band:
    """Codes over the mechanism's stops, every spread at its limit, plus three standard deviations of noise.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and stops.

    Returns
    -------
    Band
        Clipped to the codes that can be a position. Every word of an endless axis is one; the voltage of an
        endless axis has its two ends at the wrap. [count]

    References
    ----------
    derived
    """
    noise = max(reading_noise(axis, stop) for stop in (axis.stops.low, axis.stops.high))
    ends = [_code_limits(axis, end, first=first) for first, end in _ends(axis)]
    low = min(low for low, _ in ends) - SIGMAS_OF_A_LIMIT * noise
    high = max(high for _, high in ends) + SIGMAS_OF_A_LIMIT * noise
    codes = axis.codes
    if axis.motion.endless and codes.period is not None:
        return Band(low_code=codes.lowest_valid, high_code=codes.highest_valid)
    return Band(
        low_code=max(codes.lowest_valid, math.floor(low)),
        high_code=min(codes.highest_valid, math.ceil(high)),
    )
