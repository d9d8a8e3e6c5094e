"""Theme: what no schematic shows: a pin's leakage, the controller's own pull, a ground shared with motors."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anglewright.circuits import OPEN
from anglewright.findings import Finding, Severity
from anglewright.links.harness import ohm_per_metre
from anglewright.links.wiring import Wiring
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue
from anglewright.review.timing import worst_source
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "leakage": "what the leakage of the pin does to the reading, by the source resistance",
    "own-pull": "what the controller's own pull does to the reading, if it is left on",
    "shared-ground": "what a current of motors through the sensor's ground wire does to the reading",
}

LEAKAGE = 1e-6  # of a usual pin, at most (assumed) [A]
OWN_PULLS = (50e3, 20e3)  # of a usual controller [ohm]
MOTOR, GAUGE = 1.0, 24  # current of a motor, and the wire of a metre that it shares (assumed) [A, 1]
_OHM, _AMPERE = UNITS["ohm"], UNITS["A"]


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """Leakage, own pull and shared ground."""
    return (_leakage(circuit), _own_pull(circuit), _shared_ground(circuit))


def _swing(circuit: Analogue) -> dict[str, float]:
    """Voltage at the pin for no output and for the whole, and the motion that lies between. [V]"""
    low, high = (float(np.mean(circuit.net.at_pin(end).volts)) for end in (0.0, 1.0))
    return {"V_0": low, "V_1": high, "span": circuit.number(circuit.span)}


def _axis_step(circuit: Analogue, millivolts: float, *, what: str) -> Step:
    """A voltage at the pin as an error of the axis."""
    numbers = {"V": millivolts} | _swing(circuit)
    return Step(
        symbol="e",
        meaning=f"{what}, at the axis",
        formula="V / 1e3 / (V_1 - V_0) * span",
        numbers=numbers,
        result=millivolts / 1e3 / (numbers["V_1"] - numbers["V_0"]) * numbers["span"],
        unit=circuit.axis.unit.name,
        source="derived",
        link="wiring",
    )


def _leaked_step(circuit: Analogue) -> Step:
    given = circuit.wiring.leakage_a
    numbers = {
        "I": LEAKAGE if given is None else max(abs(limit) for limit in given.limits),
        "R": worst_source(circuit),
    }
    return Step(
        symbol="V",
        meaning="voltage that the leakage makes at the pin where the source resistance is largest",
        formula="1e3 * I * R",
        numbers=numbers,
        result=1e3 * numbers["I"] * numbers["R"],
        unit="mV",
        source="thevenin",
        link="wiring",
    )


def _leakage(circuit: Analogue) -> Finding:
    volts, axis = _leaked_step(circuit), circuit.axis
    off = _axis_step(circuit, volts.result, what="what the leakage makes at most")
    limit, assumed = circuit.number(axis.permissible), "" if circuit.wiring.leakage_a else " (assumed)"
    fine = off.result <= limit
    return Finding(
        key="leakage",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=(
            f"A leakage of {show(volts.numbers['I'], _AMPERE)}{assumed} through "
            f"{show(volts.numbers['R'], _OHM)} makes {volts.result:.3g} mV, "
            f"{volts.result / 10.0 / circuit.feed:.2g} % of the feed: {off.result:.3g} {axis.unit.name}."
        ),
        remedy="" if fine else "Take a track of fewer ohms, a smaller series resistor, or a buffer.",
        source="thevenin",
        measured=off.result,
        limit=limit,
        unit=axis.unit.name,
        steps=(volts, off),
    )


def _pulled_step(circuit: Analogue, bare: Wiring, own_ohm: float) -> Step:
    """What a pull-up inside the controller adds at the pin where it adds most."""
    shares, top = circuit.shares, circuit.reference
    pin = bare.at_pin(shares)
    volts, ohms = np.asarray(pin.volts), np.asarray(pin.ohms) + 0.0 * shares
    added = (top - volts) * ohms / (ohms + own_ohm)
    worst = int(np.argmax(np.abs(added)))
    return Step(
        symbol="V",
        meaning="voltage that the controller's own pull-up adds at the pin where it adds most",
        formula="1e3 * (V_own - V_pin) * R / (R + R_own)",
        numbers={
            "V_own": top,
            "V_pin": float(volts[worst]),
            "R": float(ohms[worst]),
            "R_own": own_ohm,
        },
        result=1e3 * float(added[worst]),
        unit="mV",
        source="thevenin",
        link="wiring",
    )


def _own_pull(circuit: Analogue) -> Finding:
    given, axis = circuit.wiring.pull_own_ohm, circuit.axis
    bare = replace(circuit.net, pull_own_ohm=OPEN)
    pulls = OWN_PULLS if given is None else (given.limits[0],)
    steps = [_pulled_step(circuit, bare, ohms) for ohms in pulls]
    off = _axis_step(circuit, steps[-1].result, what="what the strongest of such pulls adds at most")
    percents = " to ".join(f"{abs(step.result) / 10.0 / circuit.reference:.2g}" for step in steps)
    ohms = " to ".join(f"{pull / 1e3:.3g}" for pull in pulls)
    does = (
        f"falsifies the reading by {percents} % of full scale, up to {abs(off.result):.3g} {axis.unit.name}"
    )
    return Finding(
        key="own-pull",
        severity=Severity.NOTE if given is None else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=(
            f"The controller's own pull-up of {ohms} kohm {does}, if it is left on."
            if given is None
            else f"The controller's own pull of {ohms} kohm is on: a pull-up {does}."
        ),
        remedy="Switch it off in the program, and see that it stays off after each start.",
        source="practice",
        measured=abs(off.result),
        limit=circuit.number(axis.permissible),
        unit=axis.unit.name,
        steps=(*steps, off),
    )


def _ground_step(circuit: Analogue) -> Step:
    wire = float(np.mean(circuit.net.lead_ground_ohm)) or ohm_per_metre(GAUGE)
    return Step(
        symbol="V",
        meaning="rise of the sensor's ground by a motor's current through the same wire",
        formula="1e3 * R_g * I",
        numbers={"R_g": wire, "I": MOTOR},
        result=1e3 * wire * MOTOR,
        unit="mV",
        source="astm-b258",
        link="wiring",
    )


def _shared_ground(circuit: Analogue) -> Finding:
    volts, axis = _ground_step(circuit), circuit.axis
    off = _axis_step(circuit, volts.result, what="the same near the grounded end")
    given = bool(np.any(circuit.net.lead_ground_ohm))
    wire = "the sensor's ground wire" if given else f"a metre of ground wire, gauge {GAUGE} (assumed)"
    return Finding(
        key="shared-ground",
        severity=Severity.NOTE,
        axis=axis.name,
        link="wiring",
        text=(
            f"Each ampere of a motor through {wire} lifts the reading by {volts.result:.3g} mV = "
            f"{off.result:.3g} {axis.unit.name} per ampere. In the field readings moved by some 40 deg per "
            "ampere where sensor and motor shared feed and ground."
        ),
        remedy="Give the sensor a feed and a ground wire of its own, up to the controller.",
        source="practice",
        measured=off.result,
        unit=axis.unit.name,
        steps=(volts, off),
    )
