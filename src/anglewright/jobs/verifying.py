"""Job: hold the line in use against fresh points: pass, fail, or cannot tell, by a stated rule."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from anglewright.budget.band import reading_noise
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.calibration.diary import DiaryLine, explains_a_shift
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import RecordError
from anglewright.calibration.recordshift import KnownLine
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verification import Outcome, Usual, Verification, verify_points
from anglewright.errors import DataError, Problem
from anglewright.jobs.benchpoints import bench_points, daily_changes, in_places, left_by_steps, reference_of
from anglewright.jobs.calibrating import Typed, day_named, sheet_as_typed
from anglewright.jobs.judging import judge
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.noting import newest_by
from anglewright.jobs.opening import the_axis
from anglewright.jobs.sheetfile import SheetFile, sheet_in
from anglewright.jobs.verified import Moved, VerifyResult
from anglewright.links.code import CodeLine
from anglewright.rig import Axis, Rig
from anglewright.rigfile.diary import read_diary, write_line
from anglewright.rigfile.records import own_records, record_in_use


@dataclass(frozen=True, slots=True, kw_only=True)
class Verifying:
    """What is verified, and whether it is written down.

    `record` names a record other than the one in use; `code_line` gives the constants of the team's own code
    instead; with `keep` False nothing is written into the diary.
    """

    record: str | None = None
    code_line: str | None = None
    keep: bool = True


USUAL = Verifying()


def verify(
    rig: Rig,
    axis: str | None,
    *,
    file: str | Path | SheetFile | None = None,
    typed: Typed = (),
    date: str,
    what: Verifying = USUAL,
) -> VerifyResult:
    """Check the record in use, or constants that the code already has, against fresh points.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    file : str, Path or SheetFile, optional
        File with a reference and a raw column; see `docs/tables.md` for what can be read.
    typed : sequence of (float, float, str)
        Readings instead of a file: reference in the axis's unit, raw, ``up``, ``down`` or nothing.
    date : str
        Day of the check, ``2026-05-12``.
    what : Verifying
        Another record or constants to check, and whether the diary is written.

    Returns
    -------
    VerifyResult
        Each place with its error and uncertainty, the answer, what to do.

    Raises
    ------
    UsageError
        No such axis or record, nothing to check, or the constants cannot be read.
    DataError
        The readings cannot be used, or a record or the diary is damaged.

    References
    ----------
    jcgm106, iso14253

    Examples
    --------
    Constants of a rover's code, against the readings of its bench:

    >>> from anglewright.jobs.opening import open_rig
    >>> result = verify(
    ...     open_rig("examples/rover/rig.toml"),
    ...     "shoulder",
    ...     file="examples/rover/shoulder-bench.csv",
    ...     date="2026-05-12",
    ...     what=Verifying(code_line="0.0415, -40.0"),
    ... )
    >>> result.outcome.value
    'fail'
    """
    chosen, day = the_axis(rig, axis), day_named(date)
    if file is None and not typed:
        remedy = "Name a file, or type readings with --typed."
        raise DataError(Problem("verify", "there are no readings", "", remedy))
    sheet = sheet_as_typed(chosen, typed) if file is None else sheet_in(chosen, file)
    judged = None if what.code_line is None else judge(chosen, what.code_line)
    in_use = None if judged else line_in_use(rig, chosen, state=State.CALIBRATED.value, record=what.record)
    line = judged.line if judged else _line(in_use)
    points, sheet = in_places(bench_points(chosen, sheet)[0], sheet)
    reference = reference_of(chosen, named=sheet.named)
    verification = _verified(chosen, points, line, reference=reference, visits=_visits(in_use))
    moved = None if in_use is None else _moved(rig, in_use, points, reference)
    result = VerifyResult(
        axis=chosen,
        machine=rig.machine,
        sheet=sheet,
        points=points,
        verification=verification,
        moved=moved,
        record=in_use.record if in_use else None,
        judged=judged,
    )
    return _noted(rig, result, day) if what.keep else result


def _line(in_use: LineInUse | None) -> CodeLine:
    assert in_use is not None  # there is one wherever no constants are judged
    return in_use.line


def _visits(in_use: LineInUse | None) -> float:
    """What the calibration in use found that another visit of a place shows; 0 where it does not say."""
    known = None if in_use is None or in_use.record is None else in_use.record.error
    return 0.0 if known is None else known.visits


def _verified(
    axis: Axis,
    points: Sequence[CalibrationPoint],
    line: CodeLine,
    *,
    reference: ReferenceUncertainty,
    visits: float = 0.0,
) -> Verification:
    """The errors of a line at the points against the permissible error."""
    raw = np.array([point.raw for point in points])
    at = np.array([point.reference for point in points])
    noise = max(reading_noise(axis, float(q)) for q in (at.min(), at.max()))
    return verify_points(
        points,
        np.asarray(axis.apart(line.forward(raw) - at)),
        permissible=axis.permissible,
        reference=reference,
        count=abs(line.slope),
        usual=Usual(noise=noise, visits=visits),
    )


def _moved(
    rig: Rig, in_use: LineInUse, points: Sequence[CalibrationPoint], reference: ReferenceUncertainty
) -> Moved | None:
    """How far the zero has moved since the record, beside what its line, this day and these points may do."""
    record, axis = in_use.record, in_use.axis
    if record is None:
        return None
    known = KnownLine.of(record)
    now = RecordError(dof=math.inf, structure=0.0, structure_dof=0, reference=reference)
    same = known.error is not None and known.error.same_reference(now)
    own = replace(reference, shared=0.0, scale=0.0) if same else reference
    own = own.with_places(in_use.line.slope * left_by_steps(axis))
    mean = _verified(axis, points, in_use.line, reference=own, visits=_visits(in_use)).pooled[0]
    code = math.fsum(point.raw for point in points) / len(points)
    changes = daily_changes(axis, budget_axis(axis).of(State.CALIBRATED))
    return Moved(
        record=record.name,
        far=mean.error,
        far_95=math.hypot(mean.uncertainty_95, known.zero_95(code, changes=changes, same=same)),
        noted=explains_a_shift(read_diary(rig, axis), record),
    )


def _noted(rig: Rig, result: VerifyResult, day: str) -> VerifyResult:
    """The same with a line in the diary, where it was the record in use that was checked."""
    axis, record = result.axis, result.record
    in_use = record_in_use(rig, axis).record
    if record is None or in_use is None or in_use.name != record.name or not rig.source:
        return result
    own = own_records(rig, axis)
    passed = result.outcome is Outcome.PASS
    line = DiaryLine(
        date=day,
        text=f"{record.name} verified at {len(result.points)} points: {result.outcome.value}",
        machine=rig.machine,
        done="verify" if passed else "",
        after=newest_by(own, day),
    )
    return replace(result, diary=write_line(rig, axis, line))
