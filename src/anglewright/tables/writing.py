"""Numbers and names as they may stand in a sheet of readings."""

import math

from anglewright.quantities.units import Unit

_FINEST = 12  # decimals at most [1]


def decimal(value_si: float, unit: Unit, *, fine: float) -> str:
    """A position as a decimal number without its unit, to a thousandth of what must be told apart.

    Parameters
    ----------
    value_si : float
        The position. [m or rad]
    unit : Unit
        The unit to write it in.
    fine : float
        What must be told apart. [m or rad]

    Returns
    -------
    str
        The number, never with fewer than three decimals.

    Examples
    --------
    >>> from anglewright.quantities.units import UNITS
    >>> decimal(0.1, UNITS["m"], fine=0.002)
    '0.100000'
    """
    return f"{unit.from_si(value_si):.{max(3, places_for(unit.difference_from_si(fine) / 1e3))}f}"


def places_for(step: float) -> int:
    """Decimals that tell steps of a size apart. [1]"""
    return min(_FINEST, max(0, math.ceil(-math.log10(step)))) if step > 0.0 else _FINEST


def one_line(text: str) -> str:
    """A name as it may stand in a comment of one line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)
