"""A calibration record as text: TOML in the axis's unit, with a sum that shows any later change."""

import hashlib
import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from anglewright.calibration.leftout import LeftOut
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import (
    CALIBRATION,
    CalibrationRecord,
    RecordError,
    RecordParameter,
)
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.errors import AnglewrightError, DataError, Problem, RangeError, RigError
from anglewright.links.code import Corrections
from anglewright.quantities.units import Unit, unit_named
from anglewright.rig import Axis
from anglewright.rigfile.document import load_document

PLAIN, CURVED = 1, 2
"""Versions: a line, and a line with a table of corrections, which a reader must not leave out."""
_SUM = "sum"
_LATER = {"machine": "", "serial": "", "kind": CALIBRATION, "based_on": "", "because": ""}
"""Keys that older records lack, and what their silence means."""

_TABLES = ("parameter", "point", "left_out", "corrections", "error")
"""Keys that stand last in a file, since they are tables."""

_LENGTHS = ("per_point", "per_place", "shared")
"""Uncertainties of a reference that are positions. [rad or m]"""

_AWAY = "Move the file away; the other records stay usable."


def sum_of(table: Mapping[str, Any]) -> str:
    """Short hash of everything in a record but the hash itself."""
    rest = {key: value for key, value in table.items() if key != _SUM}
    return hashlib.sha256(json.dumps(rest, sort_keys=True, default=str).encode()).hexdigest()[:16]


def record_text(record: CalibrationRecord, unit: Unit) -> str:
    """A record as TOML, in the unit of its axis."""
    import tomlkit

    table = _table(record, unit)
    last = {key: table.pop(key) for key in _TABLES if key in table}
    return tomlkit.dumps({**table, _SUM: sum_of(table | last), **last})


def withdrawn_text(path: Path, because: str) -> str:
    """The text of a record file with the withdrawal written in; all else stays as it is."""
    import tomlkit

    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    document["withdrawn"] = because
    document[_SUM] = sum_of(document.unwrap())
    return tomlkit.dumps(document)


def _table(record: CalibrationRecord, unit: Unit) -> dict[str, Any]:
    size = unit.size
    (first, both), (_, second) = record.covariance
    return {
        "version": PLAIN if record.corrections is None else CURVED,
        "name": record.name,
        "date": record.date,
        "rig": record.rig,
        "axis": record.axis,
        "unit": unit.name,
        "chain": record.chain,
        "sensor": record.sensor,
        "withdrawn": record.withdrawn,
        **{key: getattr(record, key) for key in _LATER},
        "model": record.model,
        "offset": record.offset / size,
        "slope": record.slope / size,
        "covariance": [[first / size**2, both / size**2], [both / size**2, second / size**2]],
        "residual_sd": record.residual_sd / size,
        "half_width_95": record.half_width_95 / size,
        "verdict": record.verdict,
        "point": [_point_table(point, size) for point in record.points],
        **_curve_table(record, size),
    }


def _curve_table(record: CalibrationRecord, size: float) -> dict[str, Any]:
    """What only some records have: the calibrated codes, the parameters of the model, the corrections."""
    found: dict[str, Any] = {}
    if record.domain is not None:
        found["domain"] = [float(end) for end in record.domain]
    if record.half_widths:
        found["half_widths"] = [float(half) / size for half in record.half_widths]
    if record.parameters:
        found["parameter"] = [
            {name: getattr(each, name) for name in RecordParameter.__slots__} for each in record.parameters
        ]
    if record.left_out:
        found["left_out"] = [
            {"number": each.number, "because": each.because, **_point_table(each.point, size)}
            for each in record.left_out
        ]
    if record.corrections is not None:
        table = record.corrections
        found["corrections"] = {
            "first": float(table.first),
            "step": float(table.step),
            **({} if table.period is None else {"period": float(table.period)}),
            "values": (table.values / size).tolist(),
        }
    if record.error is not None:
        found["error"] = _error_table(record.error, size)
    return found


def _error_table(error: RecordError, size: float) -> dict[str, Any]:
    table: dict[str, Any] = {
        "dof": float(error.dof),
        "structure": float(error.structure) / size,
        "structure_dof": int(error.structure_dof),
        "visits": float(error.visits) / size,
    }
    reference = error.reference
    if reference is not None:
        table["reference"] = {
            **{name: float(getattr(reference, name)) / size for name in _LENGTHS},
            "scale": float(reference.scale),
        }
    return table


def _point_table(point: CalibrationPoint, size: float) -> dict[str, Any]:
    table: dict[str, Any] = {
        "reference": point.reference / size,
        "raw": point.raw,
        "readings": point.readings,
        "approach": point.approach,
    }
    return table if point.raw_sd is None else table | {"raw_sd": point.raw_sd}


def read_record(path: Path, axis: Axis) -> CalibrationRecord:
    """The record in a file.

    Raises
    ------
    DataError
        It cannot be read, is of another version, was changed by hand, or belongs elsewhere.
    """
    try:
        table = load_document(path)
    except RigError as fault:
        raise DataError(Problem(str(path), fault.problems[0].found, "", _AWAY)) from None
    problem = _objection(table, path, axis)
    if problem is not None:
        raise DataError(problem)
    try:
        return _record(table, unit_named(table["unit"], kinds=axis.unit.kind).size)
    except RangeError as fault:
        said = fault.problems[0]
        found = f"its {said.where}: {said.found}"
        raise DataError(Problem(str(path), found, said.limit, _AWAY)) from None
    except (KeyError, TypeError, ValueError, AnglewrightError):
        found = "it is no whole calibration record"
        raise DataError(Problem(str(path), found, "", _AWAY)) from None


def _objection(table: Mapping[str, Any], path: Path, axis: Axis) -> Problem | None:
    """Why the tables of a file are no record of this axis."""
    where, found, limit = str(path), "", ""
    if table.get("version") not in (PLAIN, CURVED):
        found = f"it is of version {table.get('version', 'unknown')}"
        limit = f"versions {PLAIN} and {CURVED} are read here"
    elif table.get(_SUM) != sum_of(table):
        found = "it is not as it was written: its sum does not fit what stands in it"
    elif table.get("name") != path.stem:
        found = f"it holds the record '{table.get('name')}'"
    elif table.get("axis") != axis.name:
        found = f"it belongs to the axis '{table.get('axis')}'"
    return Problem(where, found, limit, _AWAY) if found else None


def _record(table: Mapping[str, Any], size: float) -> CalibrationRecord:
    (first, both), (_, second) = table["covariance"]
    record = CalibrationRecord(
        name=str(table["name"]),
        date=str(table["date"]),
        rig=str(table["rig"]),
        axis=str(table["axis"]),
        chain=str(table["chain"]),
        sensor=str(table["sensor"]),
        offset=float(table["offset"]) * size,
        slope=float(table["slope"]) * size,
        covariance=((first * size**2, both * size**2), (both * size**2, second * size**2)),
        residual_sd=float(table["residual_sd"]) * size,
        half_width_95=float(table["half_width_95"]) * size,
        verdict=str(table["verdict"]),
        points=tuple(_point(point, size) for point in table["point"]),
        model=str(table["model"]),
        withdrawn=str(table["withdrawn"]),
        **{key: str(table.get(key, usual)) for key, usual in _LATER.items()},
        corrections=_corrections(table.get("corrections"), size),
        domain=_domain(table.get("domain")),
        half_widths=tuple(float(half) * size for half in table.get("half_widths", ())),
        parameters=tuple(_parameter(each) for each in table.get("parameter", ())),
        error=_error(table.get("error"), size),
        left_out=tuple(_left_out(each, size) for each in table.get("left_out", ())),
    )
    record.code_line()  # refuses a curve that turns back
    if not math.isfinite(record.offset + record.slope + record.half_width_95) or not record.slope:
        raise ValueError(record.name)
    return record


def _point(point: Mapping[str, Any], size: float) -> CalibrationPoint:
    spread = point.get("raw_sd")
    return CalibrationPoint(
        reference=float(point["reference"]) * size,
        raw=float(point["raw"]),
        readings=int(point["readings"]),
        raw_sd=None if spread is None else float(spread),
        approach=int(point["approach"]),
    )


def _left_out(table: Mapping[str, Any], size: float) -> LeftOut:
    return LeftOut(number=int(table["number"]), point=_point(table, size), because=str(table["because"]))


def _corrections(table: Mapping[str, Any] | None, size: float) -> Corrections | None:
    if table is None:
        return None
    period = table.get("period")
    return Corrections(
        first=float(table["first"]),
        step=float(table["step"]),
        values=np.array([float(value) * size for value in table["values"]]),
        period=None if period is None else float(period),
    )


def _domain(ends: Any) -> tuple[float, float] | None:
    """Lowest and highest calibrated code. [count]

    Raises
    ------
    RangeError
        They do not rise, or are not finite.
    """
    if ends is None:
        return None
    low, high = (float(end) for end in ends)
    if not -math.inf < low < high < math.inf:
        raise RangeError(Problem("calibrated codes", f"they run from {low:g} to {high:g}"))
    return low, high


def _error(table: Mapping[str, Any] | None, size: float) -> RecordError | None:
    """What stands behind the interval; None in old records.

    Raises
    ------
    RangeError
        The degrees of freedom are no number above zero.
    """
    if table is None:
        return None
    dof, reference = float(table["dof"]), table.get("reference")
    if not dof > 0.0:
        raise RangeError(Problem("degrees of freedom", f"they are {dof:g}", "more than 0 are needed"))
    return RecordError(
        dof=dof,
        structure=float(table["structure"]) * size,
        structure_dof=int(table["structure_dof"]),
        visits=float(table.get("visits", 0.0)) * size,
        reference=None if reference is None else _reference(reference, size),
    )


def _reference(table: Mapping[str, Any], size: float) -> ReferenceUncertainty:
    lengths = {name: float(table[name]) * size for name in _LENGTHS}
    return ReferenceUncertainty(scale=float(table["scale"]), **lengths)


def _parameter(table: Mapping[str, Any]) -> RecordParameter:
    return RecordParameter(
        name=str(table["name"]),
        value=float(table["value"]),
        standard_uncertainty=float(table["standard_uncertainty"]),
        unit=str(table["unit"]),
    )
