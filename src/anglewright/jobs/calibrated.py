"""The result of a calibration as JSON and as tables of text."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.budget.totals import StateBudget
from anglewright.calibration.beside import Beside
from anglewright.calibration.leftout import LeftOut, number_of
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.repeatability import Measured
from anglewright.calibration.result import Calibration
from anglewright.calibration.verdict import Verdict
from anglewright.findings import Finding, Severity
from anglewright.jobs.appraising import BesideBudget, beside_budget
from anglewright.jobs.calibratedjson import (
    SIDES,
    error_json,
    fit_json,
    in_unit,
    left_out_json,
    off_curve,
    parameters_shown,
    sheet_json,
    shift_json,
)
from anglewright.jobs.comparing import Shift
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.learned import Learned, learned_table
from anglewright.jobs.nextsteps import next_steps
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis
from anglewright.tables.sheet import Sheet

MOST_PARAMETERS = 7  # of a model, that are listed one by one [1]
MOST_REFUSED = 10  # cells that are listed before the rest is counted [1]
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
    left_out: tuple[LeftOut, ...] = ()

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
            **fit_json(self.calibration, self.axis.unit),
            **error_json(self.calibration, self.axis.unit),
            "left_out": left_out_json(self.calibration, self.left_out, self.axis.unit),
            **sheet_json(self.sheet),
            "compared_with_last": shift_json(self.shift, self.axis.unit),
            "compared_with_budget": {
                "planned_half_width_95": self.axis.unit.difference_from_si(self.planned.half_width_95),
                "half_width_95": in_unit(self.calibration.half_width_95, self.axis.unit),
                "says": self.compared.says,
                "most": self.compared.most,
                "remedy": self.compared.do,
            },
            "do_now": list(self.do_now),
            "learned": [each.as_json() for each in self.learned],
            "findings": [finding_json(finding) for finding in self.findings],
            "verdict": self.calibration.verdict.value,
        }


def _figures(result: CalibrateResult) -> Table:
    rows = (
        *_line_rows(result),
        *_error_rows(result),
        *_left_rows(result),
        *_sheet_rows(result.sheet),
        ("kept", result.kept),
    )
    return Table(title=result.headline, columns=("what", "value"), rows=rows)


def _line_rows(result: CalibrateResult) -> tuple[tuple[str, str], ...]:
    axis, found = result.axis, result.calibration
    rows = [
        (_PARAMETERS.get(name, name), _parameter(name, value, u, unit=unit))
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


_IN_CODE = ("offset", "slope")
"""Parameters that stand in the controller's code, which needs more digits than are known."""


def _parameter(name: str, value: float, u: float, *, unit: str) -> str:
    """A parameter to the decimals of its uncertainty, which has two digits; more where the code needs it."""
    named = "" if unit == "1" else f" {unit}"
    if name in _IN_CODE or not 1e-9 < u < 1e9:
        return f"{value:.7g}{named}, u {u:.2g}{named}"
    decimals = 1 - int(f"{u:.1e}".partition("e")[2])
    shown, known = (f"{round(number, decimals) + 0.0:.{max(decimals, 0)}f}" for number in (value, u))
    return f"{shown}{named}, u {known}{named}"


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
        ("linearity, of the calibrated span", _linearity(found)),
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


def _linearity(found: Calibration) -> str:
    """All four of them, the one first that is usually meant."""
    line = found.linearity
    shares = {
        "independent (what data sheets mostly mean)": line.independent,
        "zero-based": line.zero_based,
        "terminal-based": line.terminal_based,
        "absolute": line.absolute,
    }
    return ", ".join(f"{name} {100 * share:.2g} %" for name, share in shares.items() if share is not None)


def _left_rows(result: CalibrateResult) -> list[tuple[str, str]]:
    """The points that were left out by stated word."""
    unit = result.axis.unit
    return [
        (f"point {each.number}", f"at {show(each.point.reference, unit)} {each.said}")
        for each in result.left_out
    ]


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
        ("rows read, rows used", f"{sheet.rows}, {len(sheet.recording)}"),
        ("cells refused", str(sheet.refused_cells)),
        ("columns", f"{sheet.reference_column} and {sheet.raw_column}, {sheet.why}"),
    ]
    rows += [("decided", text) for text in sheet.decisions]
    rows += [(f"line {c.line}, {c.column}", f"'{c.text}' {c.why}") for c in sheet.refused[:MOST_REFUSED]]
    if sheet.refused_cells > MOST_REFUSED:
        rows.append(("refused besides", f"{sheet.refused_cells - MOST_REFUSED} more cells"))
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


@dataclass(frozen=True, slots=True, kw_only=True)
class PointSeen:
    """A point as it is listed: number from 1, what it shows too much [m or rad], what is said of it."""

    number: int
    point: CalibrationPoint
    off: float
    said: str = ""


def points_seen(result: CalibrateResult) -> list[PointSeen]:
    """All points in the order in which they were taken, those too that were left out."""
    found = result.calibration
    seen = [
        PointSeen(number=number_of(found.points, place), point=point, off=-rest)
        for place, (point, rest) in enumerate(zip(found.points, found.residuals, strict=True))
    ]
    seen += [
        PointSeen(number=each.number, point=each.point, off=off_curve(found, each.point), said=each.said)
        for each in result.left_out
    ]
    return sorted(seen, key=lambda each: each.number)


def _points(result: CalibrateResult) -> Table:
    unit, apart = result.axis.unit, bool(result.left_out)
    rows = tuple(
        (
            str(each.number),
            show(each.point.reference, unit, digits=5),
            SIDES[each.point.approach],
            f"{each.point.raw:.2f}",
            str(each.point.readings),
            show(each.off, unit, digits=3),
            *((each.said,) if apart else ()),
        )
        for each in points_seen(result)
    )
    numbers = ("no.", "reference", "code", "readings", "reading less reference")
    names = (*numbers[:2], "came", *numbers[2:], *(("in the fit",) if apart else ()))
    return Table(title="Points", columns=names, rows=rows, right=numbers)
