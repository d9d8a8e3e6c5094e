"""Theme: what the delay of the reading costs an axis in motion and a position loop that lives on it."""

from collections.abc import Mapping

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.links.absolute import AbsoluteSensor
from anglewright.links.pulse_timer import PulseTimer
from anglewright.links.serial_word import WordReader
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue, Design
from anglewright.review.timing import worst_source
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "sensor-delay": "how far the reading trails the axis at top speed, for the delay of sensor and line",
    "loop-phase": "phase that the delay of the reading costs at the loop's crossover, at most 5 to 10 deg",
    "loop-sampling": "sample rate against the loop's crossover, 10 times, better 20 times, and its phase",
}

PHASE = (5.0, 10.0)  # at the crossover, unremarked and at most [deg]
SAMPLES = (10.0, 20.0)  # sample rate over crossover, at least and better [1]
_SECOND = UNITS["s"]


def findings(design: Design) -> tuple[Finding, ...]:
    """The lag of sensor and line at top speed; phase and sampling where a crossover is stated."""
    delays, loop = _sent(design), design.axis.loop
    found = [] if design.axis.motion.speed is None or not delays else [_delay(design, delays)]
    if loop.crossover_hz is not None:
        found.append(_phase(design, loop.crossover_hz))
        if loop.sample_hz is not None:
            found.append(_sampling(design, loop.crossover_hz, loop.sample_hz))
    return tuple(found)


def _sent(design: Design) -> dict[str, float]:
    """Delays of sensor, frame and line, by symbol. [s]"""
    found: dict[str, float] = {}
    for link in design.chain.links:
        if isinstance(link, AbsoluteSensor):
            found["t_sensor"] = float(np.mean(link.delay_s))
        elif isinstance(link, PulseTimer):
            found["t_frame"] = link.frame_clocks * float(np.mean(link.clock_s))
        elif isinstance(link, WordReader) and np.any(link.delay_s):
            found["t_line"] = float(np.mean(link.delay_s))
    return found


def _all_delays(design: Design) -> dict[str, float]:
    """The same, and the time constant of a filter at the pin. [s]"""
    found = _sent(design)
    if isinstance(design, Analogue) and design.wiring.capacitor_f.nominal > 0.0:
        found["t_filter"] = worst_source(design) * design.wiring.capacitor_f.nominal
    return found


def _delay(design: Design, delays: Mapping[str, float]) -> Finding:
    axis, unit = design.axis, design.axis.unit.name
    speed = 0.0 if axis.motion.speed is None else design.number(axis.motion.speed.nominal)
    step = Step(
        symbol="lag",
        meaning="how far the reading trails the axis at top speed",
        formula=f"v * ({' + '.join(delays)})",
        numbers={"v": speed} | dict(delays),
        result=speed * sum(delays.values()),
        unit=unit,
        source="derived",
        link="sensor",
    )
    limit = design.number(axis.permissible)
    fine = step.result <= limit
    late = show(sum(delays.values()), _SECOND)
    return Finding(
        key="sensor-delay",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="sensor",
        text=(
            f"The reading is {late} late: at {speed:.4g} {unit}/s it trails the axis by {step.result:.4g} "
            f"{unit}; the need is {limit:.4g} {unit}."
        ),
        remedy="" if fine else "Take a faster sensor or line, or read at rest.",
        source="derived",
        measured=step.result,
        limit=limit,
        unit=unit,
        steps=(step,),
    )


def _phase_step(delays: Mapping[str, float], crossover_hz: float) -> Step:
    """A filter well above the crossover costs as much phase as a delay of its time constant."""
    return Step(
        symbol="phase",
        meaning="phase that the delays cost at the crossover",
        formula=f"360 * f * ({' + '.join(delays) or '0'})",
        numbers={"f": crossover_hz} | dict(delays),
        result=360.0 * crossover_hz * sum(delays.values()),
        unit="deg",
        source="control-delay",
        link="converter",
    )


def _phase(design: Design, crossover_hz: float) -> Finding:
    step = _phase_step(_all_delays(design), crossover_hz)
    fine = step.result <= PHASE[1]
    usual = "little" if step.result <= PHASE[0] else "as much as is usual" if fine else "more than is usual"
    return Finding(
        key="loop-phase",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="converter",
        text=(
            f"The delay of the reading costs {step.result:.3g} deg of phase at the crossover of "
            f"{crossover_hz:.4g} Hz, {usual}: at most {PHASE[0]:g} to {PHASE[1]:g} deg. "
            "What the samples cost comes on top."
        ),
        remedy="" if fine else "Take a faster sensor, line or filter, or a lower crossover.",
        source="practice",
        measured=step.result,
        limit=PHASE[1],
        unit="deg",
        steps=(step,),
    )


def _hold_step(crossover_hz: float, sample_hz: float) -> Step:
    return Step(
        symbol="hold",
        meaning="phase that holding each sample until the next costs at the crossover, half a sample",
        formula="180 * f / f_s",
        numbers={"f": crossover_hz, "f_s": sample_hz},
        result=180.0 * crossover_hz / sample_hz,
        unit="deg",
        source="control-delay",
        link="converter",
    )


def _ratio_step(crossover_hz: float, sample_hz: float) -> Step:
    return Step(
        symbol="k",
        meaning="sample rate over the crossover",
        formula="f_s / f",
        numbers={"f": crossover_hz, "f_s": sample_hz},
        result=sample_hz / crossover_hz,
        unit="",
        source="practice",
        link="converter",
    )


def _sampling(design: Design, crossover_hz: float, sample_hz: float) -> Finding:
    ratio, hold = _ratio_step(crossover_hz, sample_hz), _hold_step(crossover_hz, sample_hz)
    fine = ratio.result >= SAMPLES[0]
    return Finding(
        key="loop-sampling",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="converter",
        text=(
            f"The position is read {ratio.result:.3g} times per period of the crossover; {SAMPLES[0]:g} "
            f"times is the least, {SAMPLES[1]:g} times is better. Holding each sample costs "
            f"{hold.result:.3g} deg of phase."
        ),
        remedy="" if fine else "Sample faster, or take a lower crossover.",
        source="practice",
        measured=ratio.result,
        limit=SAMPLES[0],
        unit="",
        steps=(ratio, hold),
    )
