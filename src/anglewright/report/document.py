"""What a report shows: plain frozen records, filled by the jobs, with every number already put into words.

A text brings its own unit. A number stands here only where something is drawn from it, and is then in
the axis's own unit, a share, or an angle in degrees. Nothing is computed in this room.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from anglewright.errors import DataError, Problem
from anglewright.findings import Finding
from anglewright.report.dial import Dial
from anglewright.report.history import HistoryPlot
from anglewright.report.schematic import Schematic
from anglewright.report.symbols import Drawing
from anglewright.steps import Step

Verdict = Literal["meets", "fails", "cannot tell"]
Side = Literal[-1, 0, 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One named value, with a remark and the arithmetic behind it where there is any."""

    name: str
    value: str
    note: str = ""
    how: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One link in the strip of the chain.

    `kind` is its word ("Motion"), `part` what is built in ("gears 48 : 24"), `leaves` what the moving value
    is ("sensor shaft"). `share` is its part of the variance, 0 to 1, or None where it has none to name;
    `share_reason` says from what ("play 3 deg of shaft"). `inside` are the values within the link.
    """

    kind: str
    part: str
    drawing: Drawing
    leaves: str
    share: float | None = None
    share_reason: str = ""
    inside: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The chain at one position of the slider: for each room the value that leaves it, and its phases.

    `position` is in the axis's unit; the phases move the drawing, and what they mean is said at each.
    """

    position: float
    position_text: str
    values: tuple[str, ...]
    phases: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One contribution: its standard uncertainty in words and its share of the variance, 0 to 1. [1]"""

    contribution: str
    link: str
    cured_by: str
    uncertainty: str
    share: float
    how: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StateBar:
    """A 95 % half-width in the axis's unit, as it stands or if something were changed (`what_if`).

    `meets` is None where it cannot be told.
    """

    name: str
    half_width: float
    half_width_text: str
    meets: bool | None
    note: str = ""
    what_if: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """What the error is made of in the state and at the place that `shown_for` names."""

    shown_for: str
    rows: tuple[BudgetRow, ...]
    bars: tuple[StateBar, ...]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """What a plot needs of an axis: its name, unit, permissible error, and the ends of its motion."""

    name: str
    unit: str
    permissible: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """Residual at one calibrated position, both in the axis's unit; `raw` is what was read, in counts.

    `side` is +1 going up, -1 coming down, 0 where that is not known.
    """

    position: float
    residual: float
    side: Side
    raw: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """Position and departure from the straight line, by rising position, going up and coming down."""

    up: tuple[tuple[float, float], ...]
    down: tuple[tuple[float, float], ...]
    gap_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OnTrial:
    """A model on trial: by how much it misses a place that it was not shown, or why it was not tried."""

    name: str
    parameters: int
    missed: float | None
    missed_text: str
    used: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A calibration: the points as plotted, the curve, and the results in words.

    `curve` are readings and positions along the curve; `often` positions with the half-width within which
    95 % of single readings lie; each may be empty. Without a loop `loop_why` says why there is none.
    """

    record: str
    date_text: str
    headline: str
    points: tuple[Point, ...]
    facts: tuple[Fact, ...]
    note: str = ""
    curve: tuple[tuple[float, float], ...] = ()
    often: tuple[tuple[float, float], ...] = ()
    loop: Loop | None = None
    loop_why: str = ""
    on_trial: tuple[OnTrial, ...] = ()
    because: str = ""
    history: HistoryPlot | None = None

    @property
    def numbers(self) -> tuple[tuple[str, float], ...]:
        """Everything that is drawn, with its name, to be held against what cannot be."""
        loop = () if self.loop is None else (*self.loop.up, *self.loop.down)
        named = [("calibrated position", point.position) for point in self.points]
        named += [("residual", point.residual) for point in self.points]
        named += [("reading", point.raw) for point in self.points]
        named += [("curve", each) for place in self.curve for each in place]
        named += [("half-width", each) for place in self.often for each in place]
        named += [("loop", each) for place in loop for each in place]
        return (*named, *(("model's miss", t.missed) for t in self.on_trial if t.missed is not None))


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRow:
    """What to expect at one position, to hold beside a multimeter; all in words, any may be empty."""

    position: str
    mark: str
    sensor_angle: str
    volts_wiper: str
    volts_pin: str
    code: str
    limits: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """One wire of the cable and the contact it goes through; length, gauge and ohms may be empty."""

    contact: int
    name: str
    at_sensor: str
    at_controller: str
    length: str = ""
    gauge: str = ""
    ohms: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MountingSheet:
    """How the sensor is mounted: the dial, what to do, the room at both ends with its arithmetic."""

    headline: str
    dial: Dial
    steps: tuple[str, ...]
    room: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringSheet:
    """How the sensor is wired: the schematic, its wires, what to mind."""

    schematic: Schematic
    wires: tuple[Wire, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisSheet:
    """All that is shown about one axis.

    `permissible` is the need in the axis's `unit`. `actions` say what to do now, most useful first.
    `frames` go by rising position. Without a calibration `calibration` is None and `without_calibration`
    says what to do about it.
    """

    name: str
    unit: str
    headline: str
    lead: str
    verdict: Verdict
    permissible: float
    permissible_text: str
    rooms: tuple[Room, ...]
    frames: tuple[Frame, ...]
    budget: Budget
    actions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    calibration: Calibration | None = None
    without_calibration: str = ""
    card: tuple[CardRow, ...] = ()
    card_note: str = ""
    mounting: MountingSheet | None = None
    wiring: WiringSheet | None = None
    cautions: tuple[str, ...] = ()
    assumptions: tuple[Fact, ...] = ()
    steps: tuple[Step, ...] = ()
    start_frame: int = 0

    @property
    def extent(self) -> Extent:
        """What its plots need of it."""
        positions = [frame.position for frame in self.frames]
        return Extent(
            name=self.name,
            unit=self.unit,
            permissible=self.permissible,
            low=min(positions),
            high=max(positions),
        )

    def __post_init__(self) -> None:
        """Refuse a sheet that cannot be drawn."""
        faults = [*_faults_of_frames(self), *_faults_of_numbers(self)]
        if faults:
            where = f"report, axis '{self.name}'"
            raise DataError(Problem(where, fault, "", "Correct what fills the report.") for fault in faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportDocument:
    """A whole report, one sheet an axis; `simulated` is said on its first line and on every printed sheet."""

    rig_name: str
    source_file: str
    date_text: str
    version: str
    simulated: bool
    headline: str
    lead: str
    axes: tuple[AxisSheet, ...]
    provenance: tuple[Fact, ...] = ()


def _faults_of_frames(sheet: AxisSheet) -> Iterable[str]:
    """Frames that do not fit the rooms."""
    count = len(sheet.rooms)
    if not sheet.frames:
        yield "there is no position to show"
    elif not 0 <= sheet.start_frame < len(sheet.frames):
        yield f"it starts at frame {sheet.start_frame} of {len(sheet.frames)}"
    for frame in sheet.frames:
        if (len(frame.values), len(frame.phases)) != (count, count):
            found = f"{len(frame.values)} values and {len(frame.phases)} phases"
            yield f"{found} at {frame.position_text} for {count} rooms"
        for room, phases in zip(sheet.rooms, frame.phases, strict=False):
            if len(phases) != room.drawing.phases:
                need = f"its drawing needs {room.drawing.phases}"
                yield f"room {room.kind} has {len(phases)} phases at {frame.position_text}, {need}"
    positions = [frame.position for frame in sheet.frames]
    if positions != sorted(set(positions)):
        yield "the positions do not rise"


def _faults_of_numbers(sheet: AxisSheet) -> Iterable[str]:
    """Numbers that cannot be drawn."""
    numbers = [("permissible error", sheet.permissible)]
    numbers += [(f"half-width of '{bar.name}'", bar.half_width) for bar in sheet.budget.bars]
    for frame in sheet.frames:
        moving = (frame.position, *(phase for phases in frame.phases for phase in phases))
        numbers += [(f"number at {frame.position_text}", each) for each in moving]
    numbers += sheet.calibration.numbers if sheet.calibration else ()
    yield from faults_of(numbers, permissible=sheet.permissible, unit=sheet.unit)
    shares = [row.share for row in sheet.budget.rows]
    shares += [room.share for room in sheet.rooms if room.share is not None]
    yield from (
        f"a share of {share} lies outside 0 to 1" for share in shares if not -1e-9 <= share <= 1 + 1e-9
    )


def faults_of(numbers: Iterable[tuple[str, float]], *, permissible: float, unit: str) -> Iterable[str]:
    """Named numbers that are not finite, and a permissible error that is not above nought, in words."""
    yield from (f"the {name} is {value}" for name, value in numbers if not math.isfinite(value))
    if permissible <= 0:
        yield f"the permissible error is {permissible:g} {unit}, it must be above zero"
