"""What drives the signal's wire of a sensor: the tap of a fed track, or a driven output."""

from dataclasses import dataclass

import numpy as np

from anglewright.circuits import OPEN, Numeric, Thevenin, divider, in_series, nonzero
from anglewright.steps import Step


def number(value: Numeric) -> float:
    """A plain number for a step: the mean of drawn ones. [as given]"""
    return float(np.mean(value))


def floating(share: Numeric) -> Thevenin:
    """A node that nothing drives. [V, ohm]"""
    return Thevenin(np.nan * np.asarray(share), OPEN + np.asarray(share))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Supply:
    """Feed and ground on their way to the sensor. [V, ohm, A]

    The controller's feed, how far the sensor's ground lies above the controller's, what the two wires
    resist, and the steady current that an active sensor draws over them.
    """

    feed_v: Numeric
    ground_v: Numeric = 0.0
    feed_ohm: Numeric = 0.0
    ground_ohm: Numeric = 0.0
    draws_a: Numeric = 0.0


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Track:
    """A resistive track, its wiper, and the wires of its supply in series with its ends. [ohm]"""

    track_ohm: Numeric
    wiper_ohm: Numeric
    supply: Supply

    def at(self, share: Numeric, *, feed_open: bool = False, ground_open: bool = False) -> Thevenin:
        """Voltage and source resistance at the wiper's terminal, with a wire broken or none. [V, ohm]"""
        return in_series(self._at_track(share, feed_open, ground_open), self.wiper_ohm)

    def _at_track(self, share: Numeric, feed_open: bool, ground_open: bool) -> Thevenin:
        supply = self.supply
        wires = (supply.ground_ohm, supply.feed_ohm, supply.ground_v)
        if not (feed_open or ground_open or any(nonzero(each) for each in wires)):
            product = 1.0 - share
            product *= share
            return Thevenin(share * supply.feed_v, product * self.track_ohm)
        below = OPEN if ground_open else share * self.track_ohm + supply.ground_ohm
        over = OPEN if feed_open else (1.0 - np.asarray(share)) * self.track_ohm + supply.feed_ohm
        if not nonzero(supply.ground_v):
            return divider(over, below, top_v=supply.feed_v)
        tap = divider(over, below, top_v=supply.feed_v - supply.ground_v)
        return Thevenin(tap.volts + supply.ground_v, tap.ohms)

    @property
    def _ends(self) -> dict[str, float]:
        """Resistances of the feed's and the ground's wire, where there are any. [ohm]"""
        both = {"R_f": number(self.supply.feed_ohm), "R_g": number(self.supply.ground_ohm)}
        return both if any(both.values()) else {}

    def step(self, share: float) -> Step:
        """Arithmetic of the voltage without any load."""
        ends, ground = self._ends, number(self.supply.ground_v)
        part = "(R_T * x + R_g) / (R_T + R_f + R_g)" if ends else "x"
        numbers = {"V_s": number(self.supply.feed_v), "x": share} | ({"V_g": ground} if ground else {})
        return Step(
            symbol="V_tap",
            meaning="voltage at the tap without any load",
            formula=f"V_g + (V_s - V_g) * {part}" if ground else f"V_s * {part}",
            numbers=numbers | ({"R_T": number(self.track_ohm)} | ends if ends else {}),
            result=number(self.at(share).volts),
            unit="V",
            source="thevenin",
        )

    def ohms(self, share: float) -> tuple[str, dict[str, float]]:
        """Formula of the source resistance, and its numbers. [ohm]"""
        ends, wiper = self._ends, number(self.wiper_ohm)
        formula = "R_T * x * (1 - x)"
        if ends:
            formula = "(R_T * x + R_g) * (R_T * (1 - x) + R_f) / (R_T + R_f + R_g)"
        numbers = {"R_T": number(self.track_ohm), "x": share} | ends
        return (f"{formula} + R_c", numbers | {"R_c": wiper}) if wiper else (formula, numbers)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Output:
    """A driven output: `low` and `high` are its levels at share 0 and 1, as shares of the feed. [1, ohm]

    The steady current that the sensor draws shifts feed and ground at its terminals. What the output lends to
    a load is left out of that current: a load of many kilohms is small beside it. Without its feed or its
    ground nothing drives the output: its levels are those of an open wire.
    """

    low: Numeric
    high: Numeric
    source_ohm: Numeric
    supply: Supply

    @property
    def _feed_and_ground(self) -> tuple[Numeric, Numeric]:
        """Feed and ground at the sensor's terminals. [V]"""
        supply = self.supply
        lifted = supply.ground_v + supply.draws_a * np.asarray(supply.ground_ohm)
        return supply.feed_v - supply.draws_a * np.asarray(supply.feed_ohm), lifted

    def at(self, share: Numeric, *, feed_open: bool = False, ground_open: bool = False) -> Thevenin:
        """Voltage and source resistance at a share of full output; floating with a wire broken. [V, ohm]"""
        if feed_open or ground_open:
            return floating(share)
        feed, ground = self._feed_and_ground
        level = self.low + (np.asarray(self.high) - self.low) * share
        volts = ground + (feed - np.asarray(ground)) * level
        return Thevenin(volts if np.ndim(volts) else float(volts), self.source_ohm)

    def step(self, share: float) -> Step:
        """Arithmetic of the voltage without any load."""
        supply, shifts = self.supply, self.supply.draws_a * np.asarray(self.supply.feed_ohm)
        feed, ground = (number(each) for each in self._feed_and_ground)
        numbers = {"low": number(self.low), "high": number(self.high), "x": share}
        level = "(low + (high - low) * x)"
        top, formula = {"V_s": number(supply.feed_v)}, f"V_s * {level}"
        if ground or np.any(shifts):
            top, formula = {"V_f": feed, "V_g": ground}, f"V_g + (V_f - V_g) * {level}"
        return Step(
            symbol="V_tap",
            meaning="voltage of the output without any load",
            formula=formula,
            numbers=top | numbers,
            result=number(self.at(share).volts),
            unit="V",
            source="thevenin",
        )

    def ohms(self, share: float) -> tuple[str, dict[str, float]]:
        """Formula of the source resistance, and its numbers. [ohm]"""
        return "R_out", {"R_out": number(self.source_ohm)}


def source_step(tap: Track | Output, share: float, *, before: float, wire: float) -> Step:
    """Arithmetic of the resistance between what drives the wire and what holds the node.

    Parameters
    ----------
    tap : Track or Output
        What drives the wire.
    share : float
        Share of full output. [1]
    before : float
        Resistor in series, before the node. [ohm]
    wire : float
        Resistance of the wire itself. [ohm]

    Returns
    -------
    Step
        The sum. [ohm]

    References
    ----------
    thevenin
    """
    formula, numbers = tap.ohms(share)
    return Step(
        symbol="R_s",
        meaning="source resistance that the pull works against",
        formula=f"{formula} + R_series" + (" + R_w" if wire else ""),
        numbers=numbers | {"R_series": before} | ({"R_w": wire} if wire else {}),
        result=number(tap.at(share).ohms) + before + wire,
        unit="ohm",
        source="thevenin",
    )
