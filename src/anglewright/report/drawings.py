"""Small drawings of the links, as inline SVG whose moving parts follow the slider.

A moving part says how its phase moves it, in attributes that the page's script reads:
`data-turn` degrees of turn for one of phase, about its `data-x` and `data-y`; `data-dx`, `data-dy` a shift
for one of phase; `data-fill` a line drawn up to that share. The first position is drawn here, so that the
page is right without any script.
"""

import math
from collections.abc import Callable, Iterable

from markupsafe import Markup

from anglewright.report.document import (
    Arc,
    Circuit,
    Clamp,
    CodeSheet,
    Drawing,
    Gears,
    Joint,
    Staircase,
    Track,
)

WIDTH, HEIGHT = 120, 80
MOST_TEETH = 60  # drawn; more would run into each other [1]
SHOWN_PLAY_DEG = 12.0  # opening of a drawn coupling with play, larger than life [deg]


def draw(drawing: Drawing, phase: float) -> Markup:
    """A link as inline SVG at one phase.

    Parameters
    ----------
    drawing : Drawing
        What to draw.
    phase : float
        Where its moving part stands; its meaning is said at each drawing. [deg or 1]

    Returns
    -------
    Markup
        An ``svg`` element without a size of its own, hidden from readers of the screen.

    Examples
    --------
    The wiper of a potentiometer at mid-track stands half-way along its 340 deg:

    >>> 'rotate(170.0 60 42)' in draw(Track(travel_deg=340.0), 0.5)
    True
    """
    body = _BODIES[type(drawing)](drawing, phase)
    # Every part is put together from numbers and fixed words of this module alone.
    return Markup(f'<svg class="drawing" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">{body}</svg>')


def _turning(body: str, *, x: float, y: float, by: float, phase: float) -> str:
    return (
        f'<g data-turn="{by:.6g}" data-x="{x:g}" data-y="{y:g}" '
        f'transform="rotate({by * phase} {x:g} {y:g})">{body}</g>'
    )


def _shifting(body: str, *, dx: float = 0.0, dy: float = 0.0, phase: float) -> str:
    return f'<g data-dx="{dx:g}" data-dy="{dy:g}" transform="translate({dx * phase} {dy * phase})">{body}</g>'


def _filling(path: str, css: str, phase: float) -> str:
    return f'<path class="{css}" d="{path}" pathLength="1" data-fill="1" stroke-dasharray="{phase} 2"/>'


def _path(points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    text = " L".join(f"{x:.2f} {y:.2f}" for x, y in points)
    return f"M{text}{'Z' if closed else ''}"


def _on_circle(x: float, y: float, radius: float, angle_deg: float) -> tuple[float, float]:
    """A point of a circle, angles turning against the clock from the right. [px]"""
    angle = math.radians(angle_deg)
    return x + radius * math.cos(angle), y - radius * math.sin(angle)


def _curve(x: float, y: float, radius: float, limits: tuple[float, float]) -> str:
    """An arc from one angle to another, in short chords."""
    low, high = limits
    count = max(8, int(abs(high - low) / 5))
    angles = (low + (high - low) * k / count for k in range(count + 1))
    return _path(_on_circle(x, y, radius, angle) for angle in angles)


def _arc(drawing: Arc, phase: float) -> str:
    x, y, radius = 60.0, 44.0, 32.0
    low, high = drawing.low_deg, drawing.high_deg
    ends = "".join(
        f'<path class="ln" d="{_path((_on_circle(x, y, radius - 4, a), _on_circle(x, y, radius + 4, a)))}"/>'
        for a in (low, high)
    )
    sweep = (low, min(high, low + 360.0))
    arm = f'<path class="sg thick" d="M{x:g} {y:g}h{radius:g}"/>'
    return (
        f'<path class="ft dots" d="{_curve(x, y, radius, sweep)}"/>{ends}'
        f'<path class="ft" d="M{x:g} {y:g}h{radius - 8:g}"/>'
        f"{_turning(arm, x=x, y=y, by=-1, phase=phase)}"
        f'<circle class="ln on" cx="{x:g}" cy="{y:g}" r="4"/>'
    )


def _rim(x: float, y: float, radius: float, teeth: int, gap: bool) -> str:
    """Outline of a wheel with a tooth, or a gap, to the right."""
    depth = min(3.0, 2.0 * radius / teeth)
    points = []
    for k in range(teeth):
        middle = 360.0 / teeth * (k + (0.5 if gap else 0.0))
        for offset, reach in ((-0.32, -depth), (-0.16, depth), (0.16, depth), (0.32, -depth)):
            points.append(_on_circle(x, y, radius + reach / 1.4, middle + offset * 360.0 / teeth))
    return _path(points, closed=True)


def _wheel(x: float, radius: float, *, teeth: int, left: bool, by: float, phase: float) -> str:
    y = HEIGHT / 2
    hand = radius - 5.0 if left else -(radius - 5.0)
    body = (
        f'<path class="ln" d="{_rim(x, y, radius, teeth, gap=not left and teeth % 2 == 0)}"/>'
        f'<path class="sg thick" d="M{x:g} {y:g}h{hand:.3g}"/>'
    )
    return (
        f'{_turning(body, x=round(x, 2), y=y, by=by, phase=phase)}<circle class="ln on" cx="{x:.2f}" '
        f'cy="{y:g}" r="3"/>'
    )


def _gears(drawing: Gears, phase: float) -> str:
    first, second = drawing.teeth
    share = min(max(first / (first + second), 0.3), 0.7)
    one, two = 48.0 * share, 48.0 * (1.0 - share)
    scale = min(1.0, MOST_TEETH / max(first, second))
    shown = [max(6, round(teeth * scale)) for teeth in (first, second)]
    left = _wheel(12 + one, one, teeth=shown[0], left=True, by=-1.0, phase=phase)
    right = _wheel(12 + 2 * one + two, two, teeth=shown[1], left=False, by=first / second, phase=phase)
    return left + right


def _flat_shaft(radius: float, css: str, x: float, y: float) -> str:
    """A shaft with a flat, seen from its end."""
    outline = _curve(x, y, radius, (-130.0 + 90.0, 180.0 + 40.0))
    return f'<path class="{css}" d="{outline}Z"/>'


def _joint(drawing: Joint, phase: float) -> str:
    x, y = 60.0, 40.0
    hub = f'<circle class="ln" cx="{x:g}" cy="{y:g}" r="31"/>{_flat_shaft(19, "ln", x, y)}'
    inner = _flat_shaft(14.5 if drawing.play else 18, "wash", x, y)
    shaft = _turning(inner, x=x, y=y, by=-1, phase=phase + (SHOWN_PLAY_DEG if drawing.play else 0.0))
    arrow = f'<path class="sg" d="{_curve(x, y, 25, (78, 102))}"/>' if drawing.play else ""
    tips = '<path class="sg" d="M57.5 12.5l-3.5 3 4.5 1.6M62.5 12.5l3.5 3-4.5 1.6"/>' if drawing.play else ""
    screw = "" if drawing.play else f'<path class="ln" d="M{x:g} 9v12M{x - 4:g} 9h8"/>'
    return f"{_turning(hub + screw, x=x, y=y, by=-1, phase=phase)}{shaft}{arrow}{tips}"


def _clamp(_: Clamp, phase: float) -> str:
    x, y = 60.0, 41.0
    ticks = "".join(
        f'<path class="ft" d="{_path((_on_circle(x, y, 28, a), _on_circle(x, y, 32, a)))}"/>'
        for a in range(0, 360, 30)
    )
    hub = (
        f'<circle class="ln" cx="{x:g}" cy="{y:g}" r="14"/><path class="ln" d="M{x - 3:g} 27v-7h6v7"/>'
        f'<path class="sg thick" d="M{x:g} {y:g}v-12"/>'
    )
    mark = f'<path class="sl thick" d="M{x:g} 4v9"/>'
    return (
        f'<circle class="ln" cx="{x:g}" cy="{y:g}" r="32"/>{ticks}'
        f"{_turning(hub, x=x, y=y, by=-1, phase=phase)}{mark}"
    )


def _track(drawing: Track, phase: float) -> str:
    x, y, radius = 60.0, 42.0, 28.0
    travel = min(drawing.travel_deg, 350.0)
    start = -90.0 - (360.0 - travel) / 2
    line = _curve(x, y, radius, (start, start - travel))
    ends = "".join(
        f'<circle class="ln on" cx="{px:.2f}" cy="{py:.2f}" r="2.5"/>'
        for px, py in (_on_circle(x, y, radius, a) for a in (start, start - travel))
    )
    tip = _on_circle(x, y, radius - 3, start)
    wiper = f'<path class="ln thick" d="{_path(((x, y), tip))}"/>'
    return (
        f'<path class="bed" d="{line}"/>{_filling(line, "track", phase)}{ends}'
        f"{_turning(wiper, x=x, y=y, by=travel, phase=phase)}"
        f'<circle class="ln on" cx="{x:g}" cy="{y:g}" r="4"/>'
    )


def _resistor(x: float, y: float, *, upright: bool = False) -> str:
    size = (7, 16) if upright else (16, 7)
    return f'<rect class="ln on" x="{x:g}" y="{y:g}" width="{size[0]}" height="{size[1]}"/>'


def _circuit(drawing: Circuit, phase: float) -> str:
    arrow = _shifting('<path class="ln" d="M32 64h-9M27 61l-5 3 5 3"/>', dy=-48, phase=phase)
    parts = [
        '<path class="bed" d="M16 64V16"/>',
        _filling("M16 64V16", "track", phase),
        f'{arrow}<path class="ft" d="M32 64V16"/><path class="ln" d="M32 34h74"/>',
        '<circle class="dot" cx="106" cy="34" r="3"/>',
    ]
    if drawing.series:
        parts.append(_resistor(42, 30.5))
    if drawing.pull == "down":
        parts.append(f'<path class="ln" d="M74 34v36M69 70h10"/>{_resistor(70.5, 43, upright=True)}')
    elif drawing.pull == "up":
        parts.append(f'<path class="ln" d="M74 34V6M69 6h10"/>{_resistor(70.5, 12, upright=True)}')
    if drawing.capacitor:
        parts.append('<path class="ln" d="M93 34v16M86 50h14M86 55h14M93 55v15M88 70h10"/>')
    return "".join(parts)


def _staircase(_: Staircase, phase: float) -> str:
    count = 8
    steps = "".join("h10v-7" for _ in range(count))
    dot = _shifting('<circle class="dot" cx="18" cy="68" r="4"/>', dx=84, dy=-56, phase=phase)
    return f'<path class="ft" d="M16 8v62h92"/><path class="ln" d="M18 70h5v-5{steps}"/>{dot}'


def _code_sheet(_: CodeSheet, phase: float) -> str:
    page = '<path class="ln" d="M28 8h50l14 14v52H28Z"/><path class="ln" d="M78 8v14h14"/>'
    lines = '<path class="ft" d="M38 32h24M44 42h34M44 52h22"/>'
    return f'{page}{lines}<path class="bed thin" d="M38 64h44"/>{_filling("M38 64h44", "sg thick", phase)}'


_BODIES: dict[type, Callable[..., str]] = {
    Arc: _arc,
    Gears: _gears,
    Joint: _joint,
    Clamp: _clamp,
    Track: _track,
    Circuit: _circuit,
    Staircase: _staircase,
    CodeSheet: _code_sheet,
}
