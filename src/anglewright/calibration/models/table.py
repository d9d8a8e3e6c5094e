"""A monotone table: the curve goes through the mean of every position, and never turns back between them."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.calibration.models.fitted import Fitted
from anglewright.links.protocol import Array

NEAR = 0.25  # share of the usual step within which two codes get one node [1]
LITTLE = 1e-4  # of a usual step between nodes, by which one is moved to see what it does [1]
PARTS = 5  # each fifth node is left out at once: a piece of the cubic hangs on two nodes either way [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MonotoneTable:
    """Positions at nodes of codes, joined by a monotone cubic; straight on beyond the ends.

    Parameters
    ----------
    nodes : array, (p,)
        Rising codes of the nodes. [count]
    """

    nodes: Array
    name: str = "table"
    through_places: ClassVar[bool] = True

    @property
    def names(self) -> tuple[str, ...]:
        """Positions of the nodes, in rising order of codes."""
        return tuple(f"q{place}" for place in range(1, len(self.nodes) + 1))

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        """Weighted means at the nodes, made monotone; each point belongs to the node nearest to it.

        Notes
        -----
        Each mean is moved to its node along the line through all points; the pooling of adjacent violators
        takes out what folds back.

        References
        ----------
        derived
        """
        nearest = self._nearest(x)
        values, heavy = self._means(x, y, weights=weights, nearest=nearest, slope=_slope(x, y))
        return Fitted(
            model=self,
            values=values,
            spread=np.diag(1.0 / heavy),
            residuals=y - self.predict(values, x),
            leverage=weights / heavy[nearest],
        )

    def _nearest(self, x: Array) -> Array:
        """The node that each code belongs to. [1]"""
        return np.asarray(np.argmin(np.abs(x[:, None] - self.nodes), axis=1))

    def _means(
        self, x: Array, y: Array, *, weights: Array, nearest: Array, slope: float
    ) -> tuple[Array, Array]:
        """Monotone means at the nodes, and the weight of each. [rad or m, 1]"""
        from scipy.optimize import isotonic_regression

        owned = np.eye(len(self.nodes))[nearest] * weights[:, None]
        heavy = owned.sum(axis=0)
        moved = y + slope * (self.nodes[nearest] - x)
        means = owned.T @ moved / heavy
        if np.all(np.diff(means) * slope > 0.0):
            return means, heavy
        return np.asarray(isotonic_regression(means, weights=heavy, increasing=slope > 0.0).x), heavy

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each place lies off the table that had no node there. [count, rad or m, 1]

        Notes
        -----
        Nodes are left out in five interleaved parts, which gives the same as one by one.
        """
        slope = _slope(x, y)
        parts = min(len(self.nodes), PARTS)
        part = self._nearest(x) % parts
        missed = np.empty(len(x))
        for number in range(int(part.max()) + 1):
            out = part == number
            kept = np.arange(len(self.nodes)) % parts != number
            table = MonotoneTable(nodes=self.nodes[kept])
            near = table._nearest(x[~out])
            values = table._means(x[~out], y[~out], weights=weights[~out], nearest=near, slope=slope)[0]
            missed[out] = y[out] - table.predict(values, x[out])
        return missed

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return self._curves(values[:, None], x)[:, 0]

    def _curves(self, values: Array, x: Array) -> Array:
        """Positions (n, k) of codes (n,) by k sets of values (p, k) at the nodes. [rad or m]"""
        from scipy.interpolate import PchipInterpolator

        inside = np.clip(x, self.nodes[0], self.nodes[-1])
        steps = np.diff(values, axis=0) / np.diff(self.nodes)[:, None]
        ends = np.where((x < self.nodes[0])[:, None], steps[0], steps[-1])
        return np.asarray(PchipInterpolator(self.nodes, values)(inside) + (x - inside)[:, None] * ends)

    def jacobian(self, values: Array, x: Array) -> Array:
        """What each node does to the cubic, by moving it a little up and down. [1]

        Notes
        -----
        In the middle of a piece of an even table the neighbours of its two nodes count as well, -1/16 each
        beside 9/16: errors of the nodes leave a variance of 0.64 there; straight pieces would leave 0.5.
        """
        little = LITTLE * float(np.ptp(values)) / len(values) or LITTLE
        moved = little * np.eye(len(values))
        both = self._curves(values[:, None] + np.hstack([moved, -moved]), x)
        up, down = np.split(both, 2, axis=1)
        return np.asarray((up - down) / (2.0 * little))


def _slope(x: Array, y: Array) -> float:
    """Slope of the line through all points. [rad or m per count]"""
    off = x - np.mean(x)
    return float(off @ y / (off @ off))


def table_at(codes: Array) -> MonotoneTable:
    """A table with a node at each code; codes that almost meet get one between them.

    Parameters
    ----------
    codes : array, (P,)
        Codes of the places, rising. [count]

    Returns
    -------
    MonotoneTable
        With P nodes or fewer. [count]

    References
    ----------
    practice

    Examples
    --------
    >>> table_at(np.array([0.0, 100.0, 101.0, 200.0, 300.0])).nodes.tolist()
    [0.0, 100.5, 200.0, 300.0]
    """
    steps = np.diff(codes)
    starts = np.flatnonzero(steps > NEAR * float(np.median(steps))) + 1
    return MonotoneTable(nodes=np.array([float(np.mean(part)) for part in np.split(codes, starts)]))
