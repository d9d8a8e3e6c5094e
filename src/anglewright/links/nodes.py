"""The arithmetic of a node that several resistors hold, as one step of an explanation."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from anglewright.circuits import OPEN, Thevenin
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A resistor from the node to a voltage, each with its symbol; no symbol for a voltage of nothing."""

    ohms: tuple[str, float]
    volts: tuple[str, float] = ("", 0.0)

    @property
    def is_there(self) -> bool:
        """True where it is not an open circuit."""
        return self.ohms[1] != OPEN


def node_step(source: Thevenin, branches: Iterable[Branch], *, symbol: str, meaning: str) -> Step | None:
    """Voltage of a node from what drives it and the resistors that hold it.

    Parameters
    ----------
    source : Thevenin
        What drives the node: voltage behind resistance; infinite resistance where it is open. [V, ohm]
    branches : iterable of Branch
        The resistors that hold it; open ones are left out. [V, ohm]
    symbol : str
        Symbol of the voltage.
    meaning : str
        What the step is, in words.

    Returns
    -------
    Step or None
        None where nothing holds the node.

    Notes
    -----
    The node's voltage is the mean of the voltages that reach it, weighted by the conductances.

    References
    ----------
    thevenin
    """
    drive = Branch(ohms=("R_s", float(np.mean(source.ohms))), volts=("V_tap", float(np.mean(source.volts))))
    held = [branch for branch in (drive, *branches) if branch.is_there]
    if not held:
        return None
    if drive.ohms[1] == 0.0:
        held = [drive]
    numbers = {name: value for branch in held for name, value in (branch.volts, branch.ohms) if name}
    formula = _mean_formula(held)
    if drive.ohms[1] == 0.0:
        formula, numbers = "V_tap", {"V_tap": drive.volts[1]}
    return Step(
        symbol=symbol,
        meaning=meaning,
        formula=formula,
        numbers=numbers,
        result=_weighted(held),
        unit="V",
        source="thevenin",
        link="wiring",
    )


def _mean_formula(held: list[Branch]) -> str:
    over = [f"{branch.volts[0]} / {branch.ohms[0]}" for branch in held if branch.volts[0]]
    under = [f"1 / {branch.ohms[0]}" for branch in held]
    return f"({' + '.join(over) or '0'}) / ({' + '.join(under)})"


def _weighted(held: list[Branch]) -> float:
    """Mean of the voltages, weighted by conductance. [V]"""
    if held[0].ohms[1] == 0.0:
        return held[0].volts[1]
    pairs = [(branch.volts[1], 1.0 / branch.ohms[1]) for branch in held]
    return sum(volts * weight for volts, weight in pairs) / sum(weight for _, weight in pairs)
