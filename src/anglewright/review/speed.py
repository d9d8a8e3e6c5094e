"""Theme: the sensor's shaft at the axis's top speed: what it allows, and how far it turns between samples."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.links.absolute import AbsolutePart
from anglewright.links.gear_pair import GearPairPart
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "sensor-speed": "speed of the sensor's shaft at the axis's top speed, against what the sensor can follow",
    "turn-per-sample": "turn of the sensor from one sample to the next at top speed, against half its period",
}

HALF = 0.5  # of the period of a reading that comes round, from one sample to the next, at most [1]
_RPM = UNITS["rpm"]


def findings(design: Design) -> tuple[Finding, ...]:
    """What the top speed asks of the sensor; nothing where no speed is stated."""
    sensor, found = design.axis.part("sensor"), []
    if design.axis.motion.speed is None:
        return ()
    if isinstance(sensor, AbsolutePart | PotentiometerPart):
        found.append(_speed(design, sensor.top_speed_rad_s))
    if isinstance(sensor, AbsolutePart | GearPairPart) and design.axis.loop.sample_hz is not None:
        turns = sensor.range_turns if isinstance(sensor, GearPairPart) else 1.0
        found.append(_per_sample(design, design.axis.loop.sample_hz, turns))
    return tuple(found)


def _speed_step(design: Design) -> Step:
    turns = design.turns_per_s
    return Step(
        symbol="n",
        meaning="speed of the sensor's shaft at the axis's top speed",
        formula="60 * f",
        numbers={"f": turns},
        result=60.0 * turns,
        unit="rpm",
        source="derived",
        link="sensor",
    )


def _speed(design: Design, top: Spread | None) -> Finding:
    limit = None if top is None else _RPM.from_si(top.limits[0])
    step = _speed_step(design)
    fine = limit is None or step.result <= limit
    allowed = "its data sheet must allow it" if limit is None else f"it reads up to {limit:.4g} rpm"
    remedy = "" if fine else "Take a smaller ratio or a faster sensor."
    return Finding(
        key="sensor-speed",
        severity=Severity.NOTE if fine else Severity.STOP,
        axis=design.axis.name,
        link="sensor",
        text=f"At top speed the sensor's shaft turns at {step.result:.4g} rpm; {allowed}.",
        remedy="Give top_speed." if limit is None else remedy,
        source="derived",
        measured=step.result,
        limit=limit,
        unit="rpm",
        steps=(step,),
    )


def _sample_step(design: Design, sample_hz: float) -> Step:
    turns = design.turns_per_s
    return Step(
        symbol="dphi",
        meaning="turn of the sensor's shaft from one sample to the next at top speed",
        formula="360 * f / f_s",
        numbers={"f": turns, "f_s": sample_hz},
        result=360.0 * turns / sample_hz,
        unit="deg",
        source="derived",
        link="sensor",
    )


def _per_sample(design: Design, sample_hz: float, turns: float) -> Finding:
    """Beyond half the period nobody can tell which way round it went."""
    step, limit = _sample_step(design, sample_hz), 360.0 * HALF * turns
    fine = step.result < limit
    return Finding(
        key="turn-per-sample",
        severity=Severity.NOTE if fine else Severity.STOP,
        axis=design.axis.name,
        link="converter",
        text=(
            f"At top speed the sensor turns {step.result:.4g} deg from one sample to the next; from "
            f"{limit:.4g} deg on nobody can tell how often the reading has come round."
        ),
        remedy="" if fine else "Sample faster, or take a smaller ratio.",
        source="derived",
        measured=step.result,
        limit=limit,
        unit="deg",
        steps=(step,),
    )
