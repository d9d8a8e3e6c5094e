"""The sensor's shaft as an engineer's dial: what it can turn, what the axis uses of it, where to clamp it.

Angles count from where the sensor's output starts, clockwise, in degrees of the sensor's shaft; the middle of
the scale is at the top. A scale longer than one turn is drawn as a strip of turns. Labels stand in a column
on either side, moved up or down just as far as they must to keep clear of each other.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from markupsafe import Markup

from anglewright.report.drafting import on_sheet
from anglewright.report.lettering import LINE_PX, Label, broken, kept_apart, typeset, widest
from anglewright.report.scales import ticks

RIM, BEYOND = 104.0, 34.0  # radius of the scale, and from it to where labels begin [px]
STRIP = 380.0  # height of a strip of turns [px]
GAP = 6.0  # between labels [px]
NEAR_CLAMP_DEG = 13.0  # a number nearer to the clamp line than that would lie under it [deg]
_SIGNS = 34  # of a line of a label [1]
_CAPTION_SIGNS = 84  # of a line below the drawing [1]

Kind = Literal["clamp", "mark", "end", "stop", "sensor"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A labelled place of the scale; `kind` says how it is drawn."""

    at_deg: float
    lines: tuple[str, ...]
    kind: Kind = "mark"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """What a dial shows, in degrees of the sensor's shaft from where its output starts.

    `scale` is what is drawn: the electrical travel, or one turn, or as many turns as are used. `ends` says
    what its two ends are: the ends of a `track`, the `wrap` of an endless sensor, or `none` for one that
    counts. `sensor_stops` are the sensor's own. `working` and `reached` are what the axis uses, and what
    it can be driven to. `sense` is +1 where the shaft turns clockwise as the axis moves the positive way.
    """

    title: str
    description: str
    scale: tuple[float, float]
    working: tuple[float, float]
    reached: tuple[float, float]
    places: tuple[Place, ...]
    clamp_half_deg: float
    ends: Literal["track", "wrap", "none"] = "track"
    sensor_stops: tuple[float, float] | None = None
    sense: Literal[-1, 1] = 1
    captions: tuple[str, ...] = ()

    @property
    def turns(self) -> float:
        """Length of the scale. [turn]"""
        return (self.scale[1] - self.scale[0]) / 360.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tag:
    """A label on its way to a column: where its line starts and the height that it would like. [px]"""

    start: tuple[float, float]
    bend: tuple[float, float]
    lines: tuple[str, ...]


def draw_dial(dial: Dial) -> Markup:
    """A dial, or a strip where the scale is longer than one turn, as inline SVG.

    Parameters
    ----------
    dial : Dial
        What to show.

    Returns
    -------
    Markup
        An ``svg`` element with title and description.
    """
    if dial.turns > 1.0 + 1e-9:
        body, tags = _strip(dial), [_beside_strip(dial, place) for place in dial.places]
        return _laid_out(dial, body, tags, reach=(60.0, STRIP / 2 + 12.0))
    body, tags = _face(dial), [_around(dial, place) for place in dial.places]
    return _laid_out(dial, body, tags, reach=(RIM + BEYOND, RIM + BEYOND))


def _laid_out(dial: Dial, body: Markup, tags: list[_Tag], *, reach: tuple[float, float]) -> Markup:
    """The drawing about 0, 0 with its columns of labels and its captions, moved onto a sheet."""
    half, high = reach
    left = sorted((tag for tag in tags if tag.bend[0] < 0), key=lambda tag: tag.bend[1])
    right = sorted((tag for tag in tags if tag.bend[0] >= 0), key=lambda tag: tag.bend[1])
    columns = [*_column(left, -half - 12.0), *_column(right, half + 12.0)]
    tops = [label.y - label.height / 2 for label, _ in columns]
    bottoms = [label.y + label.height / 2 for label, _ in columns]
    top, bottom = min([-high, *tops]) - 8.0, max([high, *bottoms]) + 12.0
    captions = broken(dial.captions, signs=_CAPTION_SIGNS)
    rooms = [widest(line for tag in side for line in tag.lines) for side in (left, right)]
    across = [max(half, half + 12.0 + room) + 12.0 for room in rooms]
    width = max(sum(across), widest(captions) + 24.0)
    drawn = body + Markup("").join(lead + label.drawn() for label, lead in columns)
    caption = Label(x=-across[0] + 12.0, y=bottom + LINE_PX * len(captions) / 2, lines=captions, quiet=True)
    moved = Markup('<g transform="translate({:.1f} {:.1f})">{}</g>').format(
        across[0], -top, drawn + caption.drawn()
    )
    size = (width, bottom - top + caption.height + 12.0)
    return on_sheet(moved, size=size, title=dial.title, description=dial.description)


def _column(tags: Sequence[_Tag], x: float) -> Iterator[tuple[Label, Markup]]:
    """Labels of one side with the lines that lead to them."""
    heights = [LINE_PX * len(tag.lines) + GAP for tag in tags]
    for tag, y in zip(tags, kept_apart([tag.bend[1] for tag in tags], heights), strict=True):
        inner = x + (6.0 if x < 0 else -6.0)
        points = (tag.start, tag.bend, (inner, y))
        line = " L".join(f"{px:.1f} {py:.1f}" for px, py in points)
        label = Label(x=x, y=y, lines=tag.lines, anchor="end" if x < 0 else "start")
        yield label, _path("lead", f"M{line}")


def _path(css: str, d: str) -> Markup:
    return Markup('<path class="{}" d="{}"/>').format(css, d)


def _middle(dial: Dial) -> float:
    return (dial.scale[0] + dial.scale[1]) / 2


def _screen(dial: Dial, at_deg: float) -> float:
    """Angle from the top, clockwise, at most half a turn either way. [deg]"""
    return min(180.0, max(-180.0, at_deg - _middle(dial)))


def _point(angle: float, radius: float) -> tuple[float, float]:
    turned = math.radians(angle)
    return radius * math.sin(turned), -radius * math.cos(turned)


def _chord(radius: float, start: float, end: float) -> str:
    """An arc from one angle to another, in short chords. [px, deg]"""
    count = max(2, math.ceil(abs(end - start) / 3))
    points = (_point(start + (end - start) * k / count, radius) for k in range(count + 1))
    return "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in points)


def _ray(angle: float, inner: float, outer: float) -> str:
    (ax, ay), (bx, by) = _point(angle, inner), _point(angle, outer)
    return f"M{ax:.2f} {ay:.2f}L{bx:.2f} {by:.2f}"


def _stroke(angle: float) -> str:
    """One line of hatching across the rim, at a slant."""
    (ax, ay), (bx, by) = _point(angle - 2.5, RIM - 5.0), _point(angle + 2.5, RIM + 8.0)
    return f"M{ax:.2f} {ay:.2f}L{bx:.2f} {by:.2f}"


def _sector(angles: tuple[float, float], radii: tuple[float, float]) -> str:
    back = _chord(radii[0], *reversed(angles)).replace("M", "L", 1)
    return f"{_chord(radii[1], *angles)}{back}Z"


def _face(dial: Dial) -> Markup:
    """The dial itself about 0, 0."""
    return Markup("").join(
        [
            *_clamp_sector(dial),
            _path("wire", _chord(RIM, _screen(dial, dial.scale[0]), _screen(dial, dial.scale[1]))),
            *_graduation(dial),
            *_dead(dial),
            *_ranges(dial),
            *_pointers(dial),
            _arrow(dial),
            Markup('<circle class="part" r="7"/>'),
        ]
    )


def _clamp_sector(dial: Dial) -> Iterator[Markup]:
    for place in dial.places:
        if place.kind == "clamp":
            start, end = (_screen(dial, place.at_deg + way * dial.clamp_half_deg) for way in (-1, 1))
            yield _path("within", _sector((start, end), (10.0, RIM + 20.0)))


def _graduation(dial: Dial) -> Iterator[Markup]:
    """Ticks every 10 deg, longer and numbered every 30."""
    first, last = (math.ceil(dial.scale[0] / 10 - 1e-9), math.floor(dial.scale[1] / 10 + 1e-9))
    clamps = [place.at_deg for place in dial.places if place.kind == "clamp"]
    for tens in range(first, last + 1):
        angle, long = _screen(dial, 10.0 * tens), tens % 3 == 0
        yield _path("wire" if long else "quiet", _ray(angle, RIM - (10.0 if long else 5.0), RIM))
        covered = any(abs(10.0 * tens - at) < NEAR_CLAMP_DEG for at in clamps)
        if long and not covered and not (dial.ends == "wrap" and tens == last):
            x, y = _point(angle, RIM - 24.0)
            yield _tick(x, y + 4.5, f"{10 * tens}")


def _tick(x: float, y: float, text: str) -> Markup:
    return Markup('<text class="tick" x="{:.1f}" y="{:.1f}">{}</text>').format(x, y, typeset(text))


def _dead(dial: Dial) -> Iterator[Markup]:
    """Hatching where there is no track, as far as the sensor's own stops or right round; or the wrap."""
    low, high = (_screen(dial, at) for at in dial.scale)
    if dial.ends == "wrap":
        yield _path("wire strong", _ray(180.0, RIM - 12.0, RIM + 14.0))
    if dial.ends != "track":
        return
    stops = dial.sensor_stops or (_middle(dial) - 180.0, _middle(dial) + 180.0)
    ends = [_screen(dial, at) for at in stops]
    for start, end in ((ends[0], low), (high, ends[1])):
        count = int(abs(end - start) / 4)
        hatch = "".join(_stroke(start + (k + 0.5) * (end - start) / count) for k in range(count))
        yield _path("hatch", hatch + _chord(RIM, start, end))
    if dial.sensor_stops:
        yield _path("wire strong", "".join(_ray(end, RIM - 10, RIM + 14) for end in ends))


def _ranges(dial: Dial) -> Iterator[Markup]:
    """What the axis uses, and dashed what it can be driven to beyond."""
    work = sorted(_screen(dial, at) for at in dial.working)
    reached = sorted(_screen(dial, at) for at in dial.reached)
    yield _path("over", _chord(RIM + 16.0, reached[0], work[0]) + _chord(RIM + 16.0, work[1], reached[1]))
    yield _path("work", _chord(RIM + 16.0, *work))


def _pointers(dial: Dial) -> Iterator[Markup]:
    """Ticks at the labelled places, and the flat of the shaft on the clamp line."""
    for place in dial.places:
        angle = _screen(dial, place.at_deg)
        if place.kind == "clamp":
            yield _path("mark strong", _ray(angle, 7.0, RIM + 22.0))
        elif place.kind == "mark":
            yield _path("mark", _ray(angle, RIM - 8.0, RIM + 22.0))
        elif place.kind != "sensor":
            yield _path("signal" if place.kind == "end" else "wire", _ray(angle, RIM + 10.0, RIM + 22.0))


def _arrow(dial: Dial) -> Markup:
    """The way the shaft turns as the axis moves the positive way."""
    start, end, radius = -34.0 * dial.sense, 34.0 * dial.sense, 46.0
    x, y = _point(end, radius)
    moved = f"translate({x:.1f} {y:.1f}) rotate({end + (0 if dial.sense > 0 else 180):.1f})"
    tip = Markup('<path class="tip" d="M-4 -5L6 0L-4 5Z" transform="{}"/>').format(moved)
    return _path("mark", _chord(radius, start, end)) + tip


def _around(dial: Dial, place: Place) -> _Tag:
    angle = _screen(dial, place.at_deg)
    start = _point(angle, RIM + 22.0)
    return _Tag(start=start, bend=_point(angle, RIM + BEYOND), lines=broken(place.lines, signs=_SIGNS))


def _ends_of_strip(dial: Dial) -> tuple[float, float]:
    low, high = dial.sensor_stops or dial.scale
    return min(low, *dial.reached, *dial.scale), max(high, *dial.reached, *dial.scale)


def _height(dial: Dial, at_deg: float) -> float:
    """Height of an angle on the strip, the start at the bottom. [px]"""
    low, high = _ends_of_strip(dial)
    return STRIP * (0.5 - (min(high, max(low, at_deg)) - low) / (high - low))


def _strip(dial: Dial) -> Markup:
    """A strip of turns about 0, 0."""
    low, high = (_height(dial, at) for at in dial.scale)
    rect = Markup('<rect class="part" x="-10" y="{:.1f}" width="20" height="{:.1f}"/>')
    return Markup("").join(
        [
            rect.format(high, low - high),
            *_strip_hatch(dial),
            *_strip_ticks(dial),
            *_strip_ranges(dial),
            *_strip_pointers(dial),
            _strip_arrow(dial),
        ]
    )


def _strip_hatch(dial: Dial) -> Iterator[Markup]:
    """Hatching between the ends of the track and the sensor's own stops; a thick line at each end."""
    stops = dial.sensor_stops or dial.scale
    for scale_end, stop in zip(dial.scale, stops, strict=True):
        a, b = sorted((_height(dial, scale_end), _height(dial, stop)))
        count = int((b - a) / 4)
        yield _path("hatch", "".join(f"M-10 {a + 4 * k + 4:.1f}l20 -4" for k in range(count)))
        if dial.ends != "none":
            yield _path("wire strong", f"M-16 {_height(dial, stop):.1f}h32")


def _strip_ticks(dial: Dial) -> Iterator[Markup]:
    low, high = (at / 360.0 for at in dial.scale)
    for turn in ticks(low, high, most=14):
        y = _height(dial, 360.0 * turn)
        yield _path("wire", f"M-10 {y:.1f}h6")
        yield _tick(-30.0, y + 4.5, f"{turn:g}")


def _strip_ranges(dial: Dial) -> Iterator[Markup]:
    work = [_height(dial, at) for at in sorted(dial.working)]
    reached = [_height(dial, at) for at in sorted(dial.reached)]
    yield _path("over", f"M24 {reached[0]:.1f}V{work[0]:.1f}M24 {work[1]:.1f}V{reached[1]:.1f}")
    yield _path("work", f"M24 {work[0]:.1f}V{work[1]:.1f}")


def _strip_pointers(dial: Dial) -> Iterator[Markup]:
    for place in dial.places:
        y = _height(dial, place.at_deg)
        if place.kind == "clamp":
            ends = [_height(dial, place.at_deg + way * dial.clamp_half_deg) for way in (1, -1)]
            yield _path("within", f"M-10 {ends[0]:.2f}H34V{ends[1]:.2f}H-10Z")
            yield _path("mark strong", f"M-10 {y:.1f}H34")
        elif place.kind != "sensor":
            css = {"mark": "mark", "end": "signal"}.get(place.kind, "wire")
            yield _path(css, f"M14 {y:.1f}H34")


def _strip_arrow(dial: Dial) -> Markup:
    tip = Markup('<path class="tip" d="M-5 {0}L0 {1}L5 {0}Z" transform="translate(-52 0)"/>')
    end = -26 * dial.sense
    return _path("mark", f"M-52 {-end}V{end}") + tip.format(end, end - 10 * dial.sense)


def _beside_strip(dial: Dial, place: Place) -> _Tag:
    y = _height(dial, place.at_deg)
    return _Tag(start=(34.0, y), bend=(44.0, y), lines=broken(place.lines, signs=_SIGNS))
