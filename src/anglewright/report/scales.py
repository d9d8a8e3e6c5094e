"""Round numbers for the scales of plots and drawings."""

import math

from anglewright.errors import Problem, RangeError


def ticks(low: float, high: float, *, most: int = 8) -> tuple[float, ...]:
    """Round numbers from `low` to `high`, at most so many, at steps of 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    low, high : float
        Ends of the scale. [any]
    most : int
        Most numbers wanted, at least two. [1]

    Returns
    -------
    tuple of float
        Rising. [any]

    Raises
    ------
    RangeError
        `high` is not above `low`.

    Examples
    --------
    >>> ticks(-20.0, 115.0)
    (-20.0, 0.0, 20.0, 40.0, 60.0, 80.0, 100.0)
    """
    if not low < high:
        raise RangeError(Problem("scale of a plot", f"it runs from {low:g} to {high:g}", "", "Widen it."))
    coarse = 10.0 ** math.floor(math.log10((high - low) / most))
    step = next(s for s in (coarse * m for m in (1, 2, 5, 10, 20)) if (high - low) / s <= most - 1 + 1e-9)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(round(k * step, 12) + 0.0 for k in range(first, last + 1))
