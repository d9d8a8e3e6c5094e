"""Plots of a report as inline SVG: residuals over the range, bars, marks of findings."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup, escape

from anglewright.findings import Severity
from anglewright.report.document import AxisSheet, Calibration, Point
from anglewright.report.scales import ticks

WIDE_PX, NARROW_PX = 640, 340
LINE_PX = 17.0  # between lines of labels [px]

_SHAPES = {
    Severity.STOP: '<path d="M7 1h10l6 6v10l-6 6H7l-6-6V7Z"/><path class="cut" d="M7 12h10"/>',
    Severity.CAUTION: '<path d="M12 0l12 12-12 12L0 12Z"/><path class="cut" d="M12 6.5v7M12 16.2v1.6"/>',
    Severity.NOTE: (
        '<circle class="ring" cx="12" cy="12" r="9.5"/><path class="ring" d="M12 11v6M12 6.7v1.6"/>'
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """The box of a plot and its scales."""

    left: float
    right: float
    top: float
    bottom: float
    low: float
    high: float
    reach: float

    def x(self, value: float) -> float:
        """Place of a position. [px]"""
        return self.left + (self.right - self.left) * (value - self.low) / (self.high - self.low)

    def y(self, value: float) -> float:
        """Place of a residual. [px]"""
        return self.bottom - (self.bottom - self.top) * (value + self.reach) / (2 * self.reach)


def severity_mark(severity: Severity) -> Markup:
    """Octagon, diamond or ring, told apart without colour."""
    return Markup(f'<svg class="mark {severity.value}" viewBox="0 0 24 24" aria-hidden="true">') + Markup(
        f"{_SHAPES[severity]}</svg>"
    )


def bar(share: float, *, css: str = "", need: float | None = None) -> Markup:
    """A bar filled to a share of its length, with a tick at the need.

    Parameters
    ----------
    share : float
        Filled part, 0 to 1. [1]
    css : str
        Further classes of the bar.
    need : float, optional
        Place of the tick, 0 to 1. [1]

    Returns
    -------
    Markup
        An ``svg`` element that stretches to the width of its place.
    """
    filled = 100.0 * min(max(share, 0.0), 1.0)
    tick = (
        "" if need is None else f'<rect class="need" x="{100.0 * need - 0.35:.2f}" width="0.7" height="16"/>'
    )
    return Markup(
        '<svg class="bar {}" viewBox="0 0 100 16" preserveAspectRatio="none" aria-hidden="true">'
        '<rect class="bed" y="4" width="100" height="8"/>'
        '<rect class="fill" y="4" width="{}" height="8"/>{}</svg>'
    ).format(css, f"{filled:.2f}", Markup(tick))


def residual_plot(sheet: AxisSheet, calibration: Calibration, *, width: int = WIDE_PX) -> Markup:
    """Reading less reference over the range, up and down, with the permissible band.

    Parameters
    ----------
    sheet : AxisSheet
        The axis, for its unit, range and permissible error.
    calibration : Calibration
        The points.
    width : int
        Width drawn for; below 500 the labels go above the plot. [px]

    Returns
    -------
    Markup
        An ``svg`` element with a title that says in words what it shows.
    """
    frame = _frame(sheet, calibration, width)
    height = frame.bottom + 44
    parts = [
        *_band(frame, sheet.permissible),
        *_grid(frame, sheet.unit),
        *_series(frame, calibration.points),
        *_labels(frame, sheet, calibration.points),
    ]
    title = escape(f"Residuals of {sheet.name}: reading less reference over position, in {sheet.unit}")
    return Markup('<svg class="plot" viewBox="0 0 {} {:g}" role="img" aria-label="{}">{}</svg>').format(
        width, height, title, Markup("").join(parts)
    )


def _frame(sheet: AxisSheet, calibration: Calibration, width: int) -> _Frame:
    positions = [point.position for point in calibration.points] + [f.position for f in sheet.frames]
    low, high = min(positions), max(positions)
    pad = 0.5 if low == high else 0.0
    largest = max((abs(point.residual) for point in calibration.points), default=0.0)
    wide = width >= 500
    return _Frame(
        left=66,
        right=width - (132 if wide else 12),
        top=14 if wide else 62,
        bottom=286 if wide else 300,
        low=low - pad,
        high=high + pad,
        reach=1.15 * max(sheet.permissible, largest),
    )


def _numbers(values: tuple[float, ...], *, signed: bool = False) -> dict[float, str]:
    """Round numbers with the same decimals, those that their step needs."""
    step = values[1] - values[0] if len(values) > 1 else 1.0
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    sign = "+" if signed else ""
    shown = {value: f"{value:{sign if value else ''}.{decimals}f}" for value in values}
    return {value: text.replace("-", "\u2212") for value, text in shown.items()}


def _text(x: float, y: float, text: str, css: str) -> Markup:
    return Markup('<text x="{:.1f}" y="{:.1f}" class="{}">{}</text>').format(x, y, css, text)


def _band(frame: _Frame, permissible: float) -> Iterator[Markup]:
    top, bottom = frame.y(permissible), frame.y(-permissible)
    size = f'width="{frame.right - frame.left:.1f}" height="{bottom - top:.1f}"'
    yield Markup(f'<rect class="band" x="{frame.left:g}" y="{top:.1f}" {size}/>')
    for y in (top, bottom):
        yield Markup(f'<path class="edge" d="M{frame.left:g} {y:.1f}H{frame.right:g}"/>')


def _grid(frame: _Frame, unit: str) -> Iterator[Markup]:
    for value, text in _numbers(ticks(-frame.reach, frame.reach, most=7), signed=True).items():
        y = frame.y(value)
        css = "zero" if value == 0 else "hair"
        yield Markup(f'<path class="{css}" d="M{frame.left:g} {y:.1f}H{frame.right:g}"/>')
        yield _text(frame.left - 8, y + 4.5, text, "number end")
    for value, text in _numbers(ticks(frame.low, frame.high, most=8 if frame.right > 400 else 6)).items():
        x = frame.x(value)
        yield Markup(f'<path class="hair" d="M{x:.1f} {frame.bottom:g}v5"/>')
        yield _text(x, frame.bottom + 19, text, "number middle")
    middle = (frame.left + frame.right) / 2
    yield _text(middle, frame.bottom + 38, f"position, {unit}", "caption middle")
    turned = Markup('<g transform="rotate(-90 12 {0:.1f})">{1}</g>')
    centre = (frame.top + frame.bottom) / 2
    yield turned.format(centre, _text(12, centre + 4, f"reading less reference, {unit}", "caption middle"))


def _triangle(x: float, y: float, side: int) -> str:
    """A triangle up or down about a place."""
    return f"M{x - 5.5:.1f} {y + 4 * side:.1f}h11l-5.5 {-9.5 * side:.1f}Z"


def _series(frame: _Frame, points: tuple[Point, ...]) -> Iterator[Markup]:
    for side, css in ((1, "up"), (-1, "down")):
        own = sorted((p.position, p.residual) for p in points if p.side == side)
        if not own:
            continue
        middles: dict[float, list[float]] = {}
        for position, residual in own:
            middles.setdefault(position, []).append(residual)
        line = " L".join(f"{frame.x(q):.1f} {frame.y(sum(r) / len(r)):.1f}" for q, r in middles.items())
        yield Markup(f'<path class="line {css}" d="M{line}"/>')
        marks = "".join(_triangle(frame.x(q), frame.y(r), side) for q, r in own)
        yield Markup(f'<path class="point {css}" d="{marks}"/>')


def _wanted(frame: _Frame, sheet: AxisSheet, points: tuple[Point, ...]) -> list[tuple[float, str, str]]:
    """Labels as height wanted, class and text, from the top."""
    wanted = [(frame.y(sheet.permissible) + 4, "band", "permissible")]
    for side, css, text in ((1, "up", "going up"), (-1, "down", "coming down")):
        own = [(p.position, p.residual) for p in points if p.side == side]
        if own:
            wanted.append((frame.y(max(own)[1]) + 4, css, text))
    return sorted(wanted)


def _labels(frame: _Frame, sheet: AxisSheet, points: tuple[Point, ...]) -> Iterator[Markup]:
    """Direct labels: right of the plot beside what they name, or above it where that is too narrow."""
    beside = frame.top < 40
    last = frame.top - LINE_PX
    for rank, (height, css, text) in enumerate(_wanted(frame, sheet, points)):
        y = max(height, last + LINE_PX) if beside else 14 + rank * LINE_PX
        x = frame.right + 10 if beside else frame.left
        last = y
        if css in ("up", "down"):
            yield Markup(
                f'<path class="point {css}" d="{_triangle(x + 5.5, y - 4.5, 1 if css == "up" else -1)}"/>'
            )
        else:
            yield Markup(f'<rect class="band edged" x="{x:g}" y="{y - 10:.1f}" width="11" height="11"/>')
        yield _text(x + 17, y, text, f"label {css}")
