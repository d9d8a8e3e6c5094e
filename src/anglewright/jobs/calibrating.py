"""Job: from readings beside a reference to a line, its intervals, a verdict, and a kept record."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from anglewright.budget.states import State
from anglewright.budget.totals import StateBudget, budget_axis
from anglewright.calibration.points import calibration_points
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.repeatability import Measured
from anglewright.calibration.result import LineCalibration, calibrate_line
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verdict import Requirement, Verdict
from anglewright.errors import DataError, Problem
from anglewright.findings import Finding, Severity
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show, show_measured
from anglewright.recording import Recording
from anglewright.rig import Axis, Rig, code_of_raw, datasheet_line, fingerprint
from anglewright.rigfile.records import keep_record, next_name, record_in_use
from anglewright.tables.reading import read_sheet
from anglewright.tables.sheet import Sheet

SHIFT_NOTE, SHIFT_CAUTION = 1.0, 2.0  # of the combined half-width (common practice, no source) [1]
SHIFT_STOP = 0.5  # of the permissible error (common practice, no source) [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """The new line against the last one: largest change over the range, and where. [m or rad]"""

    last: str
    largest: float
    at: float
    combined_95: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CalibrateResult(Shown):
    """A calibration, where it was kept, and how it compares with the last one and with the budget."""

    axis: Axis
    sheet: Sheet
    calibration: LineCalibration
    record: CalibrationRecord | None
    file: Path | None
    shift: Shift | None
    planned: StateBudget
    findings: tuple[Finding, ...]

    @property
    def headline(self) -> str:
        """The verdict and its reason."""
        return f"{self.axis.name} {_VERDICT_WORDS[self.calibration.verdict]}: {self.calibration.reason}"

    @property
    def exit_code(self) -> int:
        """1 where the need is not met or a finding stops the work."""
        stops = any(finding.severity is Severity.STOP for finding in self.findings)
        return 1 if stops or self.calibration.verdict is not Verdict.MEETS else 0

    def tables(self) -> tuple[Table, ...]:
        """Parameters, figures, points and findings."""
        extra = (findings_table(self.findings, "Findings of the calibration"),) if self.findings else ()
        return (_figures(self), _points(self), *extra)

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        return _json(self)


_VERDICT_WORDS = {
    Verdict.MEETS: "meets the need",
    Verdict.FAILS: "fails",
    Verdict.CANNOT_TELL: "cannot be told",
}


def calibrate(
    rig: Rig,
    axis: str,
    file: str | Path | None = None,
    *,
    typed: Sequence[tuple[float, float, str]] = (),
    date: str,
    keep: bool = True,
) -> CalibrateResult:
    """Fit a line to readings beside a reference, judge it, and keep it as a record.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str
        Name of an axis.
    file : str or Path, optional
        CSV file with a reference and a raw column.
    typed : sequence of (float, float, str)
        Readings instead of a file: reference in the axis's unit, raw, ``up``, ``down`` or nothing.
    date : str
        Day of the calibration, ``2026-05-12``; the program's physics reads no clock.
    keep : bool
        Keep the result as a record beside the rig file.

    Returns
    -------
    CalibrateResult
        Line, intervals, verdict, record.

    Raises
    ------
    UsageError
        There is no axis of that name.
    DataError
        The readings cannot be used, or the record cannot be written.

    References
    ----------
    gum-h3
    """
    chosen = rig.axis(axis)
    sheet = _typed(chosen, typed) if file is None else read_sheet(
        Path(file), unit=chosen.unit, raw_meaning=chosen.raw.value
    )
    calibration = _fitted(chosen, sheet.recording)
    shift = _shift(rig, chosen, calibration)
    record, path = None, None
    if keep and calibration.half_width_95 is not None:
        record = _record(rig, chosen, calibration, date)
        path = keep_record(rig, chosen, record)
    planned = budget_axis(chosen).of(State.CALIBRATED)
    return CalibrateResult(
        axis=chosen,
        sheet=sheet,
        calibration=calibration,
        record=record,
        file=path,
        shift=shift,
        planned=planned,
        findings=_findings(chosen, calibration, shift, planned),
    )


def _typed(axis: Axis, rows: Sequence[tuple[float, float, str]]) -> Sheet:
    if not rows:
        found = "there are no readings"
        raise DataError(Problem("calibrate", found, "", "Name a file, or type readings with --typed."))
    sides = {"up": 1, "down": -1, "": 0}
    approach = np.array([sides[side] for _, _, side in rows], dtype=np.int8)
    recording = Recording(
        raw=np.array([raw for _, raw, _ in rows]),
        reference=np.array([reference for reference, _, _ in rows]) * axis.unit.size,
        approach=approach if np.any(approach) else None,
        source="typed readings",
        raw_meaning=axis.raw.value,
    )
    return Sheet(recording=recording, reference_column="typed", raw_column="typed", why="typed in this order")


def _fitted(axis: Axis, recording: Recording) -> LineCalibration:
    from dataclasses import replace

    codes = replace(recording, raw=np.asarray(code_of_raw(axis, recording.raw)), raw_meaning="counts")
    top = float(2**axis.converter.bits - 1)
    line, reference = datasheet_line(axis), axis.plan.reference
    return calibrate_line(
        calibration_points(codes, unit=axis.unit, top_code=top),
        requirement=Requirement(
            low=axis.motion.low,
            high=axis.motion.high,
            permissible_error=axis.permissible,
            one_sided=axis.motion.settles == "one-sided" and not axis.plan.both_sides,
        ),
        reference=ReferenceUncertainty(
            per_point=reference.per_point.standard_uncertainty,
            shared=reference.shared.standard_uncertainty,
            scale=reference.scale.standard_uncertainty,
        ),
        top_code=top,
        unit=axis.unit,
        nominal=(line.offset, line.slope),
    )


def _record(rig: Rig, axis: Axis, calibration: LineCalibration, date: str) -> CalibrationRecord:
    (first, both), (_, second) = calibration.covariance.tolist()
    return CalibrationRecord(
        name=next_name(rig, axis, date),
        date=date,
        rig=rig.name,
        axis=axis.name,
        chain=fingerprint(axis),
        sensor=axis.part("sensor").describe(),
        offset=calibration.offset,
        slope=calibration.slope,
        covariance=((first, both), (both, second)),
        residual_sd=calibration.residual_sd or 0.0,
        half_width_95=calibration.half_width_95 or float("nan"),
        verdict=calibration.verdict.value,
        points=calibration.points,
    )


def _shift(rig: Rig, axis: Axis, new: LineCalibration) -> Shift | None:
    """The new line against that of the record in use so far."""
    last = record_in_use(rig, axis).record
    if last is None:
        return None
    q = axis.positions(2)
    codes = (q - new.offset) / new.slope
    moved = (last.offset + last.slope * codes) - q
    worst = int(np.argmax(np.abs(moved)))
    half = np.hypot(new.half_width_95 or 0.0, last.half_width_95)
    return Shift(last=last.name, largest=float(moved[worst]), at=float(q[worst]), combined_95=float(half))


def _findings(
    axis: Axis, calibration: LineCalibration, shift: Shift | None, planned: StateBudget
) -> tuple[Finding, ...]:
    found = [*_play_finding(axis, calibration), *_outlier_findings(axis, calibration)]
    if shift is not None:
        found += _shift_finding(axis, shift)
    measured = calibration.half_width_95
    if measured is not None and measured > planned.half_width_95:
        limit = show(planned.half_width_95, axis.unit, digits=3)
        found.append(
            _finding(
                axis,
                "worse-than-budget",
                Severity.CAUTION,
                f"The calibration reaches ±{show(measured, axis.unit, digits=3)}; the budget foresaw ±{limit}.",
                remedy="Look for a loose part, a worse reference, or a number in the rig file that is too good.",
                measured=measured,
                limit=planned.half_width_95,
            )
        )
    return tuple(found)


def _finding(
    axis: Axis, key: str, severity: Severity, text: str, *, remedy: str, measured: float, limit: float
) -> Finding:
    size = axis.unit.size
    return Finding(
        key=key,
        severity=severity,
        axis=axis.name,
        link="calibration",
        text=text,
        remedy=remedy,
        source="practice",
        measured=measured / size,
        limit=limit / size,
        unit=axis.unit.name,
    )


def _play_finding(axis: Axis, calibration: LineCalibration) -> list[Finding]:
    play = calibration.play
    if not play.seen or play.value is None or play.low is None or play.high is None:
        return []
    severity = Severity.STOP if play.value / 2.0 > axis.permissible else Severity.CAUTION
    unit = axis.unit
    text = (
        f"There are {show(play.value, unit, digits=3)} of play in all, "
        f"{show(play.low, unit, digits=3)} to {show(play.high, unit, digits=3)}: a reading may be off by half of it."
    )
    remedy = "Take the play out, or come to rest from the same side always. More points do not cure it."
    return [_finding(axis, "play", severity, text, remedy=remedy, measured=play.value / 2.0, limit=axis.permissible)]


def _outlier_findings(axis: Axis, calibration: LineCalibration) -> list[Finding]:
    found = []
    for outlier in calibration.outliers:
        point = calibration.points[outlier.point]
        place = show(point.reference, axis.unit, digits=4)
        text = f"Point {outlier.point + 1} at {place} lies {show(outlier.departure, axis.unit, digits=3)} off the rest."
        remedy = "Take that point again. It stays in the fit until you leave it out of the file."
        found.append(
            _finding(
                axis,
                "outlier",
                Severity.CAUTION,
                text,
                remedy=remedy,
                measured=outlier.departure,
                limit=outlier.limit,
            )
        )
    return found


def _shift_finding(axis: Axis, shift: Shift) -> list[Finding]:
    """A shift against the last calibration: slipped or re-seated where it is more than the uncertainty."""
    size = abs(shift.largest)
    if size > SHIFT_STOP * axis.permissible and size > shift.combined_95:
        severity = Severity.STOP
    elif size > SHIFT_CAUTION * shift.combined_95:
        severity = Severity.CAUTION
    elif size > SHIFT_NOTE * shift.combined_95:
        severity = Severity.NOTE
    else:
        return []
    moved, at = show(shift.largest, axis.unit, digits=3), show(shift.at, axis.unit)
    text = f"Against {shift.last} the reading moved by {moved} at {at}: slipped or re-seated."
    remedy = "Look at the witness lines over shaft, hub and body before you trust either calibration."
    return [_finding(axis, "shift", severity, text, remedy=remedy, measured=size, limit=shift.combined_95)]


def _measured(value: Measured, size: float) -> float | None:
    return None if value.value is None else value.value / size


def _json(result: CalibrateResult) -> Json:
    axis, found = result.axis, result.calibration
    size, unit, cov = axis.unit.size, axis.unit.name, found.covariance / axis.unit.size**2
    line, play = found.linearity, found.play
    return {
        "axis": axis.name,
        "unit": unit,
        "record": result.record.name if result.record else None,
        "file": str(result.file) if result.file else None,
        "model": "line",
        "n_points": found.n_points,
        "parameters": {
            "slope": {
                "value": found.slope / size,
                "standard_uncertainty": float(np.sqrt(cov[1, 1])),
                "unit": f"{unit}/count",
            },
            "offset": {"value": found.offset / size, "standard_uncertainty": float(np.sqrt(cov[0, 0])), "unit": unit},
        },
        "covariance": {"names": ["offset", "slope"], "matrix": cov.tolist()},
        "residual_sd": None if found.residual_sd is None else found.residual_sd / size,
        "half_width_95": None if found.half_width_95 is None else found.half_width_95 / size,
        "linearity": {
            "independent": 100.0 * line.independent,
            "zero_based": 100.0 * line.zero_based,
            "terminal_based": 100.0 * line.terminal_based,
            "absolute": None if line.absolute is None else 100.0 * line.absolute,
            "span": line.span / size,
        },
        "hysteresis": _measured(found.hysteresis, size),
        "repeatability": _measured(found.repeatability, size),
        "play": play.value / size if play.seen and play.value is not None else None,
        "play_interval": None if play.low is None or play.high is None else [play.low / size, play.high / size],
        "reasons": {
            "hysteresis": found.hysteresis.why,
            "repeatability": found.repeatability.why,
            "play": play.why,
            "verdict": found.reason,
        },
        "outliers": [
            {"point": o.point + 1, "departure": o.departure / size, "limit": o.limit / size} for o in found.outliers
        ],
        "candidates": [{"model": "line", "residual_sd": None if found.residual_sd is None else found.residual_sd / size}],
        "chosen_because": "the plan asks for a line",
        "columns": {
            "reference": result.sheet.reference_column,
            "raw": result.sheet.raw_column,
            "why": result.sheet.why,
        },
        "read": {
            "rows": len(result.sheet.recording),
            "refused": [
                {"line": cell.line, "column": cell.column, "text": cell.text, "why": cell.why}
                for cell in result.sheet.refused
            ],
            "decisions": list(result.sheet.decisions),
        },
        "compared_with_last": _shift_json(result.shift, size),
        "compared_with_budget": {
            "planned_half_width_95": result.planned.half_width_95 / size,
            "half_width_95": None if found.half_width_95 is None else found.half_width_95 / size,
        },
        "findings": [finding_json(finding) for finding in result.findings],
        "verdict": found.verdict.value,
    }


def _shift_json(shift: Shift | None, size: float) -> Json | None:
    if shift is None:
        return None
    return {
        "record": shift.last,
        "largest_shift": shift.largest / size,
        "at": shift.at / size,
        "combined_95": shift.combined_95 / size,
    }


def _figures(result: CalibrateResult) -> Table:
    axis, found = result.axis, result.calibration
    unit, cov = axis.unit, found.covariance
    offset_u, slope_u = float(np.sqrt(cov[0, 0])), float(np.sqrt(cov[1, 1]))
    rows = [
        ("offset, position at code 0", show_measured(found.offset, offset_u, unit)),
        ("slope", f"{found.slope / unit.size:.7g} {unit.name}/count, u {slope_u / unit.size:.2g}"),
        ("residuals, standard deviation", _or_why(found.residual_sd, None, axis)),
        ("one reading, 95 %", _or_why(found.half_width_95, "three positions or more are needed", axis, sign="±")),
        ("independent linearity", f"{100 * found.linearity.independent:.3f} % of the calibrated span"),
        ("hysteresis", _or_why(found.hysteresis.value, found.hysteresis.why, axis)),
        ("repeatability", _or_why(found.repeatability.value, found.repeatability.why, axis)),
        ("play, total", _play_text(result)),
        ("rows read, refused", f"{len(result.sheet.recording)}, {len(result.sheet.refused)}"),
        ("columns", f"{result.sheet.reference_column} and {result.sheet.raw_column}, {result.sheet.why}"),
        ("kept as", result.record.name if result.record else "not kept"),
    ]
    rows += [("decided", text) for text in result.sheet.decisions]
    rows += [(f"line {c.line}, {c.column}", f"'{c.text}' {c.why}") for c in result.sheet.refused[:10]]
    return Table(title=result.headline, columns=("what", "value"), rows=tuple(rows))


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
    sides = {1: "up", -1: "down", 0: "unknown"}
    rows = tuple(
        (
            str(index),
            show(point.reference, axis.unit, digits=5),
            sides[point.approach],
            f"{point.raw:.2f}",
            str(point.readings),
            show(-rest, axis.unit, digits=3),
        )
        for index, (point, rest) in enumerate(zip(found.points, found.residuals, strict=True), 1)
    )
    names = ("no.", "reference", "came", "code", "readings", "line less reference")
    return Table(title="Points", columns=names, rows=rows, right=(names[0], names[1], names[3], names[4], names[5]))
