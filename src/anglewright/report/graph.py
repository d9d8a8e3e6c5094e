"""The box of a plot: its scales, grid, labels and marks, the same for every plot of a page."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup, escape

from anglewright.report.document import Extent, Side
from anglewright.report.lettering import MINUS, kept_apart
from anglewright.report.scales import ticks

WIDE_PX, NARROW_PX = 640, 340
LINE_PX = 17.0  # between lines of labels [px]
DIGIT_PX = 8.2  # of a sign of the monospaced face, rounded up [px]
FULL = 500  # width from which labels stand beside the plot [px]

Place = tuple[float, float]
Sign = Literal["up", "down", "free", "band", "often", "curve"]
SIDES: tuple[tuple[Side, Sign, str], ...] = (
    (1, "up", "going up"),
    (-1, "down", "coming down"),
    (0, "free", "way not known"),
)
"""Each side of approach with its mark and its words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Ends of a scale with its caption; `signed` numbers show a plus."""

    low: float
    high: float
    caption: str
    signed: bool = False

    def numbers(self, most: int) -> dict[float, str]:
        """Round numbers along it, at most so many, with the decimals that their step needs."""
        values = ticks(self.low, self.high, most=most)
        step = values[1] - values[0] if len(values) > 1 else 1.0
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        sign = "+" if self.signed else ""
        shown = {value: f"{value:{sign if value else ''}.{decimals}f}" for value in values}
        return {value: text.replace("-", MINUS) for value, text in shown.items()}

    def numbers_across(self, room: float) -> dict[float, str]:
        """As many as stand beside each other in so much room. [px]"""
        for most in range(8, 2, -1):
            shown = self.numbers(most)
            widest = DIGIT_PX * (max(map(len, shown.values()), default=0) + 2)
            if widest * len(shown) <= room:
                return shown
        return self.numbers(2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words beside a plot, the height at which they would best stand, and the sign before them."""

    y: float
    sign: Sign
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """The box of a plot and its scales. [px]"""

    width: int
    left: float
    right: float
    top: float
    bottom: float
    across: Scale
    up: Scale

    def x(self, value: float) -> float:
        """Place of a value across. [px]"""
        scale = self.across
        return self.left + (self.right - self.left) * (value - scale.low) / (scale.high - scale.low)

    def y(self, value: float) -> float:
        """Place of a value upwards. [px]"""
        scale = self.up
        return self.bottom - (self.bottom - self.top) * (value - scale.low) / (scale.high - scale.low)

    @property
    def beside(self) -> bool:
        """Whether labels stand beside the plot: above it where that is too narrow."""
        return self.width >= FULL


def boxed(width: int, *, across: Scale, up: Scale, labels: int) -> Box:
    """A box as wide as its place, with room for its numbers and for so many labels.

    Parameters
    ----------
    width : int
        Width drawn for. [px]
    across, up : Scale
        Its scales.
    labels : int
        How many labels it has. [1]

    Returns
    -------
    Box
        The box. [px]
    """
    digits = max((len(text) for text in up.numbers(7).values()), default=1)
    beside = width >= FULL
    top = 14.0 if beside else 14.0 + LINE_PX * labels
    return Box(
        width=width,
        left=max(66.0, 34.0 + DIGIT_PX * digits),
        right=width - (150.0 if beside else 14.0),
        top=top,
        bottom=top + (272.0 if beside else 238.0),
        across=across,
        up=up,
    )


def spread(values: Iterable[float], *, share: float = 0.04) -> tuple[float, float]:
    """Ends of a scale that holds some values, with a little room at both. [any]"""
    known = list(values)
    low, high = min(known), max(known)
    pad = share * (high - low) if high > low else max(0.5, share * abs(high))
    return low - pad, high + pad


def on_graph(box: Box, parts: Iterable[Markup], *, title: str) -> Markup:
    """A plot as an ``svg`` element as wide as its place, with a title in words.

    Parameters
    ----------
    box : Box
        Its box.
    parts : iterable of Markup
        What is drawn.
    title : str
        What it shows, for those who cannot see it.

    Returns
    -------
    Markup
        The element.
    """
    head = Markup('<svg class="plot" viewBox="0 0 {} {:g}" role="img" aria-label="{}">{}</svg>')
    return head.format(box.width, box.bottom + 44, escape(title), Markup("").join(parts))


def text_at(x: float, y: float, text: str, *, css: str) -> Markup:
    """A line of text. [px]"""
    return Markup('<text x="{:.1f}" y="{:.1f}" class="{}">{}</text>').format(x, y, css, text)


def band(box: Box, extent: Extent) -> Iterator[Markup]:
    """The permissible error to either side of nought."""
    top, bottom = box.y(extent.permissible), box.y(-extent.permissible)
    size = f'width="{box.right - box.left:.1f}" height="{bottom - top:.1f}"'
    yield Markup(f'<rect class="band" x="{box.left:g}" y="{top:.1f}" {size}/>')
    for y in (top, bottom):
        yield Markup(f'<path class="edge" d="M{box.left:g} {y:.1f}H{box.right:g}"/>')


def grid(box: Box) -> Iterator[Markup]:
    """Numbers and captions of both scales."""
    for value, text in box.up.numbers(7).items():
        y = box.y(value)
        css = "zero" if value == 0 and box.up.signed else "hair"
        yield Markup(f'<path class="{css}" d="M{box.left:g} {y:.1f}H{box.right:g}"/>')
        yield text_at(box.left - 8, y + 4.5, text, css="number end")
    for value, text in box.across.numbers_across(box.right - box.left).items():
        x = box.x(value)
        yield Markup(f'<path class="hair" d="M{x:.1f} {box.bottom:g}v5"/>')
        yield text_at(x, box.bottom + 19, text, css="number middle")
    yield text_at((box.left + box.right) / 2, box.bottom + 38, box.across.caption, css="caption middle")
    turned = Markup('<g transform="rotate(-90 12 {0:.1f})">{1}</g>')
    centre = (box.top + box.bottom) / 2
    yield turned.format(centre, text_at(12, centre + 4, box.up.caption, css="caption middle"))


def path(box: Box, places: Iterable[Place], css: str) -> Markup:
    """Values joined by straight lines."""
    line = " L".join(f"{box.x(x):.1f} {box.y(y):.1f}" for x, y in places)
    return Markup(f'<path class="{css}" d="M{line}"/>')


def marks(box: Box, places: Iterable[Place], sign: Sign) -> Markup:
    """A triangle up or down, or a ring where the way is not known, at each place."""
    drawn = "".join(_mark(box.x(x), box.y(y), sign) for x, y in places)
    return Markup(f'<path class="point {sign}" d="{drawn}"/>')


def _mark(x: float, y: float, sign: Sign) -> str:
    if sign == "free":
        return f"M{x - 4.5:.1f} {y:.1f}a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0Z"
    side = 1 if sign == "up" else -1
    return f"M{x - 5.5:.1f} {y + 4 * side:.1f}h11l-5.5 {-9.5 * side:.1f}Z"


def labelled(box: Box, wanted: Sequence[Label]) -> Iterator[Markup]:
    """Direct labels: right of the plot beside what they name, or above it where that is too narrow."""
    ordered = sorted(wanted, key=lambda label: label.y)
    heights = _heights(box, ordered)
    x = box.right + 10 if box.beside else box.left
    for label, y in zip(ordered, heights, strict=True):
        yield _swatch(x, y, label.sign)
        yield text_at(x + 20, y, label.text, css=f"label {label.sign}")


def _heights(box: Box, ordered: Sequence[Label]) -> list[float]:
    """Base lines of the labels, none over another and all beside or above the box. [px]"""
    if not box.beside:
        return [14 + rank * LINE_PX for rank in range(len(ordered))]
    apart = kept_apart([label.y + 4 for label in ordered], [LINE_PX] * len(ordered))
    low, high = min(apart, default=0.0), max(apart, default=0.0)
    shift = max(box.top + 4 - low, 0.0) - max(high - box.bottom, 0.0)
    return [y + shift for y in apart]


def _swatch(x: float, y: float, sign: Sign) -> Markup:
    if sign == "band":
        return Markup(f'<rect class="band edged" x="{x:g}" y="{y - 10:.1f}" width="14" height="11"/>')
    if sign in ("often", "curve"):
        return Markup(f'<path class="{sign}" d="M{x:g} {y - 4.5:.1f}h14"/>')
    return Markup(f'<path class="point {sign}" d="{_mark(x + 7, y - 4.5, sign)}"/>')
