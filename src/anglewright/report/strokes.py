"""Strokes that the small drawings are made of, and how a part of a drawing moves.

A moving part says in attributes, which the page's script reads, how it follows the phase of rank `data-of`:
`data-turn` degrees for one of phase, about its `data-x` and `data-y`; `data-dx` and `data-dy` a shift for one
of phase, the phase begun anew after `data-every`; `data-fill` a line drawn up to that share; `data-run` a
shift of its dashes. The first position is drawn here, so that the page is right without any script.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

WIDTH, HEIGHT = 120, 80

Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Mover:
    """One of the phases of a drawing: its rank, and where it stands now."""

    of: int
    now: float


def drawn(d: str, *, css: str = "ln") -> str:
    """A path in one of the styles of the drawings."""
    return f'<path class="{css}" d="{d}"/>'


def ring(at: Place, radius: float, *, css: str = "ln") -> str:
    """A circle."""
    return f'<circle class="{css}" cx="{at[0]:g}" cy="{at[1]:g}" r="{radius:g}"/>'


def block(at: Place, size: Place, *, css: str = "ln on") -> str:
    """A rectangle, from its upper left corner."""
    return f'<rect class="{css}" x="{at[0]:g}" y="{at[1]:g}" width="{size[0]:g}" height="{size[1]:g}"/>'


def window(body: str, *, at: Place, size: Place) -> str:
    """A part of a drawing, cut off at the edges of a rectangle whose upper left corner is its 0, 0."""
    return (
        f'<svg x="{at[0]:g}" y="{at[1]:g}" width="{size[0]:g}" height="{size[1]:g}" '
        f'viewBox="0 0 {size[0]:g} {size[1]:g}">{body}</svg>'
    )


def turning(body: str, *, at: Place, mover: Mover, by: float = -1.0) -> str:
    """A part that turns about a place, by so many degrees, clockwise, for one of phase."""
    return (
        f'<g data-of="{mover.of}" data-turn="{by:.6g}" data-x="{at[0]:g}" data-y="{at[1]:g}" '
        f'transform="rotate({by * mover.now} {at[0]:g} {at[1]:g})">{body}</g>'
    )


def shifting(body: str, *, mover: Mover, dx: float = 0.0, dy: float = 0.0, every: float = 0.0) -> str:
    """A part that shifts by so many pixels for one of phase, anew after each `every` of it."""
    now = mover.now % every if every else mover.now
    again = f' data-every="{every:.6g}"' if every else ""
    return (
        f'<g data-of="{mover.of}" data-dx="{dx:.6g}" data-dy="{dy:.6g}"{again} '
        f'transform="translate({dx * now} {dy * now})">{body}</g>'
    )


def filling(d: str, css: str, *, mover: Mover) -> str:
    """A path drawn from its start up to a share of its length."""
    return (
        f'<path class="{css}" d="{d}" pathLength="1" data-of="{mover.of}" data-fill="1" '
        f'stroke-dasharray="{mover.now} 2"/>'
    )


def running(d: str, css: str, *, dashes: str, mover: Mover, by: float) -> str:
    """A dashed path whose dashes run on by so many pixels for one of phase."""
    return (
        f'<path class="{css}" d="{d}" stroke-dasharray="{dashes}" data-of="{mover.of}" data-run="{by:.6g}" '
        f'stroke-dashoffset="{-by * mover.now}"/>'
    )


def path(points: Iterable[Place], *, closed: bool = False) -> str:
    """Points joined by straight lines."""
    text = " L".join(f"{x:.2f} {y:.2f}" for x, y in points)
    return f"M{text}{'Z' if closed else ''}"


def on_circle(at: Place, radius: float, angle_deg: float) -> Place:
    """A point of a circle, angles against the clock from the right. [px]"""
    angle = math.radians(angle_deg)
    return at[0] + radius * math.cos(angle), at[1] - radius * math.sin(angle)


def curve(at: Place, radius: float, limits: Place) -> str:
    """An arc from one angle to another, in short chords."""
    return path(curve_points(at, radius, limits))


def curve_points(at: Place, radius: float, limits: Place) -> tuple[Place, ...]:
    """Places along an arc from one angle to another. [px]"""
    low, high = limits
    count = max(8, int(abs(high - low) / 5))
    return tuple(on_circle(at, radius, low + (high - low) * k / count) for k in range(count + 1))


def spokes(at: Place, radii: Place, angles_deg: Iterable[float]) -> str:
    """Short lines across a circle, at each of some angles."""
    inner, outer = radii
    ends = ((on_circle(at, inner, angle), on_circle(at, outer, angle)) for angle in angles_deg)
    return " ".join(path(each) for each in ends)


def rim(at: Place, radius: float, *, teeth: int, gap: bool = False) -> str:
    """Outline of a wheel with a tooth, or a gap, to the right."""
    depth = min(3.0, 2.0 * radius / teeth)
    points = []
    for k in range(teeth):
        middle = 360.0 / teeth * (k + (0.5 if gap else 0.0))
        for offset, reach in ((-0.32, -depth), (-0.16, depth), (0.16, depth), (0.32, -depth)):
            points.append(on_circle(at, radius + reach / 1.4, middle + offset * 360.0 / teeth))
    return path(points, closed=True)


def hand(at: Place, length: float, *, angle_deg: float = 0.0) -> str:
    """The hand of a turning part, in the colour of the signal."""
    return drawn(path((at, on_circle(at, length, angle_deg))), css="sg thick")
