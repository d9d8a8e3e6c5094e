"""What a new calibration shows beside the last one, the budget and the need: findings."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.budget.mistakes import SLOPE_MAY_DIFFER, known_factor
from anglewright.budget.states import planned_line
from anglewright.budget.totals import StateBudget
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.result import LineCalibration
from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.rig import Axis

SHIFT_NOTE, SHIFT_CAUTION = 1.0, 2.0  # of the combined half-width (common practice, no source) [1]
SHIFT_STOP = 0.5  # of the permissible error (common practice, no source) [1]

STILL = 1e-9  # of the range: less is what the arithmetic of the computer leaves [1]

FINDING_KEYS: Mapping[str, str] = {
    "play": "free motion at the axis as the calibration found it, against the permissible error",
    "outlier": "a point that lies far off the rest",
    "shift": "how far the line moved since the last calibration",
    "worse-than-budget": "the calibration reaches less than the budget foresaw",
    "slope": "the slope that was measured against that of the data sheet, and the factor that it is off by",
}
"""Every key that a finding of a calibration can have, with its meaning in one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """The new line against the last one: largest change over the range, and where. [m or rad]"""

    last: str
    largest: float
    at: float
    combined_95: float


def shift_since(last: CalibrationRecord | None, new: LineCalibration, axis: Axis) -> Shift | None:
    """How far the code's answer moves when the last line gives way to the new one; None without a last one.

    Parameters
    ----------
    last : CalibrationRecord or None
        The record in use so far.
    new : LineCalibration
        The new calibration.
    axis : Axis
        The axis, over whose range the lines are compared.

    Returns
    -------
    Shift or None
        Answer of the old line less that of the new, where it is largest. [m or rad]
    """
    if last is None:
        return None
    q = axis.positions(2)
    codes = (q - new.offset) / new.slope
    moved = (last.offset + last.slope * codes) - q
    moved[np.abs(moved) < STILL * np.ptp(q)] = 0.0
    worst = int(np.argmax(np.abs(moved)))
    half = np.hypot(new.half_width_95 or 0.0, last.half_width_95)
    return Shift(last=last.name, largest=float(moved[worst]), at=float(q[worst]), combined_95=float(half))


def findings_of(
    axis: Axis, calibration: LineCalibration, *, shift: Shift | None, planned: StateBudget
) -> tuple[Finding, ...]:
    """Everything there is to say about a calibration, the worst first."""
    found = [
        *_play(axis, calibration),
        *_outliers(axis, calibration),
        *_shifted(axis, shift),
        *_beside_budget(axis, calibration, planned),
        *_slope(axis, calibration),
    ]
    order = list(Severity)
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Said:
    """Key, text and remedy of a finding."""

    key: str
    text: str
    remedy: str


def _finding(axis: Axis, said: _Said, *, severity: Severity, measured: float, limit: float) -> Finding:
    return Finding(
        key=said.key,
        severity=severity,
        axis=axis.name,
        link="calibration",
        text=said.text,
        remedy=said.remedy,
        source="practice",
        measured=axis.unit.difference_from_si(measured),
        limit=axis.unit.difference_from_si(limit),
        unit=axis.unit.name,
    )


_MEND = "Turn the axis by hand through a known way and count; then mend the rig file, or what loses counts."
_LOOK = "Look for a pull that was left on, a wrong ratio, a track or travel that is not that of the rig file."


def _slope(axis: Axis, calibration: LineCalibration) -> list[Finding]:
    """A slope that the tolerances of the data sheet do not explain, with the factor where one is known."""
    ratio = calibration.slope / planned_line(axis).slope
    if abs(ratio - 1.0) <= SLOPE_MAY_DIFFER:
        return []
    known = known_factor(axis, ratio)
    off = f"{ratio:.3f} times that of the rig file; its parts hardly explain more than {SLOPE_MAY_DIFFER:.0%}"
    finding = Finding(
        key="slope",
        severity=Severity.CAUTION,
        axis=axis.name,
        link="calibration",
        text=f"The slope is {known or off}.",
        remedy=_MEND if known else _LOOK,
        source="practice",
        measured=ratio,
        limit=SLOPE_MAY_DIFFER,
        unit="",
    )
    return [finding]


def _play(axis: Axis, calibration: LineCalibration) -> list[Finding]:
    play = calibration.play
    if not play.seen or play.value is None or play.low is None or play.high is None:
        return []
    severity = Severity.STOP if play.value / 2.0 > axis.permissible else Severity.CAUTION
    total, low, high = (show(value, axis.unit, digits=3) for value in (play.value, play.low, play.high))
    said = _Said(
        key="play",
        text=f"Play is {total} in all, {low} to {high} (95 %): a reading may be off by half of it.",
        remedy="Take the play out, or come to rest from the same side always. More points do not cure it.",
    )
    return [_finding(axis, said, severity=severity, measured=play.value / 2.0, limit=axis.permissible)]


def _outliers(axis: Axis, calibration: LineCalibration) -> list[Finding]:
    found = []
    for outlier in calibration.outliers:
        place = show(calibration.points[outlier.point].reference, axis.unit, digits=4)
        off = show(outlier.departure, axis.unit, digits=3)
        said = _Said(
            key="outlier",
            text=f"Point {outlier.point + 1} at {place} lies {off} off the rest.",
            remedy="Take that point again. It stays in the fit until you leave it out of the file.",
        )
        found.append(
            _finding(axis, said, severity=Severity.CAUTION, measured=outlier.departure, limit=outlier.limit)
        )
    return found


def _shifted(axis: Axis, shift: Shift | None) -> list[Finding]:
    """A shift against the last calibration: slipped or re-seated where it is more than the uncertainty."""
    severity = None if shift is None else _severity(abs(shift.largest), shift.combined_95, axis.permissible)
    if shift is None or severity is None:
        return []
    moved, at = show(shift.largest, axis.unit, digits=3), show(shift.at, axis.unit)
    said = _Said(
        key="shift",
        text=f"Against {shift.last} the reading moved by {moved} at {at}: slipped or re-seated.",
        remedy="Look at the witness lines over shaft, hub and body before you trust either calibration.",
    )
    return [_finding(axis, said, severity=severity, measured=abs(shift.largest), limit=shift.combined_95)]


def _severity(size: float, combined_95: float, permissible: float) -> Severity | None:
    """How bad a shift is; None where the uncertainty explains it."""
    if size <= SHIFT_NOTE * combined_95:
        return None
    if size > SHIFT_STOP * permissible:
        return Severity.STOP
    return Severity.CAUTION if size > SHIFT_CAUTION * combined_95 else Severity.NOTE


def _beside_budget(axis: Axis, calibration: LineCalibration, planned: StateBudget) -> list[Finding]:
    measured = calibration.half_width_95
    if measured is None or measured <= planned.half_width_95:
        return []
    reached, foreseen = (show(value, axis.unit, digits=3) for value in (measured, planned.half_width_95))
    said = _Said(
        key="worse-than-budget",
        text=f"The calibration reaches ±{reached}; the budget foresaw ±{foreseen}.",
        remedy="Look for a loose part, a worse reference, or a number in the rig file that is too good.",
    )
    return [_finding(axis, said, severity=Severity.CAUTION, measured=measured, limit=planned.half_width_95)]
