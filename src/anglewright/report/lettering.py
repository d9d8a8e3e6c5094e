"""Lettering of the drawings: how wide a text can be, where it is broken, how labels keep clear of another."""

import re
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from markupsafe import Markup

Anchor = Literal["start", "middle", "end"]

_BLANKS = "\u00a0\u2009"  # that part no words
MINUS, NO_BREAK, OHM = "\u2212", "\u00a0", "\u03a9"
SIZE_PX = 13.0  # height of the letters, the least that LOOK allows [px]
LINE_PX = 18.0  # from one line to the next: no face in use is taller [px]
LINE_SIGNS = 26  # of a label before it is broken [1]
_WIDEST_EM = 1.1  # of any sign, those of the wide scripts included [em]
_ADVANCES_EM = (
    (re.compile(r"[.,:;'|!ijlI \u00a0\u2009]"), 0.42),
    (re.compile(r"[mwMW%@\u2212\u00b1+=]"), 1.0),
    (re.compile(r"[A-Z\u03a9\u00b5\u00b7/]"), 0.8),
    (re.compile(r"[ -~\u00b0]"), 0.68),
)
"""Advance of a sign in the widest of the faces that may stand in for ours, rounded up, first match counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Lines of text beside a point of a drawing, the first line in quiet letters, or all with `quiet`.

    `x` is the end of the lines that `anchor` names, `y` the middle of the whole height. [px]
    """

    x: float
    y: float
    lines: tuple[str, ...]
    anchor: Anchor = "start"
    quiet: bool = False

    @property
    def height(self) -> float:
        """Of all its lines. [px]"""
        return LINE_PX * len(self.lines)

    def drawn(self) -> Markup:
        """Each line as text, not as outlines."""
        first = self.y - self.height / 2 + LINE_PX / 2 + SIZE_PX * 0.35
        text = Markup('<text class="{}" x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>')
        return Markup("").join(
            text.format(self._css(rank), self.x, first + rank * LINE_PX, self.anchor, line)
            for rank, line in enumerate(self.lines)
        )

    def _css(self, rank: int) -> str:
        return "value" if rank and not self.quiet else "name"


def typeset(text: str) -> str:
    r"""A quantity as it is set in type: a real minus, the sign for ohm, number and unit kept together.

    Parameters
    ----------
    text : str
        A text with quantities as `show` writes them.

    Returns
    -------
    str
        The same text; words and names stay as they are.

    Examples
    --------
    >>> typeset("4.7 kohm").split("\N{NO-BREAK SPACE}")
    ['4.7', 'kΩ']
    """
    text = re.sub(r"(?<![\w.\-])-(?=\d)", MINUS, text)
    text = re.sub(r"(?<=\d) ([mkM]?)ohm\b", rf"{NO_BREAK}\1{OHM}", text)
    return re.sub(r"(?<=\d) (deg|rad|mV|V|mm|m|in|Hz|kHz|%|mA|bit|LSB)(?!\w)", rf"{NO_BREAK}\1", text)


def width_of(text: str) -> float:
    """Most room that a line can take in any of the faces that may be used. [px]"""
    return SIZE_PX * sum(_advance(sign) for sign in text)


def _advance(sign: str) -> float:
    """Of one sign. [em]"""
    return next((size for signs, size in _ADVANCES_EM if signs.fullmatch(sign)), _WIDEST_EM)


def broken(texts: Iterable[str], *, signs: int = LINE_SIGNS) -> tuple[str, ...]:
    """Texts as lines of at most so many signs, set in type, without signs that cannot be shown.

    Parameters
    ----------
    texts : iterable of str
        A paragraph each; empty ones are left out.
    signs : int
        Most signs of a line. [1]

    Returns
    -------
    tuple of str
        Lines. A word that is longer than a line is broken within.

    Examples
    --------
    >>> broken(["stop of the mechanism"], signs=12)
    ('stop of the', 'mechanism')
    """
    lines: list[str] = []
    for text in texts:
        lines += textwrap.wrap(typeset(_printable(text)), signs, break_on_hyphens=False)
    return tuple(lines)


def _printable(text: str) -> str:
    """A text without signs that cannot be shown; a line's end becomes a blank."""
    shown = (sign if sign.isprintable() or sign in _BLANKS else " " * sign.isspace() for sign in text)
    return "".join(shown)


def widest(lines: Iterable[str]) -> float:
    """Room of the widest of some lines. [px]"""
    return max((width_of(line) for line in lines), default=0.0)


def kept_apart(wanted: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Middles of labels in a column so that none lies over another and all are moved as little as can be.

    Parameters
    ----------
    wanted : sequence of float
        Where each label would best have its middle, rising. [px]
    heights : sequence of float
        How high each is. [px]

    Returns
    -------
    list of float
        Middles in the same order. [px]

    Notes
    -----
    With the heights taken off, middles that must rise by at least the heights must merely not fall:
    neighbours that would fall are pooled at their mean, the least-squares answer of isotonic regression.

    References
    ----------
    isotonic

    Examples
    --------
    Two labels that want the same place part by equal amounts:

    >>> kept_apart([100.0, 100.0], [20.0, 20.0])
    [90.0, 110.0]
    """
    shifts = [0.0]
    for before, after in pairwise(heights):
        shifts.append(shifts[-1] + (before + after) / 2)
    pools: list[tuple[float, int]] = []
    for place, shift in zip(wanted, shifts, strict=False):
        level, count = place - shift, 1
        while pools and pools[-1][0] > level:
            other, many = pools.pop()
            level, count = (level * count + other * many) / (count + many), count + many
        pools.append((level, count))
    levels = [level for level, count in pools for _ in range(count)]
    return [level + shift for level, shift in zip(levels, shifts, strict=False)]
