"""Tables of a rig file that nobody asked for: a word misspelt, an axis misspelt, each with its line."""

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from anglewright.errors import Problem, nearest
from anglewright.rigfile.document import Document, line_in

_ALIKE = 0.7  # of two names, from which one may be a slip for the other [1]


def stray_keys(document: Document, known: Iterable[str], *, name: str) -> list[Problem]:
    """Keys and tables at the top of a file that it does not have; `name` is that of the file."""
    known = tuple(known)
    return [_stray(document, (key,), name, nearest(key, known)) for key in document if key not in known]


def stray_rooms(document: Document, axis: str, known: Iterable[str], *, where: str) -> list[Problem]:
    """Keys and tables of an axis that no axis has; `where` names file and axis."""
    known = tuple(known)
    table = document["axis"][axis]
    return [
        _stray(document, ("axis", axis, str(key)), where, nearest(str(key), known))
        for key in (table if isinstance(table, Mapping) else ())
        if key not in known
    ]


def _stray(document: Document, names: tuple[str, ...], where: str, remedy: str) -> Problem:
    line = line_in(document, *names)
    if line is None:
        return Problem(where, f"key '{names[-1]}' is not known", "", remedy)
    file, comma, rest = where.partition(",")
    return Problem(f"{file}, line {line}{comma}{rest}", f"table '{names[-1]}' is not known", "", remedy)


def axis_meant(tables: Mapping[str, Any], name: str) -> str:
    """The axis that a misspelt one is meant for: it moves, this one does not, and they are alike; else empty.

    Examples
    --------
    >>> axis_meant({"shoulder": {"motion": {}}, "sholder": {"sensor": {}}}, "sholder")
    'shoulder'
    """
    if not isinstance(tables[name], Mapping) or "motion" in tables[name]:
        return ""
    whole = [axis for axis, table in tables.items() if isinstance(table, Mapping) and "motion" in table]
    return next(iter(get_close_matches(name, whole, n=1, cutoff=_ALIKE)), "")


def misspelt_axis(document: Document, axis: str, known: Iterable[str], *, name: str) -> Problem | None:
    """That an axis is another one misspelt, or None where it is not; `name` is that of the file."""
    meant = axis_meant(document["axis"], axis)
    if not meant:
        return None
    line = line_in(document, "axis", axis)
    where = name if line is None else f"{name}, line {line}"
    room = next((str(key) for key in document["axis"][axis]), "")
    right = next(iter(get_close_matches(room, tuple(known), n=1, cutoff=_ALIKE)), room)
    remedy = f"Did you mean [axis.{meant}{'.' if right else ''}{right}]?"
    return Problem(where, f"axis '{axis}' has no motion, and there is an axis '{meant}'", "", remedy)
