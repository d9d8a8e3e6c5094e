"""Quantities as people write them, "10 kohm ± 20 %", turned into SI values with their limits.

What can be read in two ways is refused with a sentence, never guessed: a decimal comma, a number
without its unit, a second number, a percentage of zero.
"""

import math
import re
from dataclasses import dataclass
from typing import NamedTuple

from anglewright.errors import Problem, QuantityError
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import (
    Kind,
    Unit,
    asked_for,
    find_unit,
    proposed_units,
    unit_named,
    units_of,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A quantity that was read: its value and tolerance in SI units, and the text it stood in.

    `below` and `above` are distances from `value`, at least zero. With `rms` the size is a standard
    deviation, either of the tolerance or, where there is none, of the value itself ("0.4 mV rms").
    """

    kind: Kind
    value: float
    below: float
    above: float
    unit: Unit
    rms: bool
    text: str

    def spread(
        self, *, persistence: Persistence = Persistence.BUILD, shape: Shape = Shape.RECTANGULAR
    ) -> Spread:
        """The quantity as a number that is not known exactly.

        Parameters
        ----------
        persistence : Persistence
            How long the number stays what it is.
        shape : Shape
            Distribution between the limits; an rms value is normal whatever is said here.

        Returns
        -------
        Spread
            Nominal value and its limits. [SI]

        Examples
        --------
        A tolerance is taken as limits within which every value is equally likely:

        >>> read_quantity("10 kohm ± 20 %", kinds=Kind.RESISTANCE).spread().limits
        (8000.0, 12000.0)

        Noise has no middle of its own:

        >>> read_quantity("0.4 V rms", kinds=Kind.VOLTAGE).spread().nominal
        0.0
        """
        bare = self.rms and self.below == self.above == 0.0
        return Spread(
            nominal=0.0 if bare else self.value,
            below=self.value if bare else self.below,
            above=self.value if bare else self.above,
            shape=Shape.NORMAL if self.rms else shape,
            persistence=persistence,
        )


class _Number(NamedTuple):
    """A number and its unit as typed, in one part of a text."""

    number: float
    unit: str


class _Parts(NamedTuple):
    """The parts of a text: its middle, and what stands above and below it."""

    middle: str
    above: str = ""
    below: str = ""


_SIGNS = str.maketrans(
    {"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u2044": "/", "½": " 1/2", "¼": " 1/4", "¾": " 3/4"}
)
_GROUP_SPACE = re.compile(r"(?<=\d)[\u2009\u202f](?=\d{3}(?!\d))")
_NOT_FINITE = re.compile(r"[+-]?\s*(nan|inf|infinity)\b.*", re.IGNORECASE)
_COMMA = re.compile(r"\d+,\d+")
_RMS = re.compile(r"(.*?)\s*rms", re.IGNORECASE)
_BRACKETS = re.compile(r"\(([^()]*)\)\s*([^()]*)")
_PART = r"((?:[^+-]|(?<=\d[eE])[+-])+?)"
_PLUS, _MINUS = r"(?<!\d[eE])\+\s*", r"(?<!\d[eE])-\s*"
_PLUS_MINUS = re.compile(r"(.*?)\s*(?:±|\+\s*/\s*-|\+-)\s*(.*)")
_PLUS_FIRST = re.compile(rf"(.+?)\s*{_PLUS}{_PART}\s*/?\s*{_MINUS}{_PART}")
_MINUS_FIRST = re.compile(rf"(.+?)\s*{_MINUS}{_PART}\s*/?\s*{_PLUS}{_PART}")
_DECIMAL = r"(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_PLAIN = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d+)\s+)?(?P<top>\d+)/(?P<bottom>\d+)|(?P<decimal>{_DECIMAL}))"
    r"\s*(?:-(?=[A-Za-z]))?(?P<unit>.*)"
)
_LETTER_CODE = re.compile(r"(?P<whole>\d*)(?P<letter>[RrkKMGpnuV\u00b5\u03bc])(?P<rest>\d+)(?P<tail>\D*)")
_LETTER_KINDS = (Kind.RESISTANCE, Kind.CAPACITANCE, Kind.VOLTAGE)
_SECOND_NUMBER = re.compile(r"(?:^|[\s+/-])\.?\d")


def read_quantity(text: str | int | float, *, kinds: Kind | tuple[Kind, ...]) -> Quantity:
    """A quantity as people write it, in SI units.

    Parameters
    ----------
    text : str or int or float
        A number with its unit, and a tolerance where there is one; a bare number only for a number of
        bits or counts, and for a fraction from 0 to 1.
    kinds : Kind or tuple of Kind
        What is asked for; decides what a short spelling means.

    Returns
    -------
    Quantity
        Value and distances to its limits. [SI]

    Raises
    ------
    QuantityError
        The text is not one of the quantities asked for, or could be read in two ways.

    Notes
    -----
    A percentage after the sign ± is a share of the value, except for a fraction, where it is per cent of
    the whole: "50 % ± 2 %" reaches from 48 % to 52 %. The letter code of resistors and capacitors,
    "4k7" and "4n7", is read as IEC 60062 has it, and "3V3" in the same way by common practice.

    References
    ----------
    iec60062
    practice

    Examples
    --------
    A track of 10 kohm bought with a tolerance of a fifth:

    >>> track = read_quantity("10 kohm ± 20 %", kinds=Kind.RESISTANCE)
    >>> track.value, track.below, track.above
    (10000.0, 2000.0, 2000.0)

    A travel that is never short, but may be ten degrees long:

    >>> travel = read_quantity("3600 deg +10 / -0", kinds=Kind.ANGLE)
    >>> round(math.degrees(travel.above), 9), travel.below
    (10.0, 0.0)
    """
    whole = _as_text(text)
    plain = _GROUP_SPACE.sub("", whole).translate(_SIGNS).strip()
    _refuse_unreadable(plain, whole, kinds)
    rms = _RMS.fullmatch(plain)
    parts = _split(rms[1] if rms else plain)
    return _assemble(parts, rms=rms is not None, whole=whole, kinds=kinds)


def _as_text(text: str | int | float) -> str:
    if isinstance(text, str):
        return text.strip()
    return repr(float(text)) if isinstance(text, float) else str(text)


def _refuse(found: str, limit: str, remedy: str) -> QuantityError:
    return QuantityError(Problem("", found, limit, remedy))


def _example(kinds: Kind | tuple[Kind, ...]) -> str:
    return f"'10 {units_of(kinds)[0].name}'"


def _refuse_unreadable(plain: str, whole: str, kinds: Kind | tuple[Kind, ...]) -> None:
    """Stop at a text that is empty, not finite, or written with a comma."""
    remedy = f"Write a number and its unit, such as {_example(kinds)}."
    if not plain:
        raise _refuse("the text is empty", asked_for(kinds), remedy)
    if _NOT_FINITE.fullmatch(plain):
        raise _refuse(f"'{whole}' is not a finite number", asked_for(kinds), remedy)
    comma = _COMMA.search(plain)
    if comma:
        raise _refuse(
            f"'{whole}' has a comma in its number",
            "numbers are written with a point and without marks between thousands",
            _without_comma(comma[0]),
        )


def _without_comma(number: str) -> str:
    """What a number with a comma may have meant: one thing, or two where three digits follow."""
    point = number.replace(",", ".")
    joined = number.replace(",", "")
    could_be_thousands = re.fullmatch(r"[1-9]\d{0,2},\d{3}", number)
    return f"Write {point} or {joined}, whichever is meant." if could_be_thousands else f"Write {point}."


def _split(plain: str) -> _Parts:
    """The middle of a text and its tolerance above and below."""
    bracket = _BRACKETS.fullmatch(plain)
    if bracket:
        plain = f"{bracket[1]} {bracket[2]}".strip()
    if equal := _PLUS_MINUS.fullmatch(plain):
        tolerance = equal[2] or "no"
        return _Parts(equal[1], tolerance, tolerance)
    if unequal := _PLUS_FIRST.fullmatch(plain):
        return _Parts(unequal[1], unequal[2], unequal[3])
    if unequal := _MINUS_FIRST.fullmatch(plain):
        return _Parts(unequal[1], unequal[3], unequal[2])
    return _Parts(plain)


def _assemble(parts: _Parts, *, rms: bool, whole: str, kinds: Kind | tuple[Kind, ...]) -> Quantity:
    middle = _Number(0.0, "")
    if parts.middle or not parts.above:
        middle = _number_in(parts.middle, whole, kinds)
    above, below = _tolerance(parts, whole, kinds)
    unit = _unit_of(middle, above.unit, whole=whole, kinds=kinds, alone=not parts.middle)
    value = unit.to_si(middle.number)
    limits = [_distance(part, value, unit=unit, whole=whole) for part in (below, above)]
    if not all(math.isfinite(number) for number in (value, *limits)):
        raise _refuse(
            f"'{whole}' is not a finite number",
            asked_for(kinds),
            f"Write a number such as {_example(kinds)}.",
        )
    if rms:
        _refuse_odd_rms(value, limits, whole)
    return Quantity(
        kind=unit.kind, value=value, below=limits[0], above=limits[1], unit=unit, rms=rms, text=whole
    )


def _tolerance(parts: _Parts, whole: str, kinds: Kind | tuple[Kind, ...]) -> tuple[_Number, _Number]:
    """What stands above and below the middle; a bare one takes the unit of the other."""
    if not parts.above:
        return _Number(0.0, ""), _Number(0.0, "")
    above = _number_in(parts.above, whole, kinds, of="the tolerance of ")
    below = _number_in(parts.below, whole, kinds, of="the tolerance of ")
    return above._replace(unit=above.unit or below.unit), below._replace(unit=below.unit or above.unit)


def _number_in(part: str, whole: str, kinds: Kind | tuple[Kind, ...], *, of: str = "") -> _Number:
    """The number at the head of one part and the unit that follows it."""
    coded = _LETTER_CODE.fullmatch(part.strip())
    if coded and (number := _letter_coded(coded)):
        return number
    match = _PLAIN.fullmatch(part.strip())
    if match is None:
        remedy = f"Write a number and its unit, such as {_example(kinds)}."
        raise _refuse(f"{of}'{whole}' has no number that can be read", asked_for(kinds), remedy)
    unit = match["unit"].strip()
    if _SECOND_NUMBER.search(unit) and find_unit(unit, kinds=tuple(Kind)) is None:
        remedy = f"Write one number and its unit, such as {_example(kinds)}; a tolerance follows the sign ±."
        raise _refuse(f"{of}'{whole}' has two numbers", asked_for(kinds), remedy)
    return _Number(_size(match), unit)


def _letter_coded(coded: re.Match[str]) -> _Number | None:
    """A number with a letter for its point, "4k7"; None where what follows is not its plain unit."""
    unit = find_unit(coded["letter"], kinds=_LETTER_KINDS)
    if unit is None:
        return None
    tail = find_unit(coded["tail"], kinds=unit.kind) if coded["tail"].strip() else None
    if coded["tail"].strip() and (tail is None or tail.size != 1.0):
        return None
    return _Number(float(f"{coded['whole'] or 0}.{coded['rest']}"), unit.name)


def _size(match: re.Match[str]) -> float:
    """The number that was matched: a decimal, or a workshop fraction with or without a whole number."""
    sign = -1.0 if match["sign"] == "-" else 1.0
    if match["decimal"]:
        return sign * float(match["decimal"])
    if not int(match["bottom"]):
        return math.inf
    return sign * (int(match["whole"] or 0) + int(match["top"]) / int(match["bottom"]))


def _unit_of(
    middle: _Number, tolerance: str, *, whole: str, kinds: Kind | tuple[Kind, ...], alone: bool
) -> Unit:
    """The unit of the middle, borrowed from its tolerance where it has none ("270 ± 5 deg")."""
    borrowed = find_unit(tolerance, kinds=kinds) if tolerance else None
    if alone and borrowed is None and _is_relative(tolerance):
        raise _of_zero(whole, proposed_units(kinds))
    if not middle.unit and borrowed and (alone or find_unit("", kinds=kinds) is None):
        return borrowed
    unit = unit_named(tolerance if alone else middle.unit, kinds=kinds, within=whole)
    if unit.kind is Kind.FRACTION and not unit.name and not 0.0 <= middle.number <= 1.0:
        remedy = f"Write '{middle.number:g} %' if per cent is meant."
        raise _refuse(f"'{whole}' has no unit and is not between 0 and 1", asked_for(kinds), remedy)
    return unit


def _is_relative(unit: str) -> bool:
    return bool(unit) and find_unit(unit, kinds=Kind.FRACTION) is not None


def _of_zero(whole: str, units: str) -> QuantityError:
    found = f"the tolerance of '{whole}' is a percentage of zero"
    return _refuse(found, "which leaves no tolerance at all", f"Write it in {units}.")


def _distance(part: _Number, value: float, *, unit: Unit, whole: str) -> float:
    """A tolerance as a distance from the middle. [SI]"""
    if part.number < 0.0:
        found = f"the tolerance of '{whole}' is negative"
        raise _refuse(found, "a tolerance is a distance", "Write it without a sign of its own.")
    share = find_unit(part.unit, kinds=Kind.FRACTION) if _is_relative(part.unit) else None
    if share is None or unit.kind is Kind.FRACTION:
        own = find_unit(part.unit, kinds=unit.kind) if part.unit else unit
        if own is None:
            found = f"the tolerance of '{whole}' has the unit '{part.unit}'"
            raise _refuse(found, asked_for(unit.kind), f"Write it in {proposed_units(unit.kind)}.")
        return own.difference_to_si(part.number)
    if value == 0.0:
        raise _of_zero(whole, unit.name)
    if unit.kind is Kind.TEMPERATURE:
        found = f"the tolerance of '{whole}' is a percentage of a temperature"
        raise _refuse(found, "whose zero is a convention", f"Write it in {unit.name}.")
    return abs(value) * share.to_si(part.number)


def _refuse_odd_rms(value: float, limits: list[float], whole: str) -> None:
    """Stop at an rms value that is negative, or not the same on both sides."""
    if limits[0] != limits[1]:
        found = f"'{whole}' has two sizes"
        raise _refuse(found, "an rms value is the same on both sides", "Write one of them after the sign ±.")
    if value < 0.0 and not limits[0]:
        raise _refuse(f"'{whole}' is negative", "an rms value is a size", "Write it without the sign.")
