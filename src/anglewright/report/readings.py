"""Small drawings from the sensor's wires to the code: wiring, converters, the code's line."""

from collections.abc import Callable
from typing import Any

from anglewright.report.sensors import bits
from anglewright.report.strokes import Mover, Place, block, drawn, filling, shifting, window
from anglewright.report.symbols import Box, Cable, Circuit, CodeSheet, Edges, Pulse, Staircase, Word

_PERIOD = 32.0  # of the two tracks of lines, drawn [px]


def _resistor(at: Place, *, upright: bool = False) -> str:
    return block(at, (7, 16) if upright else (16, 7))


def _circuit(drawing: Circuit, movers: tuple[Mover, ...]) -> str:
    mover = movers[0]
    parts = [
        drawn("M16 64V16", css="bed"),
        filling("M16 64V16", "track", mover=mover),
        *(_driven(mover) if drawing.driven else _tapped(mover)),
        drawn("M40 34h66"),
        '<circle class="dot" cx="106" cy="34" r="3"/>',
    ]
    if drawing.series:
        parts.append(_resistor((46, 30.5)))
    if drawing.pull == "down":
        parts.append(drawn("M74 34v36M69 70h10") + _resistor((70.5, 43), upright=True))
    elif drawing.pull == "up":
        parts.append(drawn("M74 34V6M69 6h10") + _resistor((70.5, 12), upright=True))
    if drawing.capacitor:
        parts.append(drawn("M93 34v16M86 50h14M86 55h14M93 55v15M88 70h10"))
    return "".join(parts)


def _tapped(mover: Mover) -> tuple[str, ...]:
    """A wiper on a track."""
    arrow = shifting(drawn("M32 64h-9M27 61l-5 3 5 3"), mover=mover, dy=-48)
    return arrow, drawn("M32 64V16", css="ft"), drawn("M32 34h8")


def _driven(mover: Mover) -> tuple[str, ...]:
    """An amplifier that sets the level."""
    level = shifting(drawn("M11 64h10", css="ln thick"), mover=mover, dy=-48)
    return level, drawn("M26 24v20l14 -10Z", css="ln on")


def _cable(_: Cable, movers: tuple[Mover, ...]) -> str:
    """Feed, signal and ground between two connectors; the levels of the signal run along."""
    period = 16.0
    wave = "M-48 16" + "h8v-14h8v14" * 10
    signal = shifting(drawn(wave, css="sg"), mover=movers[0], dx=80.0, every=period / 80.0)
    ends = block((10, 14), (14, 52)) + block((96, 14), (14, 52))
    return ends + drawn("M24 22h72M24 58h72") + window(signal, at=(24, 31), size=(72, 18))


def _staircase(_: Staircase, movers: tuple[Mover, ...]) -> str:
    steps = "".join("h10v-7" for _ in range(8))
    dot = shifting('<circle class="dot" cx="18" cy="68" r="4"/>', mover=movers[0], dx=84, dy=-56)
    return drawn("M16 8v62h92", css="ft") + drawn(f"M18 70h5v-5{steps}") + dot


def _pulse(drawing: Pulse, movers: tuple[Mover, ...]) -> str:
    mover = movers[0]
    ticks = drawn("".join(f"M{x} 52v4" for x in range(14, 110, 4)), css="ft")
    frame = drawn("M10 46h8v-30M104 46v-30h8") + drawn("M18 46h86", css="ft")
    falls = shifting(drawn("M18 16v30"), mover=mover, dx=82)
    length = drawn("M18 60v8") + filling("M18 64h82", "sg thick", mover=mover)
    whole = drawn("M18 70v8M104 70v8M18 74h86") if drawing.whole else ""
    return ticks + frame + filling("M18 16h82", "sg thick", mover=mover) + falls + length + whole


def _word(_: Word, movers: tuple[Mover, ...]) -> str:
    line = shifting(drawn("M12 6v68", css="sg thick"), mover=movers[0], dx=96)
    return bits((12, 12), (96, 60), rows=4) + line


def _edges(drawing: Edges, movers: tuple[Mover, ...]) -> str:
    """Two tracks that run past a line, a tick below each edge that counts, and how far the count has come."""
    half, quarter, back = _PERIOD / 2, _PERIOD / 4, _PERIOD / drawing.counted
    wave = f"h{half:g}v12h{half:g}v-12" * 6
    tracks = drawn(f"M0 2{wave}") + drawn(f"M{-3 * quarter:g} 21{wave}")
    places = (k * back for k in range(6 * drawing.counted))
    ticks = drawn("".join(f"M{x:g} 41v9" for x in places), css="ln thick")
    start = (50.0 - back / 2) % _PERIOD - _PERIOD  # midway between two marks at a whole count
    body = f'<g transform="translate({start:g} 0)">{tracks}{ticks}</g>'
    moving = shifting(body, mover=movers[0], dx=-back, every=float(drawing.counted))
    count = drawn("M10 70h100", css="bed thin") + filling("M10 70h100", "sg thick", mover=movers[1])
    return window(moving, at=(10, 8), size=(100, 52)) + drawn("M60 6v56", css="sg thick") + count


def _code_sheet(_: CodeSheet, movers: tuple[Mover, ...]) -> str:
    page = drawn("M28 8h50l14 14v52H28Z") + drawn("M78 8v14h14")
    lines = drawn("M38 32h24M44 42h34M44 52h22", css="ft")
    return (
        page + lines + drawn("M38 64h44", css="bed thin") + filling("M38 64h44", "sg thick", mover=movers[0])
    )


def _box(_: Box, movers: tuple[Mover, ...]) -> str:
    arrows = drawn("M8 40h22M24 35l6 5-6 5M90 40h22M106 35l6 5-6 5")
    bar = drawn("M40 40h40", css="bed thin") + filling("M40 40h40", "sg thick", mover=movers[0])
    return arrows + block((30, 20), (60, 40), css="ln") + bar


BODIES: dict[type, Callable[[Any, tuple[Mover, ...]], str]] = {
    Circuit: _circuit,
    Cable: _cable,
    Staircase: _staircase,
    Pulse: _pulse,
    Word: _word,
    Edges: _edges,
    CodeSheet: _code_sheet,
    Box: _box,
}
