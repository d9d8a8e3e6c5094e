"""Job: what a calibration found goes back into the rig file, as far as the user agrees."""

import os
import stat
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from anglewright.errors import DataError, Problem
from anglewright.findings import Severity
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.learned import Learned, learned_by
from anglewright.jobs.measured import MEASURED, hold_changed, keep_measured, with_old
from anglewright.rig import Rig

OPTION = "--learn"


def hold_unwritable(rig: Rig) -> None:
    """Refuse before any work what could not be written after it.

    Raises
    ------
    UsageError
        The rig is not as its file has it.
    DataError
        The file is protected against writing.
    """
    hold_changed(rig, option=OPTION)
    path = Path(rig.source)
    if path.exists() and not (path.stat().st_mode & stat.S_IWUSR and os.access(path, os.W_OK)):
        remedy = f"Take the protection off, or leave {OPTION} out."
        raise DataError(Problem(str(path), "it is protected against writing", "", remedy))


def learn(
    rig: Rig, result: CalibrateResult, *, date: str, agreed: Callable[[str], bool] | None = None
) -> CalibrateResult:
    """Write what a calibration tells of noise and play into the file that the rig came from.

    Parameters
    ----------
    rig : Rig
        The machine, as its file has it.
    result : CalibrateResult
        Its calibration. Where it was not kept nothing is written either.
    date : str
        Day of the calibration, ``2026-05-12``.
    agreed : callable, optional
        Asked for each number, with a question; without it every number is agreed to.

    Returns
    -------
    CalibrateResult
        The same with what was learned.

    Raises
    ------
    UsageError
        The rig is not as its file has it.
    RigError
        The file would not be a rig any more; it stays as it was.
    DataError
        The file cannot be read or written.

    Notes
    -----
    The record stays in use: it does not rest on noise and play. The slope is only told, because the record
    holds it already.

    References
    ----------
    derived

    Examples
    --------
    The rover's bench agrees with its file, which says 3 deg of play:

    >>> from anglewright.jobs.calibrating import calibrate
    >>> from anglewright.jobs.opening import open_rig
    >>> rig, day = open_rig("examples/rover/rig.toml"), "2026-05-12"
    >>> bench = "examples/rover/shoulder-bench.csv"
    >>> trial = calibrate(rig, "shoulder", file=bench, date=day, keep=False)
    >>> [(each.measured.name, each.why_not) for each in learn(rig, trial, date=day).learned][1]
    ('coupling.play', 'the file says the same within its limits')
    """
    hold_unwritable(rig)
    found = _held(result, _with_old(rig, result, date))
    asked = tuple(each if each.why_not else _asked(each, agreed) for each in found)
    chosen = tuple(each.measured for each in asked if not each.why_not)
    if chosen:
        keep_measured(rig, result.axis, chosen, option=OPTION)
    return replace(result, learned=tuple(replace(each, written=not each.why_not) for each in asked))


def _with_old(rig: Rig, result: CalibrateResult, date: str) -> tuple[Learned, ...]:
    """What was found, beside what the file says, with the remark that is to stand behind it."""
    record = f", record {result.record.name}" if result.record else ""
    found = []
    for each in learned_by(result.axis, result.calibration):
        if not each.measured.old:
            (old,) = with_old(rig, result.axis, (each.measured,))
            each = replace(each, measured=replace(old, remark=f"{MEASURED}{date}{record}; it was {old.old}"))
        found.append(each)
    return tuple(found)


def _held(result: CalibrateResult, found: tuple[Learned, ...]) -> tuple[Learned, ...]:
    """The same, nothing for writing where the points are not to be trusted or this is a trial."""
    stops = [each.key for each in result.findings if each.severity is Severity.STOP and each.key != "play"]
    why = f"the calibration stops at '{stops[0]}': see to that first" if stops else ""
    if not why and result.record is None:
        why = "nothing is written in a trial"
    return tuple(replace(each, why_not=each.why_not or why) for each in found)


def _asked(each: Learned, agreed: Callable[[str], bool] | None) -> Learned:
    if agreed is None or agreed(each.question):
        return each
    return replace(each, why_not="not agreed to")
