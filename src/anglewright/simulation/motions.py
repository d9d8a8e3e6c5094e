"""Paths of an axis over a bench: from place to place at a bounded speed, with rests to read at."""

from dataclasses import dataclass

import numpy as np

from anglewright.links.protocol import Array
from anglewright.rig import Axis

SAMPLE_S = 0.005  # between samples of the path [s]
REST_S = 0.5  # at each place before it is read [s]
OVERSHOOT = 0.9  # share of the way to the stop that a turning point goes beyond the range [1]
USUAL_TIME_S = 3.0  # over the whole range, where the file names no speed [s]
BENCH_SPEED = 0.25  # of the top speed, by hand or at low drive [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Visits:
    """A path and where on it the axis rests to be read.

    `t` (N,) [s], `q` (N,) [m or rad]; `index` (V,) the sample at the end of each rest, `approach` (V,)
    from which side.
    """

    t: Array
    q: Array
    index: tuple[int, ...]
    approach: tuple[int, ...]


def places_up_and_down(axis: Axis, *, both_sides: bool) -> tuple[tuple[float, int], ...]:
    """The planned places in order, each with its side of approach, turning points (side 0) between.

    Parameters
    ----------
    axis : Axis
        The axis with its plan and stops.
    both_sides : bool
        Whether the places are also taken coming down.

    Returns
    -------
    tuple of (float, int)
        Position [m or rad] and side of approach. [1]
    """
    low, high, stops = axis.motion.low, axis.motion.high, axis.stops
    up = axis.positions(axis.plan.points)
    start = low - OVERSHOOT * (low - stops.low)
    beyond = high + OVERSHOOT * (stops.high - high)
    rising = [(start, 0), *((float(q), 1) for q in up)]
    falling = [(beyond, 0), *((float(q), -1) for q in up[::-1])] if both_sides else []
    return (*rising, *falling)


def visit(axis: Axis, places: tuple[tuple[float, int], ...]) -> Visits:
    """The path through places at a quarter of the top speed, with a rest at each.

    Parameters
    ----------
    axis : Axis
        The axis whose speed bounds the path.
    places : tuple of (float, int)
        Position [m or rad] and side of approach; side 0 is passed without a reading. [1]

    Returns
    -------
    Visits
        Sampled path and the samples at which to read.
    """
    span = axis.motion.high - axis.motion.low
    top = axis.motion.speed.nominal if axis.motion.speed else span / USUAL_TIME_S
    stride = BENCH_SPEED * top * SAMPLE_S
    rest = int(REST_S / SAMPLE_S)
    pieces, index, sides = [np.full(rest, places[0][0])], [], []
    count, here = rest, places[0][0]
    for place, side in places[1:]:
        steps = max(1, int(np.ceil(abs(place - here) / stride)))
        eased = (1.0 - np.cos(np.pi * np.arange(1, steps + 1) / steps)) / 2.0
        pieces += [here + (place - here) * eased, np.full(rest, place)]
        count, here = count + steps + rest, place
        if side:
            index.append(count - 1)
            sides.append(side)
    q = np.concatenate(pieces)
    t = np.arange(len(q), dtype=np.float64) * SAMPLE_S
    return Visits(t=t, q=q, index=tuple(index), approach=tuple(sides))
