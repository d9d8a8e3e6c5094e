"""The machine: a frozen rig of axes, each a row of parts with spreads, and how parts become links."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import TURN, shortest
from anglewright.chain import Chain
from anglewright.errors import Problem, UsageError, nearest
from anglewright.harmonics import UnknownWaves
from anglewright.links.code import CodeLine
from anglewright.links.fields import ONE_SIDED, ChoiceKey
from anglewright.links.motion import MotionPart
from anglewright.links.protocol import CodeRange, Number, Part, Port, Signal, flat_keys, settings_of
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Unit
from anglewright.shapes import UnknownShape

BEST = "best"
"""Stands in a plan for the simplest model that suits the points."""

MODELS = (
    *(BEST, "line", "fixed slope", "harmonics", "loaded divider", "table", "straightened"),
    *("polynomial 2", "polynomial 3", "polynomial 4"),
)
"""Models of a calibration, as a plan names them."""

Pick: TypeAlias = Callable[[Number], Any]
"""Chooses a plain value for a number: its mean, a nudged one, a thousand drawn ones."""


class Unpowered(Enum):
    """What the mechanism does with its motor off; decides the fault action and the cautions."""

    HOLDS = "holds"
    SINKS = "sinks"
    DROPS = "drops"
    SPRINGS = "springs"


class RawForm(Enum):
    """What the user's controller shows as the raw reading."""

    COUNTS = "counts"
    VOLTS = "volts"
    FRACTION = "fraction"
    TURNS = "turns"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A place of the axis that can be found again: where, how well, by what means. [m or rad]"""

    at: Spread
    how: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stops:
    """Where the mechanism itself ends. [m or rad]"""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Errors of the reference of a calibration: fresh at each point, shared by all, and of its scale."""

    per_point: Spread
    shared: Spread
    scale: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationPlan:
    """How the axis will be calibrated: where it is zeroed, at how many points, how often, from which side."""

    zero_at: str
    points: int
    readings: int
    approach: str
    model: str
    reference: Reference

    @property
    def both_sides(self) -> bool:
        """True where every point is taken going up and coming down."""
        return self.approach == "both sides"


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """What a sensor of the axis will go through, and whether the axis may be homed after each start.

    `strokes` are full ones, there and back, over its life; `hunting` small moves, there and back, each of
    `hunting_size` one way while the axis holds. [m or rad] None where nothing was said.
    """

    homing_allowed: bool = False
    strokes: int | None = None
    hunting: int | None = None
    hunting_size: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """The position loop that lives on the reading: crossover and samples a second; None if not said. [Hz]"""

    crossover_hz: float | None = None
    sample_hz: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """A key the file was silent on, and the default that stands in for it."""

    key: str
    value: str
    meaning: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One measured motion with its chain of parts; positions in m or rad, shown in `unit`."""

    name: str
    unit: Unit
    motion: MotionPart
    parts: tuple[Part, ...]
    permissible: float
    stops: Stops
    stops_assumed: bool
    when_unpowered: Unpowered
    marks: Mapping[str, Mark]
    clamped_at: str
    plan: CalibrationPlan
    raw: RawForm
    assumptions: tuple[Assumption, ...] = ()
    duty: Duty = Duty()
    loop: Loop = Loop()
    numbered: tuple[tuple[Part, tuple[Number, ...]], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Find every part's numbers once; the budget asks for them thousands of times."""
        object.__setattr__(self, "numbered", tuple((part, part.numbers) for part in self.chain_parts))

    @property
    def chain_parts(self) -> tuple[Part, ...]:
        """Every part from the motion to the converter."""
        return (self.motion, *self.parts)

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Every number of every part, in the order of the chain."""
        return tuple(number for _, numbers in self.numbered for number in numbers)

    def part(self, room: str) -> Part:
        """The part in a room of the chain: ``drive``, ``coupling``, ``sensor`` and so on."""
        return next(part for part in self.chain_parts if part.room == room)

    def index_of(self, room: str) -> int:
        """Where a room stands in the chain, the motion being 0. [1]"""
        return [part.room for part in self.chain_parts].index(room)

    @property
    def codes(self) -> CodeRange:
        """The codes that the converter at the end of the chain can give. [count]"""
        return realise(self, at_nominal).codes

    @property
    def needs_homing(self) -> bool:
        """True where a code means nothing before the axis was homed."""
        return bool(getattr(self.part("mount"), "needs_homing", False))

    @property
    def zero_side(self) -> int:
        """Side on which play lay when the zero was set: that of use or of the homing, 0 the middle. [1]"""
        usual = 1 if self.motion.settles == "one-sided" else 0
        return int(getattr(self.part("mount"), "homing_side", usual))

    def reported(self, q: Any) -> Any:
        """A position as the controller reports it: of an endless axis, within its one turn. [m or rad]"""
        return self.motion.low + np.mod(q - self.motion.low, TURN) if self.motion.endless else q

    def apart(self, error: Any) -> Any:
        """An error as it counts: on an endless axis the shortest way round. [m or rad]"""
        return shortest(error) if self.motion.endless else error

    def positions(self, count: int) -> NDArray[np.float64]:
        """So many positions evenly over the working range, both ends included. [m or rad]"""
        return np.linspace(self.motion.low, self.motion.high, count)

    def mark(self, name: str) -> Mark:
        """A mark by its name.

        Raises
        ------
        UsageError
            There is no such mark; the nearest ones are named.
        """
        if name not in self.marks:
            found = f"there is no mark '{name}'"
            raise UsageError(Problem(f"axis '{self.name}'", found, "", nearest(name, self.marks)))
        return self.marks[name]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """A machine: its name, its axes by name, the file it came from.

    `machine` tells machines of one design apart, empty where there is but one; `serials` are those of the
    sensors that are fitted, by machine and axis, as far as the file says them.
    """

    name: str
    axes: Mapping[str, Axis]
    source: str = ""
    simulated: bool = False
    notes: tuple[str, ...] = field(default=())
    machine: str = ""
    serials: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    def serial(self, axis: str) -> str:
        """Serial of the sensor that is fitted to an axis of this machine; empty where it is not said."""
        return self.serials.get(self.machine, {}).get(axis, "")

    def axis(self, name: str) -> Axis:
        """An axis by its name.

        Raises
        ------
        UsageError
            There is no such axis; the nearest ones are named.
        """
        if name not in self.axes:
            found = f"there is no axis '{name}'"
            raise UsageError(Problem(self.source or self.name, found, "", nearest(name, self.axes)))
        return self.axes[name]


def at_mean(number: Number) -> Any:
    """The middle of what a number can be. [SI]"""
    return number.variate.mean


def at_nominal(number: Number) -> Any:
    """What the data sheet states. [SI]"""
    return number.variate.nominal


def nudged(key: str, value: Any) -> Pick:
    """Every number at its mean but one, which takes `value`. [SI]"""

    def pick(number: Number) -> Any:
        return value if number.key == key else number.variate.mean

    return pick


def drawn(rng: "np.random.Generator", *, builds: int, readings: int = 1) -> Pick:
    """Random values: one per virtual build, and for reading noise one per build and reading. [SI]"""

    def pick(number: Number) -> Any:
        fresh = number.variate.persistence is Persistence.READING
        return number.variate.draw(rng, (builds, readings if fresh else 1))

    return pick


def realise(axis: Axis, pick: Pick) -> Chain:
    """Parts become links with plain numbers.

    Parameters
    ----------
    axis : Axis
        The axis whose parts are to be realised.
    pick : callable
        Chooses the plain value of each number: `at_mean`, `nudged`, `drawn`, or a bench's secret.

    Returns
    -------
    Chain
        From position [m or rad] to code [count].

    Raises
    ------
    RigError
        Two neighbouring parts do not fit.
    """
    port = Port()
    links = []
    for part, numbers in axis.numbered:
        link = part.link({number.field: pick(number) for number in numbers}, port)
        links.append(link)
        port = link.port
    return Chain(tuple(links))


def datasheet_line(axis: Axis) -> CodeLine:
    """The line a team would put in its code from the data sheet alone. [m or rad, m/count or rad/count]

    Straight through the nominal, unloaded electrical ends, with the nominal clamp angle: the chain
    without pulls, at two codes. Where a linkage does not reach those codes, through the ends of the range.
    """
    chain = realise(axis, _unloaded)
    codes = chain.codes
    low, high = (codes.low + share * codes.count for share in (0.25, 0.75))
    at_low, at_high = (float(chain.backward(code)) for code in (low, high))
    if not np.isfinite(at_low + at_high):
        at_low, at_high = axis.motion.low, axis.motion.high
        low, high = (float(chain.unrounded().forward(place)) for place in (at_low, at_high))
    slope = (at_high - at_low) / (high - low)
    return CodeLine(offset=at_low - slope * low, slope=slope, rotary=axis.motion.rotary)


def _unloaded(number: Number) -> Any:
    endless = number.field in ("pull_down_ohm", "pull_up_ohm", "pull_own_ohm", "sampling_s")
    return float("inf") if endless else number.variate.nominal


def code_period(axis: Axis, codes: CodeRange, line: CodeLine) -> float | None:
    """After how many codes the reading comes round again; None where it never does. [count]

    Words and pulses say so themselves. The voltage of an endless axis comes round after one turn of the line.
    """
    if codes.period is None and axis.motion.endless:
        return TURN / abs(line.slope)
    return codes.period


def raw_scale(axis: Axis) -> tuple[float, float]:
    """Offset and size of one code in what the user's controller shows: raw = offset + size * code.

    Counts are the codes themselves; volts, a fraction or turns stand for the middle of a code.
    """
    if axis.raw is RawForm.COUNTS:
        return 0.0, 1.0
    chain = realise(axis, at_nominal)
    converter, whole, count = chain.links[-1], 1.0, float(chain.codes.count)
    if axis.raw is RawForm.VOLTS:
        whole = float(converter.backward(count) - converter.backward(0.0))
    elif axis.raw is RawForm.TURNS:
        sensor = chain.links[axis.index_of("sensor")]
        whole = float(sensor.backward(1.0) - sensor.backward(0.0)) / (2.0 * np.pi)
        if converter.takes is Signal.OUTPUT:  # the register of a counter is wider than one turn
            count = 1.0 / float(converter.backward(1.0) - converter.backward(0.0))
    size = whole / count
    return size / 2.0, size


def raw_of_code(axis: Axis, code: Any) -> Any:
    """What the controller shows for a code. [raw]"""
    offset, size = raw_scale(axis)
    return offset + size * code


def code_of_raw(axis: Axis, raw: Any) -> Any:
    """The code, not rounded, behind what the controller shows. [count]"""
    offset, size = raw_scale(axis)
    return (raw - offset) / size


def fingerprint(axis: Axis) -> str:
    """Short hash of what a calibration rests on: the parts, their nominal numbers, the clamping.

    Spreads are left out: measuring a track more exactly does not undo a calibration. So is what a part does
    not have, and a word that stands for silence: a key that comes later undoes no calibration either. So is
    what differs at each reading or after each motion, noise and free motion: the curve lies in its middle.
    """
    import hashlib

    lines = [axis.raw.value, axis.clamped_at, f"{axis.motion.clamp.nominal:.12g}"]
    for part in axis.parts:
        lines.append(f"{part.room} {part.kind}")
        for key, value in sorted(_settled(part).items()):
            lines.append(f"{part.room}.{key}={value}")
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def _settled(part: Part) -> dict[str, str]:
    """Nominal values and choices of a part, as text, but for what is fresh or the same as silence."""
    silent = {name: key.default for name, key in flat_keys(part.KEYS) if isinstance(key, ChoiceKey)}
    lasting = (Persistence.BUILD, Persistence.CONDITION)
    fresh = {n.name for n in part.numbers if n.cured_by == ONE_SIDED or n.variate.persistence not in lasting}
    return {
        name: _nominal_text(value)
        for name, value in settings_of(part)
        if value not in (None, silent.get(name)) and name not in fresh
    }


def _nominal_text(value: Any) -> str:
    if isinstance(value, Spread):
        return f"{value.nominal:.12g}"
    return f"{value.limit:.12g}" if isinstance(value, UnknownShape | UnknownWaves) else str(value)
