"""Each command as one call into a job; the jobs are imported when their command is run."""

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date as calendar_date
from pathlib import Path

from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.opening import open_rig
from anglewright.jobs.shown import Json, Shown
from anglewright.rig import Rig

LOOK = ("check", "budget", "expect", "read", "explain")
"""Commands that only look: with --set they show the present result beside the changed one."""

BOTH_SIDES = {"up": "up", "down": "down", "u": "up", "d": "down"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A result, and beside it the result of a what-if where one was asked for."""

    result: Shown
    changes: tuple[str, ...] = ()
    changed: Shown | None = None

    @property
    def exit_code(self) -> int:
        """That of the what-if where there is one."""
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
    changes = tuple(options.changes)
    if options.command not in LOOK or not changes:
        return Outcome(result=job(open_rig(options.rig, changes=changes), options))
    present, changed = open_rig(options.rig), open_rig(options.rig, changes=changes)
    return Outcome(result=job(present, options), changes=changes, changed=job(changed, options))


def _day(options: argparse.Namespace) -> str:
    """The day given, or today."""
    text = options.date or calendar_date.today().isoformat()
    try:
        return calendar_date.fromisoformat(text).isoformat()
    except ValueError:
        raise UsageError(Problem("--date", f"'{text}' is not a day", "", "Write it as 2026-05-12.")) from None


def _new(options: argparse.Namespace) -> Shown:
    from anglewright.jobs.starting import Answers, new_rig

    return new_rig(
        options.folder,
        Answers(
            moves=options.moves or _ask("What moves? A short name", "shoulder"),
            low=options.low or _ask("From which position", "0 deg"),
            high=options.high or _ask("To which position", "90 deg"),
            error=options.error or _ask("How exact must it be", "1 deg"),
            sensor=options.sensor or _ask("Which kind of sensor", "potentiometer"),
            ratio=options.ratio or _ask("Turns of the sensor per turn of the axis, or teeth as 48:24", "1"),
        ),
    )


def _ask(question: str, usual: str) -> str:
    """One question on the terminal; an empty answer takes the usual one."""
    print(f"{question} [{usual}]: ", end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    if not line:
        print(file=sys.stderr)
    return line.strip() or usual


def _check(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.checking import check

    return check(rig, options.axis)


def _budget(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.budgeting import budget_of

    return budget_of(rig, options.axis, state=options.state)


def _expect(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.expecting import expect

    axis, positions = options.axis, list(options.positions)
    if axis is not None and axis not in rig.axes and axis.lstrip("-+.")[:1].isdigit():
        axis, positions = None, [axis, *positions]
    return expect(rig, axis, positions, state=options.state, record=options.record)


def _read(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.expecting import read_raw

    return read_raw(rig, options.axis, options.raws, state=options.state, record=options.record)


def _plan(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.planning import plan_calibration

    return plan_calibration(rig, options.axis, out=options.out)


def _simulate(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.simulating import simulate

    return simulate(rig, options.axis, seed=options.seed, plant=options.plant, out=options.out)


def _calibrate(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.calibrating import calibrate

    if options.typed and options.file:
        raise UsageError(Problem("calibrate", "a file and --typed are both given", "", "Leave one of them out."))
    typed = _typed_rows() if options.typed else ()
    keep = options.keep and not options.changes
    return calibrate(rig, options.axis, options.file, typed=typed, date=_day(options), keep=keep)


def _typed_rows() -> tuple[tuple[float, float, str], ...]:
    """Readings typed a line each, until an empty line or the end."""
    if sys.stdin.isatty():
        print("REFERENCE RAW [up|down], one reading a line; an empty line ends.", file=sys.stderr)
    rows = []
    for number, line in enumerate(sys.stdin, 1):
        words = line.replace(",", " ").split()
        if not words:
            break
        try:
            side = BOTH_SIDES[words[2].lower()] if len(words) > 2 else ""
            rows.append((float(words[0]), float(words[1]), side))
        except (ValueError, IndexError, KeyError):
            remedy = "Write the reference, the raw reading, and up or down: 47.5 2048 up."
            raise DataError(Problem(f"typed line {number}", f"'{line.strip()}' is no reading", "", remedy)) from None
    return tuple(rows)


def _withdraw(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.withdrawing import withdraw

    return withdraw(rig, options.axis, options.record, because=options.because)


def _handover(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.handing import hand_over

    return hand_over(
        rig, options.axis, out=options.out, language=options.language, state=options.state, record=options.record
    )


def _explain(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.explaining import explain

    return explain(rig, options.axis, options.position)


def _report(rig: Rig, options: argparse.Namespace) -> Shown:
    from anglewright.jobs.reporting import write_report

    out = Path(options.out) if options.out else Path(options.rig).with_suffix(".report.html")
    return write_report(rig, options.axis, out=out, date=_day(options))


JOBS: dict[str, Callable[[Rig, argparse.Namespace], Shown]] = {
    "check": _check,
    "budget": _budget,
    "expect": _expect,
    "read": _read,
    "plan": _plan,
    "simulate": _simulate,
    "calibrate": _calibrate,
    "withdraw": _withdraw,
    "handover": _handover,
    "explain": _explain,
    "report": _report,
}
