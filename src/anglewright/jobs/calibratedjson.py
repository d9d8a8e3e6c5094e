"""The numbers of a calibration as JSON, in the unit of its axis."""

from collections.abc import Sequence

import numpy as np

from anglewright.calibration.leftout import LeftOut, number_of
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.result import Calibration
from anglewright.jobs.comparing import Shift
from anglewright.jobs.shown import Json
from anglewright.links.protocol import Array
from anglewright.quantities.units import Unit
from anglewright.tables.sheet import Sheet

SIDES = {1: "up", -1: "down", 0: "unknown"}


def in_unit(value: float | None, unit: Unit) -> float | None:
    """A difference in a unit; None where there is none. [unit of the axis]"""
    return None if value is None else unit.difference_from_si(value)


def parameters_shown(found: Calibration, unit: Unit) -> tuple[tuple[str, float, float, str], ...]:
    """Name, value, standard uncertainty and unit of each parameter of the model, in the unit of the axis."""
    fitted, sizes = found.fit.fitted, _sizes(found, unit)
    spread = np.sqrt(np.diag(found.fit.error.covariance)) / sizes
    units = {"slope": f"{unit.name}/count", "load": "1"}
    return tuple(
        (name, float(value), float(u), units.get(name, unit.name))
        for name, value, u in zip(fitted.model.names, fitted.values / sizes, spread, strict=True)
    )


def _sizes(found: Calibration, unit: Unit) -> Array:
    """What one of each parameter is worth inside, in the order of the model. [m or rad, or 1]"""
    return np.array([1.0 if name == "load" else unit.size for name in found.fit.fitted.model.names])


def fit_json(found: Calibration, unit: Unit) -> Json:
    """The curve, what it rests on, and why it is that one."""
    sizes, choice = _sizes(found, unit), found.fit.choice
    handed = found.handed
    return {
        "model": found.model,
        "n_points": found.n_points,
        "parameters": {
            name: {"value": value, "standard_uncertainty": u, "unit": shown}
            for name, value, u, shown in parameters_shown(found, unit)
        },
        "covariance": {
            "names": list(found.fit.fitted.model.names),
            "matrix": (found.fit.error.covariance / np.outer(sizes, sizes)).tolist(),
        },
        "residual_sd": in_unit(found.residual_sd, unit),
        "points": _points_json(found, unit),
        "candidates": [
            {
                "model": each.model.name,
                "parameters": each.count,
                "unseen_rms": in_unit(each.error, unit) if each.tried else None,
                "why_not": each.why or None,
            }
            for each in choice.candidates
        ],
        "chosen_because": choice.because,
        "beside": [{"fit": each.name, "largest": in_unit(each.largest, unit)} for each in found.beside],
        "code": {
            "offset": unit.from_si(handed.offset),
            "slope": unit.difference_from_si(handed.slope),
            "corrections": 0 if handed.corrections is None else len(handed.corrections.values),
            "off": in_unit(handed.off, unit),
            "domain": list(handed.domain),
        },
    }


def _points_json(found: Calibration, unit: Unit) -> list[Json]:
    return [
        _point_json(number_of(found.points, place), point, -rest, unit=unit)
        for place, (point, rest) in enumerate(zip(found.points, found.residuals, strict=True))
    ]


def _point_json(number: int, point: CalibrationPoint, off: float, *, unit: Unit) -> Json:
    """One point; its residual is curve less reference, as an error is: what it shows too much."""
    return {
        "number": number,
        "reference": unit.from_si(point.reference),
        "raw": point.raw,
        "readings": point.readings,
        "approach": SIDES[point.approach],
        "residual": unit.difference_from_si(off),
    }


def left_out_json(found: Calibration, left: Sequence[LeftOut], unit: Unit) -> list[Json]:
    """The points that were left out, each with what it shows too much by the curve of the others."""
    return [
        {
            **_point_json(each.number, each.point, off_curve(found, each.point), unit=unit),
            "because": each.because or None,
        }
        for each in left
    ]


def off_curve(found: Calibration, point: CalibrationPoint) -> float:
    """Curve less reference of any point. [m or rad]"""
    return float(found.fit.fitted.predict(np.array([point.raw]))[0]) - point.reference


def error_json(found: Calibration, unit: Unit) -> Json:
    """How wrong the line may be, with a reason wherever the data cannot tell."""
    line, play = found.linearity, found.play
    known = play.low is not None and play.high is not None
    return {
        "half_width_95": in_unit(found.half_width_95, unit),
        "linearity": {
            "independent": 100.0 * line.independent,
            "zero_based": 100.0 * line.zero_based,
            "terminal_based": 100.0 * line.terminal_based,
            "absolute": None if line.absolute is None else 100.0 * line.absolute,
            "span": unit.difference_from_si(line.span),
        },
        "hysteresis": in_unit(found.hysteresis.value, unit),
        "repeatability": in_unit(found.repeatability.value, unit),
        "play": in_unit(play.value, unit) if play.seen else None,
        "play_interval": [in_unit(play.low, unit), in_unit(play.high, unit)] if known else None,
        "reasons": {
            "hysteresis": found.hysteresis.why,
            "repeatability": found.repeatability.why,
            "play": play.why,
            "verdict": found.reason,
        },
        "outliers": [
            {
                "point": number_of(found.points, each.point),
                "departure": in_unit(-each.departure, unit),
                "limit": in_unit(each.limit, unit),
            }
            for each in found.outliers
        ],
    }


def sheet_json(sheet: Sheet) -> Json:
    """Which columns were read, what was refused, what had to be decided."""
    return {
        "columns": {"reference": sheet.reference_column, "raw": sheet.raw_column, "why": sheet.why},
        "read": {
            "rows": sheet.rows,
            "rows_used": len(sheet.recording),
            "refused_cells": sheet.refused_cells,
            "refused": [
                {"line": cell.line, "column": cell.column, "text": cell.text, "why": cell.why}
                for cell in sheet.refused
            ],
            "decisions": list(sheet.decisions),
        },
    }


def shift_json(shift: Shift | None, unit: Unit) -> Json | None:
    """How far it lies off the last calibration; None where there is none."""
    if shift is None:
        return None
    return {
        "record": shift.last,
        "largest_shift": unit.difference_from_si(shift.largest),
        "at": unit.from_si(shift.at),
        "combined_95": unit.difference_from_si(shift.combined_95),
        "zero_moved": unit.difference_from_si(shift.zero),
        "zero_uncertainty_95": unit.difference_from_si(shift.zero_95),
        "slope_changed": shift.slope,
        "slope_uncertainty_95": shift.slope_95,
    }
