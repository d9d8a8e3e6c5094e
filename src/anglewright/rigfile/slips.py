"""A text that is not TOML, told in a sentence: where, what was found, what to do."""

import re
import tomllib

from anglewright.errors import Problem
from anglewright.rigfile.headers import header_above, headers, key_on

_LINE = re.compile(r"\(at line (\d+), column \d+\)")
_INLINE = re.compile(r"Duplicate inline table key '(.*?)'")


def slip(text: str, fault: tomllib.TOMLDecodeError, *, source: str) -> Problem:
    r"""What is wrong with a text that is not TOML.

    Parameters
    ----------
    text : str
        The text.
    fault : tomllib.TOMLDecodeError
        What the reader of TOML has to say.
    source : str
        Name of the file.

    Returns
    -------
    Problem
        A key or table that stands twice with both its lines; anything else as the reader says it.

    Examples
    --------
    >>> text = "[axis.a.drive]\nteeth = 20\nteeth = 24\n"
    >>> try:
    ...     tables = tomllib.loads(text)
    ... except tomllib.TOMLDecodeError as fault:
    ...     print(slip(text, fault, source="rig.toml"))
    rig.toml, line 3: 'teeth' stands twice in [axis.a.drive], first in line 2. Leave one of them out.
    """
    said = str(fault)
    found = _LINE.search(said)
    line = int(found[1]) if found else len(text.split("\n"))
    if inline := _INLINE.match(said):
        found_twice = f"'{inline[1]}' stands twice in one table"
        return Problem(f"{source}, line {line}", found_twice, "", "Leave one of them out.")
    if said.startswith("Cannot"):
        return _twice(text, line, source=source)
    remedy = 'Quantities stand in quotes: play = "3 deg".'
    return Problem(source, f"it is not TOML: {said[0].lower()}{said[1:]}", "", remedy)


def _twice(text: str, line: int, *, source: str) -> Problem:
    """A key or a table that stands twice; where neither is found, a name that is used for both."""
    found = _table_twice(text, line, source=source) or _key_twice(text, line, source=source)
    again = "a name stands here a second time, as a key and as a table"
    return found or Problem(f"{source}, line {line}", again, "", "Leave one of them out.")


def _table_twice(text: str, line: int, *, source: str) -> Problem | None:
    known = list(headers(text))
    again = next((header for header in known if header.line == line), None)
    first = next((header for header in known if again and header.names == again.names), None)
    if again is None or first is None or first.line == line:
        return None
    found = f"the table {again.shown} stands twice, first in line {first.line}"
    return Problem(f"{source}, line {line}", found, "", "Put their keys into one of them.")


def _key_twice(text: str, line: int, *, source: str) -> Problem | None:
    """A key that stands twice under one header; the reader may name the line behind it."""
    lines = text.split("\n")
    above = header_above(text, min(line, len(lines)))
    start = above.line if above else 0
    seen: dict[str, int] = {}
    for number, each in enumerate(lines[start : min(line, len(lines))], start=start + 1):
        key = key_on(each)
        if key and key in seen:
            table = f" in {above.shown}" if above else ""
            found = f"'{key}' stands twice{table}, first in line {seen[key]}"
            return Problem(f"{source}, line {number}", found, "", "Leave one of them out.")
        seen.setdefault(key, number)
    return None
