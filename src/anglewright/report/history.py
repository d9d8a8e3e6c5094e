"""The zero of an axis over the days: each record with its interval, and what the diary says between them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from anglewright.report.drafting import on_sheet
from anglewright.report.lettering import LINE_PX, MINUS, Label, broken, typeset, width_of
from anglewright.report.scales import ticks

LEFT, RIGHT, TOP, BOTTOM = 70.0, 700.0, 40.0, 300.0  # the box of the plot [px]
INSET = 40.0  # from its sides to the first and last day [px]
_SIGNS = 96  # of a line below the plot [1]
_LABEL_ROWS = 3  # of names below the plot [1]

Kind = Literal["calibration", "zero"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A record: its day, where its zero lies beside that of the record in use, how well that is known.

    `usable` is False where the record is withdrawn or of another chain, machine or sensor.
    """

    day: int
    name: str
    moved: float
    half_95: float
    kind: Kind = "calibration"
    in_use: bool = False
    usable: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """A line of the diary, by its day."""

    day: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryPlot:
    """What the plot shows; `unit` is that of the axis, in which the zeros and `permissible` are."""

    title: str
    description: str
    unit: str
    permissible: float
    kept: tuple[Kept, ...]
    noted: tuple[Noted, ...]
    simulated: bool = False


def draw_history(plot: HistoryPlot) -> Markup:
    """The zero over the days as inline SVG.

    Parameters
    ----------
    plot : HistoryPlot
        What to show, one record at the least.

    Returns
    -------
    Markup
        An ``svg`` element with title and description.

    Notes
    -----
    Days stand in proportion to time. A calibration is a dot, a moved zero a diamond, one that may not be used
    is hollow; that in use has a colour of its own, and the words beside its name.
    """
    frame = _Frame(plot)
    captions = broken(_captions(plot), signs=_SIGNS)
    height = BOTTOM + 30.0 + LINE_PX * _LABEL_ROWS + LINE_PX * len(captions) + 12.0
    caption = Label(
        x=12.0,
        y=BOTTOM + 24.0 + LINE_PX * _LABEL_ROWS + LINE_PX * len(captions) / 2,
        lines=captions,
        quiet=True,
    )
    parts = [*_band(frame), *_scales(frame), *_notes(frame), *_records(frame), caption.drawn()]
    return on_sheet(
        Markup("").join(parts),
        size=(RIGHT + 20.0, height),
        title=plot.title,
        description=plot.description,
    )


class _Frame:
    """The box of a plot and its scales."""

    def __init__(self, plot: HistoryPlot) -> None:
        self.plot = plot
        days = [*(each.day for each in plot.kept), *(each.day for each in plot.noted)]
        self.first, self.last = min(days), max(days)
        reach = [abs(each.moved) + each.half_95 for each in plot.kept]
        self.reach: float = 1.15 * max(plot.permissible, *reach)

    def x(self, day: int) -> float:
        """Place of a day. [px]"""
        if self.first == self.last:
            return (LEFT + RIGHT) / 2
        room = RIGHT - LEFT - 2 * INSET
        return LEFT + INSET + room * (day - self.first) / (self.last - self.first)

    def y(self, value: float) -> float:
        """Place of a zero. [px]"""
        return BOTTOM - (BOTTOM - TOP) * (value + self.reach) / (2 * self.reach)


def _band(frame: _Frame) -> Iterator[Markup]:
    need = frame.plot.permissible
    top, bottom = frame.y(need), frame.y(-need)
    yield Markup('<rect class="need" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>').format(
        LEFT, top, RIGHT - LEFT, bottom - top
    )
    yield _path("limit", f"M{LEFT} {top:.1f}H{RIGHT}M{LEFT} {bottom:.1f}H{RIGHT}")
    yield _text(RIGHT - 4, top - 6, "permissible error", "end")


def _scales(frame: _Frame) -> Iterator[Markup]:
    for value in ticks(-frame.reach, frame.reach, most=7):
        y = frame.y(value)
        yield _path("quiet" if value == 0 else "lead", f"M{LEFT} {y:.1f}H{RIGHT}")
        yield _text(LEFT - 8, y + 4.5, f"{value:+g}".replace("-", MINUS) if value else "0", "end")
    yield _path("quiet", f"M{LEFT} {BOTTOM}H{RIGHT}")
    turned = Markup('<g transform="rotate(-90 16 {0:.1f})">{1}</g>')
    middle = (TOP + BOTTOM) / 2
    yield turned.format(
        middle, _text(16, middle + 4, f"zero beside that in use, {frame.plot.unit}", "middle")
    )


def _notes(frame: _Frame) -> Iterator[Markup]:
    """Numbered lines of the diary; those of one day share a line."""
    by_day: dict[int, list[str]] = {}
    for number, each in enumerate(frame.plot.noted, 1):
        by_day.setdefault(each.day, []).append(str(number))
    for day, numbers in by_day.items():
        x = frame.x(day)
        yield _path("frame", f"M{x:.1f} {TOP}V{BOTTOM}")
        yield _text(x, TOP - 8, ", ".join(numbers), "middle")


def _records(frame: _Frame) -> Iterator[Markup]:
    """Each record with its interval; several of a day stand beside each other."""
    beside: dict[int, int] = {}
    ends = [-math.inf] * _LABEL_ROWS
    for each in frame.plot.kept:
        place = beside.get(each.day, 0)
        beside[each.day] = place + 1
        x, y = frame.x(each.day) + 13.0 * place, frame.y(each.moved)
        low, high = frame.y(each.moved - each.half_95), frame.y(each.moved + each.half_95)
        yield _path("span", f"M{x - 4:.1f} {low:.1f}h8M{x:.1f} {low:.1f}V{high:.1f}M{x - 4:.1f} {high:.1f}h8")
        yield _sign(each, x, y)
        yield _name(each, x, ends)


def _name(each: Kept, x: float, ends: list[float]) -> Markup:
    """The name of a record below the plot, in the first row with room for it; else in none."""
    text = f"{each.name}, in use" if each.in_use else each.name
    half = width_of(text) / 2
    x = min(max(x, half + 4.0), RIGHT + 16.0 - half)  # on the sheet, whole
    row = next((row for row, end in enumerate(ends) if x - half > end), None)
    if row is None:
        return Markup("")
    ends[row] = x + half
    return _text(x, BOTTOM + 19 + LINE_PX * row, text, "middle")


def _sign(each: Kept, x: float, y: float) -> Markup:
    """Dot, diamond or ring."""
    css = "ring" if not each.usable else "live" if each.in_use else "dot"
    if each.kind == "zero":
        return Markup('<path class="{}" d="M{:.1f} {:.1f}l6.5 6.5l-6.5 6.5l-6.5 -6.5Z"/>').format(
            css, x, y - 6.5
        )
    return Markup('<circle class="{}" cx="{:.1f}" cy="{:.1f}" r="5"/>').format(css, x, y)


def _captions(plot: HistoryPlot) -> Sequence[str]:
    signs = "Dot: calibration. Diamond: zero moved alone. Hollow: not to be used. Bars: 95 %."
    head = f"Simulated data. {signs}" if plot.simulated else signs
    return (head, *(f"{number}  {each.text}" for number, each in enumerate(plot.noted, 1)))


def _path(css: str, d: str) -> Markup:
    return Markup('<path class="{}" d="{}"/>').format(css, d)


def _text(x: float, y: float, text: str, anchor: str) -> Markup:
    return Markup('<text x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>').format(
        x, y, anchor, typeset(text)
    )
