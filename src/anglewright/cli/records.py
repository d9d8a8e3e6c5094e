"""The commands that look after a calibration, each as one call into a job."""

import argparse
from collections.abc import Callable

from anglewright.errors import Problem, UsageError
from anglewright.jobs.shown import Shown
from anglewright.rig import Rig


def day_given(options: argparse.Namespace) -> str:
    """The day given, or today.

    Raises
    ------
    UsageError
        It is no day, or one after today: every record kept until then would lose against it.
    """
    from datetime import date as calendar_date

    from anglewright.jobs.calibrating import day_named

    today = calendar_date.today().isoformat()
    day = day_named(options.date) if options.date else today
    if day > today:
        found, limit = f"{day} is still to come", f"and by this machine's clock today is {today}"
        remedy = "Give the day on which it was done; if the clock is wrong, set it first."
        raise UsageError(Problem("--date", found, limit, remedy))
    return day


def _hold_what_if(options: argparse.Namespace) -> None:
    """Refuse to keep what was worked out for a machine that does not exist."""
    if options.changes:
        found = "--set asks what if, and this would be kept"
        raise UsageError(Problem(options.command, found, "", "Leave --set out, or change the rig file."))


def _note(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.noting import note

    axis, text = options.axis, options.text
    if text is None and axis not in rig.axes:
        axis, text = None, axis
    _hold_what_if(options)
    return note(rig, axis, text or "", date=day_given(options), touched=options.touched, done=options.done)


def _zero(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.zeroing import Zeroing, zero

    axis, raws = options.axis, options.raws
    if axis is not None and axis not in rig.axes and axis.lstrip("-+.\u2212")[:1].isdigit():
        axis, raws = None, [axis, *raws]
    if options.keep:
        _hold_what_if(options)
    how = Zeroing(came=options.came, within=options.within, far=options.far, keep=options.keep)
    return zero(rig, axis, raws, at=options.at, date=day_given(options), how=how)


def _verify(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.cli.asking import not_lost, typed_rows
    from anglewright.cli.files import sheet_given
    from anglewright.jobs.opening import the_axis
    from anglewright.jobs.verifying import Verifying, verify

    axis, file = axis_and_file(rig, options)
    if options.record and options.code_line:
        found = "--record and --code-line are both given"
        raise UsageError(Problem("verify", found, "", "Leave one of them out."))
    keep = options.keep and not options.changes
    what = Verifying(record=options.record, code_line=options.code_line, keep=keep)
    day = day_given(options)
    typed = typed_rows(the_axis(rig, axis)) if options.typed else ()
    with not_lost(typed), sheet_given(options, file) as sheet:
        return verify(rig, axis, file=sheet, typed=typed, date=day, what=what)


def axis_and_file(rig: Rig, options: argparse.Namespace) -> tuple[str | None, str | None]:
    """Axis and file of readings; on a rig of one axis the axis may be left out.

    Raises
    ------
    UsageError
        Readings are given in two ways.
    """
    axis, file = options.axis, options.file
    given = options.typed or options.clipboard
    if file is None and not given and axis not in rig.axes and len(rig.axes) == 1:
        axis, file = None, axis
    if options.typed and (file or options.clipboard):
        found = f"{'a file' if file else '--clipboard'} and --typed are both given"
        raise UsageError(Problem(options.command, found, "", "Leave one of them out."))
    return axis, file


def _withdraw(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.withdrawing import withdraw

    return withdraw(rig, options.axis, options.record, because=options.because)


def _history(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.history import history

    return history(rig, options.axis, svg=options.svg, look=options.look, sticker=options.sticker)


def _ready(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.cli.standing import readings_given
    from anglewright.jobs.readiness import ready

    found = readings_given(rig, options)
    return ready(rig, found, date=day_given(options), at=options.at, html=options.html)


RECORD_JOBS: dict[str, Callable[[Rig, argparse.Namespace], Shown]] = {
    "note": _note,
    "zero": _zero,
    "verify": _verify,
    "withdraw": _withdraw,
    "ready": _ready,
    "history": _history,
}
