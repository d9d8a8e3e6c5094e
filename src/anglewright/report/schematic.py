"""The circuit of one axis as a drawing: sensor, cable, connector, parts in the signal's way, converter.

Each part has a column of its own, as wide as its symbol and its label need, and each label one place in
its column: feed, each signal and ground are a row, a label stands beside its symbol between two of them.
So nothing collides, whatever parts are there. Symbols are those of the standard cited below.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from anglewright.report.drafting import on_sheet
from anglewright.report.lettering import LINE_PX, Label, broken, widest

MARGIN = 16.0  # around the drawing and between columns [px]
LEAST_ROW = 118.0  # from a signal's row to the feed's or the ground's, where symbols hang between [px]
BARE_ROW = 64.0  # the same, where nothing does [px]
SIGNAL_ROW = 46.0  # from one signal's row to the next [px]
_SIGNS = 19  # of a line of a label [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One column between connector and pin: a resistor in the signal's wire, or what hangs on it.

    Each field holds the label of a part that is there: name and value. `up` goes to the feed, or to a level
    of its own where `up_to` names one; `down` and `capacitor` go to ground.
    """

    series: tuple[str, ...] = ()
    up: tuple[str, ...] = ()
    down: tuple[str, ...] = ()
    capacitor: tuple[str, ...] = ()
    up_to: str = ""

    @property
    def labels(self) -> tuple[tuple[str, ...], ...]:
        """Those that are there, as they stand in the drawing."""
        return tuple(broken(each, signs=_SIGNS) for each in (self.series, self.up, self.down, self.capacitor))


@dataclass(frozen=True, slots=True, kw_only=True)
class Schematic:
    """A circuit in words, ready to be drawn.

    `track` is True for a resistive track with a wiper, False for a sensor that drives its output.
    `contacts` name feed, each signal and ground at the connector in this order, `wires` the resistance of
    each wire where it is known, else ""; no `wires` where none is. What `stages` hold is in or on each
    signal. `own` is the controller's own pull. `reference` is empty where the converter has none;
    `ratiometric` says that it is the feed.
    """

    title: str
    description: str
    sensor: tuple[str, ...]
    track: bool
    cable: tuple[str, ...]
    contacts: tuple[str, ...]
    stages: tuple[Stage, ...]
    controller: tuple[str, ...]
    feed: str
    wires: tuple[str, ...] = ()
    twisted: bool = False
    ground: str = "ground"
    reference: tuple[str, ...] = ()
    ratiometric: bool = False
    own: Stage | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rows:
    """Heights of the rows: feed, each signal, ground. [px]"""

    feed: float
    signals: tuple[float, ...]
    ground: float

    @property
    def all(self) -> tuple[float, ...]:
        """In the order of the connector. [px]"""
        return (self.feed, *self.signals, self.ground)

    @property
    def middle(self) -> float:
        """Of the signals. [px]"""
        return (self.feed + self.ground) / 2

    @property
    def upper(self) -> float:
        """Midway between feed and signals. [px]"""
        return (self.feed + self.signals[0]) / 2

    @property
    def lower(self) -> float:
        """Midway between signals and ground. [px]"""
        return (self.signals[-1] + self.ground) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class _Column:
    """A part of the drawing and the room that it takes to the right. [px]"""

    body: Markup
    width: float


def draw_schematic(plan: Schematic) -> Markup:
    """A circuit as inline SVG.

    Parameters
    ----------
    plan : Schematic
        What is there, in words.

    Returns
    -------
    Markup
        An ``svg`` element with title and description.

    References
    ----------
    iec60617
    """
    rows = _rows(plan)
    x, parts = MARGIN, []
    for column in _columns(plan, rows):
        parts.append(Markup('<g transform="translate({:.1f} 0)">{}</g>').format(x, column.body))
        x += column.width
    size = (x + MARGIN, rows.ground + 52.0 + MARGIN)
    return on_sheet(Markup("").join(parts), size=size, title=plan.title, description=plan.description)


def _rows(plan: Schematic) -> _Rows:
    """Rows far enough apart for the highest label."""
    hanging = [label for stage in (*plan.stages, *([plan.own] if plan.own else [])) for label in stage.labels]
    texts = (plan.cable, plan.reference, plan.sensor, plan.controller)
    cable, reference, *beside = (broken(each, signs=_SIGNS) for each in texts)
    high = max(LINE_PX * len(label) for label in (*hanging, cable, reference))
    taken = SIGNAL_ROW * (len(plan.contacts) - 3)
    half = max(LINE_PX * len(label) for label in beside) / 2 - taken / 2
    apart = max(LEAST_ROW if hanging or plan.track else BARE_ROW, high + 44.0, half + 20.0)
    feed = MARGIN + LINE_PX + 44.0
    signals = tuple(feed + apart + SIGNAL_ROW * rank for rank in range(len(plan.contacts) - 2))
    return _Rows(feed=feed, signals=signals, ground=signals[-1] + apart)


def _columns(plan: Schematic, rows: _Rows) -> Iterator[_Column]:
    yield _track(plan, rows) if plan.track else _box(plan, rows)
    yield _cable(plan, rows)
    if any(plan.wires):
        yield _wires(plan, rows)
    yield _connector(plan, rows)
    yield from (column for stage in plan.stages for column in _stage(stage, rows))
    yield _controller(plan, rows)


def _path(css: str, d: str) -> Markup:
    return Markup('<path class="{}" d="{}"/>').format(css, d)


def _runs(rows: _Rows, width: float, *, start: float = 0.0) -> Markup:
    """Feed, signals and ground running through a column."""
    wires = [("wire", rows.feed), *(("signal", row) for row in rows.signals), ("wire", rows.ground)]
    return Markup("").join(_path(css, f"M{start:.1f} {y:.1f}H{width:.1f}") for css, y in wires)


def _label(x: float, y: float, texts: tuple[str, ...], *, signs: int = _SIGNS) -> Markup:
    return Label(x=x, y=y, lines=broken(texts, signs=signs)).drawn()


def _above(x: float, row: float, text: str) -> Markup:
    """One line just above a wire."""
    return Label(x=x, y=row - 13.0, lines=broken([text], signs=200)[:1]).drawn()


def _track(plan: Schematic, rows: _Rows) -> _Column:
    lines = broken(plan.sensor, signs=_SIGNS)
    x, row = widest(lines) + 20.0, rows.middle
    top, bottom, right = rows.feed + 26.0, rows.ground - 26.0, x + 66.0
    rect = Markup('<rect class="track" x="{:.1f}" y="{:.1f}" width="16" height="{:.1f}"/>')
    parts = [
        Label(x=0.0, y=row, lines=lines).drawn(),
        rect.format(x - 8.0, top, bottom - top),
        _path("wire", f"M{x:.1f} {top:.1f}V{rows.feed:.1f}H{right:.1f}"),
        _path("wire", f"M{x:.1f} {bottom:.1f}V{rows.ground:.1f}H{right:.1f}"),
        _path("signal", f"M{right:.1f} {row:.1f}H{x + 18:.1f}"),
        _path("live", f"M{x + 9:.1f} {row:.1f}l11 -5v10Z"),
    ]
    return _Column(body=Markup("").join(parts), width=right)


def _box(plan: Schematic, rows: _Rows) -> _Column:
    lines = broken(plan.sensor, signs=_SIGNS)
    wide = widest(lines) + 28.0
    rect = Markup('<rect class="part" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>')
    body = rect.format(rows.feed - 20.0, wide, rows.ground - rows.feed + 40.0)
    body += Label(x=14.0, y=rows.middle, lines=lines).drawn() + _runs(rows, wide + 40.0, start=wide)
    return _Column(body=body, width=wide + 40.0)


def _cable(plan: Schematic, rows: _Rows) -> _Column:
    lines = broken(plan.cable, signs=_SIGNS)
    width = 46.0 + widest(lines)
    reach = (rows.ground - rows.feed) / 2 + 12.0
    ring = Markup('<ellipse class="frame" cx="16" cy="{:.1f}" rx="9" ry="{:.1f}"/>')
    body = _runs(rows, width) + Label(x=34.0, y=rows.upper, lines=lines).drawn()
    return _Column(body=body + ring.format(rows.middle, reach) if plan.twisted else body, width=width)


def _wires(plan: Schematic, rows: _Rows) -> _Column:
    """Each wire's resistance as a resistor in it, where it is given."""
    width = max(64.0, widest(broken(plan.wires)) + 16.0)
    body = _runs(rows, width)
    for row, text in zip(rows.all, plan.wires, strict=True):
        if text:
            body += _lying(width / 2, row) + _above(8.0, row - 5.0, text)
    return _Column(body=body, width=width)


def _connector(plan: Schematic, rows: _Rows) -> _Column:
    """The contacts, each a socket's cup about a pin."""
    width = max(70.0, widest(broken(plan.contacts, signs=200)) + 42.0)
    frame = Markup('<rect class="frame" x="6" y="{:.1f}" width="24" height="{:.1f}"/>')
    body = _runs(rows, width) + frame.format(rows.feed - 18.0, rows.ground - rows.feed + 36.0)
    for row, text in zip(rows.all, plan.contacts, strict=True):
        body += _path("part", f"M14 {row - 6:.1f}a6 6 0 0 1 0 12")
        body += _path("bar", f"M14 {row - 2.5:.1f}h12v5h-12Z") + _above(36.0, row, text)
    return _Column(body=body, width=width)


def _lying(x: float, row: float) -> Markup:
    """A resistor in a wire. [px]"""
    rect = Markup('<rect class="part" x="{:.1f}" y="{:.1f}" width="42" height="15"/>')
    return rect.format(x - 21.0, row - 7.5)


def _wire(x: float, start: float, end: float) -> Markup:
    """A wire across the rows."""
    return _path("wire", f"M{x:.1f} {start:.1f}V{end:.1f}")


def _standing(x: float, y: float) -> Markup:
    """A resistor between two rows."""
    rect = Markup('<rect class="part" x="{:.1f}" y="{:.1f}" width="15" height="42"/>')
    return rect.format(x - 7.5, y - 21.0)


def _plates(x: float, start: float, rows: _Rows) -> Markup:
    """A capacitor to ground, with its wire."""
    middle = rows.lower
    plates = f"M{x - 13:.1f} {middle - 4:.1f}h26M{x - 13:.1f} {middle + 4:.1f}h26"
    halves = _wire(x, start, middle - 4.0) + _wire(x, middle + 4.0, rows.ground)
    return halves + _path("wire strong", plates)


def _dot(x: float, y: float) -> Markup:
    return Markup('<circle class="dot" cx="{:.1f}" cy="{:.1f}" r="3"/>').format(x, y)


def _stage(stage: Stage, rows: _Rows) -> Iterator[_Column]:
    """A resistor in every signal's wire, or what hangs on each signal, a column for each."""
    room = max(widest(lines) for lines in stage.labels)
    if not stage.series:
        width = room + 46.0 + MARGIN
        for row in rows.signals:
            yield _Column(body=_runs(rows, width) + _hanging(stage, rows, row), width=width)
        return
    width = max(74.0, room + 2 * MARGIN)
    label = stage.labels[0]
    above = rows.signals[0] - 14.0 - LINE_PX * len(label) / 2
    body = _runs(rows, width) + Markup("").join(_lying(width / 2, row) for row in rows.signals)
    yield _Column(body=body + Label(x=MARGIN, y=above, lines=label).drawn(), width=width)


def _hanging(stage: Stage, rows: _Rows, row: float, *, x: float = 22.0) -> Markup:
    """What hangs between a signal and a rail, with its label to the right."""
    parts = [_dot(x, row)]
    if stage.up:
        end = rows.feed + 20.0 if stage.up_to else rows.feed
        parts += [_wire(x, row, end), _standing(x, rows.upper), _label(x + 18.0, rows.upper, stage.up)]
        ring = Markup('<circle class="part" cx="{:.1f}" cy="{:.1f}" r="4"/>')
        parts.append(ring.format(x, end) if stage.up_to else _dot(x, end))
    if stage.down:
        parts += [_wire(x, row, rows.ground), _standing(x, rows.lower)]
        parts.append(_label(x + 18.0, rows.lower, stage.down))
    if stage.capacitor:
        parts += [_plates(x, row, rows), _label(x + 22.0, rows.lower, stage.capacitor)]
    if stage.down or stage.capacitor:
        parts.append(_dot(x, rows.ground))
    return Markup("").join(parts)


def _controller(plan: Schematic, rows: _Rows) -> _Column:
    """Pins at the left edge, the controller's own pull, the converter and what it refers to."""
    pulls, own = _own_pulls(plan, rows)
    texts = [broken(each, signs=_SIGNS) for each in (plan.controller, plan.reference)]
    heads = broken([plan.feed, plan.ground], signs=200)
    wide = max(30.0 + own + 64.0 + max(map(widest, texts)), widest(heads) + 60.0)
    frame = Markup('<rect class="frame" x="20" y="{:.1f}" width="{:.1f}" height="{:.1f}"/>')
    x = 30.0 + own + 22.0
    parts = [
        frame.format(rows.feed - 36.0, wide, rows.ground - rows.feed + 84.0),
        Label(x=20.0, y=rows.feed - 48.0, lines=("controller",)).drawn(),
        *(_path("signal", f"M0 {row:.1f}H{x - 22:.1f}") for row in rows.signals),
        _rails(plan, rows, x),
        pulls,
        _converter(plan, rows, x),
        *(_pin(20.0, row) for row in rows.all),
    ]
    return _Column(body=Markup("").join(parts), width=wide + 24.0)


def _own_pulls(plan: Schematic, rows: _Rows) -> tuple[Markup, float]:
    """The controller's own pull of each signal, beside each other, and the room that they take. [px]"""
    if not plan.own:
        return Markup(""), 24.0
    pace = max(map(widest, plan.own.labels), default=0.0) + 62.0
    drawn = (_hanging(plan.own, rows, row, x=48.0 + pace * rank) for rank, row in enumerate(rows.signals))
    return Markup("").join(drawn), pace * len(rows.signals)


def _pin(x: float, y: float) -> Markup:
    return Markup('<circle class="part" cx="{:.1f}" cy="{:.1f}" r="4.5"/>').format(x, y)


def _rails(plan: Schematic, rows: _Rows, x: float) -> Markup:
    """Feed and ground within the controller, named, and the sign of ground."""
    feed_to = x if plan.ratiometric else 60.0
    earth = f"M44 {rows.ground:.1f}v12m-12 0h24m-20 5h16m-12 5h8"
    body = _path("wire", f"M0 {rows.feed:.1f}H{feed_to:.1f}") + _path("wire", f"M0 {rows.ground:.1f}H{x:.1f}")
    body += _path("wire", earth) + _above(36.0, rows.feed, plan.feed)
    return body + Label(x=66.0, y=rows.ground + 24.0, lines=broken([plan.ground], signs=200)[:1]).drawn()


def _converter(plan: Schematic, rows: _Rows, x: float) -> Markup:
    """A square from the analogue to the digital side, fed with its reference from above.

    What has no reference converts nothing: all of its box is digital.
    """
    rect = Markup('<rect class="part" x="{:.1f}" y="{:.1f}" width="44" height="{:.1f}"/>')
    top, bottom = rows.signals[0] - 22.0, rows.signals[-1] + 22.0
    sign = (x + 2, bottom - 14) if plan.reference else (x - 7, rows.middle)
    body = rect.format(x - 22.0, top, bottom - top)
    body += _path("quiet", f"M{sign[0]:.1f} {sign[1]:.1f}h14m-14 5h14m-9 -9l-3 13m10 -13l-3 13")
    body += _wire(x, rows.ground, bottom) + _label(x + 30.0, rows.middle, plan.controller)
    return body + _referred(plan, rows, x) if plan.reference else body


def _referred(plan: Schematic, rows: _Rows, x: float) -> Markup:
    """The analogue side of a converter, and its reference."""
    top, bottom = rows.signals[0] - 22.0, rows.signals[-1] + 22.0
    end = rows.feed if plan.ratiometric else rows.feed + 20.0
    body = _path("quiet", f"M{x - 22:.1f} {bottom:.1f}L{x + 22:.1f} {top:.1f}")
    body += _path("quiet", f"M{x - 17:.1f} {top + 14:.1f}q5 -10 10 0") + _wire(x, top, end)
    body += _label(x + 12.0, (rows.feed + top) / 2, plan.reference)
    return body if plan.ratiometric else body + _pin(x, end)
