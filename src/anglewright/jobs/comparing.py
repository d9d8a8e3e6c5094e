"""What a new calibration shows beside the last one, the budget and the need: findings."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from anglewright.budget.totals import StateBudget
from anglewright.calibration.diary import DiaryLine
from anglewright.calibration.line import LineFit, fit_line
from anglewright.calibration.record import CalibrationRecord, RecordError
from anglewright.calibration.recordshift import KnownLine, slope_shift_95, zero_shift_95
from anglewright.calibration.result import Calibration
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verdict import Verdict
from anglewright.findings import Finding, Severity
from anglewright.jobs.appraising import (
    Said,
    budget_findings,
    finding_in_unit,
    outlier_findings,
    play_findings,
    slope_findings,
    visits_findings,
)
from anglewright.jobs.benchpoints import reference_of
from anglewright.jobs.suspected import CHECK_KEYS
from anglewright.jobs.turnwaves import SHOWN_BEFORE, harmonics_findings
from anglewright.quantities.showing import show
from anglewright.rig import Axis

SHIFT_NOTE, SHIFT_CAUTION = 1.0, 2.0  # of the combined half-width (common practice, no source) [1]
SHIFT_STOP = 0.5  # of the permissible error (common practice, no source) [1]

WORTH_A_WORD = 0.05  # of the permissible error, a change of slope at the ends of the range [1]
PLACES = 33  # over the range, at which two curves are compared [1]
STILL = 1e-9  # of the range: less is what the arithmetic of the computer leaves [1]

FINDING_KEYS: Mapping[str, str] = {
    "play": "free motion at the axis as the calibration found it, against the permissible error",
    "visits": "the same place reads otherwise at another visit, beyond noise, play and the reference",
    "outlier": "a point that lies far off the rest",
    "odd-reading": "one reading far off the others of its point",
    "shift": "how far the zero moved since the last calibration, beside its uncertainty",
    "slope-shift": "how far the slope changed since the last calibration, beside its uncertainty",
    "worse-than-budget": "the calibration reaches less than the budget foresaw",
    "harmonics": "waves once and twice in a turn of the sensor: how high, how sure, likely causes",
    "slope": "the slope that was measured against that of the data sheet, and the factor that it is off by",
    **CHECK_KEYS,
}
"""Every key that a finding of a calibration can have, with its meaning in one line."""

EXPLAINS = (
    *("unsigned", "swapped", "averaged-wrap", "dead-gap", "fold", "end-zones", "end-code", "clipped"),
    *("run-out", "dead-rows", "taper", "two-boards", "rounded-scale", "backwards", "wrap-inside"),
)
"""Faults of the points that explain whatever outliers, slope and spread the curve shows."""

EXPLAINED_BY_WAVES = (*SHOWN_BEFORE, "bent-top")
"""Findings of the points alone that waves of the sensor's turn take the place of."""

ODD = ("step", "odd-point")

UNSOUND = ("step", "two-boards")
"""Faults beyond which no single curve is true of all points, however narrow its interval looks."""


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
    last: CalibrationRecord | None, new: Calibration, axis: Axis, *, changes: float = 0.0
) -> Shift | None:
    """How far the code's answer moves when the last line gives way to the new one; None without a last one.

    Parameters
    ----------
    last : CalibrationRecord or None
        The record in use so far.
    new : Calibration
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
    q = axis.positions(PLACES)
    moved = np.asarray(last.at(new.line().backward(q))) - q
    moved[np.abs(moved) < STILL * np.ptp(q)] = 0.0
    worst = int(np.argmax(np.abs(moved)))
    between = _between(last, new)
    zero, slope = between.offset, between.slope / new.slope
    before, after = KnownLine.of(last), _known(new, reference_of(axis))
    code = float(np.mean([point.raw for point in new.points]))
    zero_95 = zero_shift_95(before, after, code=code, changes=changes)
    slope_95 = slope_shift_95(before, after) / abs(new.slope)
    return Shift(
        last=last.name,
        largest=float(moved[worst]),
        at=float(q[worst]),
        combined_95=float(np.hypot(new.half_width_95, last.half_width_95)),
        zero=zero if abs(zero) >= STILL * np.ptp(q) else 0.0,
        zero_95=max(zero_95, STILL * float(np.ptp(q))),
        slope=slope if abs(slope) >= STILL else 0.0,
        slope_95=max(slope_95, STILL),
        reach=float(np.ptp(q)) / 2.0,
    )


def _between(last: CalibrationRecord, new: Calibration) -> LineFit:
    """Old answer less new one at the new points, as a line about their middle. [m or rad, per count]

    Both curves may be bent: what is compared is the line that each stands for at the same codes.
    """
    raw = np.array([point.raw for point in new.points])
    return fit_line(raw - np.mean(raw), np.asarray(last.at(raw)) - np.asarray(new.line().forward(raw)))


def error_of(calibration: Calibration, reference: ReferenceUncertainty) -> RecordError:
    """What stands behind the interval of a calibration, as its record keeps it."""
    known = calibration.fit.error
    return RecordError(
        dof=known.lack.dof,
        structure=known.lack.structure,
        structure_dof=known.structure_dof,
        reference=reference,
        visits=known.visits,
    )


def _known(new: Calibration, reference: ReferenceUncertainty) -> KnownLine:
    """The line of a calibration, before there is a record of it."""
    error = error_of(new, reference)
    return KnownLine(
        offset=new.offset, slope=new.slope, covariance=new.covariance, dof=error.dof, error=error
    )


def findings_of(
    axis: Axis,
    calibration: Calibration,
    *,
    shift: Shift | None,
    planned: StateBudget,
    noted: DiaryLine | None = None,
    before: tuple[Finding, ...] = (),
) -> tuple[Finding, ...]:
    """Everything there is to say about a calibration, the worst first.

    `noted` may explain a shift; `before` is what the points showed before any curve was drawn.
    """
    if any(finding.key in EXPLAINS for finding in before):
        found = [*before, *play_findings(axis, calibration), *_shifted(axis, shift, noted)]
        return tuple(sorted(found, key=_badness))
    odd = any(finding.key in ODD for finding in before)
    waves = [] if odd else harmonics_findings(axis, calibration, before=before)
    found = [
        *(finding for finding in before if not (waves and finding.key in EXPLAINED_BY_WAVES)),
        *play_findings(axis, calibration),
        *waves,
        *([] if odd else visits_findings(axis, calibration)),
        *([] if odd else outlier_findings(axis, calibration)),
        *_shifted(axis, shift, noted),
        *_slope_shifted(axis, shift, noted),
        *budget_findings(axis, calibration, planned),
        *slope_findings(axis, calibration),
    ]
    return tuple(sorted(found, key=_badness))


def _badness(finding: Finding) -> int:
    return list(Severity).index(finding.severity)


def held_back(calibration: Calibration, findings: Sequence[Finding]) -> Calibration:
    """A calibration that is not said to meet the need while a finding stops the work, or no curve is true."""
    stops = [each for each in findings if each.severity is Severity.STOP or _unsound(each)]
    if calibration.verdict is not Verdict.MEETS or not stops:
        return calibration
    return replace(calibration, verdict=Verdict.CANNOT_TELL, reason=f"{stops[0].text} {stops[0].remedy}")


def _unsound(finding: Finding) -> bool:
    return finding.key in UNSOUND and finding.severity is not Severity.NOTE


def _shifted(axis: Axis, shift: Shift | None, noted: DiaryLine | None) -> list[Finding]:
    """A zero that moved since the last calibration, by more than the uncertainty."""
    severity = None if shift is None else shift_severity(abs(shift.zero), shift.zero_95, axis.permissible)
    if shift is None or severity is None:
        return []
    severity = _explained(severity, noted)
    moved = show(abs(shift.zero), axis.unit, digits=2)
    side = "high" if shift.zero > 0.0 else "low"
    said = Said(
        key="shift",
        text=f"Against {shift.last} the zero moved by {moved}, {times(shift.zero_times)} times its "
        f"uncertainty (the old line now reads too {side}): {CAUSES}.{said_in_diary(noted)}",
        remedy=WITNESS,
    )
    return [finding_in_unit(axis, said, severity=severity, measured=abs(shift.zero), limit=shift.zero_95)]


def _explained(severity: Severity, noted: DiaryLine | None) -> Severity:
    """A change that the diary explains stops nothing."""
    return Severity.CAUTION if noted is not None and severity is Severity.STOP else severity


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


def _slope_shifted(axis: Axis, shift: Shift | None, noted: DiaryLine | None) -> list[Finding]:
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
        severity=_explained(severity, noted),
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
