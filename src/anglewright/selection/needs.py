"""What an axis asks of a sensor and its drive, as plain numbers."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from anglewright.budget.contributions import Play
from anglewright.budget.corrections import Correction, line_fit
from anglewright.links.protocol import Array
from anglewright.rig import Axis

Places: TypeAlias = NDArray[np.intp]
"""Places in a row: of a row of numbers, of a drive, of a choice. [1]"""

PLACES = 55  # looked at over the range, both ends included [1]
PLAY_DIVISOR = {Play.TWO_SIDED: 1.0, Play.ONE_SIDED: float("inf"), Play.DITHERED: float(np.sqrt(3.0))}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Need:
    """The need of one axis: how far it moves, how fast, how exact; lengths and angles in m or rad.

    `places` (P,) and `planned` (K,) are where the error is looked at and where the plan calibrates, from the
    middle of the stops, as shares of the motion; `correction` is what the planned line takes off. The
    middle of the stops is where the sensor is centred.
    """

    axis: Axis
    places: Array
    planned: Array
    correction: Correction

    @property
    def span(self) -> float:
        """Length of the motion. [m or rad]"""
        return self.axis.motion.high - self.axis.motion.low

    @property
    def stops_span(self) -> float:
        """From stop to stop; of an endless motion, its one turn. [m or rad]"""
        stops = self.axis.stops
        return self.span if self.axis.motion.endless else stops.high - stops.low

    @property
    def middle(self) -> float:
        """Where the sensor is centred: between the stops, or amid an endless motion. [m or rad]"""
        return middle_of(self.axis)

    @property
    def speed(self) -> float | None:
        """Top speed; None where the rig does not say. [m/s or rad/s]"""
        speed = self.axis.motion.speed
        return None if speed is None else speed.nominal

    @property
    def play_divisor(self) -> float:
        """Half the play over its standard uncertainty, as the axis comes to rest. [1]"""
        return PLAY_DIVISOR[Play(self.axis.motion.settles)]

    @property
    def seen_side(self) -> int:
        """Side of the plan's readings, less that of use: what of the play its line leaves as a bias. [1]"""
        one_sided = Play(self.axis.motion.settles) is Play.ONE_SIDED
        return (0 if self.axis.plan.both_sides else 1) - int(one_sided)

    @property
    def reads(self) -> int:
        """Readings that the plan takes at each place, both sides together. [1]"""
        return self.axis.plan.readings * (2 if self.axis.plan.both_sides else 1)


def middle_of(axis: Axis) -> float:
    """Where a sensor of the axis is centred. [m or rad]"""
    ends = axis.motion if axis.motion.endless else axis.stops
    return (ends.low + ends.high) / 2.0


def need_of(axis: Axis, *, places: int = PLACES) -> Need:
    """The need of an axis.

    Parameters
    ----------
    axis : Axis
        The axis with its motion, stops, plan and duty.
    places : int
        At how many places the error is looked at. [1]

    Returns
    -------
    Need
        Its numbers.
    """
    positions = axis.positions(places)
    correction = line_fit(axis, positions)
    span, middle = axis.motion.high - axis.motion.low, middle_of(axis)
    return Need(
        axis=axis,
        places=(positions - middle) / span,
        planned=(correction.places - middle) / span,
        correction=correction,
    )
