"""How well repeated readings tell their own standard deviation."""

import math


def deviation_limits(sd: float, *, dof: int) -> tuple[float, float]:
    r"""Limits of a standard deviation that was found from repeats, 95 %.

    Parameters
    ----------
    sd : float
        Standard deviation as found. [any]
    dof : int
        Its degrees of freedom. [1]

    Returns
    -------
    float, float
        Lower and upper limit, in the unit of `sd`. [any]

    Notes
    -----
    Of normal readings :math:`\nu s^2 / \sigma^2` is distributed as chi-squared with :math:`\nu` degrees of
    freedom.

    References
    ----------
    montgomery-runger

    Examples
    --------
    Nine readings of one place tell it to about a third below and twice above:

    >>> [round(limit, 3) for limit in deviation_limits(1.0, dof=8)]
    [0.675, 1.916]
    """
    from scipy.special import chdtri

    low, high = (sd * math.sqrt(dof / float(chdtri(dof, beyond))) for beyond in (0.025, 0.975))
    return low, high
