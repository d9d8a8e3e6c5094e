"""Each command as one call into a job; the jobs are imported when their command is run."""

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from anglewright.cli.arguments import points
from anglewright.cli.records import RECORD_JOBS, axis_and_file, day_given
from anglewright.cli.streams import waiting
from anglewright.errors import Problem, UsageError
from anglewright.jobs.opening import open_rig, the_axis, with_model, with_serial
from anglewright.jobs.shown import Json, Shown
from anglewright.rig import Rig

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from anglewright.jobs.calibrated import CalibrateResult

LOOK = ("check", "budget", "expect", "read", "explain")
"""Commands that only look: with --set they show the present result beside the changed one."""

TO_BE_CHOSEN = ("choose",)
"""Commands for a rig whose parts need not fit the motion yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A result, and beside it the result of a what-if where one was asked for."""

    result: Shown
    changes: tuple[str, ...] = ()
    changed: Shown | None = None

    @property
    def exit_code(self) -> int:
        """That of the what-if where there is one. [1]"""
        return (self.changed or self.result).exit_code

    def as_json(self) -> Json:
        """The present result, and the what-if under a key of its own."""
        found = self.result.as_json()
        if self.changed is None:
            return found
        return found | {"what_if": {"changes": list(self.changes), **self.changed.as_json()}}


def answer(options: argparse.Namespace) -> Outcome:
    """Call the job of a command."""
    if options.command == "new":
        return Outcome(result=_new(options))
    job = JOBS[options.command]
    changes, machine = tuple(options.changes), getattr(options, "machine", None)
    axis = getattr(options, "axis", None)
    if options.command not in LOOK or not changes:
        fitted = options.command not in TO_BE_CHOSEN
        rig = open_rig(options.rig, changes=changes, axis=axis, fitted=fitted, machine=machine)
        return Outcome(result=job(rig, options))
    present = open_rig(options.rig, machine=machine)
    changed = open_rig(options.rig, changes=changes, axis=axis, machine=machine)
    return Outcome(result=job(present, options), changes=changes, changed=job(changed, options))


def _new(options: argparse.Namespace) -> Shown:
    from anglewright.cli.asking import ask_for
    from anglewright.jobs.starting import free_file, new_rig

    free_file(options.folder)
    return new_rig(options.folder, ask_for(options))


def _is_place(rig: Rig, text: str) -> bool:
    """Whether a word that names no axis is a position or a mark."""
    return text.lstrip("-+.\u2212")[:1].isdigit() or any(text in axis.marks for axis in rig.axes.values())


def _axis_and(rig: Rig, word: str | None, others: list[str]) -> tuple[str | None, list[str]]:
    """Axis and places; a first word that names no axis and is a place belongs to the places."""
    if word is None or word in rig.axes or not _is_place(rig, word):
        return word, others
    return None, [word, *others]


def _check(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.checking import check

    return check(rig, axis=options.axis)


def _choose(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.choosing import choose, write_template

    if options.template:
        return write_template(options.template)
    with waiting("holding every sensor at every drive against the need", long=True):
        return choose(
            rig, axis=options.axis, catalogue=options.catalogue, apply=options.apply, parts=options.parts
        )


def _budget(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.budgeting import budget_of

    with waiting("building virtual machines", long=options.builds != 0):
        return budget_of(
            rig,
            axis=options.axis,
            state=options.state,
            builds=options.builds,
            seed=options.seed,
            code_line=options.code_line,
        )


def _expect(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.expecting import expect

    axis, positions = _axis_and(rig, options.axis, options.positions)
    return expect(rig, axis=axis, positions=positions, state=options.state, record=options.record)


def _read(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.reading import read_raw

    axis, raws = options.axis, options.raws
    if axis is not None and axis not in rig.axes and _is_place(rig, axis):
        axis, raws = None, [axis, *raws]
    return read_raw(rig, axis, raws, state=options.state, record=options.record)


def _mount(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.mounting import mount

    return mount(rig, axis=options.axis, at=options.at, svg=options.svg, look=options.look)


def _wire(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.wiring import wire

    return wire(rig, axis=options.axis, svg=options.svg, look=options.look)


def _testsheet(rig: Rig, options: argparse.Namespace) -> Shown:
    if not (options.filled or options.typed):
        return _blank_sheet(rig, options)
    from anglewright.cli.asking import agrees, typed_lines
    from anglewright.jobs.diagnosing import checker_of, diagnose_cells, keep_result
    from anglewright.jobs.filled import cells_in, typed_cells

    _hold_one(options)
    if options.filled:
        cells = cells_in(options.filled)
    else:
        cells = typed_cells(typed_lines(checker_of(the_axis(rig, options.axis))))
    result = diagnose_cells(rig, options.axis, cells, keep=options.keep)
    ask = result.measured and not (result.kept or options.json or options.changes)
    return keep_result(rig, result) if ask and agrees(result.measured_question) else result


def _blank_sheet(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.testsheet import test_sheet

    if options.keep:
        found = "nothing was measured yet"
        raise UsageError(Problem("--keep", found, "", "Give --filled FILE or --typed with it."))
    return test_sheet(rig, options.axis, html=options.html, csv=options.csv)


def _hold_one(options: argparse.Namespace) -> None:
    """Refuse two things at once: a file and typed lines, or a filled sheet and a blank one."""
    given = [name for name in ("filled", "typed", "html", "csv") if getattr(options, name)]
    if len(given) > 1:
        found = f"--{given[0]} and --{given[1]} are both given"
        raise UsageError(Problem("testsheet", found, "", "Leave one of them out."))


def _plan(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.planning import plan_calibration

    return plan_calibration(rig, axis=options.axis, out=options.out)


def _simulate(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.running import Run
    from anglewright.jobs.simulating import simulate

    run = Run(
        motion=options.motion,
        seconds=options.seconds,
        rate=options.rate,
        amplitude=options.amplitude,
        frequency=options.frequency,
        at=options.at,
        reference=options.reference,
    )
    return simulate(rig, options.axis, seed=options.seed, plant=options.plant, out=options.out, run=run)


def _calibrate(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.cli.asking import not_lost, typed_rows
    from anglewright.cli.files import sheet_given
    from anglewright.jobs.calibrating import Readings, calibrate_readings

    axis, file = axis_and_file(rig, options)
    day = day_given(options)
    _hold_places(rig, options)
    without = {number: why for text in options.without for number, why in points(text).items()}
    typed = typed_rows(the_axis(rig, axis)) if options.typed else ()
    keep = options.keep and not options.changes
    with not_lost(typed), sheet_given(options, file) as sheet:
        if options.serial:
            rig = with_serial(rig, the_axis(rig, axis), options.serial)
        if options.model:
            rig = with_model(rig, the_axis(rig, axis), options.model)
        readings = Readings(file=sheet, typed=typed, without=without)
        result = calibrate_readings(rig, axis, readings, date=day, keep=keep)
    return _written(rig, result, options, day)


def _hold_places(rig: Rig, options: argparse.Namespace) -> None:
    """Refuse before a calibration is kept what could not be written beside it."""
    if options.html:
        from anglewright.jobs.calibratedpage import free_page

        free_page(options.html)
    if options.learn:
        from anglewright.jobs.learning import hold_unwritable

        hold_unwritable(rig)


def _written(rig: Rig, result: "CalibrateResult", options: argparse.Namespace, day: str) -> Shown:
    """A calibration with what goes into the rig file, and with its page, where they were asked for."""
    if options.learn:
        from anglewright.cli.asking import agrees, at_a_terminal
        from anglewright.jobs.learning import learn

        ask = at_a_terminal() and not options.json
        result = learn(rig, result, date=day, agreed=agrees if ask else None)
    if not options.html:
        return result
    from anglewright.jobs.calibratedpage import with_page

    return with_page(rig, result, options.html, date=day)


def _handover(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.handing import Handing, hand_over

    return hand_over(
        rig,
        axis=options.axis,
        out=options.out,
        how=Handing(language=options.language, beyond_points=options.beyond_points),
        state=options.state,
        record=options.record,
    )


def _explain(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.explaining import explain

    axis, places = _axis_and(rig, options.axis, [options.position] if options.position else [])
    if len(places) > 1:
        found = f"'{places[0]}' and '{places[1]}' are both given"
        raise UsageError(Problem("explain", found, "one position is explained at a time", "Leave one out."))
    place = places[0] if places else None
    return explain(rig, axis=axis, position=place, state=options.state, record=options.record)


def _report(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.reporting import write_report

    out = Path(options.out) if options.out else Path(options.rig).with_suffix(".report.html")
    return write_report(rig, axis=options.axis, out=out, date=day_given(options))


JOBS: dict[str, Callable[[Rig, argparse.Namespace], Shown]] = {
    **RECORD_JOBS,
    "choose": _choose,
    "check": _check,
    "budget": _budget,
    "expect": _expect,
    "read": _read,
    "mount": _mount,
    "wire": _wire,
    "testsheet": _testsheet,
    "plan": _plan,
    "simulate": _simulate,
    "calibrate": _calibrate,
    "handover": _handover,
    "explain": _explain,
    "report": _report,
}
