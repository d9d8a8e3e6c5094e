"""A monotone table: the curve goes through the mean of every position, and never turns back between them."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.calibration.models.fitted import Fitted
from anglewright.links.protocol import Array

NEAR = 0.25  # share of the usual step within which two codes get one node [1]
MOST_PARTS = 25  # into which many nodes are divided, each part left out once [1]


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
        values, heavy = self._means(x, y, weights=weights, nearest=nearest)
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

    def _means(self, x: Array, y: Array, *, weights: Array, nearest: Array) -> tuple[Array, Array]:
        """Monotone means at the nodes, and the weight of each. [rad or m, 1]"""
        from scipy.optimize import isotonic_regression

        slope = float(np.polyfit(x, y, 1)[0])
        owned = np.eye(len(self.nodes))[nearest] * weights[:, None]
        heavy = owned.sum(axis=0)
        moved = y + slope * (self.nodes[nearest] - x)
        means = owned.T @ moved / heavy
        return np.asarray(isotonic_regression(means, weights=heavy, increasing=slope > 0.0).x), heavy

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each place lies off the table that had no node there. [count, rad or m, 1]

        Notes
        -----
        With more than 25 nodes they are left out in 25 interleaved parts.
        """
        part = self._nearest(x) % min(len(self.nodes), MOST_PARTS)
        missed = np.empty(len(x))
        for number in range(int(part.max()) + 1):
            out = part == number
            kept = np.arange(len(self.nodes)) % min(len(self.nodes), MOST_PARTS) != number
            table = MonotoneTable(nodes=self.nodes[kept])
            near = table._nearest(x[~out])
            values = table._means(x[~out], y[~out], weights=weights[~out], nearest=near)[0]
            missed[out] = y[out] - table.predict(values, x[out])
        return missed

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        from scipy.interpolate import PchipInterpolator

        inside = np.clip(x, self.nodes[0], self.nodes[-1])
        curve = PchipInterpolator(self.nodes, values)
        ends = np.where(x < self.nodes[0], *self._end_slopes(values))
        return np.asarray(curve(inside) + (x - inside) * ends)

    def _end_slopes(self, values: Array) -> tuple[float, float]:
        """Slopes of the first and the last piece. [rad or m per count]"""
        slopes = np.diff(values) / np.diff(self.nodes)
        return float(slopes[0]), float(slopes[-1])

    def jacobian(self, values: Array, x: Array) -> Array:
        """Weights of the nodes on straight pieces, which bound those of the cubic. [rad or m]"""
        piece = np.clip(np.searchsorted(self.nodes, x) - 1, 0, len(self.nodes) - 2)
        left, right = self.nodes[piece], self.nodes[piece + 1]
        share = (x - left) / (right - left)
        act = np.zeros((len(x), len(self.nodes)))
        rows = np.arange(len(x))
        act[rows, piece], act[rows, piece + 1] = 1.0 - share, share
        return act


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
