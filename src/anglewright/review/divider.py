"""The divider that brings a high voltage down to a pin, of resistors that one can buy."""

from dataclasses import dataclass
from importlib import import_module

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.steps import Step

PARTS = 0.01  # tolerance of the resistors [1]
FEED = 0.05  # tolerance of a feed whose own is not stated [1]
TOTAL = (10e3, 100e3)  # of both resistors: not a load for a track, not a source too weak for a pin [ohm]
_E24 = 24
_DECADES = (10.0, 100.0, 1e3)  # whose values, 10 to 91 times these, can make such a total [ohm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """Two resistors, and the voltages that they were chosen for: at most `asked_v`, below `limit_v`. [ohm, V]

    `usual_v` is the nominal voltage above the divider. [V]
    """

    upper_ohm: float
    lower_ohm: float
    usual_v: float
    asked_v: float
    limit_v: float

    @property
    def total_ohm(self) -> float:
        """What it loads a track with. [ohm]"""
        return self.upper_ohm + self.lower_ohm

    @property
    def nominal_v(self) -> float:
        """Voltage at the pin with nominal numbers. [V]"""
        return self.usual_v * self.lower_ohm / self.total_ohm

    @property
    def top(self) -> Step:
        """The highest voltage at the pin: both resistors and the voltage above them at their worst."""
        return Step(
            symbol="V_top",
            meaning="highest voltage at the pin behind the divider, parts and feed at their worst",
            formula="V_most * R_lower * (1 + t) / (R_lower * (1 + t) + R_upper * (1 - t))",
            numbers={
                "V_most": self.asked_v,
                "R_lower": self.lower_ohm,
                "R_upper": self.upper_ohm,
                "t": PARTS,
            },
            result=float(self._highest),
            unit="V",
            source="thevenin",
            link="wiring",
        )

    @property
    def _highest(self) -> Array:
        upper, lower = np.array(self.upper_ohm), np.array(self.lower_ohm)
        return highest(self.asked_v, upper_ohm=upper, lower_ohm=lower)

    @property
    def said(self) -> str:
        """The divider in words, with the voltages that it gives."""
        volt, ohm = UNITS["V"], UNITS["ohm"]
        return (
            f"{show(self.upper_ohm, ohm)} over {show(self.lower_ohm, ohm)}, {100 * PARTS:g} % parts: "
            f"{show(self.nominal_v, volt)} at the pin, at most {show(self.top.result, volt)} with "
            f"{show(self.asked_v, volt)} above them"
        )


def highest(top_v: float, *, upper_ohm: Array, lower_ohm: Array, part: float = PARTS) -> Array:
    """Highest voltage at the pin with both resistors at their limits, a share `part` away. [V]"""
    low = lower_ohm * (1.0 + part)
    return np.asarray(top_v * low / (low + upper_ohm * (1.0 - part)))


def preferred_values() -> Array:
    """The values of the series E24 that can stand in such a divider. [ohm]

    References
    ----------
    iec60063
    """
    eseries = import_module("eseries")  # it brings no types
    digits = np.array(eseries.series(eseries.ESeries(_E24)), dtype=float)
    return np.concatenate([digits * decade for decade in _DECADES])


def divider_for(usual_v: float, *, asked_v: float, limit_v: float) -> Divider | None:
    """The divider of preferred values that leaves the most of a voltage and never exceeds a limit.

    Parameters
    ----------
    usual_v : float
        Nominal voltage above the divider. [V]
    asked_v : float
        The most that this voltage can be. [V]
    limit_v : float
        The pin must stay below this. [V]

    Returns
    -------
    Divider or None
        None where no pair of the series does it. Of two that leave the same, the one of more ohms. [V, ohm]

    Notes
    -----
    Every pair of E24 values whose sum lies in 10 to 100 kohm, resistors within 1 %.

    References
    ----------
    iec60063, thevenin

    Examples
    --------
    5 V give or take 5 % on a pin of 3.3 V:

    >>> found = divider_for(5.0, asked_v=5.25, limit_v=3.3)
    >>> found.upper_ohm, found.lower_ohm, round(found.top.result, 3)
    (20000.0, 33000.0, 3.293)
    """
    values = preferred_values()
    upper, lower = (each.ravel() for each in np.meshgrid(values, values))
    top, total = highest(asked_v, upper_ohm=upper, lower_ohm=lower), upper + lower
    fits = (top < limit_v) & (total >= TOTAL[0]) & (total <= TOTAL[1])
    if not np.any(fits):
        return None
    order = np.lexsort((total[fits], np.round(top[fits], 9)))
    best = int(np.flatnonzero(fits)[order[-1]])
    return Divider(
        upper_ohm=float(upper[best]),
        lower_ohm=float(lower[best]),
        usual_v=usual_v,
        asked_v=asked_v,
        limit_v=limit_v,
    )
