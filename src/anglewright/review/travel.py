"""Theme: the motion against the track, the sensor's own stops and the mechanism's stops; use of the range."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.review.design import Circuit
from anglewright.review.room import margin, needs, needs_said
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "use-of-track": "which part of the track the motion uses, against 10 % to 90 %",
    "end-margin": "shaft angle left before the track ends, against over-travel, play, clamping and 5 deg",
    "sensor-stop": "shaft angle left before the sensor's own stop, against the same and the motor's strength",
}

LEAST_LEFT = 0.10  # of the track, at each end [1]
NEVER_LESS = 0.05  # of the track, at each end [1]
STOP_HOLDS = (0.3, 0.6)  # torque that the stop of a potentiometer bears, typical data sheets [N m]


def findings(circuit: Circuit) -> tuple[Finding, ...]:
    """Use of the track, room at its ends, the sensor's own stop."""
    return (_use(circuit), _end_margin(circuit), _sensor_stop(circuit))


def _straight(circuit: Circuit, q: float) -> float:
    """Share of the track at a position, not held at its ends."""
    return circuit.clamped_place + float(circuit.turn(q)) / circuit.sensor.travel_rad.nominal


def _use(circuit: Circuit) -> Finding:
    motion = circuit.axis.motion
    ends = sorted(100.0 * float(np.clip(_straight(circuit, q), 0.0, 1.0)) for q in (motion.low, motion.high))
    left = min(ends[0], 100.0 - ends[1])
    fine = left >= 100.0 * LEAST_LEFT - 1e-9
    text = f"The track is used from {ends[0]:.3g} % to {ends[1]:.3g} %"
    if fine:
        text += ", inside the usual 10 % to 90 %."
    elif left >= 100.0 * NEVER_LESS:
        text += ", beyond the usual 10 % to 90 %."
    else:
        text += ": less than 5 % is left at an end, which no tolerance forgives."
    return Finding(
        key="use-of-track",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="sensor",
        text=text,
        remedy="" if fine else _centring(circuit, ends),
        source="practice",
        measured=left,
        limit=100.0 * LEAST_LEFT,
        unit="%",
        steps=tuple(_share_step(circuit, q) for q in (motion.low, motion.high)),
    )


def _centring(circuit: Circuit, ends: list[float]) -> str:
    """Where to clamp, or that the ratio must go down."""
    if ends[1] - ends[0] > 100.0 * (1.0 - 2.0 * LEAST_LEFT):
        wide = (ends[1] - ends[0]) / (100.0 * (1.0 - 2.0 * LEAST_LEFT))
        return f"Divide the ratio of the drive by at least {wide:.3g}, or take a sensor with more travel."
    moved = circuit.clamped_place + 0.5 - sum(ends) / 200.0
    at, reads = circuit.axis.clamped_at, 100.0 * float(np.mean(circuit.reading_of(moved)))
    return f"Clamp the sensor where it reads {reads:.3g} % at '{at}': that centres the motion."


def _clamped(circuit: Circuit) -> tuple[str, dict[str, float]]:
    """Share of the track at the clamping, from what the sensor read there: symbols and numbers."""
    reading = {"s_c": float(circuit.track.reading)}
    if not np.any(circuit.track.end_ohm):
        return "s_c", reading
    ends = {"R_T": circuit.track.track_ohm, "R_e": circuit.track.end_ohm}
    numbers = {name: float(np.mean(ohms)) for name, ohms in ends.items()}
    return "(s_c * (R_T + 2 * R_e) - R_e) / R_T", reading | numbers


def _share_step(circuit: Circuit, q: float) -> Step:
    clamped, numbers = _clamped(circuit)
    dphi = float(np.degrees(circuit.turn(q)))
    return Step(
        symbol="x",
        meaning=f"share of the track at {circuit.text(q)}",
        formula=f"100 * ({clamped} + dphi / T)",
        numbers=numbers | {"dphi": dphi, "T": float(np.degrees(circuit.sensor.travel_rad.nominal))},
        result=100.0 * _straight(circuit, q),
        unit="%",
        source="iec60393",
        link="sensor",
    )


def _tightest(circuit: Circuit) -> tuple[float, float]:
    """The end of the motion and its stop where the least of the track lies beyond the stop. [m or rad]"""
    motion, stops = circuit.axis.motion, circuit.axis.stops
    pairs = ((motion.low, stops.low), (motion.high, stops.high))
    return min(pairs, key=lambda pair: _left(circuit, pair[1], circuit.sensor.travel_rad.limits[0]))


def _left(circuit: Circuit, q: float, travel: float) -> float:
    """Shaft angle from a position to the nearer end of a track of a given travel. [rad]"""
    at = circuit.clamped_place * travel + float(circuit.turn(q))
    return min(at, travel - at)


def _room_step(circuit: Circuit, end: float, travel: float, beyond: float) -> Step:
    """Shaft angle from the end of the motion to the end of the track, and `beyond` it. [rad in, deg shown]"""
    at = circuit.clamped_place * travel + float(circuit.turn(end))
    clamped, numbers = _clamped(circuit)
    head = f"{clamped} * T + dphi" if at <= travel - at else f"T - ({clamped} * T + dphi)"
    numbers |= {"T": float(np.degrees(travel)), "dphi": float(np.degrees(circuit.turn(end)))}
    if beyond:
        head += " + beyond"
        numbers["beyond"] = float(np.degrees(beyond))
    return Step(
        symbol="left",
        meaning=f"shaft angle left from {circuit.text(end)} on",
        formula=head,
        numbers=numbers,
        result=float(np.degrees(_left(circuit, end, travel) + beyond)),
        unit="deg",
        source="derived",
        link="sensor",
    )


def _end_margin(circuit: Circuit) -> Finding:
    end, stop = _tightest(circuit)
    left = _room_step(circuit, end, circuit.sensor.travel_rad.limits[0], 0.0)
    needed = needs(circuit, end, stop)
    text = (
        f"From {circuit.text(end)} the shaft has {left.result:.3g} deg left before the shortest track ends; "
        f"{needs_said(circuit, stop, needed)}."
    )
    gone = left.result < needed["over_travel"]
    text += " The wiper leaves the track before the mechanism stops." if gone else ""
    return margin(circuit, ("end-margin", text), left, needed=needed, gone=gone)


def _strength_step(circuit: Circuit, stop: float) -> Step | None:
    """What the motor can do at the sensor's shaft; None where its strength is not stated."""
    strength = circuit.axis.motion.strength
    if strength is None:
        return None
    ratio = abs(float(circuit.before_sensor.slope(stop)))
    return Step(
        symbol="M_s",
        meaning="strength of the motor at the sensor's shaft, by the turn of the shaft for a motion",
        formula="M / N",
        numbers={"M": strength.limits[1], "N": ratio},
        result=strength.limits[1] / ratio,
        unit="N m",
        source="derived",
        link="motion",
    )


def _sensor_stop(circuit: Circuit) -> Finding:
    if circuit.sensor.mechanical_rad is None:
        return _endless(circuit)
    end, stop = _tightest(circuit)
    travel = circuit.sensor.travel_rad.nominal
    left = _room_step(circuit, end, travel, (circuit.sensor.mechanical_rad.limits[0] - travel) / 2.0)
    needed, strength = needs(circuit, end, stop), _strength_step(circuit, stop)
    text = (
        f"The sensor has stops of its own, taken as centred on its track: {left.result:.3g} deg of shaft are "
        f"left to the nearer one; {needs_said(circuit, stop, needed)}."
    )
    hit = left.result < sum(needed.values()) - needed["margin"]
    text += _hit_said(strength) if hit else ""
    weak = strength is not None and strength.result < STOP_HOLDS[0]
    found = margin(circuit, ("sensor-stop", text), left, needed=needed, gone=hit and not weak)
    return replace(found, steps=(*found.steps, strength)) if strength else found


def _hit_said(strength: Step | None) -> str:
    holds = f"{STOP_HOLDS[0]:g} to {STOP_HOLDS[1]:g} N m"
    if strength is None:
        return f" The drive can reach the sensor's stop, which holds {holds}: any gearmotor beats that."
    than = "weaker" if strength.result < STOP_HOLDS[0] else "no weaker"
    return (
        f" The drive can reach the sensor's stop with {strength.result:.3g} N m at its shaft: {than} than "
        f"such a stop, which holds {holds} (from memory of data sheets)."
    )


def _endless(circuit: Circuit) -> Finding:
    return Finding(
        key="sensor-stop",
        severity=Severity.NOTE,
        axis=circuit.axis.name,
        link="sensor",
        text="The sensor turns endlessly: it has no stop of its own that the drive could break.",
        remedy="Beyond its track the output means nothing: only the mechanism's stops keep it on.",
        source="practice",
    )
