"""Theme: room between the motion and the place where the reading of an absolute sensor begins anew."""

from collections.abc import Mapping
from math import gcd

import numpy as np

from anglewright.angles import pair_limit
from anglewright.findings import Finding, Severity
from anglewright.links.absolute import AbsolutePart
from anglewright.links.gear_pair import GearPairPart
from anglewright.review.design import Design
from anglewright.review.room import margin, needs, needs_said
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "wrap": "shaft angle left before the reading begins anew, against over-travel, play, clamping and 5 deg",
    "pair-margin": "errors of both sensors of a gear pair, against what still tells the right turn",
}

WINDOW = 7.0 / 8.0  # of the limit, that makers of such pairs allow [1]


def findings(design: Design) -> tuple[Finding, ...]:
    """The wrap of a sensor that has one, where the axis has ends; the decision of a gear pair."""
    sensor = design.axis.part("sensor")
    pair = (_pair(design, sensor),) if isinstance(sensor, GearPairPart) else ()
    if not isinstance(sensor, AbsolutePart | GearPairPart) or design.axis.motion.endless:
        return pair
    turns = sensor.range_turns if isinstance(sensor, GearPairPart) else 1.0
    return (_wrap(design, 360.0 * turns), *pair)


def _left_step(design: Design, q: float, whole: float) -> Step:
    """Shaft angle from an end of the motion to the wrap beyond it. [deg]"""
    share, motion = float(design.share(q)), design.axis.motion
    other = float(design.share(motion.low + motion.high - q))
    low_side = share <= other
    return Step(
        symbol="left",
        meaning=f"shaft angle left from {design.text(q)} to the wrap",
        formula="s * A" if low_side else "(1 - s) * A",
        numbers={"s": share, "A": whole},
        result=whole * (share if low_side else 1.0 - share),
        unit="deg",
        source="derived",
        link="sensor",
    )


def _wrap(design: Design, whole: float) -> Finding:
    motion, stops = design.axis.motion, design.axis.stops
    pairs = ((motion.low, stops.low), (motion.high, stops.high))
    rows = [(stop, _left_step(design, q, whole), needs(design, q, stop)) for q, stop in pairs]
    stop, left, needed = min(rows, key=lambda row: row[1].result - sum(row[2].values()))
    gone = left.result < needed["over_travel"]
    ends = " and ".join(
        f"{row[1].result:.4g} deg from {design.text(pairs[k][0])}" for k, row in enumerate(rows)
    )
    text = f"The reading begins anew {ends}, of shaft; {needs_said(design, stop, needed)}."
    text += " The axis can be driven through the wrap before the mechanism stops." if gone else ""
    return margin(design, ("wrap", text), left, needed=needed, gone=gone)


def _pair_step(sensor: GearPairPart) -> Step:
    """Errors of both sensors, weighted by their teeth, as if both were equal. [deg]"""
    terms = [
        (name, teeth, error) for name, (teeth, error) in zip(_TERMS, sensor.doubts, strict=True) if error
    ]
    numbers = {f"z_{name}": float(teeth) for name, teeth, _ in terms}
    numbers |= {f"e_{name}": error for name, _, error in terms}
    numbers |= {"z_1": float(sensor.first), "z_2": float(sensor.second)}
    return Step(
        symbol="e",
        meaning="errors at their limits with steps and play, as an equal error of both sensors",
        formula=f"({' + '.join(f'z_{name} * e_{name}' for name, _, _ in terms)}) / (z_1 + z_2)",
        numbers=numbers,
        result=sum(teeth * error for _, teeth, error in terms) / (sensor.first + sensor.second),
        unit="deg",
        source="derived",
        link="sensor",
    )


_TERMS = ("1", "2", "both", "driving")


def _limit_step(sensor: GearPairPart) -> Step:
    pair = {"z_1": float(sensor.first), "z_2": float(sensor.second)}
    return Step(
        symbol="limit",
        meaning="equal error of both sensors below which the turn is told rightly",
        formula="g * 180 / (z_1 + z_2)",
        numbers=pair | {"g": float(gcd(sensor.first, sensor.second))},
        result=float(np.degrees(pair_limit(sensor.first, sensor.second))),
        unit="deg",
        source="derived",
        link="sensor",
    )


def _pair(design: Design, sensor: GearPairPart) -> Finding:
    errors, limit = _pair_step(sensor), _limit_step(sensor)
    fine = errors.result <= WINDOW * limit.result
    return Finding(
        key="pair-margin",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="sensor",
        text=(
            f"The pair tells its turn as long as both sensors err by less than {limit.result:.4g} deg at "
            f"their own gears; with their limits, steps and play they err by {errors.result:.4g} deg."
        ),
        remedy="" if fine else "Take better sensors, less play, or teeth with a larger common divisor.",
        source="pair-window",
        measured=errors.result,
        limit=limit.result,
        unit="deg",
        steps=(errors, limit),
    )
