"""Theme: the steps of the reading against the permissible error, and what they make of a rate."""

import math
from collections.abc import Mapping

import numpy as np

from anglewright.angles import TURN
from anglewright.findings import Finding, Severity
from anglewright.links.absolute import AbsolutePart
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "counts": "codes per permissible error, at least 10",
    "sensor-steps": "steps of the sensor itself per permissible error, at least 10",
    "rate-noise": "noise of a rate that is worked out from the difference of two samples",
}

LEAST_COUNTS = 10.0  # per permissible error [1]
SAME = 1e-9  # a share by which two numbers may differ and be the same [1]
STILL = 0.01  # of the steepest slope: below it the code stands still, at an end of the scale [1]


def findings(design: Design) -> tuple[Finding, ...]:
    """Codes and steps per permissible error; the noise of a rate where a sample rate is stated."""
    own, sample = _steps_per_turn(design), design.axis.loop.sample_hz
    steps = () if own is None else (_sensor_steps(design, own),)
    return (_counts(design), *steps, *(() if sample is None else (_rate_noise(design, sample),)))


def _counts_step(design: Design) -> Step:
    slopes = np.abs(np.asarray(design.chain.slope(design.positions[1:-1])))
    numbers = {
        "slope": float(np.min(slopes)) / design.number(1.0),
        "E": design.number(design.axis.permissible),
    }
    return Step(
        symbol="n_E",
        meaning="codes per permissible error where the slope is least",
        formula="slope * E",
        numbers=numbers,
        result=math.prod(numbers.values()),
        unit="count",
        source="practice",
        link="converter",
    )


def _counts(design: Design) -> Finding:
    axis = design.axis
    step = _counts_step(design)
    fine = step.result >= LEAST_COUNTS * (1.0 - SAME)
    return Finding(
        key="counts",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="converter",
        text=(
            f"The permissible error of {design.text(axis.permissible)} is {step.result:.3g} codes where the "
            f"slope is least ({step.numbers['slope']:.5g} codes per {axis.unit.name}); "
            f"at least {LEAST_COUNTS:g} are wanted."
        ),
        remedy="" if fine else "Take a converter or a sensor of more steps, or use more of its range.",
        source="practice",
        measured=step.result,
        limit=LEAST_COUNTS,
        unit="count",
        steps=(step,),
    )


def _steps_per_turn(design: Design) -> float | None:
    """Steps of the sensor in one turn of its shaft, where a converter of its own follows. [1]"""
    sensor = design.axis.part("sensor")
    if isinstance(sensor, PotentiometerPart):
        return sensor.windings * TURN / sensor.travel_rad.nominal if sensor.windings else None
    return float(sensor.positions_a_turn) if isinstance(sensor, AbsolutePart) else None


def _sensor_steps(design: Design, per_turn: float) -> Finding:
    axis = design.axis
    ratio = float(np.min(np.abs(np.asarray(design.before_sensor.slope(design.positions[1:-1])))))
    numbers = {
        "Z": per_turn,
        "turns": ratio / TURN / design.number(1.0),
        "E": design.number(axis.permissible),
    }
    step = Step(
        symbol="z_E",
        meaning="steps of the sensor per permissible error where its shaft turns least",
        formula="Z * turns * E",
        numbers=numbers,
        result=math.prod(numbers.values()),
        unit="count",
        source="practice",
        link="sensor",
    )
    fine = step.result >= LEAST_COUNTS * (1.0 - SAME)
    return Finding(
        key="sensor-steps",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="sensor",
        text=(
            f"The sensor itself goes in steps, {per_turn:.5g} a turn of its shaft: {step.result:.3g} of them "
            f"per permissible error; at least {LEAST_COUNTS:g} are wanted."
        ),
        remedy="" if fine else "Take a sensor of finer steps, or a higher ratio of the drive.",
        source="practice",
        measured=step.result,
        limit=LEAST_COUNTS,
        unit="count",
        steps=(step,),
    )


def _rate_steps(design: Design, sample_hz: float) -> tuple[Step, Step]:
    """What one code more or less makes of a rate, and the standard deviation of rounding alone."""
    slopes = np.abs(np.asarray(design.chain.slope(design.positions[1:-1])))
    least = float(np.min(slopes[slopes > STILL * np.max(slopes)]))
    numbers = {"q": design.number(1.0 / least), "f_s": sample_hz}
    unit = f"{design.axis.unit.name}/s"
    one = Step(
        symbol="dv",
        meaning="rate that one code from one sample to the next stands for",
        formula="q * f_s",
        numbers=numbers,
        result=math.prod(numbers.values()),
        unit=unit,
        source="derived",
        link="converter",
    )
    noise = Step(
        symbol="s_v",
        meaning="standard deviation of the rate from the rounding of both samples",
        formula="sqrt(2) * q / sqrt(12) * f_s",
        numbers=numbers,
        result=math.sqrt(2.0 / 12.0) * one.result,
        unit=unit,
        source="derived",
        link="converter",
    )
    return one, noise


def _rate_noise(design: Design, sample_hz: float) -> Finding:
    one, noise = _rate_steps(design, sample_hz)
    return Finding(
        key="rate-noise",
        severity=Severity.NOTE,
        axis=design.axis.name,
        link="converter",
        text=(
            f"A rate from two samples at {sample_hz:.4g} Hz goes in steps of {one.result:.4g} {one.unit}, "
            f"with a standard deviation of {noise.result:.4g} {one.unit} from rounding alone, without noise."
        ),
        remedy="Over n samples both are n times smaller; the rate is then later by half of them.",
        source="derived",
        measured=one.result,
        unit=one.unit,
        steps=(one, noise),
    )
