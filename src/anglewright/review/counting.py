"""Theme: an axis that is counted: edges too fast to count, and a code that means nothing until homed."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.links.counter import CounterPart, edge_rate
from anglewright.links.incremental import IncrementalPart
from anglewright.links.mount import HomedPart
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "homing": "where and how the axis is homed, before which its code means nothing",
    "line-rate": "lines a second on one track at top speed, against what the sensor can send",
    "count-rate": "edges a second at top speed, against what the counter can follow",
}

_HERTZ = UNITS["Hz"]
_WHAT: Mapping[str, str] = {"sensor": "lines on one track", "converter": "edges to count"}
_LOST = "Take fewer lines, a smaller ratio or a lower speed: an edge that is missed is never found again."
_ASK = "Hold that against its data sheet, and give top_rate."


def findings(design: Design) -> tuple[Finding, ...]:
    """The homing of an axis that needs it, and the rates of lines and edges where its top speed is stated."""
    mount, sensor, converter = (design.axis.part(room) for room in ("mount", "sensor", "converter"))
    homing = (_homing(design, mount),) if isinstance(mount, HomedPart) else ()
    if not isinstance(sensor, IncrementalPart) or not isinstance(converter, CounterPart):
        return homing
    if design.axis.motion.speed is None:
        return homing
    lines = _step(design, "sensor", lines=sensor.lines, decode=1)
    edges = _step(design, "converter", lines=sensor.lines, decode=converter.decode)
    rates = (_rate(design, lines, top=sensor.top_rate_hz), _rate(design, edges, top=converter.top_rate_hz))
    return (*homing, *rates)


def _homing(design: Design, mount: HomedPart) -> Finding:
    axis = design.axis
    place = design.text(axis.marks[axis.clamped_at].at.nominal)
    return Finding(
        key="homing",
        severity=Severity.CAUTION,
        axis=axis.name,
        link="mount",
        text=(
            f"Until the axis has been homed after a start, its code means nothing: at '{axis.clamped_at}' "
            f"({place}), {mount.side}, onto the {mount.onto}. With the motor off the mechanism "
            f"{axis.when_unpowered.value}, and may be found anywhere."
        ),
        remedy=(
            "Refuse every position until it is homed, home at low speed and little drive, and give up with a "
            "fault if home is not found in time."
        ),
        source="practice",
    )


def _step(design: Design, room: str, *, lines: int, decode: int) -> Step:
    """Rate of lines of one track, or of the edges that are counted."""
    turns = design.turns_per_s
    return Step(
        symbol="f_A" if room == "sensor" else "f",
        meaning=f"rate of {_WHAT[room]} at top speed",
        formula="d * l * n",
        numbers={"d": float(decode), "l": float(lines), "n": turns},
        result=edge_rate(turns, lines=lines, decode=decode),
        unit="Hz",
        source="practice",
        link=room,
    )


def _rate(design: Design, step: Step, *, top: Spread | None) -> Finding:
    """One rate against its limit; without one, what is asked of the part."""
    limit = None if top is None else top.limits[0]
    fine = limit is None or step.result <= limit
    allowed = "" if limit is None else f"; the {step.link} is good for {show(limit, _HERTZ)}"
    return Finding(
        key="line-rate" if step.link == "sensor" else "count-rate",
        severity=Severity.NOTE if fine else Severity.STOP,
        axis=design.axis.name,
        link=step.link,
        text=f"At top speed the {_WHAT[step.link]} come at {show(step.result, _HERTZ)}{allowed}.",
        remedy=_LOST if not fine else _ASK if limit is None else "",
        source="practice",
        measured=step.result,
        limit=limit,
        unit="Hz",
        steps=(step,),
    )
