"""Small drawings of sensors, and of the bits, pulses and edges that they send."""

import math
from collections.abc import Callable
from typing import Any

from anglewright.report.strokes import (
    Mover,
    Place,
    block,
    curve,
    drawn,
    filling,
    hand,
    on_circle,
    path,
    rim,
    ring,
    shifting,
    spokes,
    turning,
)
from anglewright.report.symbols import Helix, Lines, Magnet, Pair, Track

MOST_TURNS = 12  # of a helix, drawn [1]
MOST_LINES = 40  # of a disc, drawn [1]


def _track(drawing: Track, movers: tuple[Mover, ...]) -> str:
    at, radius = (60.0, 42.0), 28.0
    travel = min(drawing.travel_deg, 350.0)
    start = -90.0 - (360.0 - travel) / 2
    line = curve(at, radius, (start, start - travel))
    ends = "".join(ring(on_circle(at, radius, a), 2.5, css="ln on") for a in (start, start - travel))
    wiper = drawn(path((at, on_circle(at, radius - 3, start))), css="ln thick")
    return (
        drawn(line, css="bed")
        + filling(line, "track", mover=movers[0])
        + ends
        + turning(wiper, at=at, by=travel, mover=movers[0])
        + ring(at, 4, css="ln on")
    )


def _helix(drawing: Helix, movers: tuple[Mover, ...]) -> str:
    """The track unrolled from side to side, its wiper on a spindle above it."""
    turns = min(max(2, math.ceil(drawing.turns - 1e-9)), MOST_TURNS)
    coil = path((12.0 + 96.0 * k / (2 * turns), 64.0 if k % 2 == 0 else 34.0) for k in range(2 * turns + 1))
    wiper = drawn("M12 32l-5 -9h10Z", css="wash") + drawn("M12 23v-9", css="ln thick")
    ends = ring((12, 64), 2.5, css="ln on") + ring((108, 64), 2.5, css="ln on")
    return (
        drawn("M6 14h108")
        + drawn(coil, css="bed wire")
        + filling(coil, "sg thick", mover=movers[0])
        + ends
        + shifting(wiper, mover=movers[0], dx=96.0)
    )


def _magnet(drawing: Magnet, movers: tuple[Mover, ...]) -> str:
    at = (38.0, 40.0)
    pins = drawn("M14 22h-6M14 34h-6M14 46h-6M14 58h-6M62 22h6M62 34h6M62 46h6M62 58h6", css="ft")
    half = drawn(f"{curve(at, 20, (-90, 90))}Z", css="wash")
    magnet = ring(at, 20) + half + drawn(spokes(at, (7, 20), (0,)), css="sg thick")
    chip = block((14, 14), (48, 52), css="ft") + pins
    return chip + turning(magnet, at=at, mover=movers[0], by=-360.0) + _FORMS[drawing.sends](movers[0])


def _voltage(mover: Mover) -> str:
    dot = shifting('<circle class="dot" cx="82" cy="58" r="4"/>', mover=mover, dx=30, dy=-36)
    return drawn("M82 18v40h32", css="ft") + drawn("M82 58L112 22v36") + dot


def _pulse(mover: Mover) -> str:
    return (
        drawn("M78 56h5v-30M84 56h30")
        + filling("M84 26h28", "sg thick", mover=mover)
        + shifting(drawn("M84 26v30"), mover=mover, dx=28)
    )


def _word(mover: Mover) -> str:
    return bits((80, 22), (32, 36), rows=3) + shifting(drawn("M80 16v48", css="sg thick"), mover=mover, dx=32)


_FORMS: dict[str, Callable[[Mover], str]] = {"voltage": _voltage, "pulse": _pulse, "word": _word}


def bits(at: Place, size: Place, *, rows: int) -> str:
    """A row for each bit of a word, the highest on top, over all its values, filled where the bit is one."""
    (x, y), (wide, high) = at, size
    body = ""
    for row in range(rows):
        cell = wide / 2 ** (row + 1)
        top, tall = y + high * row / rows, high / rows - 3
        cells = "".join(
            f"M{x + (2 * k + 1) * cell:g} {top:g}h{cell:g}v{tall:g}h{-cell:g}Z" for k in range(2**row)
        )
        body += block((x, top), (wide, tall), css="ft") + drawn(cells, css="bit")
    return body


def _lines(drawing: Lines, movers: tuple[Mover, ...]) -> str:
    at, count = (54.0, 40.0), min(max(drawing.lines, 8), MOST_LINES)
    pitch = 360.0 / count
    marks = drawn(spokes(at, (22, 29), (pitch * k for k in range(count))))
    index = drawn(spokes(at, (13, 19), (0,)), css="sl thick") if drawing.index else ""
    disc = ring(at, 31) + marks + index + hand(at, 11)
    apart = pitch * (round(30.0 / pitch) + 0.25)  # whole lines and a quarter, from head to head
    heads = "".join(_head(at, angle) for angle in (apart / 2, -apart / 2))
    return turning(disc, at=at, mover=movers[1]) + ring(at, 4, css="ln on") + heads


def _head(at: Place, angle: float) -> str:
    """A head across the lines, and its wire to the right."""
    near, far = (on_circle(at, radius, angle) for radius in (20, 36))
    return drawn(path((near, far)), css="sl thick") + drawn(path((far, (112, far[1]))), css="sl")


def _pair(drawing: Pair, movers: tuple[Mover, ...]) -> str:
    driving, first, second = drawing.teeth
    unit = min(52.0 / sum(drawing.teeth), 30.0 / max(drawing.teeth))
    scale = min(1.0, 60.0 / max(drawing.teeth))
    shown = [max(6, round(teeth * scale)) for teeth in drawing.teeth]
    middle = (60.0 + unit * (first - second), 40.0)
    left, right = (middle[0] - unit * (driving + first), 40.0), (middle[0] + unit * (driving + second), 40.0)
    wheel = drawn(rim(middle, unit * driving, teeth=shown[0])) + hand(
        middle, unit * driving - 5, angle_deg=90
    )
    body = turning(wheel, at=middle, mover=movers[1]) + ring(middle, 3, css="ln on")
    for at, teeth, count, gap in (
        (left, first, shown[1], shown[0] % 2 == 0),
        (right, second, shown[2], shown[2] % 2 == 0),
    ):
        poles = drawn(f"{curve(at, unit * teeth - 3.5, (0, 180))}Z", css="wash")
        body += turning(
            drawn(rim(at, unit * teeth, teeth=count, gap=gap)) + poles,
            at=at,
            mover=movers[1],
            by=driving / teeth,
        )
    return body


BODIES: dict[type, Callable[[Any, tuple[Mover, ...]], str]] = {
    Track: _track,
    Helix: _helix,
    Magnet: _magnet,
    Lines: _lines,
    Pair: _pair,
}
