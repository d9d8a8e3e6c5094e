"""Lines of a rig file that say what was assumed: written for a kind of part, found again, and taken out."""

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from anglewright.links.fields import (
    ChoiceKey,
    Key,
    LimitKey,
    QuantityKey,
    TableKey,
    TurnLimitKey,
    WholeKey,
)
from anglewright.rig import Assumption

WIDTH = 42  # of what stands before a remark [1]
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_HEADER = re.compile(r"(?P<row>\[?)\[axis\.(?P<axis>\"(?:[^\"\\]|\\.)*\"|[^.\]]+)(?:\.(?P<table>[^\]]+))?\]")
_IN_FORCE = re.compile(r"(?P<key>[\w-]+)\s*=\s*(?P<value>.*?)\s*# assumed: (?P<meaning>.*)")
_WAITING = re.compile(r"#\s*(?P<key>[\w-]+) = .*# (?:assumed: |plays a part beside ).*")


def toml_value(value: Any) -> str:
    """A value as a TOML file has it, tables on one line.

    Examples
    --------
    >>> toml_value({"kind": "rack", "teeth": 20}), toml_value(True)
    ('{ kind = "rack", teeth = 20 }', 'true')
    """
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {toml_value(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(toml_value(each) for each in value) + "]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def toml_key(name: str) -> str:
    """A name as a TOML file has it, in quotes where it is not plain."""
    return name if _BARE.fullmatch(name) else toml_value(name)


def remarked(text: str, remark: str) -> str:
    """A line with a remark behind it, remarks one below the other."""
    return f"{text:<{WIDTH}} # {remark}"


def assumed(key: str, value: Any, meaning: str) -> str:
    """A line in force whose value nobody has given."""
    return remarked(f"{toml_key(key)} = {toml_value(value)}", f"assumed: {meaning}")


def waiting(text: str, meaning: str) -> str:
    """A line that repeats a default and only waits for its hash to go."""
    return remarked(f"# {text}", f"assumed: {meaning}")


def default_lines(keys: Iterable[Key], *, given: Collection[str] = ()) -> list[str]:
    """A waiting line for each key of a part that the file does not give.

    Parameters
    ----------
    keys : iterable of Key
        Keys that the kind of part declares.
    given : collection of str
        Keys that stand in the file.

    Returns
    -------
    list of str
        Lines of TOML that begin with a hash.
    """
    return [line for key in keys if key.name not in given and key.unless not in given for line in _line(key)]


def _line(key: Key) -> list[str]:
    """The default of one key as a comment; of a table of keys, an example."""
    if isinstance(key, TableKey):
        return [f"# {key.name} = {key.example}"] if key.example else []
    if not isinstance(key, QuantityKey | LimitKey | TurnLimitKey | ChoiceKey | WholeKey):
        return []
    if key.default is None:
        return []
    text = f"{key.name} = {toml_value(key.default)}"
    if key.only_with:
        return [remarked(f"# {text}", f"plays a part beside {key.only_with}: {key.meaning}")]
    return [waiting(text, key.meaning)]


def is_default_line(line: str, keys: Iterable[Key]) -> bool:
    """Whether a comment is one that `default_lines` writes for one of these keys, now or with other values.

    Examples
    --------
    >>> from anglewright.rigfile.kinds import part_named
    >>> keys = part_named("coupling", "d-bore").KEYS
    >>> is_default_line('# play = "2 deg"  # assumed: play of the coupling', keys)
    True
    >>> is_default_line("# play it safe", keys)
    False
    """
    keys = tuple(keys)
    found = _WAITING.fullmatch(line.strip())
    if found is not None:
        return found["key"] in {key.name for key in keys}
    return any(line.strip() == example for key in keys if isinstance(key, TableKey) for example in _line(key))


def assumed_in(text: str) -> Iterator[Assumption]:
    """What was assumed and stands in force in a rig file that was just written, in its order."""
    table, row = "", 0
    for line in text.split("\n"):
        if header := _HEADER.match(line):
            row = row + 1 if header["row"] else 0
            table = f"{header['table']}." if header["table"] else ""
            table += f"{row}." if row else ""
        elif found := _IN_FORCE.fullmatch(line):
            value = found["value"].strip('"')
            yield Assumption(key=f"{table}{found['key']}", value=value, meaning=found["meaning"])
