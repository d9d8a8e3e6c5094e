"""Which points were taken at the same nominal position, and which of them belong together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.points import SAME_PLACE, CalibrationPoint

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One nominal position: the numbers of its points, by the side from which they were reached."""

    up: tuple[int, ...]
    down: tuple[int, ...]
    unknown: tuple[int, ...]

    @property
    def members(self) -> tuple[int, ...]:
        """Numbers of all points of the position. [1]"""
        return (*self.up, *self.down, *self.unknown)

    @property
    def worth(self) -> float:
        """How many points its mean is worth, both sides counting alike. [1]"""
        if self.up and self.down:
            return 4.0 / (1.0 / len(self.up) + 1.0 / len(self.down))
        return float(len(self.members))

    @property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Numbers of the points reached going up and coming down, visit by visit. [1]"""
        return tuple(zip(self.up, self.down, strict=False))


def places(points: Sequence[CalibrationPoint]) -> tuple[Place, ...]:
    """Nominal positions of a calibration, in rising order.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [rad or m]

    Returns
    -------
    tuple of Place
        Each point belongs to exactly one. [1]

    Notes
    -----
    The reference is seldom set to the same value twice, so points nearer than a third of the usual step
    between points of one side of approach count as one position.

    References
    ----------
    practice

    Examples
    --------
    Up to 90 deg in two steps and back again, the reference read each time:

    >>> sweep = [(0.0, 1), (45.1, 1), (90.0, 1), (89.8, -1), (45.0, -1), (0.1, -1)]
    >>> points = [CalibrationPoint(reference=q, raw=q, approach=side) for q, side in sweep]
    >>> [place.pairs for place in places(points)]
    [((0, 5),), ((1, 4),), ((2, 3),)]
    """
    reference = np.array([point.reference for point in points])
    near = _usual_step(points, reference) / 3
    order = np.argsort(reference, kind="stable").tolist()
    clusters: list[list[int]] = []
    for k in order:
        if clusters and reference[k] - reference[clusters[-1][0]] <= near:
            clusters[-1].append(k)
        else:
            clusters.append([k])
    return tuple(_place(points, sorted(cluster)) for cluster in clusters)


def _usual_step(points: Sequence[CalibrationPoint], reference: Array) -> float:
    """Median step between points of one side of approach, repeats left out."""
    sides = np.array([point.approach for point in points])
    steps = np.concatenate([np.abs(np.diff(reference[sides == side])) for side in (1, -1, 0)])
    steps = steps[steps > SAME_PLACE * np.ptp(reference)]
    return float(np.median(steps)) if len(steps) else 0.0


def _place(points: Sequence[CalibrationPoint], cluster: list[int]) -> Place:
    sides = {side: tuple(k for k in cluster if points[k].approach == side) for side in (1, -1, 0)}
    return Place(up=sides[1], down=sides[-1], unknown=sides[0])


def place_means(found: Sequence[Place], values: Array) -> Array:
    """Mean of a value over the points of each position, both sides counting alike.

    Parameters
    ----------
    found : sequence of Place
        The positions. [1]
    values : array, (n,)
        A value for each point. [any unit]

    Returns
    -------
    array, (number of positions,)
        The mean of up and down where both are there, else of what is there. [any unit]

    References
    ----------
    practice
    """
    listed: list[float] = np.asarray(values).tolist()
    return np.array([_balanced(place, listed) for place in found])


def _balanced(place: Place, values: Sequence[float]) -> float:
    if place.up and place.down:
        return (_mean(place.up, values) + _mean(place.down, values)) / 2
    return _mean(place.members, values)


def _mean(members: Sequence[int], values: Sequence[float]) -> float:
    """Mean of few; an array's own takes ten times as long for two. [any unit]"""
    return math.fsum(values[k] for k in members) / len(members)


def runs(found: Sequence[Place], values: Array) -> tuple[Array, Array]:
    """A value for each run and position, going up and coming down.

    A run is one way through the positions in the order in which they were taken: it ends where the axis
    turns round, or goes back unseen to be taken from the same side again. Ways of one side that share no
    position are parts of one run, as of a round trip that began in the middle. What one way visits twice
    belongs to two.

    Parameters
    ----------
    found : sequence of Place
        The positions. [1]
    values : array, (n,)
        A value for each point. [any unit]

    Returns
    -------
    array, array
        Shape (runs, positions) each; nan where a run left a position out. [any unit]

    References
    ----------
    practice
    """
    visits = sorted(
        (k, number, side)
        for number, place in enumerate(found)
        for side, members in ((1, place.up), (-1, place.down))
        for k in members
    )
    ways: dict[int, list[dict[int, int]]] = {1: [], -1: []}
    begun, last_number, last_side = 0, 0, 0
    for k, number, side in visits:
        own = ways[side]
        if side != last_side or side * (number - last_number) < 0:
            begun = len(own)
        free = next((way for way in own[begun:] if number not in way), None)
        if free is None:
            own.append(free := {})
        free[number] = k
        last_number, last_side = number, side
    return _table(ways[1], values, len(found)), _table(ways[-1], values, len(found))


def _table(ways: list[dict[int, int]], values: Array, positions: int) -> Array:
    """A row for each run: ways one after the other that share no position are one."""
    whole: list[dict[int, int]] = []
    for way in ways:
        if whole and not whole[-1].keys() & way.keys():
            whole[-1].update(way)
        else:
            whole.append(dict(way))
    table = np.full((len(whole), positions), np.nan)
    for row, way in enumerate(whole):
        table[row, list(way)] = values[list(way.values())]
    return table
