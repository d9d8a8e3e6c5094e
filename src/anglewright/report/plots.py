"""Plots of a report as inline SVG: residuals, data and curve, loop; bars and marks of findings."""

from collections.abc import Callable, Iterable, Iterator

from markupsafe import Markup

from anglewright.findings import Severity
from anglewright.report.document import Calibration, Extent, Loop, Point
from anglewright.report.graph import (
    SIDES,
    WIDE_PX,
    Box,
    Label,
    Place,
    Scale,
    Sign,
    band,
    boxed,
    grid,
    labelled,
    marks,
    on_graph,
    path,
    spread,
)

OFTEN = "95 % of readings"

_SHAPES = {
    Severity.STOP: '<path d="M7 1h10l6 6v10l-6 6H7l-6-6V7Z"/><path class="cut" d="M7 12h10"/>',
    Severity.CAUTION: '<path d="M12 0l12 12-12 12L0 12Z"/><path class="cut" d="M12 6.5v7M12 16.2v1.6"/>',
    Severity.NOTE: (
        '<circle class="ring" cx="12" cy="12" r="9.5"/><path class="ring" d="M12 11v6M12 6.7v1.6"/>'
    ),
}


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


def residual_plot(extent: Extent, calibration: Calibration, *, width: int = WIDE_PX) -> Markup:
    """Reading less reference over the range, up and down, with the permissible band and that of 95 %.

    Parameters
    ----------
    extent : Extent
        The axis: its unit, range and permissible error.
    calibration : Calibration
        The points, and the half-widths of one reading where they are known.
    width : int
        Width drawn for; below 500 the labels go above the plot. [px]

    Returns
    -------
    Markup
        An ``svg`` element with a title that says in words what it shows.
    """
    points, often = calibration.points, calibration.often
    highest = [abs(point.residual) for point in points] + [half for _, half in often]
    reach = 1.15 * max(extent.permissible, *highest)
    low, high = _range(extent, points)
    wanted = _sided(points, lambda point: point.residual)
    box = boxed(
        width,
        across=Scale(low=low, high=high, caption=f"position, {extent.unit}"),
        up=Scale(low=-reach, high=reach, caption=f"reading less reference, {extent.unit}", signed=True),
        labels=len(wanted) + 1 + bool(often),
    )
    labels = [Label(y=box.y(value), sign=sign, text=text) for value, sign, text in wanted]
    labels.append(Label(y=box.y(extent.permissible), sign="band", text="permissible"))
    if often:
        labels.append(Label(y=box.y(-often[-1][1]), sign="often", text=OFTEN))
    parts = (
        *band(box, extent),
        *grid(box),
        *_often(box, often),
        *_series(box, points),
        *labelled(box, labels),
    )
    title = f"Residuals of {extent.name}: reading less reference over position, in {extent.unit}"
    return on_graph(box, parts, title=title)


def curve_plot(extent: Extent, calibration: Calibration, *, width: int = WIDE_PX) -> Markup:
    """The points as they were read, and the curve that is used.

    Parameters
    ----------
    extent : Extent
        The axis: its unit.
    calibration : Calibration
        Points with their readings, and the curve, two places at the least.
    width : int
        Width drawn for; below 500 the labels go above the plot. [px]

    Returns
    -------
    Markup
        An ``svg`` element with a title that says in words what it shows.
    """
    points, curve = calibration.points, calibration.curve
    low, high = spread([*(code for code, _ in curve), *(point.raw for point in points)])
    floor, ceiling = spread([*(q for _, q in curve), *(point.position for point in points)])
    wanted = _sided(points, lambda point: point.position)
    box = boxed(
        width,
        across=Scale(low=low, high=high, caption="reading, counts"),
        up=Scale(low=floor, high=ceiling, caption=f"position, {extent.unit}"),
        labels=len(wanted) + 1,
    )
    labels = [Label(y=box.y(value), sign=sign, text=text) for value, sign, text in wanted]
    labels.append(Label(y=box.y(curve[-1][1]), sign="curve", text="curve in use"))
    signs = [
        marks(box, [(p.raw, p.position) for p in points if p.side == side], sign) for side, sign, _ in SIDES
    ]
    title = f"Data and curve of {extent.name}: position in {extent.unit} over the reading in counts"
    parts = (*grid(box), path(box, curve, "curve"), *signs, *labelled(box, labels))
    return on_graph(box, parts, title=title)


def loop_plot(extent: Extent, loop: Loop, *, width: int = WIDE_PX) -> Markup:
    """Departure from the straight line over position, going up and coming down joined to a loop.

    Parameters
    ----------
    extent : Extent
        The axis: its unit and permissible error.
    loop : Loop
        Both ways, each two places at the least.
    width : int
        Width drawn for; below 500 the labels go above the plot. [px]

    Returns
    -------
    Markup
        An ``svg`` element with a title that says in words what it shows.
    """
    ways: tuple[tuple[tuple[Place, ...], Sign, str], ...] = (
        (loop.up, "up", "going up"),
        (loop.down, "down", "coming down"),
    )
    everywhere = (*loop.up, *loop.down)
    reach = 1.15 * max(extent.permissible, *(abs(departure) for _, departure in everywhere))
    low, high = spread([extent.low, extent.high, *(q for q, _ in everywhere)], share=0.0)
    box = boxed(
        width,
        across=Scale(low=low, high=high, caption=f"position, {extent.unit}"),
        up=Scale(low=-reach, high=reach, caption=f"off the straight line, {extent.unit}", signed=True),
        labels=3,
    )
    labels = [Label(y=box.y(way[-1][1]), sign=sign, text=text) for way, sign, text in ways]
    labels.append(Label(y=box.y(extent.permissible), sign="band", text="permissible"))
    ends = [path(box, (loop.up[end], loop.down[end]), "join") for end in (0, -1)]
    drawn = [
        each for way, sign, _ in ways for each in (path(box, way, f"line {sign}"), marks(box, way, sign))
    ]
    title = f"Loop of {extent.name}: departure from the straight line over position, in {extent.unit}"
    return on_graph(box, (*band(box, extent), *grid(box), *ends, *drawn, *labelled(box, labels)), title=title)


def _range(extent: Extent, points: Iterable[Point]) -> Place:
    """The motion, and the points where they lie beyond it."""
    return spread([extent.low, extent.high, *(point.position for point in points)], share=0.0)


def _sided(points: Iterable[Point], value: Callable[[Point], float]) -> list[tuple[float, Sign, str]]:
    """Where the label of each way stands best: at the last of its points."""
    wanted = []
    for side, sign, text in SIDES:
        own = [point for point in points if point.side == side]
        if own:
            wanted.append((value(max(own, key=lambda point: point.position)), sign, text))
    return wanted


def _often(box: Box, often: tuple[Place, ...]) -> Iterator[Markup]:
    """Within which 95 % of single readings lie."""
    for sign in (1.0, -1.0) if often else ():
        yield path(box, [(q, sign * half) for q, half in often], "often")


def _series(box: Box, points: tuple[Point, ...]) -> Iterator[Markup]:
    for side, sign, _ in SIDES:
        own = sorted((p.position, p.residual) for p in points if p.side == side)
        if not own:
            continue
        middles: dict[float, list[float]] = {}
        for position, residual in own:
            middles.setdefault(position, []).append(residual)
        if side:
            yield path(box, [(q, sum(r) / len(r)) for q, r in middles.items()], f"line {sign}")
        yield marks(box, own, sign)
