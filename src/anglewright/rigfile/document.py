"""A rig file as text: read as TOML, and changed on request for a what-if."""

import tomllib
from collections.abc import Iterable
from itertools import pairwise
from pathlib import Path
from typing import Any, TypeAlias

from anglewright.errors import DataError, Problem, RigError, UsageError, nearest
from anglewright.rigfile.headers import line_of
from anglewright.rigfile.slips import slip

Document: TypeAlias = dict[str, Any]


class Numbered(dict[str, Any]):
    """The tables of a text, and the text itself, so that a sentence can name a line of it."""

    __slots__ = ("text",)

    def __init__(self, tables: Document, *, text: str = "") -> None:
        """Keep both."""
        super().__init__(tables)
        self.text = text


def line_in(document: Document, *names: str) -> int | None:
    """Line of the first header of a table, or of one inside it; None where the text is not known."""
    return line_of(document.text, *names) if isinstance(document, Numbered) else None


def load_document(path: Path) -> Document:
    """The tables of a TOML file.

    Raises
    ------
    DataError
        The file is missing or cannot be read.
    RigError
        It is not TOML; line and column are named.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        remedy = "Check the path, or make a new rig with: anglewright new DIR."
        raise DataError(Problem(str(path), "there is no such file", "", remedy)) from None
    except UnicodeDecodeError as fault:
        found = f"byte {fault.start} is not UTF-8 text"
        raise RigError(Problem(str(path), found, "", "Save the file as UTF-8.")) from None
    except OSError as fault:
        reason = fault.strerror or str(fault)
        raise DataError(
            Problem(str(path), f"it cannot be read ({reason.lower()})", "", "Name a rig file.")
        ) from None
    return parse_document(text, source=str(path))


def parse_document(text: str, *, source: str) -> Document:
    """The tables of a TOML text.

    Raises
    ------
    RigError
        It is not TOML, or a key or a table stands twice; the line is named.
    """
    try:
        return Numbered(tomllib.loads(text), text=text)
    except tomllib.TOMLDecodeError as fault:
        raise RigError(slip(text, fault, source=source)) from None


def with_changes(document: Document, changes: Iterable[str], *, axes: Iterable[str] = ()) -> Document:
    """The document with changes such as ``shoulder.coupling.play=0 deg`` put in.

    Parameters
    ----------
    document : dict
        Tables of a rig file; left as they are.
    changes : iterable of str
        ``AXIS.TABLE.KEY=VALUE`` each; the value as in the file, quotes not needed.
    axes : iterable of str
        Axes that a change without an axis (``coupling.play=0 deg``) is meant for.

    Returns
    -------
    dict
        A changed copy.

    Raises
    ------
    UsageError
        A change has no equals sign or no key.
    """
    import copy

    changed = copy.deepcopy(document)
    for change in changes:
        path, equals, value = change.partition("=")
        known = changed.get("axis", {})
        named, names = _names(path, known if isinstance(known, dict) else ())
        if not equals or len(names) < 2 or not all(names):
            remedy = 'Write AXIS.TABLE.KEY=VALUE, as in --set shoulder.coupling.play="0 deg".'
            raise UsageError(Problem("--set", f"'{change}' is not a change", "", remedy))
        targets = [names] if named else [[axis, *names] for axis in axes] or [names]
        for target in targets:
            _put(changed, ["axis", *target], _value(value.strip()))
    return changed


def names_of(change: str, known: Iterable[str]) -> tuple[bool, list[str]]:
    """Whether a change begins with an axis that is known, and the names in front of its equals sign."""
    return _names(change.partition("=")[0], known)


def _names(path: str, known: Iterable[str]) -> tuple[bool, list[str]]:
    """Whether a path begins with an axis, whose name may hold points, and the names along it."""
    path = path.strip()
    for axis in sorted(known, key=len, reverse=True):
        if path.startswith(f"{axis}."):
            return True, [axis, *(name.strip() for name in path[len(axis) + 1 :].split("."))]
    return False, [name.strip() for name in path.split(".")]


def _put(table: Document, names: list[str], value: Any) -> None:
    holder: Any = table
    for before, name in pairwise(names):
        holder = holder[_place(holder, before)] if _holds(holder, before) else holder.setdefault(before, {})
        if not isinstance(holder, dict | list):
            found = f"'{before}' is a value, not a table, so '{name}' cannot stand in it"
            raise UsageError(Problem("--set", found, "", "Check the name of the key."))
        if isinstance(holder, list) and not _holds(holder, name):
            places = [str(place) for place in range(1, len(holder) + 1)]
            raise UsageError(Problem("--set", f"'{before}' has no '{name}'", "", nearest(name, places)))
    holder[_place(holder, names[-1])] = value


def _holds(holder: Any, name: str) -> bool:
    """Whether a table has a key, or a row a place; places are counted from 1."""
    if isinstance(holder, dict):
        return name in holder
    return name.isdecimal() and 1 <= int(name) <= len(holder)


def _place(holder: Any, name: str) -> Any:
    return name if isinstance(holder, dict) else int(name) - 1


def _value(text: str) -> Any:
    """Tables, lists and quoted texts as TOML; anything else is a text or a whole number."""
    if text[:1] in "[{\"'" or text in ("true", "false") or text.lstrip("+-").isdigit():
        try:
            return tomllib.loads(f"value = {text}")["value"]
        except tomllib.TOMLDecodeError:
            return text
    return text
