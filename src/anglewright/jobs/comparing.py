"""What a new calibration shows beside the last one, the budget and the need: findings."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.budget.mistakes import SLOPE_MAY_DIFFER, known_factor
from anglewright.budget.states import planned_line
from anglewright.budget.totals import StateBudget
from anglewright.calibration.diary import DiaryLine
from anglewright.calibration.line import uncertainty_at
from anglewright.calibration.record import CALIBRATION, CalibrationRecord
from anglewright.calibration.result import LineCalibration
from anglewright.calibration.student import coverage_factor, effective_dof
from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.rig import Axis

SHIFT_NOTE, SHIFT_CAUTION = 1.0, 2.0  # of the combined half-width (common practice, no source) [1]
SHIFT_STOP = 0.5  # of the permissible error (common practice, no source) [1]

WORTH_A_WORD = 0.05  # of the permissible error, a change of slope at the ends of the range [1]
STILL = 1e-9  # of the range: less is what the arithmetic of the computer leaves [1]

FINDING_KEYS: Mapping[str, str] = {
    "play": "free motion at the axis as the calibration found it, against the permissible error",
    "outlier": "a point that lies far off the rest",
    "shift": "how far the zero moved since the last calibration, beside its uncertainty",
    "slope-shift": "how far the slope changed since the last calibration, beside its uncertainty",
    "worse-than-budget": "the calibration reaches less than the budget foresaw",
    "slope": "the slope that was measured against that of the data sheet, and the factor that it is off by",
}
"""Every key that a finding of a calibration can have, with its meaning in one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """The new line against the last one. [m or rad]

    `largest` is the largest change over the range, `at` its place, `combined_95` what one reading of each
    may be off. `zero` is the change in the middle of the points, where slope and zero are known apart, and
    `slope` that of the slope, as a share of it; each with its own uncertainty at 95 %.
    """

    last: str
    largest: float
    at: float
    combined_95: float
    zero: float
    zero_95: float
    slope: float
    slope_95: float
    reach: float

    @property
    def zero_times(self) -> float:
        """How many times its uncertainty the zero moved. [1]"""
        return abs(self.zero) / self.zero_95

    @property
    def slope_times(self) -> float:
        """How many times its uncertainty the slope changed. [1]"""
        return abs(self.slope) / self.slope_95


def shift_since(
    last: CalibrationRecord | None, new: LineCalibration, axis: Axis, *, changes: float = 0.0
) -> Shift | None:
    """How far the code's answer moves when the last line gives way to the new one; None without a last one.

    Parameters
    ----------
    last : CalibrationRecord or None
        The record in use so far.
    new : LineCalibration
        The new calibration.
    axis : Axis
        The axis, over whose range the lines are compared.
    changes : float
        Standard uncertainty of what may change from one day to another by itself. [m or rad]

    Returns
    -------
    Shift or None
        Answer of the old line less that of the new: where it is largest, of the zero, and of the slope.
        [m or rad]

    References
    ----------
    gum-g
    """
    if last is None:
        return None
    q = axis.positions(2)
    codes = (q - new.offset) / new.slope
    moved = (last.offset + last.slope * codes) - q
    moved[np.abs(moved) < STILL * np.ptp(q)] = 0.0
    worst = int(np.argmax(np.abs(moved)))
    zero, zero_95 = _zero_moved(last, new, changes)
    slope, slope_95 = _slope_changed(last, new)
    return Shift(
        last=last.name,
        largest=float(moved[worst]),
        at=float(q[worst]),
        combined_95=float(np.hypot(new.half_width_95 or 0.0, last.half_width_95)),
        zero=zero if abs(zero) >= STILL * np.ptp(q) else 0.0,
        zero_95=max(zero_95, STILL * float(np.ptp(q))),
        slope=slope if abs(slope) >= STILL else 0.0,
        slope_95=max(slope_95, STILL),
        reach=float(np.ptp(q)) / 2.0,
    )


def _zero_moved(last: CalibrationRecord, new: LineCalibration, changes: float) -> tuple[float, float]:
    """Old answer less new one in the middle of the new points, and its uncertainty at 95 %. [m or rad]"""
    code = float(np.mean([point.raw for point in new.points]))
    moved = (last.offset + last.slope * code) - (new.offset + new.slope * code)
    parts = [
        (float(uncertainty_at(last.covariance, code)), _dof(last)),
        (float(uncertainty_at(new.covariance, code)), new.n_points - 2.0),
    ]
    u = math.hypot(*(u for u, _ in parts), changes)
    return moved, coverage_factor(effective_dof([*parts, (changes, math.inf)])) * u


def _slope_changed(last: CalibrationRecord, new: LineCalibration) -> tuple[float, float]:
    """Old slope less new one and its uncertainty at 95 %, as shares of the new slope. [1]"""
    parts = [
        (math.sqrt(last.covariance[1][1]) / abs(new.slope), _dof(last)),
        (math.sqrt(float(new.covariance[1, 1])) / abs(new.slope), new.n_points - 2.0),
    ]
    u = math.hypot(*(u for u, _ in parts))
    return last.slope / new.slope - 1.0, coverage_factor(effective_dof(parts)) * u


def _dof(record: CalibrationRecord) -> float:
    """Degrees of freedom behind the line of a record; those of a moved zero are not counted. [1]"""
    return len(record.points) - 2.0 if record.kind == CALIBRATION else math.inf


def findings_of(
    axis: Axis,
    calibration: LineCalibration,
    *,
    shift: Shift | None,
    planned: StateBudget,
    noted: DiaryLine | None = None,
) -> tuple[Finding, ...]:
    """Everything there is to say about a calibration, the worst first; `noted` may explain a shift."""
    found = [
        *_play(axis, calibration),
        *_outliers(axis, calibration),
        *_shifted(axis, shift, noted),
        *_slope_shifted(axis, shift),
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


def _shifted(axis: Axis, shift: Shift | None, noted: DiaryLine | None) -> list[Finding]:
    """A zero that moved since the last calibration, by more than the uncertainty."""
    severity = None if shift is None else shift_severity(abs(shift.zero), shift.zero_95, axis.permissible)
    if shift is None or severity is None:
        return []
    moved = show(abs(shift.zero), axis.unit, digits=2)
    side = "high" if shift.zero > 0.0 else "low"
    said = _Said(
        key="shift",
        text=f"Against {shift.last} the zero moved by {moved}, {times(shift.zero_times)} times its "
        f"uncertainty (the old line now reads too {side}): {CAUSES}.{said_in_diary(noted)}",
        remedy=WITNESS,
    )
    return [_finding(axis, said, severity=severity, measured=abs(shift.zero), limit=shift.zero_95)]


CAUSES = "slipped, body turned, or re-seated"
WITNESS = (
    "To tell which, look at the witness lines: broken between shaft and hub, the shaft slipped; between body "
    "and bracket, the body turned; whole, it was re-seated or the reference moved."
)
"""What tells a slipped shaft from a turned body; both give the same reading (common practice, no source)."""


def said_in_diary(noted: DiaryLine | None) -> str:
    """The line of the diary that may explain a shift, as a further sentence."""
    return f" The diary says of {noted.date}: {noted.text}." if noted else ""


def times(ratio: float) -> str:
    """How many times as a reader wants it: two digits below ten, whole above. [1]"""
    return f"{ratio:.1f}" if ratio < 9.95 else f"{ratio:.0f}"


def _slope_shifted(axis: Axis, shift: Shift | None) -> list[Finding]:
    """A slope that changed since the last calibration, by more than the uncertainty: no slip does that."""
    if shift is None:
        return []
    size, limit = (share * shift.reach for share in (abs(shift.slope), shift.slope_95))
    severity = shift_severity(size, limit, axis.permissible)
    if severity is None or size < WORTH_A_WORD * axis.permissible:
        return []
    worth = show(size, axis.unit, digits=2)
    finding = Finding(
        key="slope-shift",
        severity=severity,
        axis=axis.name,
        link="calibration",
        text=f"Against {shift.last} the slope changed by {100.0 * abs(shift.slope):.2g} %, "
        f"{times(shift.slope_times)} times its uncertainty and worth {worth} at the ends: no slip does that.",
        remedy="Look for another supply, load, gear or track, and for a reference with another scale.",
        source="practice",
        measured=100.0 * abs(shift.slope),
        limit=100.0 * shift.slope_95,
        unit="%",
    )
    return [finding]


def shift_severity(size: float, combined_95: float, permissible: float) -> Severity | None:
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
