"""Which number of the rig file the play of a calibration belongs to, and what the other parts leave of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Number
from anglewright.quantities.spread import Spread
from anglewright.rig import Axis, realise

SIZES = ("play", "gap", "backlash")  # keys that are proportional to the play they cause
PLACES = 5  # over the range, at which the play of the parts is looked at [1]
FELT = 1e-9  # of all play: less is what the arithmetic of the computer leaves [1]
GUESS = 2.0  # what is only assumed may be so many times smaller or larger (common practice, no source) [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayShare:
    """The one number that play is laid to: what one of it is worth at the axis, and what the others take.

    `per_one` is in rad or m of the axis for one of the number, `others` what all other parts have, least and
    most. [rad or m]
    """

    number: Number
    per_one: float
    others: tuple[float, float]

    def of(self, low: float, high: float) -> tuple[float, float]:
        """Limits of the number from those of all play at the axis; both at most 0 where nothing is left. [SI]

        References
        ----------
        derived
        """
        least, most = self.others
        return max(low - most, 0.0) / self.per_one, (high - least) / self.per_one


def play_of_parts(axis: Axis, values: Mapping[str, Any]) -> float:
    """Free motion of the whole chain at the axis, total, the mean over the range. [rad or m]

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    values : mapping
        Numbers by key that are not at their mean. [SI]

    Returns
    -------
    float
        How far the axis moves between the two sides from which one code is reached. [rad or m]

    References
    ----------
    play-operator

    Examples
    --------
    The rover's shoulder: 3 deg behind gears of 2 : 1, and 0.1 mm in gears of 48 teeth of 1 mm.

    >>> from anglewright.jobs.opening import open_rig
    >>> shoulder = open_rig("examples/rover/rig.toml").axis("shoulder")
    >>> by_hand = 3.0 / 2.0 + float(np.degrees(2 * 0.1 / 48))
    >>> bool(np.isclose(np.degrees(play_of_parts(shoulder, {})), by_hand))
    True
    """
    chain = realise(axis, lambda number: values.get(number.key, number.variate.mean)).unrounded()
    codes = chain.forward(axis.positions(PLACES))
    apart = axis.apart(chain.backward(codes, side=1) - chain.backward(codes, side=-1))
    return float(np.nanmean(apart))


def felt_numbers(axis: Axis) -> tuple[Number, ...]:
    """Every number that lets the axis move freely, as its parts are put together."""
    total = play_of_parts(axis, {})
    return tuple(
        number
        for number in axis.numbers
        if number.cured_by == ONE_SIDED
        and isinstance(number.variate, Spread)
        and number.variate.mean > 0.0
        and abs(play_of_parts(axis, {number.key: number.variate.mean / 2.0}) - total) > FELT * total
    )


def play_share(axis: Axis) -> PlayShare | None:
    """The number that play is laid to: the only one that lets the axis move, or else that of the coupling.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.

    Returns
    -------
    PlayShare or None
        None where the parts have no play, or several have and none of them is the coupling. [rad or m]

    Notes
    -----
    What the other parts state is taken at its limits; what is only assumed of them may be half or twice as
    much.

    References
    ----------
    practice
    """
    felt = felt_numbers(axis)
    sized = [number for number in felt if number.name.rpartition(".")[2] in SIZES]
    if len(felt) > 1:
        sized = [number for number in sized if number.room == "coupling"]
    if len(sized) != 1:
        return None
    number = sized[0]
    bare = play_of_parts(axis, {number.key: 0.0})
    per_one = (play_of_parts(axis, {}) - bare) / number.variate.mean
    moves = [_moves(axis, other, zeroed=number.key, bare=bare) for other in felt if other is not number]
    low, high = (bare + sum(move[side] for move in moves) for side in (0, 1))
    return PlayShare(number=number, per_one=per_one, others=(max(low, 0.0), high))


def _moves(axis: Axis, other: Number, *, zeroed: str, bare: float) -> tuple[float, float]:
    """How far play can change with another number, where the one that is looked for is zero. [rad or m]"""
    low, high = other.variate.limits
    if any(each.key == other.key for each in axis.assumptions):
        low, high = min(low, other.variate.mean / GUESS), max(high, other.variate.mean * GUESS)
    moved = [play_of_parts(axis, {zeroed: 0.0, other.key: value}) - bare for value in (low, high)]
    return min(*moved, 0.0), max(*moved, 0.0)
