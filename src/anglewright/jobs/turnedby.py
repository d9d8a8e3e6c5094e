"""What turns a sensor, in the words of a workshop: ``48:24``, ``rack m 1, z 20``, ``screw 8 mm``."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from anglewright.errors import Problem, UsageError, nearest
from anglewright.links.fields import Key, QuantityKey, TeethKey, WholeKey
from anglewright.links.protocol import Part
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import kinds_in, part_named
from anglewright.rigfile.reading import read_part

FEWEST_TEETH = 8  # of a real gear; smaller numbers are taken as a ratio (common practice, no source) [1]
LEAST_TEETH = 24  # of the smaller gear that a plain ratio is turned into [1]
MOST_RATIO = 200  # beyond this, either way, a ratio is a slip of the pen [1]
_FINEST = 60  # denominator of a ratio that is written as a decimal number [1]

WORDS = "rack m 1, z 20; belt 3 mm, z 20; drum 50 mm, rope 4 mm; screw 8 mm; draw-wire 200 mm"
"""Examples of what turns a sensor on a motion along a line."""

_LETTERS = {"m": "module", "z": "teeth", "p": "pitch", "lead": "pitch", "D": "diameter", "d": "rope"}
_PIECE = re.compile(r"(?:(?P<name>[A-Za-z_][A-Za-z_ ]*?)\s*[=\s]\s*)?(?P<value>[-+.\d].*)", re.DOTALL)
_NUMBER = re.compile(r"\d+(\.\d+)?")
_WORD = re.compile(r"[A-Za-z][A-Za-z-]*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Turning:
    """The table of a drive, and those of its keys that nobody has given; of drives in a row, each one's."""

    table: dict[str, Any]
    assumed: tuple[str, ...] = ()
    stages: "tuple[Turning, ...]" = ()

    @property
    def part(self) -> type[Part]:
        """The kind of drive."""
        return part_named("drive", str(self.table["kind"]))


def teeth_of(ratio: str) -> tuple[int, int]:
    """Teeth from axis to sensor for ``48:24``, or of gears that make a ratio such as ``2`` or ``2:1``.

    Raises
    ------
    UsageError
        It is neither, or out of all proportion.

    Examples
    --------
    >>> teeth_of("48:24"), teeth_of("2"), teeth_of("1.5"), teeth_of("2:1")
    ((48, 24), (48, 24), (36, 24), (48, 24))
    """
    first, second = _two(ratio)
    exact = Fraction(first) / Fraction(second)
    if not Fraction(1, MOST_RATIO) <= exact <= MOST_RATIO:
        raise _no_ratio(ratio)
    if min(first, second) >= FEWEST_TEETH and first.denominator == second.denominator == 1:
        return int(first), int(second)
    exact = exact.limit_denominator(_FINEST)
    grown = max(1, -(-LEAST_TEETH // min(exact.numerator, exact.denominator)))
    return exact.numerator * grown, exact.denominator * grown


def _two(ratio: str) -> tuple[Fraction, Fraction]:
    """Both sides of a ratio; of a plain number, the number and 1. Neither is zero."""
    first, colon, second = ratio.partition(":")
    try:
        sides = Fraction(first.strip()), Fraction(second.strip() if colon else "1")
    except (ValueError, ZeroDivisionError):
        raise _no_ratio(ratio) from None
    if min(sides) <= 0:
        raise _no_ratio(ratio)
    return sides


def _no_ratio(ratio: str) -> UsageError:
    remedy = "Write the teeth from axis to sensor, 48:24, or turns of the sensor per turn of the axis, 2."
    return UsageError(Problem("ratio", f"'{ratio}' is no ratio", "", remedy))


def _refused(found: str, remedy: str) -> UsageError:
    return UsageError(Problem("drive", found, "", remedy))


def turning(words: str, *, rotary: bool) -> Turning:
    """The drive that a student's words mean.

    Parameters
    ----------
    words : str
        A ratio of turns or teeth, ``2`` or ``48:24``; or a kind of drive with its numbers, named or in the
        order of the rig file, ``rack m 1, z 20``; or several in a row, ``rack z 20 + gears 20:60``.
    rotary : bool
        Whether the axis turns, so that a plain ratio has a meaning.

    Returns
    -------
    Turning
        The drive's table; what it needs and was not told is assumed.

    Raises
    ------
    UsageError
        It cannot be understood; the nearest known names stand in the sentence.

    Examples
    --------
    >>> turning("rack m 1, z 20", rotary=False).table
    {'kind': 'rack', 'module': '1 mm', 'teeth': 20}
    >>> turning("48:24", rotary=True).table
    {'kind': 'gears', 'gears': [48, 24]}
    """
    stages = [_stage(each.strip(), rotary=rotary and not place) for place, each in enumerate(_rows(words))]
    found = stages[0]
    if len(stages) > 1:
        table = {"kind": "stages", "stages": [stage.table for stage in stages]}
        found = Turning(table=table, stages=tuple(stages))
    reader = TableReader()
    if read_part("drive", found.table, reader, where="drive") is None:
        raise UsageError([_bare(problem) for problem in reader.problems])
    return found


def _rows(words: str) -> list[str]:
    return re.split(r"\s\+\s", words)


def _bare(problem: Problem) -> Problem:
    """The same problem, the drive named once."""
    return Problem(problem.where.removeprefix("drive, "), problem.found, problem.limit, problem.remedy)


def _stage(words: str, *, rotary: bool) -> Turning:
    kind, rest = _kind(words, rotary=rotary)
    if kind == "gears" and not rest.startswith(("gears", "backlash", "module")):
        kind, rest = _geared(rest)
    keys = part_named("drive", kind).KEYS
    table = {"kind": kind} | dict(_values(kind, keys, rest))
    missing = [key for key in keys if key.required and key.name not in table]
    if any(key.example is None for key in missing):
        needs = ", ".join(f"{key.name} ({key.meaning})" for key in missing)
        raise _refused(f"'{words}' does not say enough of the {kind}", f"Give its {needs}.")
    return Turning(
        table=table | {key.name: key.example for key in missing}, assumed=tuple(key.name for key in missing)
    )


def _kind(words: str, *, rotary: bool) -> tuple[str, str]:
    """The kind of drive that words begin with, or that they can only mean; and the words behind it."""
    word = _WORD.match(words)
    if word and word[0] in kinds_in("drive"):
        return word[0], words[word.end() :].lstrip(" ,:")
    if word and word[0] in ("m", "z") and not rotary:
        return "rack", words
    if word and word[0] not in _LETTERS:
        raise _refused(f"kind '{word[0]}' is not known", nearest(word[0], kinds_in("drive")))
    if rotary or ":" in words:
        return "gears", words
    found = f"'{words}' does not say what turns the sensor along a line"
    raise _refused(found, f"Write one of these with your own numbers: {WORDS}.")


def _geared(rest: str) -> tuple[str, str]:
    """Gears, or the sensor on the axis itself, from a ratio; what follows it stays."""
    ratio, comma, further = rest.partition(",")
    counts = [each.strip() for each in ratio.split(":")]
    if len(counts) > 2 and all(count.isdecimal() for count in counts):
        return "gears", f"gears {ratio}{comma}{further}"
    teeth = teeth_of(ratio)
    if teeth[0] == teeth[1] and not further:
        return "direct", ""
    return "gears", f"gears {teeth[0]}:{teeth[1]}{comma}{further}"


def _values(kind: str, keys: tuple[Key, ...], words: str) -> Iterator[tuple[str, Any]]:
    """Names and values of what stands behind the kind; a value without a name is that of the next key."""
    unnamed = iter([key for key in keys if key.required])
    known = {key.name: key for key in keys}
    for piece in (each.strip() for each in re.split(r"[,;]", words) if each.strip()):
        name, value = _parted(piece, known)
        key = known.get(name) if name else next(unnamed, None)
        if key is None:
            raise _refused(f"'{piece}' is not understood", nearest(name or piece, known))
        yield key.name, _value(kind, key, value)


def _parted(piece: str, known: dict[str, Key]) -> tuple[str, str]:
    """Name and value of a piece; the name empty where there is none."""
    spaced = piece.replace("_", " ")
    for name in sorted(known, key=len, reverse=True):
        if re.match(rf"{re.escape(name.replace('_', ' '))}\b", spaced):
            return name, piece[len(name) :].lstrip(" =")
    found = _PIECE.fullmatch(piece)
    if found is None:
        return piece.partition(" ")[0], ""
    name = (found["name"] or "").strip()
    letter = _LETTERS.get(name, name)
    return letter.replace(" ", "_"), found["value"].strip()


def _value(kind: str, key: Key, text: str) -> Any:
    """A value as it stands in the rig file; a bare module is one in millimetres, as on a gear's drawing."""
    if isinstance(key, TeethKey):
        counts = [each.strip() for each in text.strip("[]").replace(",", ":").split(":")]
        if not all(count.isdecimal() for count in counts):
            raise _refused(f"'{text}' is no row of teeth", f"Write the teeth of the {kind} as in 48:24.")
        return [int(count) for count in counts]
    if isinstance(key, WholeKey) and text.isdecimal():
        return int(text)
    if isinstance(key, QuantityKey) and key.name == "module" and _NUMBER.fullmatch(text):
        return f"{text} mm"
    return text
