"""The result of a calibration as JSON and as tables of text."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from anglewright.budget.totals import StateBudget
from anglewright.calibration.beside import Beside
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.repeatability import Measured
from anglewright.calibration.result import Calibration
from anglewright.calibration.verdict import Verdict
from anglewright.findings import Finding, Severity
from anglewright.jobs.appraising import BesideBudget, beside_budget
from anglewright.jobs.comparing import Shift
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.learned import Learned, learned_table
from anglewright.jobs.nextsteps import next_steps
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis
from anglewright.tables.sheet import Sheet

MOST_PARAMETERS = 7  # of a model, that are listed one by one [1]
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
    calibration: Calibration
    record: CalibrationRecord | None
    file: Path | None
    kept: str
    shift: Shift | None
    planned: StateBudget
    findings: tuple[Finding, ...]
    html: Path | None = None
    learned: tuple[Learned, ...] = ()

    @property
    def headline(self) -> str:
        """The verdict and its reason."""
        return f"{self.axis.name} {_VERDICT_WORDS[self.calibration.verdict]}: {self.calibration.reason}"

    @property
    def compared(self) -> BesideBudget:
        """How it compares with what the budget foresaw."""
        return beside_budget(self.calibration, foreseen=self.planned.half_width_95)

    @property
    def do_now(self) -> tuple[str, ...]:
        """What to do now, the most urgent first."""
        return next_steps(self.axis, self.calibration, self.findings, planned=self.planned, kept=self.kept)

    @property
    def summary(self) -> str:
        """What to do now, and the page that was written."""
        lines = [f"{number}. {step}" for number, step in enumerate(self.do_now, 1)]
        lines += [f"Page written to {self.html}."] if self.html else []
        return "\n".join(lines)

    @property
    def exit_code(self) -> int:
        """1 where the need is not met or a finding stops the work. [1]"""
        stops = any(finding.severity is Severity.STOP for finding in self.findings)
        return 1 if stops or self.calibration.verdict is not Verdict.MEETS else 0

    def tables(self) -> tuple[Table, ...]:
        """Parameters, figures, points and findings."""
        extra = (findings_table(self.findings, title="Findings of the calibration"),) if self.findings else ()
        told = (learned_table(self.learned),) if self.learned else ()
        return (_figures(self), _candidates(self), _points(self), *told, *extra)

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "record": self.record.name if self.record else None,
            "file": str(self.file) if self.file else None,
            "html": str(self.html) if self.html else None,
            **_fit_json(self.calibration, self.axis.unit),
            **_error_json(self.calibration, self.axis.unit),
            **sheet_json(self.sheet),
            "compared_with_last": _shift_json(self.shift, self.axis.unit),
            "compared_with_budget": {
                "planned_half_width_95": self.axis.unit.difference_from_si(self.planned.half_width_95),
                "half_width_95": _in(self.calibration.half_width_95, self.axis.unit),
                "says": self.compared.says,
                "most": self.compared.most,
                "remedy": self.compared.do,
            },
            "do_now": list(self.do_now),
            "learned": [each.as_json() for each in self.learned],
            "findings": [finding_json(finding) for finding in self.findings],
            "verdict": self.calibration.verdict.value,
        }


def _in(value: float | None, unit: Unit) -> float | None:
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


def _fit_json(found: Calibration, unit: Unit) -> Json:
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
        "residual_sd": _in(found.residual_sd, unit),
        "points": _points_json(found, unit),
        "candidates": [
            {
                "model": each.model.name,
                "parameters": each.count,
                "unseen_rms": _in(each.error, unit) if each.tried else None,
                "why_not": each.why or None,
            }
            for each in choice.candidates
        ],
        "chosen_because": choice.because,
        "beside": [{"fit": each.name, "largest": _in(each.largest, unit)} for each in found.beside],
        "code": {
            "offset": unit.from_si(handed.offset),
            "slope": unit.difference_from_si(handed.slope),
            "corrections": 0 if handed.corrections is None else len(handed.corrections.values),
            "off": _in(handed.off, unit),
            "domain": list(handed.domain),
        },
    }


def _points_json(found: Calibration, unit: Unit) -> list[Json]:
    return [
        {
            "reference": unit.from_si(point.reference),
            "raw": point.raw,
            "readings": point.readings,
            "approach": SIDES[point.approach],
            "residual": unit.difference_from_si(rest),
        }
        for point, rest in zip(found.points, found.residuals, strict=True)
    ]


def _error_json(found: Calibration, unit: Unit) -> Json:
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


def sheet_json(sheet: Sheet) -> Json:
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
    rows = [
        (_PARAMETERS.get(name, name), _parameter(value, u, unit))
        for name, value, u, unit in parameters_shown(found, axis.unit)
    ]
    return (
        ("model", f"{found.model}: {found.fit.choice.because}"),
        *(rows if len(rows) <= MOST_PARAMETERS else ()),
        ("residuals, standard deviation", _or_why(found.residual_sd, "two points leave none", axis)),
        *_handed_rows(found, axis.unit),
        *((f"fitted otherwise: {each.name}", _otherwise(each, axis)) for each in found.beside),
    )


_PARAMETERS = {"offset": "offset, position at code 0", "load": "track over load"}


def _parameter(value: float, u: float, unit: str) -> str:
    named = "" if unit == "1" else f" {unit}"
    return f"{value:.7g}{named}, u {u:.2g}{named}"


def _handed_rows(found: Calibration, unit: Unit) -> list[tuple[str, str]]:
    """What the controller computes where it is no straight line."""
    handed = found.handed
    if handed.corrections is None:
        return []
    line = f"{show(handed.offset, unit)} + n times {unit.difference_from_si(handed.slope):.7g} {unit.name}"
    table = f"and {len(handed.corrections.values)} corrections"
    off = show(handed.off, unit, digits=2)
    return [("in the controller", f"{line}, {table}; that is within {off} of the curve")]


def _otherwise(each: Beside, axis: Axis) -> str:
    return f"differs by {show(each.largest, axis.unit, digits=2)} at most"


def _candidates(result: CalibrateResult) -> Table:
    """The models on trial."""
    found, unit = result.calibration, result.axis.unit
    rows = tuple(
        (
            each.model.name,
            str(each.count),
            show(each.error, unit, digits=3) if each.tried else each.why,
            "used" if each is found.fit.choice.chosen else "",
        )
        for each in found.fit.choice.candidates
    )
    names = ("model", "parameters", "misses a place left out by", "")
    return Table(title="Models on trial", columns=names, rows=rows, right=("parameters",))


def _error_rows(result: CalibrateResult) -> tuple[tuple[str, str], ...]:
    axis, found = result.axis, result.calibration
    half = _or_why(found.half_width_95, "three positions or more are needed", axis, sign="±")
    rows = [
        ("one reading, 95 %", half),
        ("beside the budget", f"{result.compared.sentence} (it foresaw ±{_foreseen(result)})"),
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


def _foreseen(result: CalibrateResult) -> str:
    return show(result.planned.half_width_95, result.axis.unit, digits=3)


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
    names = ("no.", "reference", "came", "code", "readings", "curve less reference")
    right = tuple(name for name in names if name != "came")
    return Table(title="Points", columns=names, rows=rows, right=right)
