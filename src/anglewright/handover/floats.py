"""Numbers as single-precision constants, and what such numbers cannot hold."""

from struct import pack, unpack

EPSILON = 2.0**-23
"""From 1 to the next 32-bit float. [1]"""
SAFE_LOW, SAFE_HIGH = 1e-30, 1e30
"""Between these a 32-bit float is trusted. [1]"""


def float_text(value: float) -> str:
    """A number as a C constant of type float.

    Parameters
    ----------
    value : float
        Any number a 32-bit float can hold, in any unit. [1]

    Returns
    -------
    str
        Nearest 32-bit float in nine significant digits, in parentheses when negative.

    References
    ----------
    c99

    Examples
    --------
    A tenth is not a binary fraction, and shows it:

    >>> float_text(0.1), float_text(-48)
    ('0.100000001f', '(-48.0f)')
    """
    nearest: float = unpack("<f", pack("<f", value))[0]
    digits = f"{nearest + 0.0:.9g}"
    constant = f"{digits}f" if "." in digits or "e" in digits else f"{digits}.0f"
    return f"({constant})" if nearest < 0.0 else constant
