"""Factors of Student's distribution, and the degrees of freedom that go into them."""

import math
from collections.abc import Iterable, Sequence
from statistics import NormalDist


def coverage_factor(dof: float, *, probability: float = 0.95) -> float:
    """Factor k of a two-sided interval about a mean.

    Parameters
    ----------
    dof : float
        Degrees of freedom, above zero; infinite gives the normal distribution. [1]
    probability : float
        Share of cases that the interval is to hold. [1]

    Returns
    -------
    float
        Half-width of the interval over the standard uncertainty. [1]

    References
    ----------
    gum-g

    Examples
    --------
    Nine pairs leave eight degrees of freedom:

    >>> round(coverage_factor(8), 3)
    2.306
    """
    return upper_quantile(dof, probability=(1 + probability) / 2)


def upper_quantile(dof: float, *, probability: float) -> float:
    """Value below which Student's variable stays with a probability.

    Parameters
    ----------
    dof : float
        Degrees of freedom, above zero. [1]
    probability : float
        Share of cases below the value. [1]

    Returns
    -------
    float
        The quantile. [1]

    References
    ----------
    gum-g
    """
    if math.isinf(dof):
        return NormalDist().inv_cdf(probability)
    from scipy.special import stdtrit

    return float(stdtrit(dof, probability))


def expanded(parts: Sequence[tuple[float, float]], *, probability: float = 0.95) -> float:
    """Expanded uncertainty of a sum of independent contributions, by Student's factor.

    Parameters
    ----------
    parts : sequence of (float, float)
        Standard uncertainty of each contribution and its degrees of freedom. [any unit, 1]
    probability : float
        Share of cases that the interval is to hold. [1]

    Returns
    -------
    float
        Half-width of the interval. [the same unit]

    References
    ----------
    gum-g

    Examples
    --------
    Two equal parts of many readings each: 1.96 times the root of two:

    >>> round(expanded([(1.0, math.inf), (1.0, math.inf)]), 3)
    2.772
    """
    factor = coverage_factor(effective_dof(parts), probability=probability)
    return factor * math.hypot(*(u for u, _ in parts))


def effective_dof(parts: Iterable[tuple[float, float]]) -> float:
    r"""Degrees of freedom of a sum of independent contributions.

    Parameters
    ----------
    parts : iterable of (float, float)
        Standard uncertainty of each contribution and its degrees of freedom. [any unit, 1]

    Returns
    -------
    float
        Effective degrees of freedom; infinite where nothing was estimated from few readings. [1]

    Notes
    -----
    Welch and Satterthwaite: :math:`\nu = (\sum u_i^2)^2 / \sum (u_i^4 / \nu_i)`.

    References
    ----------
    gum-g

    Examples
    --------
    Two equal parts, one of them known from five readings:

    >>> effective_dof([(1.0, 4.0), (1.0, float("inf"))])
    16.0
    """
    pairs = [(u, dof) for u, dof in parts if u > 0.0]
    spent = sum(u**4 / dof for u, dof in pairs)
    total = sum(u**2 for u, _ in pairs)
    return total**2 / spent if spent > 0.0 else math.inf
