"""A rig file becomes a frozen rig, or every error in it together."""

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from anglewright.errors import AnglewrightError, Problem, RigError
from anglewright.links.fields import Key, QuantityKey
from anglewright.links.motion import MotionPart, at_mark
from anglewright.links.protocol import ClampedPort, Part, Port, ReadingPort
from anglewright.quantities.units import Kind, Unit
from anglewright.rig import Axis, Rig
from anglewright.rigfile.axisfile import AxisTables, read_needs
from anglewright.rigfile.document import Document, load_document
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import ROOMS, USUAL, part_named
from anglewright.rigfile.machines import read_machines
from anglewright.rigfile.strays import misspelt_axis, stray_keys, stray_rooms

_TOP = ("rig", "simulated", "axis", "note", "machine", "machines")
AXIS_KEYS = ("motion", "need", "stops", "when_unpowered", "marks", "plan", "loop", *ROOMS)
"""Keys and tables that an axis can have."""


def read_rig(path: Path) -> Rig:
    """The rig in a file.

    Parameters
    ----------
    path : Path
        A rig file, TOML.

    Returns
    -------
    Rig
        Frozen, with every number in SI units.

    Raises
    ------
    DataError
        The file cannot be read.
    RigError
        It is not a rig; every problem in it is named.
    """
    return build_rig(load_document(path), source=str(path))


def build_rig(document: Document, *, source: str, fitted: bool = True) -> Rig:
    """The rig in tables already read; `source` names them in errors.

    With `fitted` False the parts are not held against the motion: a sensor is still to be chosen for it.

    Raises
    ------
    RigError
        They are not a rig; every problem in them is named.
    """
    name = Path(source).name
    reader = TableReader()
    reader.problems.extend(stray_keys(document, _TOP, name=name))
    simulated = document.get("simulated", False)
    if not isinstance(simulated, bool):
        reader.complain(f"{name}, simulated", f"'{simulated}' is not true or false", "Write true or false.")
    tables = document.get("axis", {})
    if not isinstance(tables, Mapping) or not tables:
        if any("'axis'" in problem.remedy for problem in reader.problems):
            raise RigError(reader.problems)
        reader.complain(
            name, "the rig has no axes", "Describe one under [axis.NAME], or run: anglewright new DIR."
        )
        raise RigError(reader.problems)
    axes = {}
    for axis_name in tables:
        axis = _axis(document, axis_name, reader, source=name, fitted=fitted)
        if axis is not None:
            axes[str(axis_name)] = axis
    machine, serials = read_machines(document, reader, where=name)
    if reader.problems:
        raise RigError(reader.problems)
    return Rig(
        name=str(document.get("rig", Path(source).stem)),
        axes=axes,
        source=source,
        simulated=bool(simulated),
        notes=(str(document["note"]),) if "note" in document else (),
        machine=machine,
        serials=serials,
    )


def _axis(document: Document, name: str, shared: TableReader, *, source: str, fitted: bool) -> Axis | None:
    """One axis, or None with its problems kept; `source` is the name of the file."""
    misspelt = misspelt_axis(document, name, AXIS_KEYS, name=source)
    if misspelt is not None:
        shared.problems.append(misspelt)
        return None
    where = f"{source}, axis '{name}'"
    reader = TableReader(problems=stray_rooms(document, name, AXIS_KEYS, where=where))
    axis = _read_axis(name, document["axis"][name], reader, where)
    if axis is not None and fitted and not reader.problems:
        reader.problems.extend(_misfits(axis, where))
    shared.problems.extend(reader.problems)
    return axis


def _read_axis(name: str, table: Any, reader: TableReader, where: str) -> Axis | None:
    if not isinstance(table, Mapping):
        reader.complain(where, "it is not a table", f"Describe it under [axis.{name}].")
        return None
    unit = _unit(table, reader, where)
    given = table.get("motion")
    motion = reader.fields(given, _motion_keys(unit), where=f"{where}, motion") if given is not None else {}
    parts = _parts(table, reader, where)
    if unit is None or "from_" not in motion or "to" not in motion:
        return None
    needs = read_needs(AxisTables(table=table, unit=unit, where=where, motion=motion), reader)
    if reader.problems or needs is None or any(part is None for part in parts):
        return None
    clamp = needs.marks[needs.clamped_at]
    return Axis(
        name=name,
        unit=unit,
        motion=MotionPart(
            **motion,
            clamp=at_mark(clamp.at),
            clamp_name=needs.clamped_at,
            rotary=unit.kind is Kind.ANGLE,
        ),
        parts=tuple(part for part in parts if part is not None),
        permissible=needs.permissible,
        stops=needs.stops,
        stops_assumed=needs.stops_assumed,
        when_unpowered=needs.when_unpowered,
        marks=needs.marks,
        clamped_at=needs.clamped_at,
        plan=needs.plan,
        raw=needs.raw,
        assumptions=tuple(reader.assumptions),
        duty=needs.duty,
        loop=needs.loop,
    )


def _unit(table: Mapping[str, Any], reader: TableReader, where: str) -> Unit | None:
    """The axis is shown in the unit its `from` is written in."""
    motion = table.get("motion")
    place = f"{where}, motion"
    if motion is None:
        remedy = 'Write motion = { from = "-20 deg", to = "115 deg" }.'
        reader.complain(place, "it is missing", remedy)
    if not isinstance(motion, Mapping) or "from" not in motion:
        return None
    silent = TableReader()
    quantity = silent.quantity(motion["from"], (Kind.ANGLE, Kind.LENGTH), f"{place}.from")
    return quantity.unit if quantity else None


def _motion_keys(unit: Unit | None) -> tuple[Key, ...]:
    """Keys of the motion; once `from` has said which, all are angles or all are lengths."""
    if unit is None:
        return MotionPart.KEYS
    turning = (Kind.ANGLE, Kind.ANGULAR_SPEED, Kind.TORQUE)
    fit = turning if unit.kind is Kind.ANGLE else (Kind.LENGTH, Kind.LINEAR_SPEED, Kind.FORCE)
    return tuple(
        replace(key, kinds=tuple(kind for kind in key.kinds if kind in fit))
        if isinstance(key, QuantityKey)
        else key
        for key in MotionPart.KEYS
    )


def _parts(table: Mapping[str, Any], reader: TableReader, where: str) -> list[Part | None]:
    """A part for each room; where a room's table names no kind, the one that usually goes there."""
    usual = dict(USUAL)
    if table.get("drive") and isinstance(table["drive"], Mapping):
        usual["drive"] = "gears"
    sensor = _kind("sensor", table.get("sensor", {}), usual["sensor"], TableReader(), where)
    usual |= getattr(sensor, "GOES_WITH", {})
    return [_part(room, table.get(room, {}), usual[room], reader, where) for room in ROOMS]


def read_part(room: str, table: Any, reader: TableReader, *, where: str) -> Part | None:
    """One part from a table such as stands in a rig file, or None with its problems kept in the reader."""
    return _part(room, table, USUAL[room], reader, where)


def _kind(room: str, table: Any, usual: str, reader: TableReader, where: str) -> type[Part] | None:
    """The kind of part that a room's table names, or the usual one; None with a problem kept."""
    named = isinstance(table, Mapping) and "kind" in table
    try:
        return part_named(room, str(table["kind"]) if named else usual)
    except AnglewrightError as fault:
        reader.problems.extend(problem.within(where) for problem in fault.problems)
        return None


def _part(room: str, table: Any, usual: str, reader: TableReader, where: str) -> Part | None:
    place = f"{where}, {room}"
    part = _kind(room, table, usual, reader, where)
    if part is None:
        return None
    extra = {"mount": ("kind", "clamped_at"), "converter": ("kind", "raw")}.get(room, ("kind",))
    before = len(reader.problems)
    fields = reader.fields(table, part.KEYS, where=place, extra=extra)
    return part(**fields) if len(reader.problems) == before else None


def _misfits(axis: Axis, where: str) -> list[Problem]:
    """What the parts object to when the axis runs over its whole range, nominal numbers."""
    port: Port = Port()
    low, high = axis.motion.low, axis.motion.high
    found: list[Problem] = []
    for part in axis.chain_parts:
        found.extend(problem.within(where) for problem in part.objections(low, high, port))
        if found:
            return found
        values = {number.field: number.variate.nominal for number in part.numbers}
        try:
            link = part.link(values, port)
        except RigError as fault:
            return [problem.within(where) for problem in fault.problems]
        low, high, port = float(link.forward(low)), float(link.forward(high)), link.port
        if axis.motion.endless and isinstance(port, ClampedPort | ReadingPort):
            port = replace(port, endless=True)
    if not math.isfinite(low + high):
        found.append(Problem(where, "the codes over the range are not numbers", "", "Check its quantities."))
    return found
