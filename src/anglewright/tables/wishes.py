"""What a person says about a file beforehand: it goes before all that the first pass would find out."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from anglewright.errors import DataError, Problem, UsageError, nearest

OPTION = "--as"
"""The option of the command line that states a wish."""

MARKS = {"comma": ",", "semicolon": ";", "tab": "\t", "blank": " ", "space": " ", "bar": "|", "\\t": "\t"}
_CODECS = ("utf-8", "latin-1", "utf-16-le", "utf-16-be", "cp1252", "cp437", "shift-jis")
CLOCKS = ("s", "ms", "us", "ns", "min", "h", "none")
PAIRS = ("before",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is asked for; empty, None or 0 where nothing is.

    `header` is the line of the names, -1 for none; columns are named or numbered from 1.
    """

    encoding: str = ""
    delimiter: str = ""
    decimal_comma: bool | None = None
    comment: str = ""
    header: int = 0
    turned: bool | None = None
    sheet: str = ""
    reference: str = ""
    raw: str = ""
    time: str = ""
    side: str = ""
    unit: str = ""
    clock: str = ""
    missing: tuple[str, ...] = ()
    pair: str = ""
    rests: bool | None = None


NO_WISHES = Wishes()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the first pass could not settle, with the answers that there are."""

    where: str
    found: str
    asks: str
    answers: tuple[tuple[str, str], ...]
    """Each answer as ``KEY=VALUE`` and what it means."""

    def problem(self) -> Problem:
        """The question where nobody can be asked: the options to give."""
        ways = " or ".join(f'{OPTION} "{answer}" ({meaning})' for answer, meaning in self.answers)
        return Problem(self.where, self.found, "", f"Give {ways}.")


Ask = Callable[[Question], str]
"""Puts a question to a person and gives the answer chosen, ``KEY=VALUE``."""


def wishes_from(texts: Iterable[str], *, wishes: Wishes = NO_WISHES) -> Wishes:
    """Wishes as they are typed, ``KEY=VALUE`` each, added to others.

    Raises
    ------
    UsageError
        A key is not known, or its value cannot be understood.

    Examples
    --------
    >>> wishes_from(["delimiter=semicolon", "missing=3839,NA"]).missing
    ('3839', 'NA')
    """
    for text in texts:
        key, parted, value = text.partition("=")
        key = key.strip()
        if key in _READERS and not parted:
            found, remedy = f"'{key}' is said without its value", f"Write {OPTION} {key}=VALUE."
            raise UsageError(Problem(OPTION, found, "", remedy))
        if key not in _READERS:
            found = f"there is nothing called '{key}' to say about a file"
            raise UsageError(Problem(OPTION, found, "", nearest(key, _READERS)))
        wishes = replace(wishes, **_READERS[key](key, value))
    return wishes


def _text(key: str, value: str) -> Mapping[str, Any]:
    return {key: value.strip()}


def _list(key: str, value: str) -> Mapping[str, Any]:
    return {_FIELDS.get(key, key): tuple(each.strip() for each in value.split(",") if each.strip())}


def _one_of(choices: Mapping[str, Any]) -> Callable[[str, str], Mapping[str, Any]]:
    def chosen(key: str, value: str) -> Mapping[str, Any]:
        plain = value.strip().lower() or value
        if plain not in choices:
            found = f"'{value}' is not a {key}"
            raise UsageError(
                Problem(
                    f"{OPTION} {key}",
                    found,
                    "",
                    nearest(plain, [name for name in choices if name[:1].isalnum()]),
                )
            )
        return {_FIELDS.get(key, key): choices[plain]}

    return chosen


def _header(key: str, value: str) -> Mapping[str, Any]:
    if value.strip() == "none":
        return {key: -1}
    if value.strip().isdecimal() and int(value) > 0:
        return {key: int(value)}
    found = f"'{value}' is no line"
    remedy = f"Write the line of the names as in {OPTION} header=3, or {OPTION} header=none."
    raise UsageError(Problem(f"{OPTION} {key}", found, "", remedy))


_FIELDS = {"decimal": "decimal_comma"}
_READERS: Mapping[str, Callable[[str, str], Mapping[str, Any]]] = {
    "encoding": _one_of({name: name for name in _CODECS}),
    "delimiter": _one_of(MARKS | {mark: mark for mark in ",;|\t "}),
    "decimal": _one_of({"comma": True, "point": False, ",": True, ".": False}),
    "comment": _text,
    "header": _header,
    "turned": _one_of({"yes": True, "no": False}),
    "sheet": _text,
    "reference": _text,
    "raw": _text,
    "time": _text,
    "side": _text,
    "unit": _text,
    "clock": _one_of({name: name for name in CLOCKS}),
    "missing": _list,
    "pair": _one_of({name: name for name in PAIRS}),
    "rests": _one_of({"yes": True, "no": False}),
}
KEYS = tuple(_READERS)
"""Everything that can be said about a file."""


def chosen_by(question: Question, ask: Ask | None) -> Wishes:
    """The answer to a question, or a refusal that tells the options.

    Raises
    ------
    DataError
        Nobody can be asked.
    """
    if ask is None:
        raise DataError(question.problem())
    return wishes_from([ask(question)])
