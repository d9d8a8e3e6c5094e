"""Small drawings of couplings between two shafts, and of how the sensor is mounted."""

from collections.abc import Callable
from typing import Any

from anglewright.report.strokes import (
    Mover,
    Place,
    block,
    curve,
    drawn,
    hand,
    ring,
    shifting,
    spokes,
    turning,
    window,
)
from anglewright.report.symbols import (
    Bellows,
    Clamp,
    ClampHub,
    DBore,
    Home,
    Rollers,
    Tube,
    Universal,
)

SHOWN_PLAY_DEG = 12.0  # opening of a drawn coupling with play, larger than life [deg]
_BEND_DEG = 24.0  # of a drawn universal joint [deg]


def _flat_shaft(at: Place, radius: float, css: str) -> str:
    """A shaft with a flat, seen from its end."""
    return drawn(f"{curve(at, radius, (-40.0, 220.0))}Z", css=css)


def _d_bore(drawing: DBore, movers: tuple[Mover, ...]) -> str:
    at, (x, y) = (60.0, 40.0), (60.0, 40.0)
    hub = turning(ring(at, 31) + _flat_shaft(at, 19, "ln"), at=at, mover=movers[0])
    inner = _flat_shaft(at, 14.5 if drawing.play else 18, "wash")
    if not drawing.play:
        return hub + turning(inner, at=at, mover=movers[1])
    inner = f'<g transform="rotate({-SHOWN_PLAY_DEG:g} {x:g} {y:g})">{inner}</g>'
    arrow = drawn(curve(at, 25, (78, 102)), css="sg") + drawn(
        "M57.5 12.5l-3.5 3 4.5 1.6M62.5 12.5l3.5 3-4.5 1.6", css="sg"
    )
    return hub + turning(inner, at=at, mover=movers[1]) + arrow


def _clamp_hub(_: ClampHub, movers: tuple[Mover, ...]) -> str:
    """The hub seen from its end, with the mark that is drawn across hub and shaft."""
    at = (60.0, 42.0)
    hub = drawn(curve(at, 25, (99, 441))) + drawn("M56 17v-10h-8v11M64 17v-10h8v11M56 17v10M64 17v10")
    screw = drawn("M43 11h34M43 8v6M77 8v6")
    near = turning(hub + screw + drawn(spokes(at, (15, 25), (-35,)), css="sg thick"), at=at, mover=movers[0])
    return near + turning(ring(at, 15, css="wash") + hand(at, 15, angle_deg=-35), at=at, mover=movers[1])


def _barrel(at: Place, size: Place, *, mover: Mover, twist: float = 0.0) -> str:
    """A turning part seen from its side: a coloured line and fainter ones pass over it, once a turn."""
    wide, high = size
    turn = 2.0 * high
    faint = "".join(f"M0 {turn * k / 6:g}l{wide:g} {twist:g}" for k in range(-1, 11) if k % 6 != 2)
    bright = "".join(f"M0 {turn / 3 + turn * k:g}l{wide:g} {twist:g}" for k in range(-1, 2))
    lines = shifting(
        drawn(faint, css="ft") + drawn(bright, css="sg thick"), mover=mover, dy=-turn / 360.0, every=360.0
    )
    return block(at, size) + window(lines, at=at, size=size)


def _bellows(_: Bellows, movers: tuple[Mover, ...]) -> str:
    near = block((8, 35), (18, 10)) + _barrel((26, 24), (18, 32), mover=movers[0])
    far = block((94, 35), (18, 10)) + _barrel((76, 24), (18, 32), mover=movers[1])
    folds = "".join(f"M{x} 24c5 0 5 6 0 6v20c5 0 5 6 0 6M{x + 6} 27v26" for x in (44, 52, 60, 68))
    return near + drawn(folds) + drawn("M44 30v20M76 30v20", css="ft") + far


def _tube(_: Tube, movers: tuple[Mover, ...]) -> str:
    near = _barrel((6, 34), (28, 12), mover=movers[0])
    far = _barrel((86, 34), (28, 12), mover=movers[1])
    hidden = drawn("M34 34h16v12h-16M86 34h-16v12h16", css="ft dots")
    return near + far + _barrel((34, 24), (52, 32), mover=movers[0], twist=9) + hidden


def _universal(_: Universal, movers: tuple[Mover, ...]) -> str:
    near = _barrel((6, 38), (34, 12), mover=movers[0]) + drawn("M40 30v28M40 30h18M40 58h18")
    eyes = ring((59, 30), 3, css="ln on") + ring((59, 58), 3, css="ln on") + drawn("M59 33v22", css="ft")
    far = _barrel((80, 38), (34, 12), mover=movers[1]) + drawn("M80 38l-14 2h-7v8h7l14 2")
    cross = ring((59, 44), 5, css="wash")
    return near + eyes + f'<g transform="rotate({-_BEND_DEG:g} 59 44)">{far}</g>' + cross


def _rollers(drawing: Rollers, movers: tuple[Mover, ...]) -> str:
    share = min(max(1.0 / (1.0 + drawing.ratio), 0.3), 0.7)
    one, two = 48.0 * (1.0 - share), 48.0 * share
    left, right = (12.0 + one, 40.0), (108.0 - two, 40.0)
    wheels = ((left, one, 0.0, -1.0, movers[0]), (right, two, 180.0, 1.0, movers[1]))
    return "".join(
        ring(at, radius, css="ln thick")
        + ring(at, radius - 4, css="ft")
        + turning(hand(at, radius - 6, angle_deg=angle), at=at, mover=mover, by=by)
        + ring(at, 3, css="ln on")
        for at, radius, angle, by, mover in wheels
    )


def _dial(at: Place) -> str:
    return ring(at, 32) + drawn(spokes(at, (28, 32), range(0, 360, 30)), css="ft")


def _clamp(_: Clamp, movers: tuple[Mover, ...]) -> str:
    at = (60.0, 41.0)
    hub = ring(at, 14) + drawn("M57 27v-7h6v7") + drawn("M60 41v-12", css="sg thick")
    return _dial(at) + turning(hub, at=at, mover=movers[0]) + drawn("M60 4v9", css="sl thick")


def _home(drawing: Home, movers: tuple[Mover, ...]) -> str:
    at = (60.0, 46.0)
    hub = ring(at, 12) + drawn("M60 46v-11", css="sg thick")
    if drawing.index:
        turn = ring(at, 24) + hub + drawn("M60 22v7", css="sg thick")
        return turning(turn, at=at, mover=movers[0]) + drawn("M53 6h14v6l-7 6-7-6Z", css="sl")
    vane = drawn("M56 35v-17h8v17", css="wash")
    switch = block((70, 4), (26, 12), css="sl") + drawn("M70 13l-6 4M83 16v6", css="sl thick")
    return ring(at, 28, css="ft") + turning(vane + hub, at=at, mover=movers[0]) + switch


BODIES: dict[type, Callable[[Any, tuple[Mover, ...]], str]] = {
    DBore: _d_bore,
    ClampHub: _clamp_hub,
    Bellows: _bellows,
    Tube: _tube,
    Universal: _universal,
    Rollers: _rollers,
    Clamp: _clamp,
    Home: _home,
}
