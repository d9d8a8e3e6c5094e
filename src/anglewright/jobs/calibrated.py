"""The result of a calibration as JSON and as tables of text."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from anglewright.budget.totals import StateBudget
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.repeatability import Measured
from anglewright.calibration.result import LineCalibration
from anglewright.calibration.verdict import Verdict
from anglewright.findings import Finding, Severity
from anglewright.jobs.comparing import Shift
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis
from anglewright.tables.sheet import Sheet

MOST_REFUSED = 10  # cells that are listed before the rest is counted [1]
SIDES = {1: "up", -1: "down", 0: "unknown"}
_VERDICT_WORDS = {
    Verdict.MEETS: "meets the need",
    Verdict.FAILS: "fails",
    Verdict.CANNOT_TELL: "cannot be told",
}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CalibrateResult(Shown):
    """A calibration, where it was kept or why not, and how it compares with the last one and the budget."""

    axis: Axis
    sheet: Sheet
    calibration: LineCalibration
    record: CalibrationRecord | None
    file: Path | None
    kept: str
    shift: Shift | None
    planned: StateBudget
    findings: tuple[Finding, ...]

    @property
    def headline(self) -> str:
        """The verdict and its reason."""
        return f"{self.axis.name} {_VERDICT_WORDS[self.calibration.verdict]}: {self.calibration.reason}"

    @property
    def exit_code(self) -> int:
        """1 where the need is not met or a finding stops the work. [1]"""
        stops = any(finding.severity is Severity.STOP for finding in self.findings)
        return 1 if stops or self.calibration.verdict is not Verdict.MEETS else 0

    def tables(self) -> tuple[Table, ...]:
        """Parameters, figures, points and findings."""
        extra = (findings_table(self.findings, title="Findings of the calibration"),) if self.findings else ()
        return (_figures(self), _points(self), *extra)

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "record": self.record.name if self.record else None,
            "file": str(self.file) if self.file else None,
            **_fit_json(self.calibration, self.axis.unit),
            **_error_json(self.calibration, self.axis.unit),
            **_sheet_json(self.sheet),
            "compared_with_last": _shift_json(self.shift, self.axis.unit),
            "compared_with_budget": {
                "planned_half_width_95": self.axis.unit.difference_from_si(self.planned.half_width_95),
                "half_width_95": _in(self.calibration.half_width_95, self.axis.unit),
            },
            "findings": [finding_json(finding) for finding in self.findings],
            "verdict": self.calibration.verdict.value,
        }


def _in(value: float | None, unit: Unit) -> float | None:
    return None if value is None else unit.difference_from_si(value)


def _fit_json(found: LineCalibration, unit: Unit) -> Json:
    """The line, what it rests on, and why it is a line."""
    covariance = found.covariance / unit.size**2
    offset_u, slope_u = (float(u) for u in np.sqrt(np.diag(covariance)))
    residual_sd = _in(found.residual_sd, unit)
    slope, offset = unit.difference_from_si(found.slope), unit.from_si(found.offset)
    return {
        "model": "line",
        "n_points": found.n_points,
        "parameters": {
            "slope": {"value": slope, "standard_uncertainty": slope_u, "unit": f"{unit.name}/count"},
            "offset": {"value": offset, "standard_uncertainty": offset_u, "unit": unit.name},
        },
        "covariance": {"names": ["offset", "slope"], "matrix": covariance.tolist()},
        "residual_sd": residual_sd,
        "points": [
            {
                "reference": unit.from_si(point.reference),
                "raw": point.raw,
                "readings": point.readings,
                "approach": SIDES[point.approach],
                "residual": unit.difference_from_si(rest),
            }
            for point, rest in zip(found.points, found.residuals, strict=True)
        ],
        "candidates": [{"model": "line", "residual_sd": residual_sd}],
        "chosen_because": "the plan asks for a line",
    }


def _error_json(found: LineCalibration, unit: Unit) -> Json:
    """How wrong the line may be, with a reason wherever the data cannot tell."""
    line, play = found.linearity, found.play
    known = play.low is not None and play.high is not None
    return {
        "half_width_95": _in(found.half_width_95, unit),
        "linearity": {
            "independent": 100.0 * line.independent,
            "zero_based": 100.0 * line.zero_based,
            "terminal_based": 100.0 * line.terminal_based,
            "absolute": None if line.absolute is None else 100.0 * line.absolute,
            "span": unit.difference_from_si(line.span),
        },
        "hysteresis": _in(found.hysteresis.value, unit),
        "repeatability": _in(found.repeatability.value, unit),
        "play": _in(play.value, unit) if play.seen else None,
        "play_interval": [_in(play.low, unit), _in(play.high, unit)] if known else None,
        "reasons": {
            "hysteresis": found.hysteresis.why,
            "repeatability": found.repeatability.why,
            "play": play.why,
            "verdict": found.reason,
        },
        "outliers": [
            {"point": o.point + 1, "departure": _in(o.departure, unit), "limit": _in(o.limit, unit)}
            for o in found.outliers
        ],
    }


def _sheet_json(sheet: Sheet) -> Json:
    """Which columns were read, what was refused, what had to be decided."""
    return {
        "columns": {"reference": sheet.reference_column, "raw": sheet.raw_column, "why": sheet.why},
        "read": {
            "rows": len(sheet.recording),
            "refused": [
                {"line": cell.line, "column": cell.column, "text": cell.text, "why": cell.why}
                for cell in sheet.refused
            ],
            "decisions": list(sheet.decisions),
        },
    }


def _shift_json(shift: Shift | None, unit: Unit) -> Json | None:
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


def _figures(result: CalibrateResult) -> Table:
    rows = (*_line_rows(result), *_error_rows(result), *_sheet_rows(result.sheet), ("kept", result.kept))
    return Table(title=result.headline, columns=("what", "value"), rows=rows)


def _line_rows(result: CalibrateResult) -> tuple[tuple[str, str], ...]:
    axis, found = result.axis, result.calibration
    unit = axis.unit
    offset_u, slope_u = (float(u) for u in np.sqrt(np.diag(found.covariance)))
    slope = f"{unit.difference_from_si(found.slope):.7g} {unit.name}/count"
    slope_text = f"{slope}, u {unit.difference_from_si(slope_u):.2g} {unit.name}/count"
    return (
        ("offset, position at code 0", f"{show(found.offset, unit)}, u {show(offset_u, unit, digits=2)}"),
        ("slope", slope_text),
        ("residuals, standard deviation", _or_why(found.residual_sd, "two points leave none", axis)),
    )


def _error_rows(result: CalibrateResult) -> tuple[tuple[str, str], ...]:
    axis, found = result.axis, result.calibration
    half = _or_why(found.half_width_95, "three positions or more are needed", axis, sign="±")
    rows = [
        ("one reading, 95 %", half),
        ("the budget foresaw, 95 %", f"±{show(result.planned.half_width_95, axis.unit, digits=3)}"),
        ("independent linearity", f"{100 * found.linearity.independent:.3f} % of the calibrated span"),
        ("hysteresis", _measured(found.hysteresis, axis)),
        ("repeatability", _measured(found.repeatability, axis)),
        ("play, total", _play_text(result)),
    ]
    if result.shift is not None:
        shift = result.shift
        moved = f"{show(shift.largest, axis.unit, digits=3)} at {show(shift.at, axis.unit)}"
        within = f"±{show(shift.combined_95, axis.unit, digits=3)} is within the uncertainty"
        rows.append((f"moved since {shift.last}", f"{moved}; {within}"))
        rows += _shift_rows(shift, axis.unit)
    return tuple(rows)


def _shift_rows(shift: Shift, unit: Unit) -> list[tuple[str, str]]:
    zero, zero_95 = show(shift.zero, unit, digits=3), show(shift.zero_95, unit, digits=2)
    return [
        ("of this the zero", f"{zero}, uncertainty ±{zero_95}"),
        ("of this the slope", f"{100 * shift.slope:.2g} %, uncertainty ±{100 * shift.slope_95:.2g} %"),
    ]


def _sheet_rows(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    rows = [
        ("rows read, cells refused", f"{len(sheet.recording)}, {len(sheet.refused)}"),
        ("columns", f"{sheet.reference_column} and {sheet.raw_column}, {sheet.why}"),
    ]
    rows += [("decided", text) for text in sheet.decisions]
    rows += [(f"line {c.line}, {c.column}", f"'{c.text}' {c.why}") for c in sheet.refused[:MOST_REFUSED]]
    if len(sheet.refused) > MOST_REFUSED:
        rows.append(("refused besides", f"{len(sheet.refused) - MOST_REFUSED} more cells"))
    return tuple(rows)


def _measured(value: Measured, axis: Axis) -> str:
    return _or_why(value.value, value.why, axis)


def _play_text(result: CalibrateResult) -> str:
    play, unit = result.calibration.play, result.axis.unit
    if play.low is None or play.high is None or play.value is None:
        return play.why or "the data cannot tell"
    limits = f"{show(play.low, unit, digits=3)} to {show(play.high, unit, digits=3)} (95 %)"
    return f"{show(play.value, unit, digits=3)}, {limits}" if play.seen else f"none seen: {limits}"


def _or_why(value: float | None, why: str | None, axis: Axis, *, sign: str = "") -> str:
    return why or "the data cannot tell" if value is None else sign + show(value, axis.unit, digits=3)


def _points(result: CalibrateResult) -> Table:
    axis, found = result.axis, result.calibration
    rows = tuple(
        (
            str(index),
            show(point.reference, axis.unit, digits=5),
            SIDES[point.approach],
            f"{point.raw:.2f}",
            str(point.readings),
            show(-rest, axis.unit, digits=3),
        )
        for index, (point, rest) in enumerate(zip(found.points, found.residuals, strict=True), 1)
    )
    names = ("no.", "reference", "came", "code", "readings", "line less reference")
    right = tuple(name for name in names if name != "came")
    return Table(title="Points", columns=names, rows=rows, right=right)
