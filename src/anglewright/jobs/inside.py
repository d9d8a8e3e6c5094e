"""The values within a part, as a report lists them: each in the unit that people read it in."""

from typing import Any

from anglewright.harmonics import UnknownWaves
from anglewright.links.fields import CurveKey, Key, LimitKey, QuantityKey, StagesKey, TurnLimitKey
from anglewright.links.protocol import Part, flat_keys
from anglewright.quantities.showing import show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS, Kind, Unit
from anglewright.report.document import Fact
from anglewright.shapes import UnknownShape

_UNITS = {
    Kind.ANGLE: "deg",
    Kind.LENGTH: "mm",
    Kind.RESISTANCE: "ohm",
    Kind.CAPACITANCE: "nF",
    Kind.VOLTAGE: "V",
    Kind.CURRENT: "uA",
    Kind.TORQUE: "N mm",
    Kind.FORCE: "N",
    Kind.STIFFNESS: "N m/rad",
    Kind.POWER: "W",
    Kind.TIME: "ms",
    Kind.FREQUENCY: "kHz",
    Kind.FRACTION: "%",
    Kind.COUNT: "LSB",
    Kind.BITS: "bit",
    Kind.TEMPERATURE: "degC",
    Kind.TEMPERATURE_COEFFICIENT: "ppm/degC",
    Kind.ANGULAR_SPEED: "deg/s",
    Kind.LINEAR_SPEED: "mm/s",
}
_ALONG_A_LINE = (Kind.LENGTH, Kind.LINEAR_SPEED, Kind.FORCE)


def inside(part: Part) -> tuple[Fact, ...]:
    """The values within a part, as its file has them."""
    facts: list[Fact] = []
    for name, key in flat_keys(part.KEYS):
        value = getattr(part, key.field)
        if isinstance(key, StagesKey):
            facts += _of_stages(name, value)
        elif value is not None:
            facts.append(Fact(name=name, value=_text(part, key, value), note=key.meaning))
    return tuple(facts)


def _of_stages(name: str, stages: tuple[Part, ...]) -> list[Fact]:
    """The values of every stage, named with its place."""
    return [
        Fact(name=f"{name}.{place}.{each.name}", value=each.value, note=each.note)
        for place, stage in enumerate(stages, 1)
        for each in inside(stage)
    ]


def _text(part: Part, key: Key, value: Any) -> str:
    if isinstance(key, QuantityKey) and isinstance(value, Spread):
        return show_spread(value, _unit(part, key.kinds, value.nominal))
    if isinstance(key, LimitKey | TurnLimitKey) and isinstance(value, UnknownShape | UnknownWaves):
        unit = UNITS[_UNITS[key.kind]]
        return f"±{unit.from_si(value.limit):g} {unit.name}"
    if isinstance(key, CurveKey):
        first, second = (UNITS[_UNITS[kind]] for kind in key.kinds)
        return ", ".join(f"{x:g} {first.name}: {y:g} {second.name}" for x, y in value)
    return str(value)


def _unit(part: Part, kinds: tuple[Kind, ...], nominal: float) -> Unit:
    """The usual unit of a quantity; of a motion along a line, that of the length among its kinds."""
    along = not getattr(part, "rotary", True)
    kind = next((kind for kind in kinds if (kind in _ALONG_A_LINE) is along), kinds[0])
    large = kind is Kind.TORQUE and nominal >= 1.0  # a motor's rather than a sensor's
    return UNITS["N m" if large else _UNITS[kind]]
