"""Direct-current ladder from a potentiometer to a pin, as a chain of Thevenin equivalents."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Numeric: TypeAlias = float | NDArray[np.float64]

OPEN = float("inf")  # resistance of a broken wire [ohm]
SHORT = 0.0  # resistance of a short circuit [ohm]
_NO_OHMS = 1e-30  # keeps the current of a dead short finite [ohm]


@dataclass(frozen=True, slots=True, eq=False)
class Thevenin:
    """A source of `volts` [V] behind `ohms` [ohm]; a floating node has nan volts behind infinite ohms."""

    volts: Numeric
    ohms: Numeric


def _share(part: Numeric, rest: Numeric) -> Numeric:
    """Part over part plus rest, right for open circuits too."""
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.asarray(part / (np.asarray(part) + rest))
    if np.isnan(share.sum()):  # only then is there an open circuit to look after
        share = np.where(np.isinf(part), 1.0, share)
        share = np.where(np.isinf(part) & np.isinf(rest), np.nan, share)
    return share if np.ndim(share) else float(share)


def parallel(first: Numeric, second: Numeric) -> Numeric:
    """Two resistances side by side. [ohm]

    Examples
    --------
    A 10 kohm track at mid travel looks like 2.5 kohm to whatever it drives:

    >>> parallel(5e3, 5e3)
    2500.0
    """
    with np.errstate(divide="ignore", over="ignore"):
        ohms = 1.0 / (1.0 / np.asarray(first, dtype=float) + 1.0 / np.asarray(second, dtype=float))
    return ohms if np.ndim(ohms) else float(ohms)


def _beside(first: Numeric, second: Numeric, share: Numeric) -> Numeric:
    """Two resistances side by side, where the share of the second in their sum is known already."""
    with np.errstate(invalid="ignore"):
        ohms = first * np.asarray(share)
    if np.isnan(ohms.sum()):  # only then is there an open circuit to look after
        ohms = np.where(np.isnan(ohms), parallel(first, second), ohms)
    return ohms if np.ndim(ohms) else float(ohms)


def divider(top_ohm: Numeric, bottom_ohm: Numeric, *, top_v: Numeric) -> Thevenin:
    r"""Source at the tap of two resistors between `top_v` and ground.

    Parameters
    ----------
    top_ohm, bottom_ohm : float or array
        Resistance from the tap to the feed and to ground; infinite where the wire is open. [ohm]
    top_v : float or array
        Feed above ground. [V]

    Returns
    -------
    Thevenin
        Open-circuit voltage and source resistance of the tap.

    Notes
    -----
    :math:`V = V_s R_b / (R_t + R_b)` behind :math:`R_t R_b / (R_t + R_b)`. With one side open the tap
    sits at the other; with both open it floats (nan).

    References
    ----------
    thevenin

    Examples
    --------
    A potentiometer at 60 % of its travel, on 5 V:

    >>> divider(4e3, 6e3, top_v=5.0)
    Thevenin(volts=3.0, ohms=2400.0)
    """
    share = _share(bottom_ohm, top_ohm)
    return Thevenin(top_v * share, _beside(top_ohm, bottom_ohm, share))


def in_series(source: Thevenin, ohms: Numeric) -> Thevenin:
    """The source seen through one more series resistor of `ohms` [ohm].

    References
    ----------
    thevenin
    """
    return Thevenin(source.volts, source.ohms + ohms) if np.any(ohms) else source


def with_shunt(source: Thevenin, ohms: Numeric, *, to_v: Numeric) -> Thevenin:
    r"""The source with a resistor from its node to a fixed voltage: a pull, a load, a short.

    Parameters
    ----------
    source : Thevenin
        What drives the node. [V, ohm]
    ohms : float or array
        Resistance of the shunt; infinite where there is none. [ohm]
    to_v : float or array
        Voltage at the far end of the shunt: 0 for a pull-down. [V]

    Returns
    -------
    Thevenin
        The loaded node. [V, ohm]

    Notes
    -----
    The share :math:`w = R_s / (R_s + R_p)` of the far end's voltage comes in, :math:`1 - w` of the
    source's stays.

    References
    ----------
    thevenin

    Examples
    --------
    60 % of a 10 kohm track on 5 V into a 220 ohm pull-down keeps a quarter of a volt:

    >>> round(with_shunt(divider(4e3, 6e3, top_v=5.0), 220.0, to_v=0.0).volts, 3)
    0.252
    """
    if not np.ndim(ohms) and ohms == OPEN:
        return source
    weight, volts = np.asarray(_share(source.ohms, ohms)), source.volts
    floating = np.isinf(source.ohms)
    if np.any(floating):
        volts = np.where(floating, np.where(np.isinf(ohms), np.nan, 0.0), volts)
    volts = volts * (1.0 - weight)
    if np.any(to_v):
        volts = volts + to_v * weight
    return Thevenin(volts if np.ndim(volts) else float(volts), _beside(ohms, source.ohms, weight))


def driving(source: Thevenin, ohms: Numeric, *, far_v: Numeric) -> Numeric:
    """Voltage at the terminals of a source that drives a resistor to a node of known voltage.

    Parameters
    ----------
    source : Thevenin
        What drives the resistor. [V, ohm]
    ohms : float or array
        The resistor. [ohm]
    far_v : float or array
        Voltage of the node at its far end. [V]

    Returns
    -------
    float or array
        Voltage at the near end. [V]

    References
    ----------
    thevenin

    Examples
    --------
    5 V behind 1 kohm, and 3 kohm more to a node at 1 V: 1 mA flows.

    >>> driving(Thevenin(5.0, 1e3), 3e3, far_v=1.0)
    4.0
    """
    current = (source.volts - np.asarray(far_v)) / (source.ohms + np.asarray(ohms) + _NO_OHMS)
    volts = source.volts - current * source.ohms
    return volts if np.ndim(volts) else float(volts)
