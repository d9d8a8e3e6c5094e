"""Where the tables and keys of a TOML text stand: line by line, for sentences that name a line."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

Names = tuple[str, ...]

_HEADER = re.compile(r"\s*\[(?!\[)(.+?)\]\s*(?:#.*)?")
_KEY = re.compile(r"\s*((?:[A-Za-z0-9_-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*(?:[A-Za-z0-9_-]+|\"[^\"]*\"))*)\s*=")


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """The header of a table: its line, from 1, and the names in it."""

    line: int
    names: Names

    @property
    def shown(self) -> str:
        """The header as it is written."""
        return f"[{'.'.join(self.names)}]"


def headers(text: str) -> Iterator[Header]:
    r"""Every header of a plain table, in order.

    Examples
    --------
    >>> [(each.line, each.names) for each in headers('[axis."a.b"]  # one\nx = 1\n[axis.c.drive]')]
    [(1, ('axis', 'a.b')), (3, ('axis', 'c', 'drive'))]
    """
    for number, line in enumerate(text.split("\n"), start=1):
        found = _HEADER.fullmatch(line)
        names = _names(f"[{found[1]}]") if found else ()
        if names:
            yield Header(line=number, names=names)


def _names(header: str) -> Names:
    try:
        table: Any = tomllib.loads(header)
    except tomllib.TOMLDecodeError:
        return ()
    names: list[str] = []
    while isinstance(table, dict) and table:
        name, table = next(iter(table.items()))
        names.append(name)
    return tuple(names)


def line_of(text: str, *names: str) -> int | None:
    """Line of the first header that is a table of these names or lies inside it; None where there is none."""
    for header in headers(text):
        if header.names[: len(names)] == names:
            return header.line
    return None


def header_above(text: str, line: int) -> Header | None:
    """The header under which a line stands."""
    above = [header for header in headers(text) if header.line <= line]
    return above[-1] if above else None


def key_on(line: str) -> str:
    """The key that a line begins with; empty where it begins with none."""
    found = _KEY.match(line)
    return found[1] if found else ""
