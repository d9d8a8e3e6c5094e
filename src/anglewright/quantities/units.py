"""The units of the trade: what each is called, what it measures, and its size in SI units.

The same spelling can mean two things ("10k" is a resistance, ``12'`` is twelve feet), so a unit is
always looked for among the kinds that are asked for, never among all of them.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from anglewright.errors import Problem, QuantityError, nearest


class Kind(Enum):
    """What a quantity measures; the value is the plain word for it."""

    ANGLE = "an angle"
    LENGTH = "a length"
    RESISTANCE = "a resistance"
    CAPACITANCE = "a capacitance"
    VOLTAGE = "a voltage"
    CURRENT = "a current"
    POWER = "a power"
    TIME = "a time"
    FREQUENCY = "a frequency"
    ANGULAR_SPEED = "a speed of turning"
    LINEAR_SPEED = "a speed along a line"
    FRACTION = "a fraction"
    BITS = "a number of bits"
    COUNT = "a number of counts"
    TEMPERATURE = "a temperature"
    TEMPERATURE_COEFFICIENT = "a temperature coefficient"
    TORQUE = "a torque"
    FORCE = "a force"
    STIFFNESS = "a stiffness in torsion"


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its name, what it measures, its size in SI units and where its zero lies.

    `zero` is the SI value at the zero of the unit, and differs from 0 only for degC and degF.
    """

    name: str
    kind: Kind
    size: float
    zero: float = 0.0

    def to_si(self, number: float) -> float:
        """A number in this unit as a value. [SI]"""
        return self.difference_to_si(number) + self.zero

    def from_si(self, value_si: float) -> float:
        """A value in SI units as a number in this unit. [this unit]"""
        return self.difference_from_si(value_si - self.zero)

    def difference_to_si(self, number: float) -> float:
        """A difference in this unit, a tolerance for example, in which the zero plays no part. [SI]"""
        parts = _whole_parts(self.size)
        return number / parts if parts else number * self.size

    def difference_from_si(self, value_si: float) -> float:
        """A difference in SI units as a number in this unit. [this unit]"""
        parts = _whole_parts(self.size)
        return value_si * parts if parts else value_si / self.size


def _whole_parts(size: float) -> int:
    """How many of a small unit make one SI unit, where that is a whole number; else 0."""
    parts = round(1.0 / size)
    return parts if parts > 1 and math.isclose(parts * size, 1.0, rel_tol=1e-14) else 0


_DEGREE = math.pi / 180.0
_TURN = 2.0 * math.pi
_INCH = 0.0254  # exact by definition [m]
_FOOT = 0.3048  # exact [m]
_KGF = 9.80665  # exact: standard gravity on one kilogram [N]
_LBF = 0.45359237 * _KGF  # exact [N]

# Each row: kind, size in SI units, spellings. The first spelling is the name that is shown; the first
# rows of a kind are the units that an error proposes. Sizes are exact by definition (SI; pound and inch).
_ROWS: tuple[tuple[Kind, float, str], ...] = (
    (Kind.ANGLE, _DEGREE, "deg, degs, °, degree, degrees"),
    (Kind.ANGLE, 1.0, "rad, rads, radian, radians"),
    (Kind.ANGLE, _TURN, "turn, turns, rev, revs, revolution, revolutions"),
    (Kind.ANGLE, 1e-3, "mrad, milliradian, milliradians"),
    (Kind.ANGLE, _DEGREE / 60, "arcmin, arcminute, arcminutes"),
    (Kind.ANGLE, _DEGREE / 3600, "arcsec, arcsecond, arcseconds"),
    (Kind.LENGTH, 1e-3, "mm, millimetre, millimetres, millimeter, millimeters"),
    (Kind.LENGTH, 1.0, "m, metre, metres, meter, meters"),
    (Kind.LENGTH, _INCH, 'in, ", inch, inches'),
    (Kind.LENGTH, 1e-2, "cm, centimetre, centimetres, centimeter, centimeters"),
    (Kind.LENGTH, 1e-6, "um, micron, microns, micrometre, micrometres"),
    (Kind.LENGTH, _FOOT, "ft, ', foot, feet"),
    (Kind.LENGTH, _INCH / 1000, "thou"),
    (Kind.RESISTANCE, 1.0, "ohm, ohms, Ω, R"),
    (Kind.RESISTANCE, 1e3, "kohm, kohms, kΩ, k, kR, kilohm, kilohms"),
    (Kind.RESISTANCE, 1e6, "Mohm, Mohms, MΩ, M, megohm, megohms, meg"),
    (Kind.RESISTANCE, 1e-3, "mohm, mohms, mΩ, milliohm, milliohms"),
    (Kind.RESISTANCE, 1e9, "Gohm, Gohms, GΩ, G"),
    (Kind.CAPACITANCE, 1e-9, "nF, n, nanofarad, nanofarads"),
    (Kind.CAPACITANCE, 1e-6, "uF, u, microfarad, microfarads"),
    (Kind.CAPACITANCE, 1e-12, "pF, p, picofarad, picofarads"),
    (Kind.CAPACITANCE, 1e-3, "mF, millifarad, millifarads"),
    (Kind.CAPACITANCE, 1.0, "F, farad, farads"),
    (Kind.VOLTAGE, 1.0, "V, volt, volts"),
    (Kind.VOLTAGE, 1e-3, "mV, millivolt, millivolts"),
    (Kind.VOLTAGE, 1e-6, "uV, microvolt, microvolts"),
    (Kind.VOLTAGE, 1e3, "kV"),
    (Kind.CURRENT, 1e-3, "mA, milliamp, milliamps"),
    (Kind.CURRENT, 1.0, "A, amp, amps, ampere, amperes"),
    (Kind.CURRENT, 1e-6, "uA, microamp, microamps"),
    (Kind.CURRENT, 1e-9, "nA"),
    (Kind.POWER, 1.0, "W, watt, watts"),
    (Kind.POWER, 1e-3, "mW, milliwatt, milliwatts"),
    (Kind.POWER, 1e-6, "uW"),
    (Kind.POWER, 1e3, "kW"),
    (Kind.TIME, 1.0, "s, sec, secs, second, seconds"),
    (Kind.TIME, 1e-3, "ms, millisecond, milliseconds"),
    (Kind.TIME, 1e-6, "us, microsecond, microseconds"),
    (Kind.TIME, 1e-9, "ns"),
    (Kind.TIME, 60.0, "min, mins, minute, minutes"),
    (Kind.TIME, 3600.0, "h, hr, hour, hours"),
    (Kind.FREQUENCY, 1.0, "Hz, hertz, samples/s, sample/s, samples/second"),
    (Kind.FREQUENCY, 1e3, "kHz, kilohertz"),
    (Kind.FREQUENCY, 1e6, "MHz, megahertz"),
    (Kind.ANGULAR_SPEED, _DEGREE, "deg/s, °/s, deg/sec, degree/s, degrees/s, degrees/second"),
    (Kind.ANGULAR_SPEED, _TURN / 60, "rpm, rev/min, r/min, turn/min, turns/min"),
    (Kind.ANGULAR_SPEED, 1.0, "rad/s, rad/sec, radians/s, radians/second"),
    (Kind.ANGULAR_SPEED, _TURN, "turn/s, turns/s, rev/s, revs/s"),
    (Kind.LINEAR_SPEED, 1e-3, "mm/s, mm/sec"),
    (Kind.LINEAR_SPEED, 1.0, "m/s, m/sec"),
    (Kind.LINEAR_SPEED, 1e-2, "cm/s, cm/sec"),
    (Kind.LINEAR_SPEED, 1e-3 / 60, "mm/min"),
    (Kind.LINEAR_SPEED, 1 / 60, "m/min"),
    (Kind.LINEAR_SPEED, _INCH, "in/s, inch/s, inches/s"),
    (Kind.LINEAR_SPEED, _FOOT, "ft/s, feet/s"),
    (Kind.FRACTION, 1e-2, "%, percent"),
    (Kind.FRACTION, 1e-6, "ppm"),
    (Kind.FRACTION, 1.0, ""),
    (Kind.BITS, 1.0, "bit, bits"),
    (Kind.COUNT, 1.0, "count, counts, code, codes"),
    (Kind.COUNT, 1.0, "LSB, LSBs"),
    (Kind.COUNT, 1.0, "pulses, pulse"),
    (Kind.COUNT, 1.0, "teeth, tooth"),
    (Kind.TEMPERATURE, 1.0, "degC, °C, C, celsius"),
    (Kind.TEMPERATURE, 1.0, "K, kelvin, kelvins"),
    (Kind.TEMPERATURE, 5 / 9, "degF, °F, F, fahrenheit"),
    (Kind.TEMPERATURE_COEFFICIENT, 1e-6, "ppm/degC, ppm/°C, ppm/C, ppm/K"),
    (Kind.TEMPERATURE_COEFFICIENT, 1e-2, "%/degC, %/°C, %/C, %/K"),
    (Kind.TEMPERATURE_COEFFICIENT, 1.0, "1/K, /K, 1/degC, /degC, 1/°C, /°C"),
    (Kind.TORQUE, 1.0, "N m, newton metre, newton metres"),
    (Kind.TORQUE, 1e-3, "N mm, mN m"),
    (Kind.TORQUE, 1e-2, "N cm"),
    (Kind.TORQUE, _KGF / 100, "kgf cm, kg cm"),
    (Kind.TORQUE, _LBF * _INCH / 16, "ozf in, oz in"),
    (Kind.TORQUE, _LBF * _INCH, "lbf in, lb in"),
    (Kind.FORCE, 1.0, "N, newton, newtons"),
    (Kind.FORCE, 1e-3, "mN"),
    (Kind.FORCE, 1e3, "kN"),
    (Kind.FORCE, _KGF, "kgf"),
    (Kind.FORCE, _KGF / 1000, "gf"),
    (Kind.FORCE, _LBF, "lbf"),
    (Kind.STIFFNESS, 1.0, "N m/rad"),
    (Kind.STIFFNESS, 1 / _DEGREE, "N m/deg, N m/°"),
    (Kind.STIFFNESS, 1e-3 / _DEGREE, "N mm/deg, N mm/°, mN m/deg"),
    (Kind.STIFFNESS, 1e-3, "N mm/rad, mN m/rad"),
)
_ZEROS: Mapping[str, float] = {"degC": 273.15, "degF": 459.67 * 5 / 9}  # [K]


def _unit(kind: Kind, size: float, spellings: str) -> Unit:
    name = spellings.split(", ")[0]
    return Unit(name, kind, size, _ZEROS.get(name, 0.0))


def _loose(text: str) -> str:
    """A spelling without spaces and capitals; a leading m or M keeps its case, being milli or mega."""
    tight = "".join(text.split())
    return tight[0] + tight[1:].casefold() if tight[:1] in ("m", "M") else tight.casefold()


def _spelled() -> dict[Kind, dict[str, Unit]]:
    table: dict[Kind, dict[str, Unit]] = {kind: {} for kind in Kind}
    for row in _ROWS:
        for spelling in row[2].split(", "):
            table[row[0]][_loose(spelling)] = _unit(*row)
    return table


UNITS: Mapping[str, Unit] = {unit.name: unit for unit in (_unit(*row) for row in _ROWS)}
_SPELLED = _spelled()
_BARE: Mapping[Kind, Unit] = {
    Kind.BITS: UNITS["bit"],
    Kind.COUNT: UNITS["count"],
    Kind.FRACTION: UNITS[""],
}
_SAME_SIGN = str.maketrans(
    {
        "\u2126": "Ω",  # the ohm sign and the Greek letter
        "\u00b5": "u",  # the micro sign and the Greek letter
        "\u03bc": "u",
        "\u00ba": "°",
        "\u2103": "°C",
        "\u2032": "'",
        "\u2019": "'",
        "\u2033": '"',
        "\u201d": '"',
        "\u00b7": " ",
        "\u22c5": " ",
        "*": " ",
        "\u00a0": " ",
    }
)


def _one_or_more(kinds: Kind | tuple[Kind, ...]) -> tuple[Kind, ...]:
    return (kinds,) if isinstance(kinds, Kind) else kinds


def plain_spelling(text: str) -> str:
    """A unit as typed, with signs that look alike made one and its hyphens and "per" written out.

    Parameters
    ----------
    text : str
        The unit as typed.

    Returns
    -------
    str
        The same unit in the signs of the table.

    Examples
    --------
    Both the ohm sign and the Greek letter are in use, and look the same:

    >>> plain_spelling("k\u2126") == plain_spelling("k\u03a9")
    True
    >>> plain_spelling("degrees per second")
    'degrees/second'
    """
    plain = re.sub(r"(?<=[A-Za-z])-(?=[A-Za-z])", " ", text.translate(_SAME_SIGN))
    return re.sub(r"\s*/\s*", "/", re.sub(r"\s+per\s+", "/", plain)).strip()


def find_unit(text: str, *, kinds: Kind | tuple[Kind, ...]) -> Unit | None:
    """The unit behind a spelling among the kinds asked for, None where there is none.

    Parameters
    ----------
    text : str
        The unit as typed; the empty text is the unit of a bare number.
    kinds : Kind or tuple of Kind
        What is asked for; the first that knows the spelling is taken.

    Returns
    -------
    Unit or None
        The unit.

    Notes
    -----
    Capitals do not matter, but for a leading m or M: "mohm" is a thousandth of an ohm and "Mohm" a
    million ohm, and "MV" is not taken for "mV".

    Examples
    --------
    One letter is enough on a circuit diagram, where the kind is known:

    >>> find_unit("k", kinds=Kind.RESISTANCE).name
    'kohm'
    """
    spelling = plain_spelling(text)
    wanted = _one_or_more(kinds)
    if not spelling:
        return next((_BARE[kind] for kind in wanted if kind in _BARE), None)
    found = (_SPELLED[kind].get(_loose(spelling)) for kind in wanted)
    return next((unit for unit in found if unit is not None), None)


def unit_named(text: str, *, kinds: Kind | tuple[Kind, ...], within: str = "") -> Unit:
    """The unit behind a spelling, among the kinds that are asked for.

    Parameters
    ----------
    text : str
        The unit as typed.
    kinds : Kind or tuple of Kind
        What is asked for; the first that knows the spelling is taken.
    within : str
        The whole text in which the unit stands, quoted where it cannot be read.

    Returns
    -------
    Unit
        The unit.

    Raises
    ------
    QuantityError
        No unit is given, none is known by that name, or it measures something else.

    Examples
    --------
    Revolutions per minute are written in several ways in the trade:

    >>> unit_named("rev/min", kinds=Kind.ANGULAR_SPEED).name
    'rpm'
    """
    unit = find_unit(text, kinds=kinds)
    if unit is None:
        raise QuantityError(_unit_problem(text.strip(), kinds, within))
    return unit


def _unit_problem(text: str, kinds: Kind | tuple[Kind, ...], within: str) -> Problem:
    """Why a spelling is none of the units asked for."""
    other = (UNITS.get(text) or find_unit(text, kinds=tuple(Kind))) if text else None
    remedy = f"Write it in {proposed_units(kinds)}."
    if not text:
        found = f"'{within}' has no unit" if within else "no unit is given"
    elif other is None:
        found = (
            f"the unit '{text}' of '{within}' is not known" if within else f"the unit '{text}' is not known"
        )
        remedy = nearest(text.casefold(), [unit.name for unit in units_of(kinds)])
    elif within:
        found = f"'{within}' is {other.kind.value}"
    else:
        found = f"'{text}' is the unit of {other.kind.value}"
    return Problem("", found, asked_for(kinds), remedy)


def units_of(kinds: Kind | tuple[Kind, ...]) -> tuple[Unit, ...]:
    """The units of the kinds asked for that have a name, the usual ones first."""
    wanted = _one_or_more(kinds)
    return tuple(unit for kind in wanted for unit in UNITS.values() if unit.kind is kind and unit.name)


def asked_for(kinds: Kind | tuple[Kind, ...]) -> str:
    """The kinds asked for as words, "an angle or a length is asked for"."""
    return " or ".join(kind.value for kind in _one_or_more(kinds)) + " is asked for"


def proposed_units(kinds: Kind | tuple[Kind, ...]) -> str:
    """The usual units of the kinds asked for, "deg, rad or turn"."""
    wanted = _one_or_more(kinds)
    each = 3 if len(wanted) == 1 else 2
    names = [unit.name for kind in wanted for unit in units_of(kind)[:each]]
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
