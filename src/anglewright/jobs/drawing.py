"""The drawings of one axis, filled from its parts: the dial of its mounting, the schematic of its circuit."""

from collections.abc import Iterable, Iterator
from typing import Any, Literal

import numpy as np

from anglewright.angles import TURN
from anglewright.links.harness import ohm_per_metre
from anglewright.links.protocol import Part, TrackPort
from anglewright.links.signals import SignalWire
from anglewright.quantities.showing import show, show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.report.dial import Dial, Place
from anglewright.report.schematic import Schematic, Stage
from anglewright.rig import Axis
from anglewright.selection.instructions import reading_text
from anglewright.selection.mounting import Ends, Mounting, Target, clamp_target, expected_at
from anglewright.simulation.faults.protocol import sensor_port

TWISTED_FROM_M = 1.0  # a longer cable is to be twisted or shielded, common practice [m]
_ENDS: dict[Ends, Literal["track", "wrap", "none"]] = {
    Ends.TRACK: "track",
    Ends.WRAP: "wrap",
    Ends.NONE: "none",
}


def dial_of(mounting: Mounting) -> Dial:
    """The sensor's shaft of a mounting as a dial."""
    axis = mounting.axis
    working, reached = _used(mounting)
    target = clamp_target(mounting)
    stops = mounting.sensor_stops
    return Dial(
        title=f"Mounting of the sensor of {axis.name}",
        description=(
            f"Dial of the sensor's shaft. Clamp it at mark '{mounting.mark}', where it stands "
            f"{np.degrees(target.angle):.4g} deg from the start of its output: {reading_text(target)}."
        ),
        scale=_scale(mounting, reached),
        working=working,
        reached=reached,
        places=tuple(_places(mounting, target)),
        clamp_half_deg=float(np.degrees(mounting.clamping_error)),
        ends=_ENDS[mounting.ends],
        sensor_stops=(float(np.degrees(stops[0])), float(np.degrees(stops[1]))) if stops else None,
        sense=1 if mounting.sense > 0 else -1,
        captions=tuple(_captions(mounting)),
    )


def _degrees(mounting: Mounting, q: float) -> float:
    return float(np.degrees(mounting.angle(q)))


def _used(mounting: Mounting) -> tuple[tuple[float, float], tuple[float, float]]:
    """What the axis uses of the shaft's turn, and what it can be driven to. [deg]"""
    motion, stops = mounting.axis.motion, mounting.axis.stops
    if motion.endless:
        whole = (0.0, float(np.degrees(mounting.full)))
        return whole, whole
    work = sorted(_degrees(mounting, q) for q in (motion.low, motion.high))
    ends = sorted([*work, *(_degrees(mounting, q) for q in (stops.low, stops.high))])
    return (work[0], work[1]), (ends[0], ends[-1])


def _scale(mounting: Mounting, reached: tuple[float, float]) -> tuple[float, float]:
    """What is drawn: the output of the sensor, or for one that counts the turns that are used. [deg]"""
    turn = 360.0
    if mounting.ends is not Ends.NONE:
        return (0.0, float(np.degrees(mounting.full)))
    if reached[1] - reached[0] <= turn:
        middle = (reached[0] + reached[1]) / 2.0
        return (middle - turn / 2.0, middle + turn / 2.0)
    return (turn * np.floor(reached[0] / turn), turn * np.ceil(reached[1] / turn))


def _places(mounting: Mounting, target: Target) -> Iterator[Place]:
    """Everything that has a label, the clamp line first."""
    axis = mounting.axis
    named = {mark.at.nominal: name for name, mark in axis.marks.items()}
    yield _clamp(mounting, target)
    for q in (axis.motion.low, axis.motion.high):
        if not axis.motion.endless and q != target.position:
            lines = (_named(axis, q, named), _plain_reading(mounting, q))
            yield Place(at_deg=_degrees(mounting, q), lines=lines, kind="end")
    shown = {target.position, axis.motion.low, axis.motion.high}
    for q in sorted(set(named) - shown):
        yield Place(at_deg=_degrees(mounting, q), lines=(_named(axis, q, named), _plain_reading(mounting, q)))
    yield from _stops(mounting)
    yield from _own_ends(mounting)


def _clamp(mounting: Mounting, target: Target) -> Place:
    where = show(target.position, mounting.axis.unit)
    error = show(mounting.clamping_error, UNITS["deg"])
    verb = "home" if mounting.ends is Ends.NONE else "clamp"
    within = f"give or take {error} of the shaft"
    lines = (f"{verb} at '{mounting.mark}', {where}", reading_text(target), within)
    return Place(at_deg=float(np.degrees(target.angle)), lines=lines, kind="clamp")


def _named(axis: Axis, q: float, named: dict[float, str]) -> str:
    text = show(q, axis.unit)
    return f"'{named[q]}', {text}" if q in named else text


def _plain_reading(mounting: Mounting, q: float) -> str:
    found = expected_at(mounting, q, reach=0.0)
    return f"code {found.code}" if found.volts is None else f"{found.volts:.2f} V"


def _stops(mounting: Mounting) -> Iterator[Place]:
    axis = mounting.axis
    if axis.motion.endless:
        return
    said = "stop of the mechanism" + (", assumed" if axis.stops_assumed else "")
    for q in (axis.stops.low, axis.stops.high):
        yield Place(at_deg=_degrees(mounting, q), lines=(said, show(q, axis.unit)), kind="stop")


def _own_ends(mounting: Mounting) -> Iterator[Place]:
    """The sensor's own stops, the gap of an endless track, or the wrap."""
    full, stops = float(np.degrees(mounting.full)), mounting.sensor_stops
    if mounting.ends is Ends.WRAP:
        yield Place(at_deg=full, lines=("here the reading wraps",), kind="sensor")
    elif stops:
        for end in stops:
            yield Place(at_deg=float(np.degrees(end)), lines=("the sensor's own stop",), kind="sensor")
    elif mounting.ends is Ends.TRACK and mounting.full < TURN:
        yield Place(at_deg=full / 2.0 + 180.0, lines=("gap: no track here",), kind="sensor")


def _captions(mounting: Mounting) -> Iterator[str]:
    axis = mounting.axis
    if mounting.full > TURN * (1.0 + 1e-9):
        yield "Turns of the sensor's shaft, from where its output starts; upwards the reading rises."
    else:
        yield "Degrees of the sensor's shaft, seen from the side on which its reading rises clockwise."
    yield f"Arrow: the way the shaft turns as {axis.name} moves the positive way ({axis.motion.positive})."
    if not axis.motion.endless:
        hatched = " Hatched: no output." if mounting.ends is Ends.TRACK else ""
        yield f"Thick: the working range. Dashed: over-travel to the mechanism's stops.{hatched}"


def schematic_of(axis: Axis) -> Schematic:
    """The circuit of an axis from its parts; whatever a part does not say is left out."""
    sensor, wiring, converter = (axis.part(room) for room in ("sensor", "wiring", "converter"))
    carried = ("feed", *(each.name for each in signal_wires(axis)), "ground")
    reference = _reference(converter)
    stages = tuple(_stages(wiring))
    return Schematic(
        title=f"Circuit of {axis.name}",
        description=_described(axis, stages),
        sensor=tuple(_sensor(sensor, wiring)),
        track=is_track(axis),
        cable=tuple(_cable(wiring)),
        contacts=tuple(f"{contact} {name}" for contact, name in enumerate(carried, start=1)),
        stages=stages,
        controller=(converter.label.lower(), *converter.describe().split(", ")),
        feed=f"feed {_shown(wiring, 'feed_v', 'V')}",
        wires=tuple(_shown(wiring, field, "ohm") for field in lead_fields(axis)),
        twisted=is_long(wiring),
        ground=_ground(wiring),
        reference=reference,
        ratiometric=reference == _FROM_FEED,
        own=_own(wiring),
    )


_FROM_FEED = ("reference", "the feed")


def is_track(axis: Axis) -> bool:
    """True where the sensor is a resistive track with a wiper."""
    return isinstance(sensor_port(axis), TrackPort)


def signal_wires(axis: Axis) -> tuple[SignalWire, ...]:
    """The wires between feed and ground, in the order of the connector."""
    return sensor_port(axis).wires


def listed(names: Iterable[str]) -> str:
    """Names in a sentence: ``data, clock and select``."""
    *head, last = names
    return f"{', '.join(head)} and {last}" if head else last


def lead_fields(axis: Axis) -> tuple[str, ...]:
    """Fields of the wiring that hold the resistance of each wire, in the order of the connector."""
    return ("lead_feed_ohm", *(["lead_wiper_ohm"] * len(signal_wires(axis))), "lead_ground_ohm")


def is_long(wiring: Part) -> bool:
    """True where the cable is long enough to want twisting or a shield."""
    length = getattr(wiring, "lead_length_m", None)
    return isinstance(length, Spread) and length.nominal > TWISTED_FROM_M


def _shown(part: Part, name: str, unit: str) -> str:
    """A number of a part in words; empty where it has none or it is nothing."""
    value: Any = getattr(part, name, None)
    if not isinstance(value, Spread) or (value.nominal == 0.0 and value.is_exact):
        return ""
    return show_spread(value, UNITS[unit])


def _sensor(sensor: Part, wiring: Part) -> Iterator[str]:
    yield sensor.label.lower()
    texts = (_shown(sensor, "track_ohm", "ohm"), _shown(sensor, "travel_rad", "deg"))
    yield from (text for text in texts if text)
    if not hasattr(sensor, "track_ohm"):
        yield sensor.describe()
    drawn = _shown(wiring, "supply_a", "A")
    if drawn:
        yield f"draws {drawn}"


def _cable(wiring: Part) -> Iterator[str]:
    yield "cable"
    length, gauge = _shown(wiring, "lead_length_m", "m"), getattr(wiring, "lead_gauge", None)
    if not length:
        yield "length not given"
    elif gauge is None:
        yield length
    else:
        yield f"{length}, gauge {gauge}"
        yield f"{wire_ohms(wiring)} a wire"
    if is_long(wiring):
        yield "twisted or shielded"


def wire_ohms(wiring: Part) -> str:
    """Resistance of one wire of the cable by length and gauge, in words; empty where they are not known."""
    length, gauge = getattr(wiring, "lead_length_m", None), getattr(wiring, "lead_gauge", None)
    if not isinstance(length, Spread) or gauge is None:
        return ""
    return show(ohm_per_metre(gauge) * length.nominal, UNITS["ohm"], digits=2)


def _ground(wiring: Part) -> str:
    offset = getattr(wiring, "ground_offset_v", None)
    if not isinstance(offset, Spread):
        return "ground"
    return f"ground, the sensor's up to {show(offset.limits[1], UNITS['V'])} above it"


def _part(name: str, value: str) -> tuple[str, ...]:
    return (name, value) if value else ()


def _stages(wiring: Part) -> Iterator[Stage]:
    """What lies between connector and pin, in the order of the signal."""
    pulls = Stage(
        up=_part("pull-up", _shown(wiring, "pull_up_ohm", "ohm")),
        down=_part("pull-down", _shown(wiring, "pull_down_ohm", "ohm")),
    )
    pulled, at_pin = bool(pulls.up or pulls.down), getattr(wiring, "pull_at", "pin") == "pin"
    if pulled and not at_pin:
        yield pulls
    for name, field in (("series", "series_ohm"), ("divider, upper", "upper_ohm")):
        if value := _shown(wiring, field, "ohm"):
            yield Stage(series=(name, value))
    if pulled and at_pin:
        yield pulls
    if value := _shown(wiring, "lower_ohm", "ohm"):
        yield Stage(down=("divider, lower", value))
    if value := _shown(wiring, "capacitor_f", "F"):
        yield Stage(capacitor=("capacitor", value))


def _own(wiring: Part) -> Stage | None:
    """The controller's own pull, left on."""
    value, level = _shown(wiring, "pull_own_ohm", "ohm"), getattr(wiring, "pull_own_v", None)
    if not value:
        return None
    if level is None:
        return Stage(up=("own pull, left on", value))
    if level.nominal == 0.0:
        return Stage(down=("own pull, left on", value))
    return Stage(up=("own pull, left on", f"{value} to {show_spread(level, UNITS['V'])}"), up_to="level")


def _reference(converter: Part) -> tuple[str, ...]:
    if not hasattr(converter, "reference_v"):
        return ()
    return _part("reference", _shown(converter, "reference_v", "V")) or _FROM_FEED


def _described(axis: Axis, stages: tuple[Stage, ...]) -> str:
    """The circuit in a sentence."""
    parts = [": ".join(label) for stage in stages for label in _labels(stage)]
    signals = signal_wires(axis)
    parts += [f"signals {listed(each.name for each in signals)}"] if len(signals) > 1 else []
    told = "; ".join([axis.part("sensor").describe(), *parts, axis.part("converter").describe()])
    return f"From sensor to converter: {told}."


def _labels(stage: Stage) -> list[tuple[str, ...]]:
    return [label for label in (stage.series, stage.up, stage.down, stage.capacitor) if label]
