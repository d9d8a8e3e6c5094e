"""Fixed histograms of many quantities at once, so that millions of trials need no memory of their own."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.links.protocol import Array

BINS = 1024  # of each quantity, over half as much again as the first block spans [1]
_MARGIN = 0.25  # of the span of the first block, left free on either side [1]
_NARROW = 1e-9  # width given to a quantity that does not change, against its size [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Bins:
    """Equal bins of M quantities; what falls outside is counted in the end bins. [unit of each]"""

    low: Array
    width: Array

    def places(self, values: Array) -> Array:
        """Where (..., M) values lie, in bins from the lowest; not rounded. [1]"""
        return (values - self.low) / self.width

    def counts(self, values: Array, *, stray: NDArray[np.bool_]) -> NDArray[np.intp]:
        """How many of (n, M) values fall into each bin, shape (M, 1024). [1]

        One quantity after the other: the values of one stay in the cache. Only a `stray` one has values
        outside the bins.
        """
        counts = np.empty((len(self.low), BINS), dtype=np.intp)
        for row, column in enumerate(values.T):
            place = column - self.low[row]
            place *= 1.0 / self.width[row]
            if stray[row]:
                np.clip(place, 0.0, BINS - 0.5, out=place)
            counts[row] = np.bincount(place.astype(np.intp), minlength=BINS)
        return counts


def bins_over(values: Array) -> Bins:
    """Bins for quantities of which a first block has been seen.

    Parameters
    ----------
    values : array, (n, M)
        The first block. [unit of each]

    Returns
    -------
    Bins
        Over what the block spans and a quarter of it on either side. [unit of each]
    """
    low, high = values.min(axis=0), values.max(axis=0)
    span = high - low
    span = np.where(span > 0.0, span, np.maximum(np.abs(low), 1.0) * _NARROW)
    return Bins(low=low - _MARGIN * span, width=(1.0 + 2.0 * _MARGIN) * span / BINS)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Histogram:
    """Counts of M quantities, with the least and the greatest value seen of each. [unit of each]"""

    bins: Bins
    counts: NDArray[np.intp]
    least: Array
    most: Array

    def _edges(self, numbers: Array) -> Array:
        """Edges (M, K) of the bins by number; the outermost are the least and the greatest value seen."""
        low, width, least, most = (
            each[:, None] for each in (self.bins.low, self.bins.width, self.least, self.most)
        )
        edges = np.clip(low + width * numbers, least, most)
        edges = np.where(numbers == 0.0, least, edges)
        return np.where(numbers == BINS, most, edges)

    def _below(self) -> Array:
        """Share of the values below each edge, shape (M, 1025)."""
        grown = np.zeros((len(self.counts), BINS + 1))
        np.cumsum(self.counts, axis=1, out=grown[:, 1:])
        grown /= grown[:, -1:]
        return grown

    def quantiles(self, shares: Array) -> Array:
        """Values below which shares (K,) of the trials lie, shape (M, K). [unit of each]"""
        numbers = np.arange(BINS + 1.0)
        found = np.array([np.interp(shares, below, numbers) for below in self._below()])
        whole = np.minimum(np.floor(found), BINS - 1.0)
        low, high = self._edges(whole), self._edges(whole + 1.0)
        return np.asarray(low + (found - whole) * (high - low))

    def symmetric(self, probability: float) -> Array:
        """Interval that leaves as many trials below as above, shape (M, 2). [unit of each]"""
        tail = (1.0 - probability) / 2.0
        return self.quantiles(np.array([tail, 1.0 - tail]))

    def shortest(self, probability: float) -> Array:
        """The shortest interval that holds a share of the trials, shape (M, 2). [unit of each]"""
        tails = np.linspace(0.0, 1.0 - probability, 2 * BINS + 1)
        low, high = self.quantiles(tails), self.quantiles(tails + probability)
        best = np.argmin(high - low, axis=1)
        rows = np.arange(len(best))
        return np.stack([low[rows, best], high[rows, best]], axis=1)


def merged(first: Histogram, second: Histogram) -> Histogram:
    """Two histograms over the same bins as one. [unit of each]"""
    return Histogram(
        bins=first.bins,
        counts=first.counts + second.counts,
        least=np.minimum(first.least, second.least),
        most=np.maximum(first.most, second.most),
    )


def histogram_of(values: Array, bins: Bins) -> Histogram:
    """Histogram of (n, M) values. [unit of each]"""
    least, most = values.min(axis=0), values.max(axis=0)
    stray = ~((bins.places(least) >= 0.0) & (bins.places(most) < BINS - 0.5))
    return Histogram(bins=bins, counts=bins.counts(values, stray=stray), least=least, most=most)
