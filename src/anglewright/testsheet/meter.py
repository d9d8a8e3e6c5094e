"""What a hand-held multimeter may be wrong by, and from where on it shows an open circuit."""

import math

import numpy as np

from anglewright.links.protocol import Array

OPEN_OHM = 20e6  # from here on a meter shows an open circuit [ohm]
OHM_SHARE, OHM_LEADS = 0.01, 0.5  # of a resistance, and of the test leads [1, ohm]
VOLT_SHARE = 0.005  # of a voltage [1]
COUNTS, FULL_COUNTS = 2.0, 4000.0  # last digits that a display may be off by, of so many [count]


def meter_error(value: float, *, unit: str) -> float:
    r"""Greatest error of a hand-held multimeter.

    Parameters
    ----------
    value : float
        What it shows. [V or ohm]
    unit : str
        ``V`` or ``ohm``; in any other unit no meter takes part.

    Returns
    -------
    float
        Error either way. [V or ohm]

    Notes
    -----
    0.5 % of a voltage, 1 % of a resistance and 0.5 ohm of the leads; two last digits of the range, whose ends
    lie at 4, 40, 400 and so on, with 4000 steps each; the smallest is 4 V and 400 ohm.

    References
    ----------
    typical-sheets

    Examples
    --------
    A 10 kohm track is told to 1.2 % without any care:

    >>> round(meter_error(10e3, unit="ohm"), 1)
    120.5
    """
    size = abs(value)
    if unit not in ("V", "ohm") or not math.isfinite(size):
        return 0.0
    smallest = 4.0 if unit == "V" else 400.0
    full = smallest
    while full < size:
        full *= 10.0
    digits = COUNTS * full / FULL_COUNTS
    return digits + (VOLT_SHARE * size if unit == "V" else OHM_SHARE * size + OHM_LEADS)


def shown_ohm(ohms: Array) -> Array:
    """What a meter makes of a resistance: no more than where it shows an open circuit. [ohm]"""
    return np.asarray(np.minimum(np.where(np.isnan(ohms), np.inf, ohms), OPEN_OHM))
