"""Which points were taken at the same nominal position, and which of them belong together."""

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
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """Numbers of the points reached going up and coming down, run by run. [1]"""
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
    return np.array([_balanced(place, values) for place in found])


def _balanced(place: Place, values: Array) -> float:
    if place.up and place.down:
        return float(np.mean(values[list(place.up)]) + np.mean(values[list(place.down)])) / 2
    return float(np.mean(values[list(place.members)]))


def runs(found: Sequence[Place], values: Array) -> tuple[Array, Array]:
    """A value for each run and position, going up and coming down.

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
    return (
        _table([place.up for place in found], values),
        _table([place.down for place in found], values),
    )


def _table(columns: list[tuple[int, ...]], values: Array) -> Array:
    table = np.full((max((len(column) for column in columns), default=0), len(columns)), np.nan)
    for number, column in enumerate(columns):
        table[: len(column), number] = values[list(column)]
    return table
