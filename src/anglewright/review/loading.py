"""Theme: what pulls do to the reading, and the arithmetic of a node that pulls hold."""

from collections.abc import Callable, Mapping

import numpy as np

from anglewright.circuits import Thevenin
from anglewright.findings import Finding, Severity
from anglewright.links.nodes import Branch
from anglewright.links.nodes import node_step as held_node
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue, Circuit
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "loading": "largest departure of the reading from the unloaded track that the pulls cause, and where",
}

_THIRDS = 60  # of the interval around the peak: each leaves two thirds of it
_SMALL_LOAD = 148.0  # times the track: departs by 0.1 % at most [1]


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """The loading by the pulls, by all that hangs at the pin, or that there is nothing."""
    if circuit.net.furnished or not isinstance(circuit, Circuit):
        return (_furnished(circuit),)
    return (_loading(circuit) if circuit.pulled else _unloaded(circuit),)


def node_step(circuit: Analogue, source: Thevenin, *, meaning: str) -> Step | None:
    """Voltage of the node that the pulls hold, from what drives it before them.

    Parameters
    ----------
    circuit : Analogue
        Feed and pulls. [V, ohm]
    source : Thevenin
        What drives the node: voltage behind resistance; infinite resistance where it is open. [V, ohm]
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
    up, down = circuit.wiring.pull_up_ohm, circuit.wiring.pull_down_ohm
    branches = []
    if up is not None:
        branches.append(Branch(ohms=("R_up", up.nominal), volts=("V_s", circuit.feed)))
    if down is not None:
        branches.append(Branch(ohms=("R_down", down.nominal)))
    return held_node(source, branches, symbol="V", meaning=meaning)


def _departure(circuit: Circuit, share: float) -> float:
    """Share of the track less the share that the pin shows; above zero where it reads low. [1]"""
    return share - float(circuit.net.at_pin(share).volts) / circuit.feed


def _peak(size: Callable[[float], float], low: float, high: float) -> float:
    """Place of the largest value between two places that hold one peak."""
    for _ in range(_THIRDS):
        third = (high - low) / 3.0
        if size(low + third) < size(high - third):
            low += third
        else:
            high -= third
    return (low + high) / 2.0


def worst_share(circuit: Circuit) -> float:
    """Share of the track, within the working range, at which the pulls falsify the reading most. [1]"""
    shares = np.sort(circuit.shares)
    sizes = np.abs(shares - np.asarray(circuit.net.at_pin(shares).volts) / circuit.feed)
    worst = int(np.argmax(sizes))
    around = shares[max(worst - 1, 0)], shares[min(worst + 1, len(shares) - 1)]
    return _peak(lambda share: abs(_departure(circuit, share)), float(around[0]), float(around[1]))


def _pulls(circuit: Circuit) -> str:
    pulls = (("down", circuit.wiring.pull_down_ohm), ("up", circuit.wiring.pull_up_ohm))
    named = [f"{show(ohms.nominal, UNITS['ohm'])} pull-{way}" for way, ohms in pulls if ohms is not None]
    behind = circuit.wiring.pull_at == "pin" and circuit.wiring.series_ohm.nominal > 0.0
    series = f" behind {show(circuit.wiring.series_ohm.nominal, UNITS['ohm'])}" if behind else ""
    return f"{' and '.join(named)} at the {circuit.wiring.pull_at}{series}"


def _steps(circuit: Circuit, share: float) -> tuple[Step, ...]:
    track = circuit.sensor.whole_ohm.nominal
    before = circuit.wiring.series_ohm.nominal if circuit.wiring.pull_at == "pin" else 0.0
    ohms = track * share * (1.0 - share) + before
    source = Step(
        symbol="R_s",
        meaning="source resistance that the pull works against",
        formula="R_T * x * (1 - x) + R_before",
        numbers={"R_T": track, "x": share, "R_before": before},
        result=ohms,
        unit="ohm",
        source="thevenin",
        link="wiring",
    )
    tap = Thevenin(circuit.feed * share, ohms)
    node = node_step(circuit, tap, meaning="voltage at the pin where it departs most")
    shown = node.result if node is not None else tap.volts
    off = Step(
        symbol="departure",
        meaning="share of the track less the share that the pin shows",
        formula="100 * (x - V / V_s)",
        numbers={"x": share, "V": float(shown), "V_s": circuit.feed},
        result=100.0 * (share - float(shown) / circuit.feed),
        unit="%",
        source="derived",
        link="wiring",
    )
    at_axis = Step(
        symbol="e",
        meaning="the same at the axis",
        formula="departure / 100 * span",
        numbers={"departure": off.result, "span": circuit.number(circuit.span)},
        result=off.result / 100.0 * circuit.number(circuit.span),
        unit=circuit.axis.unit.name,
        source="derived",
        link="wiring",
    )
    return (source, *((node,) if node else ()), off, at_axis)


def _loading(circuit: Circuit) -> Finding:
    share, axis = worst_share(circuit), circuit.axis
    steps = _steps(circuit, share)
    percent, at_axis = steps[-2].result, abs(steps[-1].result)
    always = circuit.wiring.pull_up_ohm is None or circuit.wiring.pull_down_ohm is None
    way = ("always " if always else "") + ("low" if percent > 0.0 else "high")
    limit = circuit.number(axis.permissible)
    return Finding(
        key="loading",
        severity=Severity.NOTE if at_axis <= limit else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=(
            f"The {_pulls(circuit)} makes the voltage {way}, by up to {abs(percent):.6g} % of travel = "
            f"{at_axis:.5g} {axis.unit.name} at {circuit.text(circuit.place(share))} (x = {share:.5f}); "
            f"the need is {circuit.text(axis.permissible)}."
        ),
        remedy=(
            "Calibrate with the pull in place: a straight line takes out about half. A pull of "
            f"{_SMALL_LOAD:g} times the track alone departs by 0.1 %."
        ),
        source="thevenin",
        measured=at_axis,
        limit=limit,
        unit=axis.unit.name,
        steps=steps,
    )


def _unloaded(circuit: Circuit) -> Finding:
    return Finding(
        key="loading",
        severity=Severity.NOTE,
        axis=circuit.axis.name,
        link="wiring",
        text="No pull loads the wiper: the track reads true. But nothing holds the pin when a wire breaks.",
        remedy=(
            "See that the controller's own pull at the pin is off: "
            "20 to 50 kohm on a 10 kohm track cost 3 to 7 %."
        ),
        source="thevenin",
        measured=0.0,
        limit=circuit.number(circuit.axis.permissible),
        unit=circuit.axis.unit.name,
    )


def _bend(circuit: Analogue) -> Step:
    """Largest departure of the pin from the straight line through its levels at both ends of the output."""
    shares = np.sort(circuit.shares)
    low, high = (float(circuit.net.at_pin(end).volts) for end in (0.0, 1.0))
    straight = low + (high - low) * shares
    worst = int(np.argmax(np.abs(np.asarray(circuit.net.at_pin(shares).volts) - straight)))
    numbers = {
        "x": float(shares[worst]),
        "V": float(circuit.net.at_pin(float(shares[worst])).volts),
        "V_0": low,
        "V_1": high,
        "span": circuit.number(circuit.span),
    }
    return Step(
        symbol="e",
        meaning="departure of the pin from the straight line through both ends of the output, at the axis",
        formula="((V - V_0) / (V_1 - V_0) - x) * span",
        numbers=numbers,
        result=((numbers["V"] - low) / (high - low) - numbers["x"]) * numbers["span"],
        unit=circuit.axis.unit.name,
        source="derived",
        link="wiring",
    )


def _furnished(circuit: Analogue) -> Finding:
    """Loading where there is more than pulls: cable, divider, the controller's own pull, leakage."""
    step, axis = _bend(circuit), circuit.axis
    off, limit = round(abs(step.result), 9), circuit.number(axis.permissible)
    return Finding(
        key="loading",
        severity=Severity.NOTE if off <= limit else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=(
            f"All that hangs at the {circuit.wire} bends the reading by up to {off:.4g} {axis.unit.name} at "
            f"{circuit.text(circuit.place(step.numbers['x']))} (x = {step.numbers['x']:.4f}), from the "
            f"straight line through both ends of the output; the need is {circuit.text(axis.permissible)}."
        ),
        remedy="Calibrate with all of it in place: a straight line takes out about half.",
        source="thevenin",
        measured=off,
        limit=limit,
        unit=axis.unit.name,
        steps=(step,),
    )
