"""Which codes the calibration covers, as whole codes that a controller can compare with."""

from dataclasses import dataclass
from math import ceil, floor

LEAST_CODES = 2  # that must be calibrated [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Points:
    """The calibrated codes `low` to `high`, both included. [1]

    With `low` above `high` they run over the wrap.
    """

    low: int
    high: int

    @property
    def wrap(self) -> bool:
        """True where the codes between `high` and `low` are those that are not calibrated."""
        return self.low > self.high

    @property
    def text(self) -> str:
        """The calibrated codes in words."""
        if self.wrap:
            return f"all but those between {self.high} and {self.low}"
        return f"{self.low} to {self.high}"

    def hold(self, raw: int) -> bool:
        """True where a code is calibrated."""
        if self.wrap:
            return raw <= self.high or raw >= self.low
        return self.low <= raw <= self.high

    def count(self, first: int, last: int) -> int:
        """How many of the codes from `first` to `last` are calibrated. [1]"""
        between = max(0, min(self.high, last) - max(self.low, first) + 1)
        if not self.wrap:
            return between
        return max(0, min(self.high, last) - first + 1) + max(0, last - max(self.low, first) + 1)


def points_of(
    domain: tuple[float, float], *, band: tuple[int, int], period: float | None = None
) -> Points | None:
    """The calibrated codes of a valid band.

    Parameters
    ----------
    domain : tuple of float
        Lowest and highest code that the calibration covers, in any turn. [count]
    band : tuple of int
        Lowest and highest valid code. [count]
    period : float or None
        After how many codes an endless axis comes round, None where it has ends. [count]

    Returns
    -------
    Points or None
        The codes; None where all of the band are calibrated. [count]

    References
    ----------
    derived

    Examples
    --------
    Calibrated from code 300 to 3800 of a band from 229 to 3866, and all but a gap of an endless axis:

    >>> points_of((299.5, 3800.0), band=(229, 3866))
    Points(low=300, high=3800)
    >>> points_of((-200.0, 3600.0), band=(0, 4095), period=4096.0)
    Points(low=3896, high=3600)
    """
    low, high = domain
    first, last = band
    if period is not None:
        if high - low >= period - 1.0:
            return None
        low, high = (first + (end - first) % period for end in domain)
    found = Points(low=ceil(low), high=floor(high))
    return None if found.count(first, last) == last - first + 1 else found
