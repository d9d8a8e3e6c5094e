"""Calibration records beside a rig file: one TOML each, never overwritten, the newest usable one in use."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.errors import DataError, Problem, RigError, UsageError, nearest
from anglewright.handover.identifiers import stems
from anglewright.quantities.units import Unit
from anglewright.rig import Axis, Rig, fingerprint
from anglewright.rigfile.document import load_document
from anglewright.rigfile.storing import write_whole

VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordChoice:
    """The record in use, or None, and a sentence that says why."""

    record: CalibrationRecord | None
    why: str


def records_folder(rig: Rig, axis: Axis) -> Path:
    """Folder of an axis's records, beside the rig file."""
    source = Path(rig.source)
    return source.with_name(f"{source.stem}.calibrations") / stems(list(rig.axes))[axis.name]


def next_name(rig: Rig, axis: Axis, date: str) -> str:
    """Name of the next record of a day: ``2026-05-12-1``."""
    folder = records_folder(rig, axis)
    taken = [int(path.stem.removeprefix(f"{date}-")) for path in folder.glob(f"{date}-*.toml")]
    return f"{date}-{max(taken, default=0) + 1}"


def keep_record(rig: Rig, axis: Axis, record: CalibrationRecord) -> Path:
    """Write a record; its name must be new.

    Raises
    ------
    DataError
        There is one of that name already, or the folder cannot be written to.
    """
    path = records_folder(rig, axis) / f"{record.name}.toml"
    if path.exists():
        raise DataError(Problem(str(path), "there is a record of that name", "", "Records are never overwritten."))
    write_whole(path, _text(record, axis.unit))
    return path


def withdraw_record(rig: Rig, axis: Axis, name: str, reason: str) -> CalibrationRecord:
    """Mark a record as no longer to be used; it stays where it is.

    Raises
    ------
    UsageError
        There is no such record.
    """
    record = _named(all_records(rig, axis), name, axis)
    marked = replace(record, withdrawn=reason)
    write_whole(records_folder(rig, axis) / f"{name}.toml", _text(marked, axis.unit))
    return marked


def all_records(rig: Rig, axis: Axis) -> tuple[CalibrationRecord, ...]:
    """Every record of an axis, the oldest first."""
    folder = records_folder(rig, axis)
    found = [_read(path, axis) for path in folder.glob("*.toml")]
    return tuple(sorted(found, key=lambda record: (record.date, int(record.name.rsplit("-", 1)[-1]))))


def record_in_use(rig: Rig, axis: Axis, name: str | None = None) -> RecordChoice:
    """The newest record that is not withdrawn and whose chain still matches; or the one named.

    Raises
    ------
    UsageError
        There is no record of the name given.
    """
    records = all_records(rig, axis)
    if name is not None:
        return RecordChoice(record=_named(records, name, axis), why=f"record {name}, as asked for")
    usable = [record for record in records if not record.withdrawn]
    if not usable:
        why = "no calibration yet" if not records else "every calibration is withdrawn"
        return RecordChoice(record=None, why=why)
    last = usable[-1]
    if last.chain != fingerprint(axis):
        why = f"calibration {last.name} belongs to another chain: a part or number changed since, calibrate again"
        return RecordChoice(record=None, why=why)
    return RecordChoice(record=last, why=f"calibration {last.name}")


def _named(records: tuple[CalibrationRecord, ...], name: str, axis: Axis) -> CalibrationRecord:
    for record in records:
        if record.name == name:
            return record
    found = f"there is no calibration record '{name}'"
    remedy = nearest(name, [record.name for record in records]) if records else "Run calibrate first."
    raise UsageError(Problem(f"axis '{axis.name}'", found, "", remedy))


def _text(record: CalibrationRecord, unit: Unit) -> str:
    import tomlkit

    size = unit.size
    (first, both), (_, second) = record.covariance
    table: dict[str, Any] = {
        "version": VERSION,
        "name": record.name,
        "date": record.date,
        "rig": record.rig,
        "axis": record.axis,
        "unit": unit.name,
        "chain": record.chain,
        "sensor": record.sensor,
        "withdrawn": record.withdrawn,
        "model": record.model,
        "offset": record.offset / size,
        "slope": record.slope / size,
        "covariance": [[first / size**2, both / size**2], [both / size**2, second / size**2]],
        "residual_sd": record.residual_sd / size,
        "half_width_95": record.half_width_95 / size,
        "verdict": record.verdict,
        "point": [_point_table(point, size) for point in record.points],
    }
    return tomlkit.dumps(table)


def _point_table(point: CalibrationPoint, size: float) -> dict[str, Any]:
    table: dict[str, Any] = {
        "reference": point.reference / size,
        "raw": point.raw,
        "readings": point.readings,
        "approach": point.approach,
    }
    return table if point.raw_sd is None else table | {"raw_sd": point.raw_sd}


def _read(path: Path, axis: Axis) -> CalibrationRecord:
    try:
        table = load_document(path)
        if table["version"] != VERSION or table["unit"] != axis.unit.name:
            found = f"it is of version {table['version']} in {table['unit']}"
            limit = f"version {VERSION} in {axis.unit.name} is read here"
            raise DataError(Problem(str(path), found, limit, "Calibrate again, or give the axis its old unit."))
        return _record(table, axis.unit.size)
    except (KeyError, TypeError, ValueError, RigError) as fault:
        reason = str(fault) if isinstance(fault, RigError) else f"{type(fault).__name__.lower()} {fault}"
        remedy = "Move the file away; the older records stay usable."
        raise DataError(Problem(str(path), f"it is no whole calibration record ({reason})", "", remedy)) from None


def _record(table: Mapping[str, Any], size: float) -> CalibrationRecord:
    (first, both), (_, second) = table["covariance"]
    points = tuple(
        CalibrationPoint(
            reference=point["reference"] * size,
            raw=float(point["raw"]),
            readings=int(point["readings"]),
            raw_sd=point.get("raw_sd"),
            approach=int(point["approach"]),
        )
        for point in table["point"]
    )
    return CalibrationRecord(
        name=table["name"],
        date=table["date"],
        rig=table["rig"],
        axis=table["axis"],
        chain=table["chain"],
        sensor=table["sensor"],
        offset=table["offset"] * size,
        slope=table["slope"] * size,
        covariance=((first * size**2, both * size**2), (both * size**2, second * size**2)),
        residual_sd=table["residual_sd"] * size,
        half_width_95=table["half_width_95"] * size,
        verdict=table["verdict"],
        points=points,
        model=table["model"],
        withdrawn=table["withdrawn"],
    )
