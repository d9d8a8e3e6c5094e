"""Small drawings of motions and of the drives from the axis to the sensor's shaft."""

import math
from collections.abc import Callable
from typing import Any

from anglewright.report.strokes import (
    Mover,
    Place,
    block,
    curve,
    curve_points,
    drawn,
    filling,
    hand,
    on_circle,
    path,
    rim,
    ring,
    running,
    shifting,
    spokes,
    turning,
    window,
)
from anglewright.report.symbols import (
    Arc,
    Circle,
    Direct,
    DrawWire,
    Drum,
    FourBar,
    Gears,
    Loop,
    Rack,
    Rail,
    Run,
    Screw,
)

MOST_TEETH = 60  # drawn; more would run into each other [1]
_PER_DEG = math.pi / 180.0  # of a radius, along its circle [px/deg]
_INWARDS = 1.9  # from the back of a belt to the middle of its teeth [px]
_LINK = 5.0  # from roller to roller, from tooth to tooth of a belt [px]


def _arc(drawing: Arc, movers: tuple[Mover, ...]) -> str:
    at, radius = (60.0, 44.0), 32.0
    limits = (drawing.low_deg, drawing.high_deg)
    sweep = (limits[0], limits[0] + max(-360.0, min(limits[1] - limits[0], 360.0)))
    ends = drawn(spokes(at, (radius - 4, radius + 4), limits))
    return drawn(curve(at, radius, sweep), css="ft dots") + ends + _arm(at, radius, movers[0])


def _circle(_: Circle, movers: tuple[Mover, ...]) -> str:
    at, radius = (60.0, 40.0), 32.0
    return ring(at, radius, css="ft") + _arm(at, radius, movers[0])


def _arm(at: Place, radius: float, mover: Mover) -> str:
    """What turns, the line it is counted from, and its pivot."""
    still = drawn(path((at, (at[0] + radius - 8, at[1]))), css="ft")
    return still + turning(hand(at, radius), at=at, mover=mover) + ring(at, 4, css="ln on")


def _rail(drawing: Rail, movers: tuple[Mover, ...]) -> str:
    upright = drawing.way in ("up", "down")
    half, way = (26.0 if upright else 40.0), (1.0 if drawing.way in ("right", "up") else -1.0)
    ends = drawn(f"M{60 - half - 12:g} 40v14M{60 + half + 12:g} 40v14")
    rail = f"{drawn(f'M{60 - half - 12:g} 47h{2 * half + 24:g}')}{ends}"
    scale = drawn(path(((60 - half, 60), (60 + half, 60))), css="ft dots")
    start = 60.0 - way * half
    carriage = block((start - 11, 26), (22, 21), css="wash") + drawn(f"M{start:g} 30v30", css="sg thick")
    body = rail + scale + shifting(carriage, mover=movers[0], dx=2.0 * way * half)
    return f'<g transform="rotate(-90 60 40)">{body}</g>' if upright else body


def _direct(_: Direct, movers: tuple[Mover, ...]) -> str:
    at = (60.0, 40.0)
    axis = turning(
        ring(at, 31) + hand(at, 31) + drawn(spokes(at, (27, 31), (90, 180, 270))), at=at, mover=movers[1]
    )
    case = block((44, 24), (32, 32)) + drawn("M76 32h6v16h-6", css="ln")
    shaft = turning(hand(at, 8), at=at, mover=movers[1])
    return axis + case + ring(at, 8) + shaft


def _gears(drawing: Gears, movers: tuple[Mover, ...]) -> str:
    """Wheels of each mesh in turn; the wheel after a mesh sits on the shaft of the one before."""
    pairs = list(zip(drawing.teeth[::2], drawing.teeth[1::2], strict=True))
    shares = [min(max(first / (first + second), 0.3), 0.7) for first, second in pairs]
    unit = 96.0 / (len(pairs) + 1 + shares[0] - shares[-1])
    turn = math.prod(second / first for first, second in pairs)
    at, body, by = (12.0 + unit * shares[0], 40.0), "", -turn
    for (first, second), share in zip(pairs, shares, strict=True):
        scale = min(1.0, MOST_TEETH / max(first, second))
        shown = [max(6, round(teeth * scale)) for teeth in (first, second)]
        body += _wheel(at, unit * share, teeth=shown[0], mover=movers[1], by=by)
        at, by = (at[0] + unit, 40.0), -by * first / second
        body += _wheel(at, unit * (1.0 - share), teeth=shown[1], mover=movers[1], by=by, driven=True)
    return body


def _wheel(at: Place, radius: float, *, teeth: int, mover: Mover, by: float, driven: bool = False) -> str:
    gap = driven and teeth % 2 == 0
    body = drawn(rim(at, radius, teeth=teeth, gap=gap)) + hand(
        at, radius - 5.0, angle_deg=180.0 if driven else 0.0
    )
    return turning(body, at=at, mover=mover, by=by) + ring(at, 3, css="ln on")


def _rack(drawing: Rack, movers: tuple[Mover, ...]) -> str:
    """A pinion that rolls along the top of its rack, a tooth in each gap."""
    teeth, radius, at = min(max(drawing.teeth, 10), 24), 20.0, (60.0, 31.0)
    pitch = 2.0 * math.pi * radius / teeth
    first = 52.0 + pitch * (-0.75 * teeth % 1.0)  # the middle of a gap, a tooth of the pinion above it
    profile = []
    for k in range(-math.ceil(160 / pitch), math.ceil(60 / pitch)):
        for offset, y in ((-0.34, 4.0), (-0.16, 9.0), (0.16, 9.0), (0.34, 4.0)):
            profile.append((first + (k + offset) * pitch, y))
    moving = shifting(drawn(path(profile)), mover=movers[1], dx=radius * _PER_DEG, every=360.0 / teeth)
    rack = window(moving, at=(8, 46), size=(104, 14)) + drawn("M8 66h104")
    body = drawn(rim(at, radius, teeth=teeth)) + hand(at, radius - 5)
    return rack + turning(body, at=at, mover=movers[1]) + ring(at, 3, css="ln on")


def _loop(drawing: Loop, movers: tuple[Mover, ...]) -> str:
    first, second = drawing.teeth
    share = min(max(first / (first + second), 0.3), 0.7)
    one, two = 42.0 * share, 42.0 * (1.0 - share)
    left, right = (10.0 + one, 40.0), (110.0 - two, 40.0)
    leaves = math.degrees(math.acos((one - two) / (right[0] - left[0])))  # where the run leaves a wheel

    def band(inwards: float) -> str:
        round_left = curve_points(left, one - inwards, (leaves, 360.0 - leaves))
        return path((*round_left, *curve_points(right, two - inwards, (-leaves, leaves))), closed=True)

    wheels = _plain(left, one - 4.5, mover=movers[1], by=-second / first)
    wheels += _plain(right, two - 4.5, mover=movers[1], by=-1.0)
    return wheels + _band(band(0.0), band(_INWARDS), drawing.rollers, mover=movers[1], by=two * _PER_DEG)


def _band(back: str, inside: str, rollers: bool, *, mover: Mover, by: float) -> str:
    """A chain as rollers on a line, or a belt as its back with the teeth inside."""
    if rollers:
        return drawn(back, css="ft") + running(back, "bead", dashes=f"0 {_LINK:g}", mover=mover, by=by)
    return drawn(back) + running(inside, "cog", dashes=f"{_LINK / 2:g} {_LINK / 2:g}", mover=mover, by=by)


def _plain(at: Place, radius: float, *, mover: Mover, by: float) -> str:
    body = ring(at, radius) + hand(at, radius)
    return turning(body, at=at, mover=mover, by=by) + ring(at, 3, css="ln on")


def _run(drawing: Run, movers: tuple[Mover, ...]) -> str:
    at, radius, y = (60.0, 48.0), 22.0, 26.0
    wheel = _plain(at, radius - 4.5, mover=movers[1], by=1.0)
    back, inside = (path(((8, each), (112, each))) for each in (y, y + _INWARDS))
    band = _band(back, inside, drawing.rollers, mover=movers[1], by=radius * _PER_DEG)
    return wheel + band + drawn("M14 14h18M88 14h18M23 14v12M97 14v12")


def _drum(drawing: Drum, movers: tuple[Mover, ...]) -> str:
    at, layers = (36.0, 44.0), min(drawing.layer, 3)
    outer = 17.0 + 4.0 * layers
    wound = "".join(ring(at, 17.0 + 4.0 * k, css="ft") for k in range(1, layers))
    drum = ring(at, 17) + hand(at, 17)
    leaves = _drawn_out((at[0], at[1] - outer), 66.0, mover=movers[0])
    return (
        ring(at, outer, css="ln thick")
        + wound
        + turning(drum, at=at, mover=movers[1], by=1.0)
        + (ring(at, 3, css="ln on") + leaves)
    )


def _drawn_out(start: Place, least: float, *, mover: Mover) -> str:
    """A rope from where it leaves, its end between `least` and the right edge."""
    y = start[1]
    reach = 108.0 - least
    rope = drawn(path((start, (least, y))), css="ln thick") + filling(
        path(((least, y), (108, y))), "ln thick", mover=mover
    )
    end = ring((least + 4, y), 4, css="wash")
    return rope + shifting(end, mover=mover, dx=reach)


def _draw_wire(_: DrawWire, movers: tuple[Mover, ...]) -> str:
    at = (36.0, 42.0)
    spring = path(on_circle(at, 4.0 + 8.0 * k / 60, -13.0 * k) for k in range(61))
    drum = ring(at, 18) + drawn(path((on_circle(at, 12, 0), on_circle(at, 18, 0))), css="sg thick")
    case = block((10, 14), (54, 54), css="ln") + drawn(spring, css="ft")
    wire = _drawn_out((36.0, 24.0), 72.0, mover=movers[0])
    return case + turning(drum, at=at, mover=movers[1], by=1.0) + wire


def _screw(drawing: Screw, movers: tuple[Mover, ...]) -> str:
    starts, pitch = min(drawing.starts, 4), 6.0
    thread = "".join(f"M{x:g} 14l5 -14" for x in range(-36, 100, 6))
    turn = shifting(drawn(thread, css="ft"), mover=movers[1], dx=pitch * starts / 360.0, every=360.0 / starts)
    rod = window(turn, at=(26, 37), size=(88, 14)) + drawn("M26 37h88v14h-88")
    nut = block((34, 28), (16, 32), css="wash") + drawn("M42 28v-12", css="sg thick")
    return rod + block((8, 30), (18, 28)) + shifting(nut, mover=movers[0], dx=62.0)


def _four_bar(drawing: FourBar, movers: tuple[Mover, ...]) -> str:
    left, low, right, high = drawing.box
    scale = min(96.0 / (right - left), 62.0 / (high - low))
    at = (60.0 - scale * (left + right) / 2.0, 40.0 + scale * (low + high) / 2.0)
    tip = (at[0] + scale * drawing.input, at[1])
    rod = turning(
        drawn(path((tip, (tip[0] + scale * drawing.coupler, tip[1]))), css="ln thick"),
        at=tip,
        mover=movers[1],
    )
    lever = turning(
        hand(at, scale * drawing.input) + rod + ring(tip, 2.5, css="ln on"), at=at, mover=movers[0]
    )
    far = (at[0] + scale * drawing.ground, at[1])
    end = (far[0] + scale * drawing.output, far[1])
    output = turning(hand(far, scale * drawing.output) + ring(end, 2.5, css="ln on"), at=far, mover=movers[2])
    ground = drawn(path((at, far)), css="ft dots")
    return ground + lever + output + ring(at, 4, css="ln on") + ring(far, 4, css="ln on")


BODIES: dict[type, Callable[[Any, tuple[Mover, ...]], str]] = {
    Arc: _arc,
    Circle: _circle,
    Rail: _rail,
    Direct: _direct,
    Gears: _gears,
    Rack: _rack,
    Loop: _loop,
    Run: _run,
    Drum: _drum,
    DrawWire: _draw_wire,
    Screw: _screw,
    FourBar: _four_bar,
}
