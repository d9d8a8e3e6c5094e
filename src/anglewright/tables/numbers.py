"""How the numbers of a column are written, and the cells of the column as checked numbers."""

import math
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import polars as pl

Array = NDArray[np.float64]
_DECIMAL_COMMA = re.compile(r"[+-]?(?:\d+,\d*|,\d+)(?:[eE][+-]?\d+)?")
GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")
"""A number whose thousands are parted by commas, or with a decimal comma and three decimals."""

_HEX = re.compile(r"[0-9A-Fa-f]{1,8}")
_PREFIXED = re.compile(r"[+-]?0[xX][0-9A-Fa-f]{1,16}")
_SUFFIXED = re.compile(
    r"([+-]?(?:\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?)[ \xa0\u2009\u202f]{0,3}([^\W\d_]{1,7}|[%°])"
)
_WIDTHS = (2, 3, 4, 6, 8)  # of hexadecimal digits as programs print them
_NEARLY = 0.9  # share of a column's cells that must be hexadecimal digits of one width [1]
_MOST = 0.5  # share of a column's filled cells that settles how it is written [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberForm:
    """How a column writes its numbers.

    `suffix` is a unit behind each number; `base` is 16 for hexadecimal digits; `listed` is the mark
    between several readings in one cell; `grouped` says that commas part thousands.
    """

    decimal_comma: bool = False
    suffix: str = ""
    base: int = 10
    listed: str = ""
    grouped: bool = False

    def value(self, cell: str) -> float | None:
        """A finite number in a cell, or None. [unit of the column]"""
        text = cell.strip()
        if self.suffix and text.endswith(self.suffix):
            text = text.removesuffix(self.suffix)
        if self.base == 16:
            return float(int(text, 16)) if _HEX.fullmatch(text.strip()) else number(text)
        if self.grouped and GROUPED.fullmatch(text.strip()):
            text = text.replace(",", "")
        return number(text, decimal_comma=self.decimal_comma)

    def values(self, cells: "Sequence[str] | pl.Series") -> Array:
        """A number for each cell, nan where there is none. [unit of the column]"""
        if isinstance(cells, Sequence):
            found = (self.value(cell) for cell in cells)
            return np.array([math.nan if each is None else each for each in found], dtype=np.float64)
        return self._values_of_series(cells)

    def _values_of_series(self, cells: "pl.Series") -> Array:
        """The engine's cast where it succeeds, `value` for each cell that it leaves."""
        import polars as pl

        if cells.dtype.is_numeric():
            found = np.array(cells.cast(pl.Float64).to_numpy(), dtype=np.float64)
            return np.where(np.isfinite(found), found, math.nan)
        plain = cells
        if self.suffix:
            plain = plain.str.strip_chars().str.strip_suffix(self.suffix)
        if self.base == 16:
            digits = plain.str.strip_chars().str.extract(f"^({_HEX.pattern})$")
            numbers = digits.str.to_integer(base=16, strict=False).cast(pl.Float64)
        else:
            if self.decimal_comma:
                plain = plain.str.replace(",", ".", literal=True)
            numbers = plain.cast(pl.Float64, strict=False)
            if numbers.null_count() > len(cells) // 100:  # blanks around the numbers, perhaps
                numbers = plain.str.strip_chars().cast(pl.Float64, strict=False)
        found = np.array(numbers.to_numpy(), dtype=np.float64)
        left = np.flatnonzero(~np.isfinite(found))
        texts = cells.gather(left).to_list() if len(left) else []
        found[left] = self.values(["" if text is None else text for text in texts])
        return found


PLAIN = NumberForm()
"""Decimal digits with a point."""


def number(cell: str, *, decimal_comma: bool = False) -> float | None:
    """A finite number in a cell, or None; 0x in front makes it hexadecimal. [unit of the column]"""
    text = cell.replace("\u2212", "-").strip()
    if decimal_comma and _DECIMAL_COMMA.fullmatch(text):
        text = text.replace(",", ".")
    if _PREFIXED.fullmatch(text):
        return float(int(text, 16))
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) and "_" not in text and text.isascii() else None


def form_of(cells: Sequence[str], *, decimal_comma: bool) -> NumberForm:
    """How a column writes its numbers, from some of its cells.

    Parameters
    ----------
    cells : sequence of str
        Cells beneath the header.
    decimal_comma : bool
        Whether the cells of the sheet have decimal commas.

    Returns
    -------
    NumberForm
        The plain form where the cells do not say otherwise.

    Examples
    --------
    >>> form_of(["0000", "0032", "03D4"], decimal_comma=False).base
    16
    >>> form_of(["12,5 %", "13,0 %"], decimal_comma=True).suffix
    '%'
    """
    filled = [cell.strip() for cell in cells if re.search(r"\d", cell) or _HEX.fullmatch(cell.strip())]
    plain = NumberForm(decimal_comma=decimal_comma)
    if not filled:
        return plain
    if _are_hex(filled):
        return NumberForm(base=16)
    if sum(plain.value(cell) is not None for cell in filled) > _MOST * len(filled):
        return plain
    suffixes = Counter(match[2] for cell in filled if (match := _SUFFIXED.fullmatch(cell)))
    if suffixes and suffixes.most_common(1)[0][1] > _MOST * len(filled):
        return NumberForm(decimal_comma=decimal_comma, suffix=suffixes.most_common(1)[0][0])
    marks = Counter(mark for cell in filled if (mark := _mark_within(cell)))
    if marks and marks.most_common(1)[0][1] > _MOST * len(filled):
        return NumberForm(decimal_comma=decimal_comma, listed=marks.most_common(1)[0][0])
    return plain


def _are_hex(cells: Sequence[str]) -> bool:
    """Whether cells are hexadecimal without saying so: digits of one width, and letters among them."""
    matching = [cell.upper() for cell in cells if _HEX.fullmatch(cell)]
    width = Counter(map(len, matching)).most_common(1)[0][0] if matching else 0
    alike = [cell for cell in matching if len(cell) == width]
    if width not in _WIDTHS or len(alike) < _NEARLY * len(cells):
        return False
    lettered = {cell for cell in alike if set(cell) & set("ABCDEF")}
    if len(lettered) < 2 and not any(re.search(r"\d", cell) for cell in lettered):  # a name such as adc
        return False
    letters = set("".join(lettered)) & set("ABCDEF")
    return bool(letters - {"E"}) or (bool(letters) and any(cell.startswith("0") for cell in alike))


def looks_like_number(cell: str, *, decimal_comma: bool) -> bool:
    """Whether a cell is a number, with a unit behind it perhaps."""
    if number(cell, decimal_comma=decimal_comma) is not None:
        return True
    match = _SUFFIXED.fullmatch(cell.strip())
    return match is not None and number(match[1], decimal_comma=decimal_comma) is not None


def is_list(cell: str) -> bool:
    """Whether a cell holds several numbers with a mark between them."""
    return bool(_mark_within(cell))


def _mark_within(cell: str) -> str:
    """The mark between several numbers in one cell, empty where there are none."""
    for mark in ";|, ":
        pieces = cell.split(mark)
        if len(pieces) > 1 and all(number(piece) is not None for piece in pieces):
            return mark
    return ""
