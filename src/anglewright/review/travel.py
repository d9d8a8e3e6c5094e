"""Theme: the motion against the track, the sensor's own stops and the mechanism's stops; use of the range."""

import math
from collections.abc import Mapping

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.review.design import Circuit
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "use-of-track": "which part of the track the motion uses, against 10 % to 90 %",
    "end-margin": "shaft angle left before the track ends, against over-travel, play, clamping and 5 deg",
    "sensor-stop": "shaft angle left before the sensor's own stop, against the same",
    "counts": "codes per permissible error, at least 10",
}

LEAST_LEFT = 0.10  # of the track, at each end [1]
NEVER_LESS = 0.05  # of the track, at each end [1]
MARGIN = np.radians(5.0)  # of the sensor's shaft, at each end [rad]
LEAST_COUNTS = 10.0  # per permissible error [1]


def findings(circuit: Circuit) -> tuple[Finding, ...]:
    """Use of the track, room at its ends, the sensor's own stop, codes per permissible error."""
    return (_use(circuit), _end_margin(circuit), _sensor_stop(circuit), _counts(circuit))


def _straight(circuit: Circuit, q: float) -> float:
    """Share of the track at a position, not held at its ends."""
    return circuit.sensor_reading + float(circuit.turn(q)) / circuit.sensor.travel_rad.nominal


def _use(circuit: Circuit) -> Finding:
    motion = circuit.axis.motion
    ends = sorted(100.0 * float(circuit.share(q)) for q in (motion.low, motion.high))
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
    moved = 100.0 * circuit.sensor_reading + 50.0 - sum(ends) / 2.0
    at = circuit.axis.clamped_at
    return f"Clamp the sensor where it reads {moved:.3g} % at '{at}': that centres the motion."


def _share_step(circuit: Circuit, q: float) -> Step:
    return Step(
        symbol="x",
        meaning=f"share of the track at {circuit.text(q)}",
        formula="100 * (s_c + dphi / T)",
        numbers={
            "s_c": circuit.sensor_reading,
            "dphi": float(np.degrees(circuit.turn(q))),
            "T": float(np.degrees(circuit.sensor.travel_rad.nominal)),
        },
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
    at = circuit.sensor_reading * travel + float(circuit.turn(q))
    return min(at, travel - at)


def _needs(circuit: Circuit, end: float, stop: float) -> dict[str, float]:
    """What must fit between the end of the motion and the end of the track, of the shaft. [deg]"""
    half = sum(circuit.half_plays.values())
    play = abs(float(circuit.turn(end + half)) - float(circuit.turn(end - half)))
    needs = {
        "over_travel": abs(float(circuit.turn(stop)) - float(circuit.turn(end))),
        "play": play,
        "clamping": circuit.clamping_error,
        "margin": float(MARGIN),
    }
    return {name: float(np.degrees(value)) for name, value in needs.items()}


def _needed_step(needs: Mapping[str, float]) -> Step:
    return Step(
        symbol="needed",
        meaning="over-travel at the shaft, play, clamping error and 5 deg to spare",
        formula=" + ".join(needs),
        numbers=needs,
        result=sum(needs.values()),
        unit="deg",
        source="practice",
        link="sensor",
    )


def _room_step(circuit: Circuit, end: float, travel: float, beyond: float) -> Step:
    """Shaft angle from the end of the motion to the end of the track, and `beyond` it. [rad in, deg shown]"""
    at = circuit.sensor_reading * travel + float(circuit.turn(end))
    low_side = at <= travel - at
    head = "s_c * T + dphi" if low_side else "T - (s_c * T + dphi)"
    numbers = {
        "s_c": circuit.sensor_reading,
        "T": float(np.degrees(travel)),
        "dphi": float(np.degrees(circuit.turn(end))),
    }
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


def _stops_said(circuit: Circuit, stop: float) -> str:
    assumed = " (assumed)" if circuit.axis.stops_assumed else ""
    return f"the mechanism's stop at {circuit.text(stop)}{assumed}"


_MORE_ROOM = (
    "Bring the mechanism's stops closer, clamp the sensor so that the motion is centred, "
    "or take a lower ratio of the drive."
)


def _end_margin(circuit: Circuit) -> Finding:
    end, stop = _tightest(circuit)
    left = _room_step(circuit, end, circuit.sensor.travel_rad.limits[0], 0.0)
    needs = _needs(circuit, end, stop)
    text = (
        f"From {circuit.text(end)} the shaft has {left.result:.3g} deg left before the shortest track ends; "
        f"{_needs_said(circuit, stop, needs)}."
    )
    gone = left.result < needs["over_travel"]
    text += " The wiper leaves the track before the mechanism stops." if gone else ""
    return _margin(circuit, ("end-margin", text), left, needs=needs, gone=gone)


def _sensor_stop(circuit: Circuit) -> Finding:
    if circuit.sensor.mechanical_rad is None:
        return _endless(circuit)
    end, stop = _tightest(circuit)
    travel = circuit.sensor.travel_rad.nominal
    left = _room_step(circuit, end, travel, (circuit.sensor.mechanical_rad.limits[0] - travel) / 2.0)
    needs = _needs(circuit, end, stop)
    text = (
        f"The sensor has stops of its own, taken as centred on its track: {left.result:.3g} deg of shaft are "
        f"left to the nearer one; {_needs_said(circuit, stop, needs)}."
    )
    hit = left.result < sum(needs.values()) - needs["margin"]
    text += " The drive can reach the sensor's stop, and any gearmotor is stronger than that." if hit else ""
    return _margin(circuit, ("sensor-stop", text), left, needs=needs, gone=hit)


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


def _needs_said(circuit: Circuit, stop: float, needs: Mapping[str, float]) -> str:
    assumed = " (assumed)" if circuit.axis.stops_assumed else ""
    return (
        f"over-travel to the mechanism's stop at {circuit.text(stop)}{assumed}, play, clamping and 5 deg to "
        f"spare need {sum(needs.values()):.3g} deg"
    )


def _margin(
    circuit: Circuit, said: tuple[str, str], left: Step, *, needs: Mapping[str, float], gone: bool
) -> Finding:
    """Room at the tighter end against what must fit in; `gone` where something is driven out of its range."""
    needed = _needed_step(needs)
    severity = Severity.NOTE if left.result >= needed.result else Severity.CAUTION
    return Finding(
        key=said[0],
        severity=Severity.STOP if gone else severity,
        axis=circuit.axis.name,
        link="sensor",
        text=said[1],
        remedy="" if severity is Severity.NOTE else _MORE_ROOM,
        source="practice",
        measured=left.result,
        limit=needed.result,
        unit="deg",
        steps=(left, needed),
    )


def _counts_step(circuit: Circuit) -> Step:
    slopes = np.abs(np.asarray(circuit.chain.slope(circuit.positions[1:-1])))
    numbers = {
        "slope": float(np.min(slopes)) / circuit.number(1.0),
        "E": circuit.number(circuit.axis.permissible),
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


def _counts(circuit: Circuit) -> Finding:
    axis = circuit.axis
    step = _counts_step(circuit)
    fine = step.result >= LEAST_COUNTS
    return Finding(
        key="counts",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="converter",
        text=(
            f"The permissible error of {circuit.text(axis.permissible)} is {step.result:.3g} codes where the "
            f"slope is least ({step.numbers['slope']:.5g} codes per {axis.unit.name}); "
            f"at least {LEAST_COUNTS:g} are wanted."
        ),
        remedy="" if fine else "Take a converter with more bits, or use more of the track.",
        source="practice",
        measured=step.result,
        limit=LEAST_COUNTS,
        unit="count",
        steps=(step,),
    )
