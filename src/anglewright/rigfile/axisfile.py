"""What an axis needs beside its parts: error, stops, marks, plan, and how its raw reading is shown."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any, TypeVar

from anglewright.errors import nearest
from anglewright.links.fields import ChoiceKey, Key, QuantityKey, WholeKey
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind, Unit
from anglewright.rig import (
    BEST,
    MODELS,
    Assumption,
    CalibrationPlan,
    Duty,
    Loop,
    Mark,
    RawForm,
    Reference,
    Stops,
    Unpowered,
)
from anglewright.rigfile.keys import TableReader

_Word = TypeVar("_Word", bound=Enum)

OVER_TRAVEL = 0.05  # of the range, beyond each end, where the file names no stops [1]
PER_POINT = {Kind.ANGLE: "0.5 deg", Kind.LENGTH: "0.5 mm"}

PLAN_KEYS: tuple[Key, ...] = (
    WholeKey(
        name="points", field="points", meaning="positions to calibrate at", least=2, most=1000, default=9
    ),
    WholeKey(name="readings", field="readings", meaning="readings at each", least=1, most=100000, default=4),
    ChoiceKey(
        name="approach",
        field="approach",
        meaning="from which side each position is reached",
        choices=("both sides", "one side"),
        default="both sides",
    ),
    ChoiceKey(
        name="model",
        field="model",
        meaning="what is fitted; the budget takes best for a line",
        choices=MODELS,
        default=BEST,
    ),
)


NEED_KEYS: tuple[Key, ...] = (
    ChoiceKey(
        name="homing",
        field="homing",
        meaning="whether the axis may run to a mark after each start, which a counting sensor needs",
        choices=("allowed", "not allowed"),
        default="not allowed",
    ),
    WholeKey(
        name="strokes",
        field="strokes",
        meaning="full strokes over its life, there and back",
        least=1,
        most=1_000_000_000,
    ),
    WholeKey(
        name="hunting",
        field="hunting",
        meaning="small moves while it holds, there and back, over its life",
        least=0,
        most=1_000_000_000_000,
    ),
    QuantityKey(
        name="hunting_size",
        field="hunting_size",
        meaning="size of such a small move, one way",
        kinds=(Kind.ANGLE, Kind.LENGTH),
        above=0.0,
        only_with="hunting",
    ),
)
"""Keys of the need beside the error: what a choice of parts asks for, nothing else."""

LOOP_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="crossover",
        field="crossover",
        meaning="frequency at which the gain of the position loop is 1",
        kinds=(Kind.FREQUENCY,),
        above=0.0,
        example="2 Hz",
    ),
    QuantityKey(
        name="sample",
        field="sample",
        meaning="rate at which the controller reads the position",
        kinds=(Kind.FREQUENCY,),
        above=0.0,
        example="50 Hz",
    ),
)
"""Keys of the loop, ``loop = { crossover = "2 Hz", sample = "50 Hz" }``: for the review, nothing else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisTables:
    """The tables of one axis and what is already known of it."""

    table: Mapping[str, Any]
    unit: Unit
    where: str
    motion: Mapping[str, Any]

    @property
    def span(self) -> float:
        """Length of the working range. [m or rad]"""
        return float(self.motion["to"].nominal - self.motion["from_"].nominal)

    def inner(self, name: str) -> Mapping[str, Any]:
        """A table inside the axis; empty where it is missing or not a table."""
        found = self.table.get(name, {})
        return found if isinstance(found, Mapping) else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Needs:
    """Everything about an axis that is not a part. [m or rad]"""

    permissible: float
    stops: Stops
    stops_assumed: bool
    when_unpowered: Unpowered
    marks: Mapping[str, Mark]
    clamped_at: str
    plan: CalibrationPlan
    raw: RawForm
    duty: Duty
    loop: Loop


def read_needs(axis: AxisTables, reader: TableReader) -> Needs | None:
    """What the axis needs beside its parts, or None with problems kept."""
    if axis.span <= 0.0:
        found = "it ends before it begins"
        reader.complain(f"{axis.where}, motion", found, "Give the lower end as from, the higher as to.")
        return None
    marks = _marks(axis, reader)
    mount = axis.inner("mount")
    middle = (axis.motion["to"].nominal + axis.motion["from_"].nominal) / 2.0
    if not marks:
        marks = {"middle": Mark(at=Spread(nominal=middle), how="assumed: middle of the range")}
        reader.assumptions.append(
            Assumption(key="marks", value="middle of the range", meaning="a place that can be found again")
        )
    names = tuple(axis.inner("marks")) or tuple(marks)
    at = mount.get("clamped_at", names[0])
    clamped_at = _known_mark(at, names, reader, f"{axis.where}, mount.clamped_at")
    plan = _plan(axis, names, reader)
    stops, assumed = _stops(axis, reader)
    permissible, duty = _need(axis, reader)
    unpowered = _word(axis.table.get("when_unpowered"), Unpowered, reader, f"{axis.where}, when_unpowered")
    raw = _word(axis.inner("converter").get("raw", "counts"), RawForm, reader, f"{axis.where}, converter.raw")
    if clamped_at is None or plan is None or stops is None or permissible is None or not unpowered or not raw:
        return None
    return Needs(
        permissible=permissible,
        stops=stops,
        stops_assumed=assumed,
        when_unpowered=unpowered,
        marks=marks,
        clamped_at=clamped_at,
        plan=plan,
        raw=raw,
        duty=duty,
        loop=_loop(axis, reader),
    )


def _known_mark(name: Any, names: tuple[str, ...], reader: TableReader, where: str) -> str | None:
    if name in names:
        return str(name)
    reader.complain(where, f"there is no mark '{name}'", nearest(str(name), names))
    return None


def _word(raw: Any, words: type[_Word], reader: TableReader, where: str) -> _Word | None:
    names = [word.value for word in words]
    if raw in names:
        return words(raw)
    if raw is None:
        remedy = "Say what the mechanism does with its motor off: " + ", ".join(names) + "."
        reader.complain(where, "it is missing", remedy)
    else:
        reader.complain(where, f"'{raw}' is none of its words", nearest(str(raw), names))
    return None


def _need(axis: AxisTables, reader: TableReader) -> tuple[float | None, Duty]:
    """The permissible error, and what a sensor will go through."""
    error = QuantityKey(
        name="error",
        field="error",
        meaning="maximum permissible error",
        kinds=(axis.unit.kind,),
        required=True,
        above=0.0,
    )
    keys = (error, *(_of_kind(key, axis.unit.kind) for key in NEED_KEYS))
    given = reader.fields(axis.table.get("need", {}), keys, where=f"{axis.where}, need")
    spread, size = given.get("error"), given.get("hunting_size")
    duty = Duty(
        homing_allowed=given.get("homing") == "allowed",
        strokes=given.get("strokes"),
        hunting=given.get("hunting"),
        hunting_size=None if size is None else float(size.nominal),
    )
    return None if spread is None else float(spread.nominal), duty


def _loop(axis: AxisTables, reader: TableReader) -> Loop:
    given = reader.fields(axis.table.get("loop", {}), LOOP_KEYS, where=f"{axis.where}, loop")
    crossover, sample = (given.get(name) for name in ("crossover", "sample"))
    return Loop(
        crossover_hz=None if crossover is None else float(crossover.nominal),
        sample_hz=None if sample is None else float(sample.nominal),
    )


def _of_kind(key: Key, kind: Kind) -> Key:
    """The key of a quantity along the axis, in the kind of its motion."""
    return replace(key, kinds=(kind,)) if isinstance(key, QuantityKey) else key


def _stops(axis: AxisTables, reader: TableReader) -> tuple[Stops | None, bool]:
    keys = [
        QuantityKey(name=name, field=name, meaning=f"{name} stop", kinds=(axis.unit.kind,))
        for name in ("low", "high")
    ]
    where = f"{axis.where}, stops"
    given = reader.fields(axis.table.get("stops", {}), keys, where=where)
    if len(given) < len(keys):
        return None, False
    low, high = axis.motion["from_"].nominal, axis.motion["to"].nominal
    beyond = OVER_TRAVEL * axis.span
    stops = Stops(
        low=given["low"].nominal if given["low"] else low - beyond,
        high=given["high"].nominal if given["high"] else high + beyond,
    )
    assumed = not (given["low"] and given["high"])
    if assumed and not axis.motion.get("endless"):
        text = f"{100 * OVER_TRAVEL:g} % of the range beyond each end"
        reader.assumptions.append(Assumption(key="stops", value=text, meaning="where the mechanism ends"))
    if stops.low > low or stops.high < high:
        reader.complain(where, "they lie inside the working range", "Stops belong at or beyond its ends.")
        return None, assumed
    return stops, assumed


def _marks(axis: AxisTables, reader: TableReader) -> dict[str, Mark]:
    marks: dict[str, Mark] = {}
    if not isinstance(given := axis.table.get("marks", {}), Mapping):
        remedy = 'Write [axis.NAME.marks] and below it, pin = { at = "0 deg" }.'
        reader.complain(f"{axis.where}, marks", f"'{given}' stands where a table should", remedy)
        return marks
    for name, table in given.items():
        where = f"{axis.where}, marks.{name}"
        keys = (
            QuantityKey(name="at", field="at", meaning="place", kinds=(axis.unit.kind,), required=True),
            QuantityKey(
                name="within",
                field="within",
                meaning="how well the axis stands there",
                kinds=(axis.unit.kind,),
                tolerance=True,
            ),
        )
        fields = reader.fields(table, keys, where=where, extra=("how",))
        if "at" in fields and "within" in fields:
            within = fields["within"].half_width if fields["within"] else 0.0
            at = Spread(
                nominal=fields["at"].nominal, below=within, above=within, persistence=Persistence.CONDITION
            )
            marks[str(name)] = Mark(at=at, how=str(table.get("how", "")))
    return marks


def _plan(axis: AxisTables, names: tuple[str, ...], reader: TableReader) -> CalibrationPlan | None:
    where = f"{axis.where}, plan"
    table = axis.table.get("plan", {})
    fields = reader.fields(table, PLAN_KEYS, where=where, extra=("zero_at", "reference"))
    inner = table if isinstance(table, Mapping) else {}
    reference = _reference(axis, inner.get("reference", {}), reader)
    zero_at = _known_mark(inner.get("zero_at", names[0]), names, reader, f"{where}.zero_at")
    if len(fields) < len(PLAN_KEYS) or reference is None or zero_at is None:
        return None
    return CalibrationPlan(**fields, zero_at=zero_at, reference=reference)


def _reference(axis: AxisTables, table: Any, reader: TableReader) -> Reference | None:
    kind = axis.unit.kind

    def key(name: str, kinds: tuple[Kind, ...], default: str) -> QuantityKey:
        meaning = f"error of the reference, {name.replace('_', ' ')}"
        return QuantityKey(
            name=name, field=name, meaning=meaning, kinds=kinds, default=default, tolerance=True
        )

    zero = f"0 {axis.unit.name}"
    keys = (
        key("per_point", (kind,), PER_POINT[kind]),
        key("shared", (kind,), zero),
        key("scale", (Kind.FRACTION,), "0 %"),
    )
    fields = reader.fields(table, keys, where=f"{axis.where}, plan.reference")
    if len(fields) < len(keys) or any(not math.isfinite(spread.nominal) for spread in fields.values()):
        return None
    return Reference(**fields)
