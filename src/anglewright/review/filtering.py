"""Theme: the filter at the pin, by source resistance and capacitor, against motion and samples."""

import math
from collections.abc import Mapping

import numpy as np

from anglewright.circuits import settling_time
from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue
from anglewright.review.timing import source_steps, worst_source
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "corner": "lowest corner of the filter at the pin against the motion",
    "aliasing": "highest corner of the filter at the pin against half the sample rate",
    "lag": "how far the reading trails the axis at top speed",
    "wrap-smear": "shaft angle over which the voltage falls where a turn begins anew, and reads in between",
}

ABOVE_MOTION = 10.0  # the corner over the motion's frequency, at least [1]
_FARAD, _SECOND = UNITS["F"], UNITS["s"]


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """Corner and lag of the filter, where there is one; its highest corner where a sample rate is stated."""
    if circuit.wiring.capacitor_f.nominal == 0.0:
        return ()
    rate = circuit.axis.loop.sample_hz
    aliasing = () if rate is None else (_aliasing(circuit, rate),)
    wraps = circuit.axis.motion.endless and circuit.axis.motion.speed is not None
    return (_corner(circuit), *aliasing, _lag(circuit), *((_smear(circuit),) if wraps else ()))


def _smear_step(circuit: Analogue) -> Step:
    bits, numbers = circuit.converter.bits, {"f": circuit.turns_per_s, "R": worst_source(circuit)}
    numbers |= {"N": float(bits), "C": circuit.wiring.capacitor_f.nominal}
    time = settling_time(bits, ohms=numbers["R"], farad=numbers["C"])
    return Step(
        symbol="arc",
        meaning="turn of the shaft while the pin falls to within half a code, at top speed",
        formula="360 * f * (N + 1) * log(2) * R * C",
        numbers=numbers,
        result=360.0 * numbers["f"] * time,
        unit="deg",
        source="slyw038",
        link="wiring",
    )


def _smear(circuit: Analogue) -> Finding:
    step = _smear_step(circuit)
    return Finding(
        key="wrap-smear",
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            "Where the turn begins anew the voltage falls from its top to its bottom: at top speed "
            f"{step.result:.3g} deg of shaft read anything in between, and so does a mean of samples from "
            "both sides."
        ),
        remedy="Drop what moved further than the axis can, and average angles round the circle.",
        source="practice",
        measured=step.result,
        unit="deg",
        steps=(step,),
    )


def _corner_step(circuit: Analogue) -> Step:
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


def _corner(circuit: Analogue) -> Finding:
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
        steps=(*source_steps(circuit), *steps),
    )


def _least_step(circuit: Analogue) -> Step:
    """The corner where the source is strongest."""
    ohms = np.asarray(circuit.net.at_pin(circuit.shares).ohms)
    numbers = {"R": float(np.min(ohms)), "C": circuit.wiring.capacitor_f.nominal}
    corner = 2.0 * math.pi * numbers["R"] * numbers["C"]
    return Step(
        symbol="f_h",
        meaning="highest corner of the filter at the pin, where the source resistance is least",
        formula="1 / (2 * pi * R * C)" if corner > 0.0 else "1e12",
        numbers=numbers,
        result=1.0 / corner if corner > 0.0 else 1e12,
        unit="Hz",
        source="practice",
        link="wiring",
    )


def _aliasing(circuit: Analogue, sample_hz: float) -> Finding:
    step, limit = _least_step(circuit), sample_hz / 2.0
    fine = step.result <= limit
    least = 1.0 / (2.0 * math.pi * max(step.numbers["R"], 1e-3) * limit)
    return Finding(
        key="aliasing",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"The highest corner at the pin is {step.result:.4g} Hz; half the sample rate is {limit:.4g} Hz. "
            + (
                "Hum and noise above it are held off."
                if fine
                else "Hum and noise between the two come through."
            )
        ),
        remedy=""
        if fine
        else f"Sample faster and average, or take {show(least, _FARAD)} at the pin where the lag allows.",
        source="practice",
        measured=step.result,
        limit=limit,
        unit="Hz",
        steps=(step,),
    )


def _motion_step(circuit: Analogue, speed: float) -> Step:
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


def _lag(circuit: Analogue) -> Finding:
    speed = circuit.axis.motion.speed
    return _lag_in_time(circuit) if speed is None else _lag_at(circuit, speed.nominal)


def _lag_in_time(circuit: Analogue) -> Finding:
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


def _lag_step(circuit: Analogue, speed: float) -> Step:
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


def _lag_at(circuit: Analogue, speed: float) -> Finding:
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
        steps=(*source_steps(circuit), step),
    )
