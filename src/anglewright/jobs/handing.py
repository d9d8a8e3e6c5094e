"""Job: constants and code for the controller, with the vectors that prove it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from anglewright.angles import TURN
from anglewright.calibration.diary import due
from anglewright.errors import DataError, Problem
from anglewright.handover.cautions import fault_action
from anglewright.handover.identifiers import stems
from anglewright.handover.languages import emit
from anglewright.handover.plan import HandoverPlan, Provenance
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.links.wiring import Wiring
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm, Rig, at_mean, fingerprint, realise
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import own_records
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.version import VERSION

SIGN = "Anglewright"
"""Stands near the top of every file handed over: a file without it is not written over."""

LEAST_HOLD_OFF_MS = 20.0  # of the fault code (common practice, no source) [ms]
TIME_CONSTANTS = 3.0  # of pull and capacitor that a hold-off must outlast (common practice, no source) [1]


def plan_for(rig: Rig, in_use: LineInUse, *, beyond_points: bool = False) -> HandoverPlan:
    """What is handed over for the line in use, in the unit of the axis."""
    axis, unit = in_use.axis, in_use.axis.unit
    record, table = in_use.record, in_use.line.corrections
    plan = HandoverPlan(
        rig=f"{rig.name} (simulated)" if rig.simulated else rig.name,
        axis=axis.name,
        unit=unit.name,
        codes=axis.codes,
        slope=unit.difference_from_si(in_use.line.slope),
        offset=unit.from_si(in_use.line.offset),
        low_code=in_use.band.low_code,
        high_code=in_use.band.high_code,
        when_unpowered=axis.when_unpowered.value,
        fault_action=fault_action(axis.when_unpowered.value),
        hold_off_ms=_hold_off_ms(in_use),
        provenance=Provenance(
            state=in_use.state.value,
            record=record.name if record else None,
            based_on=record.based_on if record else "",
            date=record.date if record else "",
            chain_hash=fingerprint(axis),
            version=VERSION,
        ),
        half_width_95=unit.difference_from_si(in_use.half_width_95),
        cautions=(*_counts_only(axis), *_at_start(axis), *rig.notes),
        stem=stems(list(rig.axes))[axis.name],
        turn=unit.difference_from_si(TURN) if axis.motion.endless else None,
        turn_from=unit.from_si(axis.motion.low),
        corrections=None if table is None else table.times(1.0 / unit.size),
        domain=record.domain if record else None,
        beyond_points=beyond_points,
    )
    return replace(plan, cautions=(*_not_good_enough(in_use), *_where_calibrated(plan), *plan.cautions))


def _where_calibrated(plan: HandoverPlan) -> tuple[str, ...]:
    """A word where the calibration covers less than the valid band."""
    if plan.points is not None:
        return (
            f"Outside the calibrated codes, {plan.points.text}, no position is given, though the axis may "
            "get there. Then bring it back by hand, its power cut, its load supported, or calibrate there.",
        )
    if replace(plan, beyond_points=False).points is None:
        return ()
    return (
        "Asked for: a position is given outside the calibrated codes too. Nobody measured it "
        "there, and it may be off by more than the half-width says.",
    )


SHORT_OF_NEED = "Not good enough: "
"""Begins the first caution of a line that does not do what the axis needs."""

LEFT_UNDONE = "Not yet: "
"""Begins a caution about what the diary says was touched, and nothing was done about."""


def _warnings(plan: HandoverPlan) -> tuple[str, ...]:
    """The cautions that are shown beside the constants, before anybody uses them."""
    return tuple(each for each in plan.cautions if each.startswith((SHORT_OF_NEED, LEFT_UNDONE)))


def _told_undone(rig: Rig, in_use: LineInUse, plan: HandoverPlan) -> HandoverPlan:
    """A plan that says first what is due on the axis by its diary, where its line rests on a record."""
    if in_use.record is None:
        return plan
    left = due(read_diary(rig, in_use.axis), own_records(rig, in_use.axis))
    said = tuple(f"{LEFT_UNDONE}{each.sentence[:1].lower()}{each.sentence[1:]}" for each in left)
    return replace(plan, cautions=(*said, *plan.cautions))


def _not_good_enough(in_use: LineInUse) -> tuple[str, ...]:
    """The first thing to say where the line that is handed over does not do what the axis needs."""
    axis, record = in_use.axis, in_use.record
    verdict = record.verdict if record else ("meets" if in_use.budget.meets else "fails")
    if verdict == "meets":
        return ()
    good, need = (show(each, axis.unit, digits=3) for each in (in_use.half_width_95, axis.permissible))
    whose = f"calibration {record.name}" if record else f"the {in_use.basis}"
    said = "it could not be told whether that is met" if verdict == "cannot tell" else "that is not met"
    return (f"{SHORT_OF_NEED}by {whose} a reading is good to ±{good}, the need is ±{need}; {said}.",)


def _counts_only(axis: Axis) -> tuple[str, ...]:
    """A word of warning where the user's controller shows something else than counts."""
    if axis.raw is RawForm.COUNTS:
        return ()
    return (f"This code takes the counts of the converter, not {axis.raw.value}.",)


def _at_start(axis: Axis) -> tuple[str, ...]:
    """What must have happened after power-up before a code is a position."""
    said = []
    ready, frames = (getattr(axis.part("converter"), name, None) for name in ("ready_s", "good_frames"))
    if ready is not None and frames is not None:
        waits = f"{1e3 * ready.limits[1]:.4g} ms and {frames} good frames in a row"
        said.append(f"After each start no code is a position before {waits}.")
    if axis.needs_homing:
        home = f"the axis was homed at '{axis.clamped_at}', slowly, its load supported"
        said.append(f"After each start no code is a position until {home}.")
    return tuple(said)


def _hold_off_ms(in_use: LineInUse) -> float:
    """At least three time constants of the pull and the capacitor, which an opened wiper slides by."""
    wiring = next((link for link in realise(in_use.axis, at_mean).links if isinstance(link, Wiring)), None)
    if wiring is None:
        return LEAST_HOLD_OFF_MS
    down, up = float(wiring.pull_down_ohm), float(wiring.pull_up_ohm)
    pulls = [ohm for ohm in (down, up) if ohm != float("inf")]
    slide_ms = 1e3 * TIME_CONSTANTS * max(pulls, default=0.0) * float(wiring.capacitor_f)
    return max(LEAST_HOLD_OFF_MS, slide_ms)


@dataclass(frozen=True, slots=True, kw_only=True)
class Handing:
    """How a line is handed over.

    `language` is ``c`` for C99; with `beyond_points` codes where nothing was calibrated are taken as
    positions all the same.
    """

    language: str = "c"
    beyond_points: bool = False


USUAL = Handing()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class HandoverResult(Shown):
    """Files written for each axis."""

    plans: tuple[HandoverPlan, ...]
    files: tuple[Path, ...]
    language: str

    @property
    def headline(self) -> str:
        """How many files, and where."""
        files, axes = counted(len(self.files), "file"), ", ".join(plan.axis for plan in self.plans)
        short = " ".join(f"{plan.axis}: {said}" for plan in self.plans for said in _warnings(plan))
        return f"{files} of {self.language.upper()} for {axes} lie in {self.files[0].parent}. {short}".strip()

    def tables(self) -> tuple[Table, ...]:
        """Constants of each axis."""
        rows = tuple(
            (
                plan.axis,
                f"{plan.offset:.9g} {plan.unit}",
                f"{plan.slope:.9g} {plan.unit}/count",
                f"{plan.lowest_valid} to {plan.highest_valid}",
                f"{plan.hold_off_ms:g} ms",
                plan.provenance.rests_on,
            )
            for plan in self.plans
        )
        names = ("axis", "at code 0", "slope", "valid codes", "hold-off", "rests on")
        curves = (f"{plan.axis}: {said}." for plan in self.plans for said in _curve_in_words(plan))
        caution = (
            "A position sensor in the control loop is not a safety device; read the cautions in the files."
        )
        note = " ".join((*curves, caution))
        return (Table(title="Constants handed over", columns=names, rows=rows, right=names[1:5], note=note),)

    def as_json(self) -> Json:
        """Constants and file names."""
        return {
            "language": self.language,
            "files": [str(path) for path in self.files],
            "axes": [
                {
                    "axis": plan.axis,
                    "unit": plan.unit,
                    "slope": plan.slope,
                    "offset": plan.offset,
                    "code_low": plan.codes.low,
                    "code_high": plan.codes.high,
                    "valid_low": plan.lowest_valid,
                    "valid_high": plan.highest_valid,
                    "hold_off_ms": plan.hold_off_ms,
                    "fault_action": plan.fault_action,
                    "state": plan.provenance.state,
                    "record": plan.provenance.record,
                    "chain": plan.provenance.chain_hash,
                    **_curve_json(plan),
                }
                for plan in self.plans
            ],
        }


def _curve_in_words(plan: HandoverPlan) -> Iterator[str]:
    """What is added to the line, and which codes are calibrated, where that is worth a word."""
    if plan.corrections is not None:
        yield f"{len(plan.corrections.values)} corrections are added to the line"
    if plan.points is not None:
        yield f"the calibrated codes are {plan.points.text}; others give no position"


def _curve_json(plan: HandoverPlan) -> Json:
    """The corrections in the unit of the axis, and the calibrated codes."""
    table = plan.corrections
    corrections = table and {
        "first": table.first,
        "step": table.step,
        "period": table.period,
        "values": table.values.tolist(),
    }
    return {
        "corrections": corrections,
        "calibrated_low": plan.domain[0] if plan.domain else None,
        "calibrated_high": plan.domain[1] if plan.domain else None,
        "beyond_points": plan.beyond_points,
    }


def hand_over(
    rig: Rig,
    *,
    axis: str | None = None,
    out: str | Path,
    how: Handing = USUAL,
    state: str | None = None,
    record: str | None = None,
) -> HandoverResult:
    """Write the code of an axis, or of all, for a controller without any framework.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    out : str or Path
        Folder for the files; made where it is missing.
    how : Handing
        The language, and whether codes where nothing was calibrated are taken too.
    state, record : str, optional
        Which line to hand over; the record in use otherwise, else the data sheet.

    Returns
    -------
    HandoverResult
        Constants and the files written.

    Raises
    ------
    UsageError
        No such axis, language, state or record.
    DataError
        The folder cannot be written to, or a file of yours has the name of one of ours.
    """
    folder, language = Path(out), how.language.lower()
    if folder.exists() and not folder.is_dir():
        raise DataError(Problem(str(folder), "it is a file", "a folder belongs here", "Name a folder."))
    in_use = [line_in_use(rig, each, state=state, record=record) for each in chosen_axes(rig, axis)]
    plans = tuple(
        _told_undone(rig, line, plan_for(rig, line, beyond_points=how.beyond_points)) for line in in_use
    )
    texts = {folder / name: text for plan in plans for name, text in emit(plan, language=language).items()}
    for file in texts:
        hold_foreign(file, SIGN)
    for file, text in texts.items():
        write_whole(file, text)
    return HandoverResult(plans=plans, files=tuple(texts), language=language)
