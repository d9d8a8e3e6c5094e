"""Remarks of a rig file that would no longer be true after its values changed: renewed, or taken out."""

import re
from collections.abc import Mapping
from typing import Any

from anglewright.errors import RigError
from anglewright.jobs.assumed import default_lines, is_default_line, remarked
from anglewright.jobs.meaning import is_drive_said
from anglewright.links.fields import Key
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.headers import headers, key_on
from anglewright.rigfile.kinds import part_named

_REMARK = re.compile(r"(?P<text>.*?\S)\s*#\s(?:assumed: )?(?P<remark>[^\"]*)")
_ASSUMED = "# assumed: "


def renewed(before: str, after: str, *, axis: str, room: str, said: str = "") -> str:
    """A changed rig file whose remarks in one table are true again.

    Parameters
    ----------
    before : str
        The file as it was.
    after : str
        The file as it is to be, with the remarks of before.
    axis : str
        Name of the axis.
    room : str
        The table of it that changed.
    said : str
        What the drive means now, in words; for the table of the drive.

    Returns
    -------
    str
        The file; remarks that a person wrote stay as they are, and defaults are told where they were.
    """
    tables = [_table(text, axis, room) for text in (before, after)]
    place = _block(after, axis, room)
    if place is None or tables[0] == tables[1]:
        return after
    lines = after.split("\n")
    block = lines[slice(*place)]
    keys = [key for table in tables for key in _keys(room, table)]
    kept = [line for line in block if not is_default_line(line, keys)]
    changed = {key for key, value in tables[1].items() if tables[0].get(key) != value}
    kept = [_true_again(line, changed, said=said) for line in kept]
    if _ASSUMED in before:
        end = len(kept) - _blank_at_the_end(kept)
        kept[end:end] = default_lines(_keys(room, tables[1]), given=tables[1])
    lines[slice(*place)] = kept
    return "\n".join(lines)


def _table(text: str, axis: str, room: str) -> Mapping[str, Any]:
    """A table of an axis as it stands in a file; empty where there is none."""
    found = parse_document(text, source="")["axis"][axis].get(room, {})
    return found if isinstance(found, Mapping) else {}


def _keys(room: str, table: Mapping[str, Any]) -> tuple[Key, ...]:
    """Keys of the kind of part that a table names; none where it names none that is known."""
    try:
        return part_named(room, str(table["kind"])).KEYS
    except (KeyError, RigError):
        return ()


def _block(text: str, axis: str, room: str) -> tuple[int, int] | None:
    """From which line to which the table under a header of its own goes, from 0, the end left out."""
    known = list(headers(text))
    for header, behind in zip(known, [*known[1:], None], strict=True):
        if header.names == ("axis", axis, room):
            return header.line, len(text.split("\n")) if behind is None else behind.line - 1
    return None


def _blank_at_the_end(lines: list[str]) -> int:
    """How many blank lines end a block. [1]"""
    return next((place for place, line in enumerate(reversed(lines)) if line.strip()), len(lines))


def _true_again(line: str, changed: set[str], *, said: str) -> str:
    """A line whose remark is true: what was assumed of an old value goes, the drive is told anew."""
    found = _REMARK.fullmatch(line)
    if found is None or line.lstrip().startswith("#"):
        return line
    if said and key_on(line) == "kind" and is_drive_said(found["remark"]):
        return remarked(found["text"], said)
    return found["text"] if _ASSUMED in line and key_on(line) in changed else line
