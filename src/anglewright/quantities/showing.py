"""SI values as people read them: the user's unit, as many digits as are known, the sign ±."""

import math

from anglewright.quantities.spread import Shape, Spread
from anglewright.quantities.units import UNITS, Kind, Unit

THIN_SPACE = "\u2009"  # between groups of three digits
_ENGINEERING = (
    Kind.RESISTANCE,
    Kind.CAPACITANCE,
    Kind.VOLTAGE,
    Kind.CURRENT,
    Kind.POWER,
    Kind.FREQUENCY,
    Kind.TIME,
)
_LADDER_ENDS = ("min", "h")  # units of time that have no place among powers of a thousand


def in_unit(value_si: float, unit: Unit) -> float:
    """A value in SI units as a number in a unit.

    Parameters
    ----------
    value_si : float
        The value. [SI]
    unit : Unit
        The unit to count in.

    Returns
    -------
    float
        The number in that unit. [unit]

    Examples
    --------
    Freezing point of water on the scale of a workshop thermometer:

    >>> in_unit(273.15, UNITS["degC"])
    0.0
    """
    return unit.from_si(value_si)


def show(value_si: float, unit: Unit, *, digits: int = 4) -> str:
    """A value with its unit, to a number of significant digits.

    Parameters
    ----------
    value_si : float
        The value. [SI]
    unit : Unit
        The unit to show it in. For ohm, F, V, A, W, Hz and s the multiple is chosen by the size.
    digits : int
        Significant digits at most; zeros at the end of a decimal are left out. [1]

    Returns
    -------
    str
        Number and unit.

    Notes
    -----
    Thousands are parted by a thin space from five digits on, as the SI brochure, clause 5.4.4, has it.

    References
    ----------
    si-brochure

    Examples
    --------
    The same unit serves a track and a pull-up:

    >>> show(10e3, UNITS["ohm"]), show(2.2e6, UNITS["ohm"])
    ('10 kohm', '2.2 Mohm')
    """
    chosen = _multiple(value_si, unit, digits=digits)
    return _with_unit(_significant(in_unit(value_si, chosen), digits), chosen)


def show_measured(value_si: float, uncertainty_si: float, unit: Unit) -> str:
    """A value with its uncertainty, as many digits of both as the uncertainty gives a right to.

    Parameters
    ----------
    value_si : float
        The value. [SI]
    uncertainty_si : float
        Its uncertainty, standard or expanded, at least zero. [SI]
    unit : Unit
        The unit to show both in; the multiple is chosen as in `show`.

    Returns
    -------
    str
        Value, the sign ±, uncertainty.

    Notes
    -----
    The uncertainty is shown to two significant digits and the value to the same decimal place (GUM,
    7.2.6). Without an uncertainty the value is shown alone, to four digits.

    References
    ----------
    gum

    Examples
    --------
    An axis read to a fifth of a degree does not stand at 47.5127 deg:

    >>> deg = UNITS["deg"]
    >>> show_measured(math.radians(47.5127), math.radians(0.213), deg)
    '47.51 deg ± 0.21 deg'
    """
    if not uncertainty_si or not math.isfinite(value_si + uncertainty_si):
        tail = f" ± {uncertainty_si:g}" if uncertainty_si else ""
        return show(value_si, unit) + tail
    chosen = _multiple(max(abs(value_si), uncertainty_si), unit, digits=2)
    width = chosen.difference_from_si(uncertainty_si)
    decimals = 1 - int(f"{width:.1e}".partition("e")[2])
    numbers = (in_unit(value_si, chosen), width)
    return " ± ".join(_with_unit(_fixed(number, decimals), chosen) for number in numbers)


def show_spread(spread: Spread, unit: Unit) -> str:
    """A number that is not known exactly, as `read_quantity` reads it.

    Parameters
    ----------
    spread : Spread
        The number. [SI]
    unit : Unit
        The unit to show it in; the multiple is chosen as in `show`.

    Returns
    -------
    str
        "10 kohm ± 2 kohm", "3600 deg +10 deg / -0 deg", "0.4 mV rms", or the number alone where exact.

    Examples
    --------
    A travel that may be long but never short:

    >>> travel = Spread(nominal=math.radians(3600), above=math.radians(10))
    >>> show_spread(travel, UNITS["deg"])
    '3600 deg +10 deg / -0 deg'
    """
    middle = show(spread.nominal, unit)
    if spread.is_exact:
        return middle
    below, above = _show_difference(spread.below, unit), _show_difference(spread.above, unit)
    if spread.below != spread.above:
        return f"{middle} +{above} / -{below}"
    if spread.shape is not Shape.NORMAL:
        return f"{middle} ± {above}"
    return f"{middle} ± {above} rms" if spread.nominal else f"{above} rms"


def _show_difference(value_si: float, unit: Unit) -> str:
    """A tolerance with its unit; the zero of a temperature scale plays no part."""
    chosen = _multiple(value_si, unit, digits=4)
    return _with_unit(_significant(chosen.difference_from_si(value_si), 4), chosen)


def _multiple(value_si: float, unit: Unit, *, digits: int) -> Unit:
    """The largest multiple of a unit that leaves a number of at least one."""
    if (
        unit.kind not in _ENGINEERING
        or unit.name in _LADDER_ENDS
        or not value_si
        or not math.isfinite(value_si)
    ):
        return unit
    ladder = sorted(_ladder(unit.kind), key=lambda step: step.size)
    size = abs(float(f"{value_si:.{digits - 1}e}"))
    reached = [step for step in ladder if step.size <= size * (1.0 + 1e-12)]
    return reached[-1] if reached else ladder[0]


def _ladder(kind: Kind) -> list[Unit]:
    return [unit for unit in UNITS.values() if unit.kind is kind and unit.name not in _LADDER_ENDS]


def _significant(number: float, digits: int) -> str:
    """A number to so many significant digits, without the zeros at its end."""
    if not math.isfinite(number) or number == 0.0:
        return f"{abs(number) if number == 0.0 else number:g}"
    exponent = int(f"{number:.{digits - 1}e}".partition("e")[2])
    if not -6 <= exponent < 9:
        return f"{number:.{digits}g}"
    fixed = _fixed(number, digits - 1 - exponent)
    return fixed.rstrip("0").rstrip(".") if "." in fixed else fixed


def _fixed(number: float, decimals: int) -> str:
    """A number to so many decimals, or to tens and hundreds where negative; never a minus zero."""
    rounded = round(number, decimals) + 0.0
    return f"{rounded:,.{max(decimals, 0)}f}".replace(",", "" if abs(rounded) < 1e4 else THIN_SPACE)


def _with_unit(number: str, unit: Unit) -> str:
    return f"{number} {unit.name}".rstrip()
