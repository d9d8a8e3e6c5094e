"""The chain as the report's strip: one room a link, and a frame for each position of the slider."""

from collections.abc import Callable

import numpy as np

from anglewright.budget.totals import Share, StateBudget
from anglewright.harmonics import UnknownWaves
from anglewright.jobs.lines import LineInUse
from anglewright.links.fields import CurveKey, LimitKey, QuantityKey, StagesKey, TurnLimitKey
from anglewright.links.protocol import Part, flat_keys
from anglewright.quantities.showing import show, show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS, Kind, Unit
from anglewright.report.document import (
    Arc,
    Circuit,
    Clamp,
    CodeSheet,
    Drawing,
    Fact,
    Frame,
    Gears,
    Joint,
    Pull,
    Room,
    Staircase,
    Track,
)
from anglewright.rig import Axis, at_mean, realise
from anglewright.shapes import UnknownShape

LINE_ON_ARC_DEG = 120.0  # of the drawing for a motion along a line [deg]
FRAMES = 136  # positions of the slider over the range [1]

_LEAVES = {
    "motion": "position",
    "drive": "sensor shaft",
    "coupling": "sensor shaft",
    "mount": "since the clamping",
    "sensor": "of the track",
    "wiring": "at the pin",
    "converter": "counts",
}
_UNITS = {
    Kind.ANGLE: "deg",
    Kind.LENGTH: "mm",
    Kind.RESISTANCE: "ohm",
    Kind.CAPACITANCE: "F",
    Kind.VOLTAGE: "V",
    Kind.CURRENT: "uA",
    Kind.TORQUE: "N mm",
    Kind.STIFFNESS: "N m/rad",
    Kind.POWER: "W",
    Kind.TIME: "ms",
    Kind.FRACTION: "%",
    Kind.COUNT: "LSB",
    Kind.ANGULAR_SPEED: "deg/s",
    Kind.LINEAR_SPEED: "mm/s",
}


def rooms(in_use: LineInUse, budget: StateBudget) -> tuple[Room, ...]:
    """One room a link from motion to code, with its share of the variance."""
    axis = in_use.axis
    found = [_room(axis, part, budget) for part in axis.chain_parts]
    record = in_use.record
    basis = f"line of calibration {record.name}" if record else f"line of the {in_use.state.value}"
    code = Room(kind="Code", part=basis, drawing=CodeSheet(), leaves="reported", share_reason="no share")
    return (*found, code)


def _room(axis: Axis, part: Part, budget: StateBudget) -> Room:
    rows = [row for row in budget.shares if row.link == part.room]
    share = sum(row.share for row in rows)
    return Room(
        kind=part.room.capitalize(),
        part=_named(axis, part),
        drawing=_drawing(axis, part),
        leaves=_LEAVES[part.room],
        share=min(1.0, max(0.0, share)),
        share_reason=_reason(rows),
        inside=inside(part),
    )


def _named(axis: Axis, part: Part) -> str:
    if part.room != "motion":
        return part.describe()
    low, high = show(axis.motion.low, axis.unit), show(axis.motion.high, axis.unit)
    return f"{axis.name}, {low} to {high}"


def _reason(rows: list[Share]) -> str:
    return rows[0].meaning if rows and rows[0].share >= 0.0005 else "no share"


def _loose(part: Part) -> bool:
    sizes = (getattr(part, "play_rad", None), getattr(part, "gap_m", None))
    loose = any(isinstance(size, Spread) and size.nominal > 0.0 for size in sizes)
    return loose and not getattr(part, "preloaded", False)


def _teeth(axis: Axis) -> tuple[int, int]:
    teeth = getattr(axis.part("drive"), "teeth", (1, 1))
    return (int(teeth[0]), int(teeth[-1])) if min(teeth) > 1 else (24, 24)


def _circuit(part: Part) -> Circuit:
    series, capacitor = getattr(part, "series_ohm", None), getattr(part, "capacitor_f", None)
    pull: Pull = "down" if getattr(part, "pull_down_ohm", None) else ""
    if getattr(part, "pull_up_ohm", None):
        pull = "up"
    return Circuit(
        series=bool(series and series.nominal), capacitor=bool(capacitor and capacitor.nominal), pull=pull
    )


def _on_arc(axis: Axis, q: float) -> float:
    """A position on the drawing's arc; a travel along a line is laid over 120 deg of it. [deg]"""
    if axis.unit.kind is Kind.ANGLE:
        return float(np.degrees(q))
    return LINE_ON_ARC_DEG * ((q - axis.motion.low) / (axis.motion.high - axis.motion.low) - 0.5)


def _drawing(axis: Axis, part: Part) -> Drawing:
    travel = getattr(part, "travel_rad", None)
    drawings: dict[str, Callable[[], Drawing]] = {
        "motion": lambda: Arc(
            low_deg=_on_arc(axis, axis.motion.low), high_deg=_on_arc(axis, axis.motion.high)
        ),
        "drive": lambda: Gears(teeth=_teeth(axis)),
        "coupling": lambda: Joint(play=_loose(part)),
        "mount": Clamp,
        "sensor": lambda: Track(travel_deg=float(np.degrees(travel.nominal)) if travel else 360.0),
        "wiring": lambda: _circuit(part),
        "converter": Staircase,
    }
    return drawings[part.room]()


def inside(part: Part) -> tuple[Fact, ...]:
    """The values within a part, as its file has them."""
    facts = []
    for name, key in flat_keys(part.KEYS):
        value = getattr(part, key.field)
        if value is None:
            continue
        if isinstance(key, StagesKey):
            facts += [
                Fact(name=f"{name}.{place}.{each.name}", value=each.value, note=each.note)
                for place, stage in enumerate(value, 1)
                for each in inside(stage)
            ]
            continue
        text = str(value)
        if isinstance(key, QuantityKey) and isinstance(value, Spread):
            text = show_spread(value, UNITS[_UNITS.get(key.kinds[0], "")])
        elif isinstance(key, LimitKey | TurnLimitKey) and isinstance(value, UnknownShape | UnknownWaves):
            unit = UNITS[_UNITS[key.kind]]
            text = f"±{unit.from_si(value.limit):g} {unit.name}"
        elif isinstance(key, CurveKey):
            first, second = (UNITS[_UNITS[kind]] for kind in key.kinds)
            text = ", ".join(f"{x:g} {first.name}: {y:g} {second.name}" for x, y in value)
        facts.append(Fact(name=name, value=text, note=key.meaning))
    return tuple(facts)


def frames(in_use: LineInUse) -> tuple[Frame, ...]:
    """Every link's value at each position of the slider, nothing left to compute in the page."""
    axis = in_use.axis
    chain = realise(axis, at_mean)
    positions = axis.positions(FRAMES)
    traces = [np.broadcast_to(np.asarray(values), positions.shape) for values in chain.trace(positions)]
    reported = np.asarray(axis.reported(in_use.line.forward(traces[-1])))
    return tuple(
        _frame(axis, float(q), [float(trace[k]) for trace in traces], float(reported[k]))
        for k, q in enumerate(positions)
    )


def _frame(axis: Axis, q: float, values: list[float], reported: float) -> Frame:
    unit, deg = axis.unit, UNITS["deg"]
    _, shaft, far, turn, share, volts, code = values
    codes = axis.codes
    filled = (code - codes.low) / codes.count
    analogue = hasattr(axis.part("wiring"), "series_ohm")
    feed = float(getattr(axis.part("wiring"), "feed_v", Spread(nominal=1.0)).nominal) if analogue else 1.0
    turning = _on_arc(axis, q)
    return Frame(
        position=q / unit.size,
        position_text=_fixed(q, unit),
        values=(
            _fixed(q, unit),
            _fixed(shaft, deg),
            _fixed(far, deg),
            _fixed(turn, deg),
            f"{share:.4f}",
            f"{volts:.4f} V" if analogue else f"{volts:.4f}",
            f"{code:.0f}",
            _fixed(reported, unit),
        ),
        phases=(
            turning,
            turning,
            float(np.degrees(far)),
            float(np.degrees(turn)),
            share,
            volts / feed,
            filled,
            filled,
        ),
    )


def _fixed(value: float, unit: Unit) -> str:
    return f"{value / unit.size + 0.0:.2f} {unit.name}"
