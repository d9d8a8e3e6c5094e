"""The diary of an axis: dated lines of what was done to it, and what they leave to be done."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from anglewright.calibration.record import CALIBRATION, CalibrationRecord

TASKS: Mapping[str, str] = {
    "zero": "zero it at a mark",
    "verify": "verify it against fresh points",
    "calibrate": "calibrate it",
    "testsheet": "go through the test sheet, the three signs at its end too",
    "signs": "test the three signs (by hand, motor at 5 to 10 % drive, loop)",
}
"""What can be due on an axis, and what it means."""

TOUCHED: Mapping[str, tuple[str, ...]] = {
    "coupling": ("zero", "verify"),
    "sensor": ("calibrate", "signs"),
    "gear": ("calibrate", "signs"),
    "supply": ("calibrate",),
    "connector": ("testsheet",),
}
"""What can have been touched, and which tasks that makes due (common practice, no source)."""

TURNS_SIGNS = ("sensor", "gear", "connector")
"""What can turn a sign round, so that the signs must be tested again (common practice, no source)."""

SHOW_SIGNS = ("signs", "testsheet")
"""What, when done, says that the signs were tested: the test sheet ends with them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DiaryLine:
    """One line: the day, the machine, what was done, which part was touched, which task was done.

    `after` is the newest record at the time of writing, or empty.
    """

    date: str
    text: str
    machine: str = ""
    touched: str = ""
    done: str = ""
    after: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A task that a line of the diary asks for."""

    task: str
    line: DiaryLine

    @property
    def sentence(self) -> str:
        """What is to be done, and since when."""
        since = f"the {self.line.touched} was touched on {self.line.date} ({self.line.text})"
        return f"{TASKS[self.task].capitalize()}: {since}."


def due(lines: Sequence[DiaryLine], records: Sequence[CalibrationRecord]) -> tuple[Due, ...]:
    """What is still to be done after all that was touched.

    Parameters
    ----------
    lines : sequence of DiaryLine
        Lines of one machine, in the order in which they were written.
    records : sequence of CalibrationRecord
        Records of the same machine; withdrawn ones settle nothing.

    Returns
    -------
    tuple of Due
        Each task once, with the last line that asks for it.

    Notes
    -----
    A later line with the task done settles it, the test sheet also for the signs. So does a record that came
    after: of either kind for the zero, a calibration for all but the test sheet and the signs.

    References
    ----------
    practice

    Examples
    --------
    A hub that was tightened asks for two things, and one of them was done:

    >>> lines = [
    ...     DiaryLine(date="2026-05-12", text="hub tightened", touched="coupling"),
    ...     DiaryLine(date="2026-05-12", text="passed", done="verify"),
    ... ]
    >>> [each.task for each in due(lines, [])]
    ['zero']
    """
    found: dict[str, Due] = {}
    for place, line in enumerate(lines):
        for task in TOUCHED.get(line.touched, ()):
            settled = any(later.done in _doing(task) for later in lines[place + 1 :])
            if not settled and not any(_settles(record, task, line) for record in records):
                found[task] = Due(task=task, line=line)
    return tuple(found.values())


def _doing(task: str) -> tuple[str, ...]:
    """What, when done, does a task."""
    return SHOW_SIGNS if task == "signs" else (task,)


def _settles(record: CalibrationRecord, task: str, line: DiaryLine) -> bool:
    """Whether a record came after a line and does what its task asks for."""
    kinds = {"zero": True, "verify": record.kind == CALIBRATION, "calibrate": record.kind == CALIBRATION}
    later = record.name != line.after and record.order > _order(line.after) and record.date >= line.date
    return later and not record.withdrawn and kinds.get(task, False)


def _order(name: str) -> tuple[str, int]:
    day, _, number = name.rpartition("-")
    return (day, int(number)) if day else ("", 0)


def signs_tested(lines: Sequence[DiaryLine]) -> DiaryLine | None:
    """The line that says that the signs were tested, None where none holds any more.

    Examples
    --------
    A new plug makes an old test worthless:

    >>> tested = DiaryLine(date="2026-05-12", text="all three", done="signs")
    >>> signs_tested([tested]) is tested
    True
    >>> signs_tested([tested, DiaryLine(date="2026-05-13", text="new plug", touched="connector")]) is None
    True
    """
    held = None
    for line in lines:
        if line.done in SHOW_SIGNS:
            held = line
        elif line.touched in TURNS_SIGNS:
            held = None
    return held


def explains_a_shift(lines: Sequence[DiaryLine], last: CalibrationRecord) -> DiaryLine | None:
    """The last line since a record that says that something was touched which can move the zero."""
    since = [line for line in lines if line.touched in ("coupling", "sensor", "gear")]
    late = [line for line in since if line.date >= last.date and _order(line.after) >= last.order]
    return late[-1] if late else None
