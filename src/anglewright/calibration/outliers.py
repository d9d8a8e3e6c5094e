"""Points that do not belong to the rest, by a stated robust rule; they are shown and never taken out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

SCALE = 1.482602218505602  # one over the upper quartile of the standard normal distribution [1]
LIMIT = 3.5  # modified z score beyond which a point is shown [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlier:
    """A point, by its number from 0, its departure from the middle of all, and the limit of the rule."""

    point: int
    departure: float
    limit: float


def outliers(rest: ArrayLike, *, least: float = 0.0) -> tuple[Outlier, ...]:
    r"""Points whose residual lies far from the middle of all residuals.

    Parameters
    ----------
    rest : array, (n,)
        Residuals, the play's share taken out. [rad or m]
    least : float
        Departure below which nothing is shown, such as one count. [rad or m]

    Returns
    -------
    tuple of Outlier
        The points, by number. [1, rad or m]

    Notes
    -----
    Limit: 3.5 times the scaled median absolute deviation,
    :math:`1.4826\,\mathrm{median}|e - \mathrm{median}(e)|`. The rule holds
    with up to half of the points wild.

    References
    ----------
    iglewicz

    Examples
    --------
    Five readings, one of them wild:

    >>> [found.point for found in outliers([1.0, 2.0, 3.0, 4.0, 100.0])]
    [4]
    """
    values = np.asarray(rest, dtype=float)
    away = values - np.median(values)
    limit = max(LIMIT * SCALE * float(np.median(np.abs(away))), least)
    return tuple(
        Outlier(point=int(k), departure=float(away[k]), limit=limit)
        for k in np.flatnonzero(np.abs(away) > limit)
    )
