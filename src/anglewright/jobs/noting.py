"""Job: a dated line in the diary of an axis, and what must be done again because of it."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.calibration.diary import TASKS, TOUCHED, DiaryLine, Due, due
from anglewright.calibration.record import CalibrationRecord
from anglewright.errors import Problem, UsageError, nearest
from anglewright.jobs.calibrating import day_named
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.rig import Axis, Rig
from anglewright.rigfile.diary import read_diary, write_line
from anglewright.rigfile.records import own_records

BY_WORD = ("signs", "testsheet")
"""Tasks that nothing but a person's word can settle; the others leave a record or a line by themselves."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class NoteResult(Shown):
    """The line that was written, where, and what is due now."""

    axis: Axis
    line: DiaryLine
    file: Path
    left: tuple[Due, ...]

    @property
    def headline(self) -> str:
        """What was written, and how much is due."""
        written = f"Written in the diary of {self.axis.name}: {self.line.date}, {self.line.text}."
        if self.left:
            return f"{written} To do before its numbers are trusted: {_listed(self.left)}."
        return f"{written} Nothing is to be done again."

    @property
    def summary(self) -> str:
        """A hint where nothing was said of what was touched."""
        if self.line.touched or self.line.done or self.left:
            return ""
        return f"If a part was touched, write which: --touched {'|'.join(TOUCHED)}."

    def tables(self) -> tuple[Table, ...]:
        """What is due, and why."""
        return (due_table(self.left),) if self.left else ()

    def as_json(self) -> Json:
        """The line, its file, and what is due."""
        return {
            "axis": self.axis.name,
            **line_json(self.line),
            "file": str(self.file),
            "due": [due_json(each) for each in self.left],
        }


def _listed(left: tuple[Due, ...]) -> str:
    return "; ".join(TASKS[each.task] for each in left)


def due_table(left: tuple[Due, ...]) -> Table:
    """What is still to be done."""
    rows = tuple((each.task, each.sentence) for each in left)
    return Table(title="Still to do", columns=("task", "what, and since when"), rows=rows)


def due_json(each: Due) -> Json:
    """One task that is due."""
    return {"task": each.task, "text": each.sentence, "since": each.line.date}


def line_json(line: DiaryLine) -> Json:
    """One line of the diary."""
    return {
        "date": line.date,
        "machine": line.machine,
        "text": line.text,
        "touched": line.touched or None,
        "done": line.done or None,
    }


def note(
    rig: Rig, axis: str | None, text: str, *, date: str, touched: str = "", done: str = ""
) -> NoteResult:
    """Write a line into the diary of an axis, and say what must be done again.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    text : str
        What was done or seen, in one line.
    date : str
        The day it was done, ``2026-05-12``.
    touched : str
        What was touched: ``coupling``, ``sensor``, ``gear``, ``supply`` or ``connector``.
    done : str
        What was done of what was due: ``signs`` or ``testsheet``.

    Returns
    -------
    NoteResult
        The line, its file, and what is due.

    Raises
    ------
    UsageError
        No such axis, part or task, no text, or the date is no day.
    DataError
        The diary is damaged or cannot be written.

    References
    ----------
    practice
    """
    chosen, day = the_axis(rig, axis), day_named(date)
    own = own_records(rig, chosen)
    line = DiaryLine(
        date=day,
        text=_one_line(text),
        machine=rig.machine,
        touched=_known("--touched", touched, tuple(TOUCHED)),
        done=_known("--done", done, BY_WORD),
        after=newest_by(own, day),
    )
    file = write_line(rig, chosen, line)
    return NoteResult(axis=chosen, line=line, file=file, left=due(read_diary(rig, chosen), own))


def newest_by(records: list[CalibrationRecord], day: str) -> str:
    """Name of the newest record of a day or before it, empty where there is none."""
    return next((each.name for each in reversed(records) if each.date <= day), "")


def _one_line(text: str) -> str:
    said = " ".join(text.split())
    if not said or not said.isprintable():
        found = "there is nothing to write" if not said else f"{said!r} is no plain text"
        raise UsageError(Problem("note", found, "", 'Say what was done, as in "hub tightened".'))
    return said


def _known(option: str, word: str, words: tuple[str, ...]) -> str:
    """A word of a list, or none.

    Raises
    ------
    UsageError
        It is another one.
    """
    if not word or word in words:
        return word
    if option == "--done" and word in TASKS:
        remedy = f"Run {word}: it keeps that by itself."
        raise UsageError(Problem(option, f"'{word}' is not taken on word", "", remedy))
    raise UsageError(Problem(option, f"'{word}' is not known", "", nearest(word, words)))
