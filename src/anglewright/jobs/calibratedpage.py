"""A calibration that was just made as a page: the answer, what to do now, its pictures."""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from anglewright.calibration.result import PLACES
from anglewright.calibration.result import Calibration as Measured
from anglewright.calibration.verdict import Verdict
from anglewright.errors import DataError, Problem
from anglewright.handover.cautions import STANDING_CAUTIONS, fault_action
from anglewright.jobs.calibrated import CalibrateResult, points_seen
from anglewright.jobs.calibratedjson import SIDES
from anglewright.jobs.picturing import (
    NO_LOOP,
    drawn_curve,
    drawn_history,
    drawn_loop,
    drawn_points,
    seen,
)
from anglewright.jobs.reporting import SIGN
from anglewright.jobs.sheet import headline_of
from anglewright.quantities.showing import show
from anglewright.report.calibrationpage import CalibrationPage, PointRow, render_calibration_page
from anglewright.report.document import Calibration, Extent, Fact, OnTrial
from anglewright.report.document import Verdict as Word
from anglewright.rig import Axis, Rig, fingerprint
from anglewright.rigfile.storing import hold_foreign, write_whole

_WORDS: dict[str, Word] = {"meets": "meets", "fails": "fails", "cannot tell": "cannot tell"}


def free_page(file: str | Path) -> Path:
    """A file that a page may be written to.

    Raises
    ------
    DataError
        It is a folder, or a file that is no page.
    """
    path = Path(file)
    if path.is_dir():
        raise DataError(Problem(str(path), "it is a folder", "a file belongs here", "Name a file, pan.html."))
    hold_foreign(path, SIGN)
    return path


def with_page(rig: Rig, result: CalibrateResult, file: str | Path, *, date: str) -> CalibrateResult:
    """A calibration with its page written.

    Parameters
    ----------
    rig : Rig
        The machine.
    result : CalibrateResult
        The calibration.
    file : str or Path
        The file to write.
    date : str
        Day of the calibration.

    Returns
    -------
    CalibrateResult
        The same, which knows its page.

    Raises
    ------
    DataError
        The file cannot be written, or there is one that is no page.
    """
    path = free_page(file)
    write_whole(path, render_calibration_page(calibration_page(rig, result, date=date)))
    return replace(result, html=path)


def calibration_page(rig: Rig, result: CalibrateResult, *, date: str) -> CalibrationPage:
    """What the page shows, before it is drawn."""
    axis, found, unit = result.axis, result.calibration, result.axis.unit
    low, high = axis.motion.low, axis.motion.high
    return CalibrationPage(
        rig_name=rig.name,
        machine=rig.machine,
        source_file=Path(rig.source).name,
        simulated=rig.simulated,
        extent=Extent(
            name=axis.name,
            unit=unit.name,
            permissible=unit.difference_from_si(axis.permissible),
            low=unit.from_si(low),
            high=unit.from_si(high),
        ),
        verdict=_WORDS[found.verdict.value],
        headline=_headline(axis, found),
        lead=found.reason,
        permissible_text=f"±{show(axis.permissible, unit)}",
        calibration=_drawn(rig, result, date),
        actions=result.do_now,
        findings=result.findings,
        rows=tuple(_rows(result)),
        cautions=(fault_action(axis.when_unpowered.value), *STANDING_CAUTIONS),
        origin=(
            Fact(name="Readings", value=result.sheet.recording.source),
            Fact(name="Kept", value=result.kept),
            Fact(name="Chain", value=fingerprint(axis), note="fingerprint of its parts"),
        ),
    )


def _headline(axis: Axis, found: Measured) -> str:
    """The answer; no half-width where a single point departs by more than it says."""
    if found.verdict is Verdict.FAILS and float(np.max(np.abs(found.fit.rest))) > found.half_width_95:
        name = axis.name[:1].upper() + axis.name[1:]
        return f"{name} does not keep the ±{show(axis.permissible, axis.unit, digits=3)} it needs"
    return headline_of(axis, found.half_width_95, found.verdict.value, calibrated=True)


def _drawn(rig: Rig, result: CalibrateResult, date: str) -> Calibration:
    axis, found = result.axis, result.calibration
    line = found.line(rotary=axis.motion.rotary)
    figures = result.tables()[0].rows
    return Calibration(
        record=result.record.name if result.record else "not kept",
        date_text=date,
        headline=result.headline,
        points=drawn_points(axis, line, found.points),
        facts=tuple(Fact(name=_begun(name), value=value) for name, value in figures),
        curve=drawn_curve(axis, line, found.points),
        often=_often(result),
        loop=drawn_loop(axis, found.points),
        loop_why=NO_LOOP,
        on_trial=tuple(_on_trial(result)),
        because=f"Why {found.model}: {found.fit.choice.because}.",
        history=drawn_history(rig, axis),
    )


def _begun(name: str) -> str:
    """A name that begins with a capital, but for a symbol such as c0."""
    return name if len(name) < 3 else name[:1].upper() + name[1:]


def _often(result: CalibrateResult) -> tuple[tuple[float, float], ...]:
    """Half-width of one reading along the curve, as far as the points go. [unit of the axis]"""
    unit, found = result.axis.unit, result.calibration
    codes = np.linspace(float(np.min(found.fit.raw)), float(np.max(found.fit.raw)), PLACES)
    at = found.fit.fitted.predict(codes)
    halves = [found.fit.error.at(float(code)).half_width_95 for code in codes]
    pairs = sorted(zip(at.tolist(), halves, strict=True))
    return tuple((unit.from_si(q), unit.difference_from_si(half)) for q, half in pairs)


def _on_trial(result: CalibrateResult) -> Iterator[OnTrial]:
    """The models, each with what it misses or why it was not tried."""
    choice, unit = result.calibration.fit.choice, result.axis.unit
    for each in choice.candidates:
        known = each.tried and math.isfinite(each.error)
        yield OnTrial(
            name=each.model.name,
            parameters=each.count,
            missed=unit.difference_from_si(each.error) if known else None,
            missed_text=show(each.error, unit, digits=2) if known else each.why,
            used=each is choice.chosen,
        )


def _rows(result: CalibrateResult) -> Iterator[PointRow]:
    axis = result.axis
    for each in points_seen(result):
        yield PointRow(
            number=str(each.number),
            reference=show(each.point.reference, axis.unit, digits=5),
            came=SIDES[each.point.approach],
            code=f"{each.point.raw:.2f}",
            readings=str(each.point.readings),
            residual=show(seen(each.off, axis), axis.unit, digits=2),
            said=each.said,
        )
