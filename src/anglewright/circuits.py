"""From a sensor to a pin: a ladder of Thevenin equivalents, and what a sampling capacitor takes from it."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Numeric: TypeAlias = float | NDArray[np.float64]

OPEN = float("inf")  # resistance of a broken wire [ohm]
SHORT = 0.0  # resistance of a short circuit [ohm]
_ROUNDS = 60  # of the search in `reached`, at most: a dozen are usual
_LAST_BITS = 1e-15  # of the largest level: as near as it can be worked out [1]
_NO_OHMS = 1e-30  # keeps the current of a dead short finite [ohm]


def nonzero(value: Numeric) -> bool:
    """Whether a number, or any of many, differs from zero: what is not there need not be worked out."""
    return value != 0.0 if isinstance(value, float) else bool(np.any(value))


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
    return Thevenin(source.volts, source.ohms + ohms) if nonzero(ohms) else source


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
    both = np.asarray(np.add(source.ohms, ohms, dtype=float))
    with np.errstate(invalid="ignore"):
        kept = np.divide(ohms, both, out=both)
        volts = source.volts * kept
        if nonzero(to_v):
            volts = volts + to_v * (1.0 - kept)
        beside = np.multiply(source.ohms, kept, out=kept)
    if np.isnan(beside.sum()):  # only then is there an open circuit to look after
        return _with_open(source, ohms, to_v)
    return Thevenin(volts, beside) if np.ndim(volts) else Thevenin(float(volts), float(beside))


def _with_open(source: Thevenin, ohms: Numeric, to_v: Numeric) -> Thevenin:
    """The source with a shunt, where either may be an open wire."""
    weight, floating = np.asarray(_share(source.ohms, ohms)), np.isinf(source.ohms)
    alone = np.where(np.isinf(ohms), np.nan, 0.0)  # what a node shows that nothing but the shunt holds
    volts = np.where(floating, alone, source.volts) * (1.0 - weight)
    if nonzero(to_v):
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


def reached(level: Callable[[Numeric], Numeric], y: Numeric) -> Numeric:
    r"""Share of a sensor's output at which a level that rises with it is reached.

    Parameters
    ----------
    level : callable
        The level of a share, 0 to 1. [unit of the level]
    y : float or array
        The level. [unit of the level]

    Returns
    -------
    float or array
        The share; 0 or 1 for a level beyond its ends. [1]

    Notes
    -----
    False position between both ends; an end that has stood still twice counts half (the Illinois rule), so
    that a bent level closes in from both sides. Down to the last bits of a double.

    References
    ----------
    illinois

    Examples
    --------
    >>> round(reached(lambda share: 3.0 * share, 1.5), 9)
    0.5
    """
    ends = (np.asarray(level(0.0)), np.asarray(level(1.0)))
    aim, slack = np.clip(y, *ends), _LAST_BITS * np.maximum(*np.abs(ends))
    low, high, stood, share = 0.0 * aim, 0.0 * aim + 1.0, 0.0 * aim, 0.0 * aim
    under, over = ends[0] - aim, ends[1] - aim
    looking = np.abs(under) > slack
    for _ in range(_ROUNDS):
        with np.errstate(divide="ignore", invalid="ignore"):
            guess = np.where(over > under, (low * over - high * under) / (over - under), low)
        share = np.where(looking, guess, share)
        off = np.asarray(level(share)) - aim
        looking = looking & (np.abs(off) > slack)
        if not np.any(looking):
            break
        below = off < 0.0
        under, over = (
            np.where(below, off, np.where(stood < 0.0, under / 2.0, under)),
            np.where(below, np.where(stood > 0.0, over / 2.0, over), off),
        )
        low, high, stood = (
            np.where(below, share, low),
            np.where(below, high, share),
            np.where(below, 1.0, -1.0),
        )
    return share if np.ndim(share) else float(share)


def settling_time(bits: int, *, ohms: float, farad: float, codes: float = 0.5) -> float:
    r"""Time that a capacitor needs to come within so many codes of a step over the whole scale.

    Parameters
    ----------
    bits : int
        Bits of the converter. [1]
    ohms : float
        Resistance that charges the capacitor: source and sampling switch together. [ohm]
    farad : float
        The capacitor. [F]
    codes : float
        How near it has to come. [count]

    Returns
    -------
    float
        Time. [s]

    Notes
    -----
    :math:`t = R C \ln(2^N / n)`; for half a code :math:`(N + 1) \ln 2` time constants. One time constant
    only: where there is a capacitor at the pin, `left_over` is what counts.

    References
    ----------
    slyw038

    Examples
    --------
    Twelve bits take nine time constants:

    >>> round(settling_time(12, ohms=1e3, farad=1e-9) / 1e-6, 2)
    9.01
    """
    return math.log(2.0**bits / codes) * ohms * farad


def reservoir(bits: int, *, farad: float) -> float:
    r"""Capacitor at the pin that keeps the dip of a sample at half a code, after a full swing.

    Parameters
    ----------
    bits : int
        Bits of the converter. [1]
    farad : float
        Its sampling capacitor. [F]

    Returns
    -------
    float
        Least capacitor at the pin. [F]

    Notes
    -----
    The two share their charge: :math:`C_s / (C_s + C) \le 2^{-(N + 1)}`. The source must refill the pin
    before the next sample; the refilling itself costs :math:`R C_s f_s` of the span, not counted here.

    References
    ----------
    derived

    Examples
    --------
    >>> round(reservoir(12, farad=8e-12) / 1e-9, 1)
    65.5
    """
    return (2.0 ** (bits + 1) - 1.0) * farad


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Relaxation:
    """A step that dies away as ``first * exp(-t / slow_s) + (1 - first) * exp(-t / fast_s)``. [1, s]"""

    first: Numeric
    slow_s: Numeric
    fast_s: Numeric

    def left(self, time_s: Numeric) -> Numeric:
        """Share of the step that is left after a time. [1]"""
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            slow, fast = (
                np.where(np.asarray(tau) > 0.0, np.exp(-np.asarray(time_s) / tau), 0.0)
                for tau in (np.asarray(self.slow_s), np.asarray(self.fast_s))
            )
        left = self.first * slow + (1.0 - np.asarray(self.first)) * fast
        return left if np.ndim(left) else float(left)


def sampled(source_ohm: Numeric, *, pin_f: Numeric, switch_ohm: Numeric, hold_f: Numeric) -> Relaxation:
    r"""How a sampling capacitor leaves the voltage that it held before, once it is switched to a pin.

    Parameters
    ----------
    source_ohm : float or array
        Resistance behind the pin. [ohm]
    pin_f : float or array
        Capacitor at the pin, charged to the source's voltage; zero where there is none. [F]
    switch_ohm : float or array
        Resistance between the pin and the sampling capacitor. [ohm]
    hold_f : float or array
        The sampling capacitor. [F]

    Returns
    -------
    Relaxation
        Of the difference between what it held and the source's voltage. [1, s]

    Notes
    -----
    The exact answer of two capacitors. With :math:`b = r C_s + R (C_s + C)` and
    :math:`D = \sqrt{b^2 - 4 R C r C_s}` the time constants are :math:`(b + D) / 2` and
    :math:`2 R C r C_s / (b + D)`, and the slow one has the share :math:`(b + D - 2 R C) / (2 D)`.
    Without a capacitor at the pin that is :math:`\exp(-t / ((R + r) C_s))`; with a large one, and a switch
    without resistance, the dip :math:`C_s / (C_s + C)` that :math:`R (C_s + C)` fills again. The pin itself
    is taken to have recovered from the sample before.

    References
    ----------
    derived, slyw038

    Examples
    --------
    8 pF take 80 millionths of the swing from 100 nF, and the source hardly mends it while they sample:

    >>> dip = sampled(3.5e3, pin_f=100e-9, switch_ohm=1e3, hold_f=8e-12)
    >>> round(1e6 * dip.left(0.5e-6))
    80
    """
    at_pin, held = source_ohm * np.asarray(pin_f), switch_ohm * np.asarray(hold_f)
    total = held + source_ohm * np.asarray(hold_f) + at_pin
    root = np.sqrt(np.maximum(total**2 - 4.0 * at_pin * held, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        first = np.where(root > 0.0, (total + root - 2.0 * at_pin) / (2.0 * root), 0.0)
        fast = np.where(total > 0.0, 2.0 * at_pin * held / (total + root), 0.0)
    return Relaxation(first=first, slow_s=(total + root) / 2.0, fast_s=fast)
