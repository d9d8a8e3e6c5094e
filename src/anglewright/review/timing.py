"""Theme: source resistance and capacitor against sampling and motion, and how a broken wire shows in time."""

import math
from collections.abc import Mapping

import numpy as np

from anglewright.circuits import parallel
from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Circuit
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "source-resistance": "largest resistance that the converter sees, against 10 kohm",
    "reservoir": "dip of the pin when the converter takes its sample, against half a code",
    "settling": "time that a sample needs without a capacitor at the pin",
    "corner": "corner of the filter against the motion",
    "lag": "how far the reading trails the axis at top speed",
    "slide": "how long the pin slides through legal codes while a wire opens, and the hold-off that follows",
}

SAMPLING_F = 14e-12  # assumed sampling capacitor of the converter [F]
MOST_SOURCE = 10e3  # source resistance that a converter of that class is made for [ohm]
HALF_CODE = 0.5  # most that a sample may pull the pin down [count]
ABOVE_MOTION = 10.0  # the corner over the motion's frequency, at least [1]
TIME_CONSTANTS = 3.0  # of hold-off, at least [1]
HOLD_OFF = (20e-3, 50e-3)  # usual hold-off of a fault code [s]
_OHM, _FARAD, _SECOND, _HERTZ = UNITS["ohm"], UNITS["F"], UNITS["s"], UNITS["Hz"]


def findings(circuit: Circuit) -> tuple[Finding, ...]:
    """Source resistance, sampling, filter, lag, and the slide of the pin while a wire opens."""
    filtered = circuit.wiring.capacitor_f.nominal > 0.0
    sampling = (_reservoir(circuit), _corner(circuit), _lag(circuit)) if filtered else (_settling(circuit),)
    slide = (_slide(circuit),) if circuit.pulled and filtered else ()
    return (_source_resistance(circuit), *sampling, *slide)


def _widest(circuit: Circuit) -> float:
    """Share of the track nearest to the middle, where its source resistance is largest. [1]"""
    shares = circuit.shares
    return float(np.clip(0.5, shares.min(), shares.max()))


def worst_source(circuit: Circuit) -> float:
    """Largest resistance that the pin sees over the working range, pulls included. [ohm]"""
    return float(circuit.net.at_pin(_widest(circuit)).ohms)


def _source_steps(circuit: Circuit) -> tuple[Step, ...]:
    """The source resistance where it is largest, step by step as the circuit has it."""
    share = _widest(circuit)
    track, series = circuit.sensor.track_ohm.nominal, circuit.wiring.series_ohm.nominal
    parts = {"R_T": track, "x": share, "R_series": series}
    bare = "R_T * x * (1 - x)"
    pulls = (("R_down", circuit.wiring.pull_down_ohm), ("R_up", circuit.wiring.pull_up_ohm))
    held = {name: ohms.nominal for name, ohms in pulls if ohms is not None}
    shunts = "".join(f" + 1 / {name}" for name in held)
    if not held:
        formula = f"{bare} + R_series"
    elif circuit.wiring.pull_at == "pin":
        formula = f"1 / (1 / ({bare} + R_series){shunts})"
    else:
        formula = f"1 / (1 / ({bare}){shunts}) + R_series"
    step = Step(
        symbol="R",
        meaning="source resistance that the pin sees where it is largest",
        formula=formula,
        numbers=parts | held,
        result=worst_source(circuit),
        unit="ohm",
        source="thevenin",
        link="wiring",
    )
    return (step,)


def _source_resistance(circuit: Circuit) -> Finding:
    ohms = worst_source(circuit)
    fine = ohms <= MOST_SOURCE
    return Finding(
        key="source-resistance",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"The converter sees up to {show(ohms, _OHM)}; a common one is made for about "
            f"{show(MOST_SOURCE, _OHM)} or less (assumed)."
        ),
        remedy="" if fine else "Take a track of fewer ohms, a smaller series resistor, or a buffer.",
        source="atmega-adc",
        measured=ohms,
        limit=MOST_SOURCE,
        unit="ohm",
        steps=_source_steps(circuit),
    )


def _dip_step(circuit: Circuit) -> Step:
    numbers = {
        "N": float(circuit.converter.bits),
        "C_s": SAMPLING_F,
        "C": circuit.wiring.capacitor_f.nominal,
    }
    return Step(
        symbol="dip",
        meaning="codes that the sample takes from the pin, full swing",
        formula="2 ** N * C_s / (C_s + C)",
        numbers=numbers,
        result=2.0 ** numbers["N"] * SAMPLING_F / (SAMPLING_F + numbers["C"]),
        unit="count",
        source="derived",
        link="converter",
    )


def _reservoir_step(circuit: Circuit) -> Step:
    bits = circuit.converter.bits
    return Step(
        symbol="C_least",
        meaning="capacitor that keeps the dip at half a code",
        formula="1e9 * (2 ** (N + 1) - 1) * C_s",
        numbers={"N": float(bits), "C_s": SAMPLING_F},
        result=1e9 * (2.0 ** (bits + 1) - 1.0) * SAMPLING_F,
        unit="nF",
        source="derived",
        link="converter",
    )


def _reservoir(circuit: Circuit) -> Finding:
    dip, least = _dip_step(circuit), _reservoir_step(circuit)
    fine, wanted = dip.result <= HALF_CODE, show(least.result * 1e-9, _FARAD)
    return Finding(
        key="reservoir",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"A sampling capacitor of {show(SAMPLING_F, _FARAD)} (assumed) takes up to {dip.result:.3g} "
            f"codes from the {show(dip.numbers['C'], _FARAD)} at the pin, after a channel that stood at the "
            f"far rail; half a code needs {wanted}."
        ),
        remedy="" if fine else f"Fit {wanted} or more, or read twice and drop the first.",
        source="derived",
        measured=dip.result,
        limit=HALF_CODE,
        unit="count",
        steps=(dip, least),
    )


def _settling_step(circuit: Circuit) -> Step:
    ohms, bits = worst_source(circuit), circuit.converter.bits
    return Step(
        symbol="t",
        meaning="time to settle to half a code",
        formula="1e6 * (N + 1) * log(2) * R * C_s",
        numbers={"N": float(bits), "R": ohms, "C_s": SAMPLING_F},
        result=1e6 * (bits + 1) * math.log(2.0) * ohms * SAMPLING_F,
        unit="us",
        source="slyw038",
        link="converter",
    )


def _settling(circuit: Circuit) -> Finding:
    step = _settling_step(circuit)
    ohms = step.numbers["R"]
    return Finding(
        key="settling",
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"There is no capacitor at the pin: a sample of {show(SAMPLING_F, _FARAD)} (assumed) needs "
            f"at least {step.result:.3g} us through {show(ohms, _OHM)}, and nothing filters what the cable "
            "picks up."
        ),
        remedy="Fit 100 nF at the pin, or give the converter that long to sample.",
        source="slyw038",
        measured=step.result,
        unit="us",
        steps=(*_source_steps(circuit), step),
    )


def _corner_step(circuit: Circuit) -> Step:
    numbers = {"R": worst_source(circuit), "C": circuit.wiring.capacitor_f.nominal}
    return Step(
        symbol="f_c",
        meaning="lowest corner of the filter at the pin",
        formula="1 / (2 * pi * R * C)",
        numbers=numbers,
        result=1.0 / (2.0 * math.pi * numbers["R"] * numbers["C"]),
        unit="Hz",
        source="practice",
        link="wiring",
    )


def _corner(circuit: Circuit) -> Finding:
    corner, axis = _corner_step(circuit), circuit.axis
    capacitor = show(circuit.wiring.capacitor_f.nominal, _FARAD)
    text = f"With {capacitor} at the pin the lowest corner is {corner.result:.4g} Hz"
    steps: tuple[Step, ...] = (corner,)
    needed = None
    if axis.motion.speed is None:
        text += "; no top speed is stated to hold it against."
    else:
        motion = _motion_step(circuit, axis.motion.speed.nominal)
        needed, steps = ABOVE_MOTION * motion.result, (corner, motion)
        text += f"; ten times the motion end to end at top speed is {needed:.3g} Hz."
    fine = needed is None or corner.result >= needed
    return Finding(
        key="corner",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=text,
        remedy="Sample at more than twice the corner." if fine else "Take a smaller capacitor or resistor.",
        source="practice",
        measured=corner.result,
        limit=needed,
        unit="Hz",
        steps=(*_source_steps(circuit), *steps),
    )


def _motion_step(circuit: Circuit, speed: float) -> Step:
    """A sine over the whole range whose top speed is the axis's."""
    numbers = {
        "speed": circuit.number(speed),
        "travel": circuit.number(circuit.axis.motion.high - circuit.axis.motion.low),
    }
    return Step(
        symbol="f",
        meaning="frequency of a swing over the whole range that reaches the top speed",
        formula="speed / (pi * travel)",
        numbers=numbers,
        result=numbers["speed"] / (math.pi * numbers["travel"]),
        unit="Hz",
        source="derived",
        link="motion",
    )


def _lag(circuit: Circuit) -> Finding:
    speed = circuit.axis.motion.speed
    return _lag_in_time(circuit) if speed is None else _lag_at(circuit, speed.nominal)


def _lag_in_time(circuit: Circuit) -> Finding:
    tau = worst_source(circuit) * circuit.wiring.capacitor_f.nominal
    return Finding(
        key="lag",
        severity=Severity.NOTE,
        axis=circuit.axis.name,
        link="wiring",
        text=f"The reading trails the axis by {show(tau, _SECOND)}; no top speed is stated.",
        remedy="Give motion.speed to see what that costs.",
        source="practice",
    )


def _lag_step(circuit: Circuit, speed: float) -> Step:
    numbers = {
        "speed": circuit.number(speed),
        "R": worst_source(circuit),
        "C": circuit.wiring.capacitor_f.nominal,
    }
    return Step(
        symbol="lag",
        meaning="how far the reading trails the axis at top speed",
        formula="speed * R * C",
        numbers=numbers,
        result=math.prod(numbers.values()),
        unit=circuit.axis.unit.name,
        source="practice",
        link="wiring",
    )


def _lag_at(circuit: Circuit, speed: float) -> Finding:
    axis, step, unit = circuit.axis, _lag_step(circuit, speed), circuit.axis.unit.name
    limit = circuit.number(axis.permissible)
    fine = step.result <= limit
    return Finding(
        key="lag",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="wiring",
        text=(
            f"At {step.numbers['speed']:.4g} {unit}/s the reading trails the axis by {step.result:.4g} "
            f"{unit}; the need is {limit:.4g} {unit}."
        ),
        remedy="" if fine else "Take a smaller capacitor or resistor, or read at rest.",
        source="practice",
        measured=step.result,
        limit=limit,
        unit=unit,
        steps=(*_source_steps(circuit), step),
    )


def _hold_step(circuit: Circuit) -> Step:
    """The pull alone moves the capacitor once the wiper is off."""
    wiring = circuit.wiring
    pulls = [ohms.nominal for ohms in (wiring.pull_down_ohm, wiring.pull_up_ohm) if ohms is not None]
    pull = pulls[0] if len(pulls) == 1 else float(parallel(pulls[0], pulls[1]))
    series = wiring.series_ohm.nominal if wiring.pull_at == "lead" else 0.0
    return Step(
        symbol="t_hold",
        meaning="three time constants of pull and capacitor",
        formula="1e3 * k * (R_pull + R_series) * C",
        numbers={"k": TIME_CONSTANTS, "R_pull": pull, "R_series": series, "C": wiring.capacitor_f.nominal},
        result=1e3 * TIME_CONSTANTS * (pull + series) * wiring.capacitor_f.nominal,
        unit="ms",
        source="practice",
        link="wiring",
    )


def _slide(circuit: Circuit) -> Finding:
    step = _hold_step(circuit)
    hold = max(step.result / 1e3, HOLD_OFF[0])
    fine = hold <= HOLD_OFF[1]
    return Finding(
        key="slide",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"While the wiper opens, the pin slides through legal codes with a time constant of "
            f"{show(step.result / (1e3 * TIME_CONSTANTS), _SECOND)}. Hold the fault code off for 3 samples "
            f"and at least {show(hold, _SECOND)}; the usual is {show(HOLD_OFF[0], _SECOND)} to "
            f"{show(HOLD_OFF[1], _SECOND)}."
        ),
        remedy=(
            "The valid band alone is too late for a position loop: add checks for a motion that cannot be."
            if fine
            else "Take a smaller pull or capacitor, or check for a motion that cannot be."
        ),
        source="practice",
        measured=1e3 * hold,
        limit=1e3 * HOLD_OFF[1],
        unit="ms",
        steps=(step,),
    )
