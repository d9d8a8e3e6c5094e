"""Room of the shaft beyond both ends of the range, the sign of the code, when a reading comes again."""

from dataclasses import dataclass

import numpy as np

from anglewright.quantities.showing import show
from anglewright.quantities.spread import Spread
from anglewright.selection.judging import MARGIN
from anglewright.selection.mounting import Ends, Mounting
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """Room of the sensor's shaft beyond one end of the range [m or rad], against what must fit in."""

    position: float
    stop: float
    left: Step
    needed: Step

    @property
    def fine(self) -> bool:
        """True where there is room enough."""
        return self.left.result >= self.needed.result


def margins(mounting: Mounting) -> tuple[Margin, ...]:
    """Room of the shaft at both ends of the range, each against what must fit in.

    Parameters
    ----------
    mounting : Mounting
        The axis as clamped.

    Returns
    -------
    tuple of Margin
        At the low and at the high end of the range; none for a sensor that counts or an endless motion.

    Notes
    -----
    What must fit in: over-travel to the mechanism's stop, play, clamping error, and 5 deg to spare. A track
    is taken at its shortest.

    References
    ----------
    practice
    """
    axis = mounting.axis
    if mounting.ends is Ends.NONE or axis.motion.endless:
        return ()
    pairs = ((axis.motion.low, axis.stops.low), (axis.motion.high, axis.stops.high))
    return tuple(
        Margin(position=q, stop=stop, left=_left(mounting, q), needed=_needed(mounting, q, stop))
        for q, stop in pairs
    )


def _left(mounting: Mounting, q: float) -> Step:
    """Shaft angle from an end of the range to the end of the output beyond it, in degrees."""
    travel = getattr(mounting.axis.part("sensor"), "travel_rad", None)
    full = travel.limits[0] if isinstance(travel, Spread) else mounting.full
    middle = mounting.axis.motion.middle
    at = "p_c * T + dphi"
    numbers = {
        "p_c": -mounting.start / mounting.full,
        "T": float(np.degrees(full)),
        "dphi": float(np.degrees(mounting.turn(q))),
    }
    angle = numbers["p_c"] * numbers["T"] + numbers["dphi"]
    low_side = mounting.angle(q) < mounting.angle(middle)
    return Step(
        symbol="left",
        meaning=f"shaft angle left beyond {show(q, mounting.axis.unit)}, the output at its shortest",
        formula=at if low_side else f"T - ({at})",
        numbers=numbers,
        result=angle if low_side else numbers["T"] - angle,
        unit="deg",
        source="derived",
        link="sensor",
    )


def _needed(mounting: Mounting, q: float, stop: float) -> Step:
    """What must fit between an end of the range and the end of the output, in degrees."""
    values = {
        "over_travel": abs(mounting.turn(stop) - mounting.turn(q)),
        "play": abs(mounting.turn(q, side=1) - mounting.turn(q, side=-1)),
        "clamping": mounting.clamping_error,
        "spare": MARGIN,
    }
    numbers = {name: float(np.degrees(value)) for name, value in values.items()}
    return Step(
        symbol="needed",
        meaning="over-travel at the shaft, play, clamping error and 5 deg to spare",
        formula=" + ".join(numbers),
        numbers=numbers,
        result=sum(numbers.values()),
        unit="deg",
        source="practice",
        link="sensor",
    )


def sign_step(mounting: Mounting) -> Step:
    """How the code changes over the range as the axis moves the positive way, with its sign."""
    unit, motion, codes = mounting.axis.unit, mounting.axis.motion, {}
    for name, q in (("n_low", motion.low), ("n_high", motion.high)):
        share = float(mounting.links["sensor"].forward(mounting.turn(q)))
        codes[name] = float(mounting.links["converter"].forward(mounting.links["wiring"].forward(share)))
    span = unit.difference_from_si(motion.high - motion.low)
    return Step(
        symbol="slope",
        meaning="change of the code as the axis moves the positive way, steps and wrap left out",
        formula="(n_high - n_low) / span",
        numbers=codes | {"span": span},
        result=(codes["n_high"] - codes["n_low"]) / span,
        unit=f"count/{unit.name}",
        source="derived",
        link="mount",
    )


def repeat_step(mounting: Mounting) -> Step | None:
    """How far the axis would have to go beyond its stops before a reading came again; None without a wrap."""
    axis = mounting.axis
    repeat = abs(mounting.position(mounting.full) - mounting.position(0.0))
    if mounting.ends is not Ends.WRAP or axis.motion.endless or not np.isfinite(repeat):
        return None
    numbers = {
        "repeat": axis.unit.difference_from_si(repeat),
        "stops": axis.unit.difference_from_si(axis.stops.high - axis.stops.low),
    }
    return Step(
        symbol="clear",
        meaning="what is left between the mechanism's stops and the next place of the same reading",
        formula="repeat - stops",
        numbers=numbers,
        result=numbers["repeat"] - numbers["stops"],
        unit=axis.unit.name,
        source="derived",
        link="sensor",
    )
