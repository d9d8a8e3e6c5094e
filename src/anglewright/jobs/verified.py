"""The result of a verification: the answer, why, each place with its error, what to do now."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from anglewright.calibration.diary import DiaryLine
from anglewright.calibration.pairing import places
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.verdict import COVERED
from anglewright.calibration.verification import BOTH, Checked, Outcome, Verification
from anglewright.findings import Finding, Severity
from anglewright.jobs.calibratedjson import sheet_json
from anglewright.jobs.comparing import CAUSES, WITNESS, said_in_diary, shift_severity, times
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.judging import Judgement
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.jobs.teeth import jumped_teeth
from anglewright.links.fields import ONE_SIDED
from anglewright.quantities.showing import show
from anglewright.review.cautions import CALIBRATING
from anglewright.rig import Axis
from anglewright.tables.sheet import Sheet

LEAST_PLACES = 3  # of a verification (common practice, no source) [1]
RULE = (
    "Rule: pass where |error| + U is within the permissible error at every place and side; fail where "
    "|error| - V is beyond it at one of them or on a mean; else it cannot tell. U holds, at 95 %, the "
    "reference and one reading; V is the same made surer for the number of checks, so that together they "
    "fail a good axis in 5 % at most (JCGM 106, ISO 14253-1: a guard band)."
)
SIDES = {1: "going up", -1: "coming down", 0: "side unknown", BOTH: "all"}
_WORDS = {Outcome.PASS: "passes", Outcome.FAIL: "fails", Outcome.CANNOT_TELL: "cannot be told"}
_WORDS_OF_MANY = {Outcome.PASS: "pass", Outcome.FAIL: "fail", Outcome.CANNOT_TELL: "cannot be told"}
_SIGNS = {Outcome.PASS: "within", Outcome.FAIL: "BEYOND", Outcome.CANNOT_TELL: "cannot tell"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """How far the zero moved since a record, its uncertainty at 95 %, and what the diary says. [rad or m]"""

    record: str
    far: float
    far_95: float
    noted: DiaryLine | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class VerifyResult(Shown):
    """What was checked against which points, and the answer."""

    axis: Axis
    machine: str
    sheet: Sheet
    points: tuple[CalibrationPoint, ...]
    verification: Verification
    moved: Moved | None
    record: CalibrationRecord | None
    judged: Judgement | None
    diary: Path | None = None

    @property
    def outcome(self) -> Outcome:
        """The answer: by the rule, and a pass only where nothing keeps the points from telling."""
        found = self.verification.outcome
        return Outcome.CANNOT_TELL if found is Outcome.PASS and self.doubts else found

    @property
    def doubts(self) -> tuple[str, ...]:
        """What keeps the points from showing that it is good enough, each a sentence with its remedy."""
        return tuple(_doubts(self))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """A zero that moved since the record."""
        return () if self.moved is None else tuple(_shifted(self.axis, self.moved))

    @property
    def what(self) -> str:
        """What was checked."""
        if self.record is None:
            return "the constants of the code"
        return f"{'zero' if self.record.kind == 'zero' else 'calibration'} {self.record.name}"

    @property
    def headline(self) -> str:
        """The answer and its reason."""
        words = _WORDS if self.record else _WORDS_OF_MANY
        answer = f"{self.axis.name}: {self.what} {words[self.outcome]}."
        return " ".join(part for part in (answer, self._because, self._remedy) if part)

    @property
    def summary(self) -> str:
        """What must be on and off while it is read."""
        return CALIBRATING

    @property
    def _because(self) -> str:
        worst, unit = self.verification.worst, self.axis.unit
        error, u_95 = show(abs(worst.error), unit, digits=3), show(worst.uncertainty_95, unit, digits=2)
        side = "" if not worst.error else " too high" if worst.error > 0.0 else " too low"
        need = show(self.axis.permissible, unit, digits=3)
        return f"{_where(worst, self.axis)} it reads {error}{side} (U ±{u_95}), the need is ±{need}."

    @property
    def _remedy(self) -> str:
        if self.verification.outcome is Outcome.CANNOT_TELL:
            return _to_tell(self.verification, self.axis)
        if self.outcome is Outcome.CANNOT_TELL:
            return self.doubts[0]
        if self.outcome is Outcome.PASS:
            return ""
        mistake = self.judged.mistake if self.judged else ""
        return mistake or _apart(self.verification, self.axis) or _tilted(self.verification) or _AGAIN

    @property
    def exit_code(self) -> int:
        """0 where it passes; 1 where it fails or cannot be told, or the zero moved too far. [1]"""
        stops = any(finding.severity is Severity.STOP for finding in self.findings)
        return 0 if self.outcome is Outcome.PASS and not stops else 1

    def tables(self) -> tuple[Table, ...]:
        """Each place and side, the means, and findings."""
        extra = (findings_table(self.findings, title="Findings of the check"),) if self.findings else ()
        return (self._places(), *extra)

    def _places(self) -> Table:
        found = self.verification
        rows = tuple(_row(each, self.axis) for each in (*found.checked, *found.pooled))
        names = ("place", "side", "readings", "error", "U 95 %", "V", "held against the need")
        return Table(title=self.headline, columns=names, rows=rows, right=names[2:6], note=RULE)

    def as_json(self) -> Json:
        """What was checked, each place, the means, the answer."""
        unit, found = self.axis.unit, self.verification
        return {
            "axis": self.axis.name,
            "unit": unit.name,
            "machine": self.machine,
            "record": self.record.name if self.record else None,
            "code_line": _line_json(self.judged) if self.judged else None,
            "permissible_error": unit.difference_from_si(found.permissible),
            "n_points": len(self.points),
            "places": [_checked_json(each, self.axis) for each in found.checked],
            "pooled": [_checked_json(each, self.axis) for each in found.pooled],
            "rule": RULE,
            "because": self._because,
            "doubts": list(self.doubts),
            "findings": [finding_json(finding) for finding in self.findings],
            **sheet_json(self.sheet),
            "diary": str(self.diary) if self.diary else None,
            "verdict": self.outcome.value,
        }


_AGAIN = "Find out what moved, zero it at a mark, or calibrate it again; then verify."


def _apart(found: Verification, axis: Axis) -> str:
    """What to do where it is play that keeps it from passing: up and down lie too far apart for any line."""
    means = {each.side: each.error for each in found.pooled if each.side in (1, -1)}
    if len(means) < 2 or abs(means[1] - means[-1]) <= found.permissible:
        return ""
    gap = show(abs(means[1] - means[-1]), axis.unit, digits=3)
    return f"Up and down differ by {gap}: take the play out; no new zero or line cures it."


def _tilted(found: Verification) -> str:
    """What to do where the slope is another, so that no new zero helps."""
    if not found.tilt:
        return ""
    off = f"{100.0 * abs(found.tilt):.2g} % too {'steep' if found.tilt > 0.0 else 'flat'}"
    return (
        f"The error grows with the position, {off}: another sensor, gear, supply or pull, or another scale "
        "of the reference. No new zero cures it: calibrate again."
    )


def _line_json(judged: Judgement) -> Json:
    found = judged.as_json()
    return {key: found[key] for key in ("slope", "offset", "unit", "per", "likely_mistake")}


def _where(checked: Checked, axis: Axis) -> str:
    """A place and side, or a mean, at the start of a sentence."""
    if checked.pooled:
        return "On the mean of all" if checked.side == BOTH else f"On the mean {SIDES[checked.side]}"
    side = "" if checked.side == 0 else f" {SIDES[checked.side]}"
    return f"At {show(checked.at, axis.unit, digits=4)}{side}"


def _row(checked: Checked, axis: Axis) -> tuple[str, ...]:
    return (
        "mean" if checked.pooled else show(checked.at, axis.unit, digits=5),
        SIDES[checked.side],
        f"{checked.readings}",
        show(checked.error, axis.unit, digits=3),
        f"±{show(checked.uncertainty_95, axis.unit, digits=2)}",
        f"±{show(checked.guard, axis.unit, digits=2)}",
        _SIGNS[checked.outcome(axis.permissible)],
    )


def _checked_json(checked: Checked, axis: Axis) -> Json:
    unit = axis.unit
    return {
        "position": unit.from_si(checked.at),
        "side": SIDES[checked.side],
        "readings": checked.readings,
        "error": unit.difference_from_si(checked.error),
        "uncertainty_95": unit.difference_from_si(checked.uncertainty_95),
        "uncertainty_to_fail": unit.difference_from_si(checked.guard),
        "verdict": checked.outcome(axis.permissible).value,
    }


def _to_tell(found: Verification, axis: Axis) -> str:
    """What would let the points tell."""
    widest = max(each.uncertainty_95 for each in found.checked)
    if widest >= found.permissible:
        u_95 = show(widest, axis.unit, digits=2)
        return f"Reference and reading alone are uncertain by ±{u_95}: take a better reference."
    return "That is too near the limit to tell. Take a better reference, or zero it and verify again."


def _doubts(result: VerifyResult) -> Iterator[str]:
    axis, points, moved = result.axis, result.points, result.moved
    reference = [point.reference for point in points]
    found = len(places(points))
    if found < LEAST_PLACES:
        yield f"{counted(found, 'place')} cannot show it: take {LEAST_PLACES} or more, both ends among them."
    elif float(np.ptp(reference)) < COVERED * (axis.motion.high - axis.motion.low):
        ends = " to ".join(show(end, axis.unit) for end in (min(reference), max(reference)))
        yield f"The places run from {ends}, less than {COVERED:.0%} of the range: take both ends too."
    if _one_side_only(axis, points):
        yield "All places were reached from one side, and the axis has play: come back down as well."
    if moved is not None and moved.noted is None and _severity(axis, moved) is Severity.STOP:
        far = show(abs(moved.far), axis.unit, digits=2)
        yield f"The zero moved by {far} since {moved.record}, and nothing in the diary says why."


def _one_side_only(axis: Axis, points: Sequence[CalibrationPoint]) -> bool:
    """Whether play was not seen although it may matter in use."""
    play = any(n.cured_by == ONE_SIDED and n.variate.limits[1] > 0.0 for n in axis.numbers)
    used = axis.motion.settles != "one-sided" or axis.plan.both_sides
    return play and used and len({point.approach for point in points} - {0}) < 2


def _severity(axis: Axis, moved: Moved) -> Severity | None:
    return shift_severity(abs(moved.far), moved.far_95, axis.permissible)


def _shifted(axis: Axis, moved: Moved) -> Iterator[Finding]:
    severity = _severity(axis, moved)
    if severity is None:
        return
    if severity is Severity.STOP and moved.noted is not None:
        severity = Severity.CAUTION
    size = show(abs(moved.far), axis.unit, digits=2)
    side = "high" if moved.far > 0.0 else "low"
    teeth = jumped_teeth(axis, moved.far, moved_95=moved.far_95)
    ratio = times(abs(moved.far) / moved.far_95)
    yield Finding(
        key="shift",
        severity=severity,
        axis=axis.name,
        link="calibration",
        text=f"Since {moved.record} the zero moved by {size}, {ratio} times its uncertainty (it "
        f"reads too {side}): {CAUSES}.{teeth}{said_in_diary(moved.noted)}",
        remedy=WITNESS,
        source="practice",
        measured=axis.unit.difference_from_si(abs(moved.far)),
        limit=axis.unit.difference_from_si(moved.far_95),
        unit=axis.unit.name,
    )
