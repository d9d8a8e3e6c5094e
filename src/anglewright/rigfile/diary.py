"""The diary file of an axis, beside its records: lines are put at its end, nothing in it is written over."""

from datetime import date as calendar_date
from pathlib import Path

from anglewright.calibration.diary import TASKS, TOUCHED, DiaryLine
from anglewright.errors import DataError, Problem, RigError
from anglewright.rig import Axis, Rig
from anglewright.rigfile.document import load_document
from anglewright.rigfile.records import records_folder
from anglewright.rigfile.storing import write_whole

FILE = "diary.toml"
_HEAD = "# Diary of an axis: what was done to it, the oldest first. Lines are added at the end.\n"
_KEYS = ("date", "machine", "text", "touched", "done", "after")


def diary_file(rig: Rig, axis: Axis) -> Path:
    """Where the diary of an axis lies, whether there is one or not."""
    return records_folder(rig, axis) / FILE


def read_diary(rig: Rig, axis: Axis, *, every: bool = False) -> tuple[DiaryLine, ...]:
    """Lines of the diary that are of this machine, or of every machine, in the order of writing.

    Raises
    ------
    DataError
        The file is damaged; the line is named.
    """
    path = diary_file(rig, axis)
    if not rig.source or not path.exists():
        return ()
    try:
        tables = load_document(path).get("line", [])
    except RigError as fault:
        raise DataError(Problem(str(path), fault.problems[0].found, "", _MEND)) from None
    lines = [_line(path, place, table) for place, table in enumerate(tables, 1)]
    return tuple(line for line in lines if every or line.machine == rig.machine)


_MEND = "It is yours to mend: each line of it stands under [[line]] with a date and a text, in quotes."


def _line(path: Path, place: int, table: object) -> DiaryLine:
    """One line, held against what a line is."""
    where = f"{path}, line {place} of the diary"
    if not isinstance(table, dict) or not isinstance(table.get("text"), str) or "date" not in table:
        raise DataError(Problem(where, "it has no date or no text", "", _MEND))
    if not _is_day(str(table["date"])):
        found = f"'{table['date']}' is not a day"
        raise DataError(Problem(where, found, "a day is written as 2026-05-12", _MEND))
    for key, known in (("touched", TOUCHED), ("done", TASKS)):
        word = table.get(key, "")
        if word and word not in known:
            raise DataError(Problem(where, f"{key} is '{word}'", f"known are {', '.join(known)}", _MEND))
    return DiaryLine(**{key: str(table.get(key, "")) for key in _KEYS})


def _is_day(text: str) -> bool:
    try:
        return calendar_date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def write_line(rig: Rig, axis: Axis, line: DiaryLine) -> Path:
    """Put a line at the end of the diary, all before it as it was.

    Raises
    ------
    DataError
        The rig comes from no file, the diary is damaged, or it cannot be written.
    """
    if not rig.source:
        found, limit = "the rig comes from no file", "beside which its diary could lie"
        raise DataError(Problem(rig.name, found, limit, "Open it from a file."))
    read_diary(rig, axis, every=True)
    path = diary_file(rig, axis)
    before = path.read_text(encoding="utf-8-sig") if path.exists() else _HEAD
    write_whole(path, f"{before.rstrip()}\n\n{_text(line)}")
    return path


def _text(line: DiaryLine) -> str:
    import tomlkit

    table = {key: getattr(line, key) for key in _KEYS if getattr(line, key)}
    return tomlkit.dumps({"line": [table]})
