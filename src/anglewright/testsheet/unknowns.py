"""Numbers of an axis that nobody knows exactly, each on a scale from -1 to 1."""

from dataclasses import dataclass

import numpy as np

from anglewright.links.protocol import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A number between two limits, by its key; spaced by its ratio where the limits lie far apart. [SI]"""

    key: str
    low: float
    high: float
    by_ratio: bool = False

    def at(self, place: Array) -> Array:
        """The number at a place from -1, its lower limit, to 1, its upper one. [SI]"""
        share = (np.asarray(place) + 1.0) / 2.0
        if self.by_ratio:
            return np.asarray(self.low * (self.high / self.low) ** share)
        return np.asarray(self.low + (self.high - self.low) * share)
