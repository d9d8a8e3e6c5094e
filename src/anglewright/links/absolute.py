"""A sensor that tells the angle of its shaft within one turn: what every magnetic absolute kind shares."""

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.angles import TURN
from anglewright.circuits import Numeric
from anglewright.delay import follow_delay
from anglewright.errors import Problem, RigError
from anglewright.harmonics import UnknownWaves, eccentric_error, rising_inverse, waves_error
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey, TurnLimitKey
from anglewright.links.protocol import Array, Number, Port, ReadingPort, Signal, State, Values, numbers_of
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

_REACH_RAD = TURN / 4.0  # no reading departs further from its shaft [rad]
_CENTRING = "a magnet glued in a turned seat, on the line of the shaft"

TURN_KEYS: tuple[Key, ...] = (
    TurnLimitKey(
        name="non_linearity",
        field="shape",
        meaning="non-linearity of the sensor, the limit of its departure over one turn of its shaft",
        default="1 deg",
    ),
    TurnLimitKey(
        name="once_per_turn",
        field="once",
        meaning="error once a turn, its height, of a magnet or track off its centre",
        orders=(1,),
        sure=True,
        cured_by=_CENTRING,
        example="0.5 deg",
    ),
    TurnLimitKey(
        name="twice_per_turn",
        field="twice",
        meaning="error twice a turn, its height, of a tilted magnet or iron nearby",
        orders=(2,),
        sure=True,
        cured_by=_CENTRING,
        example="0.3 deg",
    ),
    TurnLimitKey(
        name="off_centre",
        field="off_centre",
        meaning="distance of a ring's or track's centre from the axis of the shaft, read by one head",
        kind=Kind.LENGTH,
        orders=(1,),
        sure=True,
        cured_by="a second head half a turn apart, or a centred ring",
        example="0.1 mm",
    ),
    QuantityKey(
        name="track_radius",
        field="radius_m",
        meaning="radius at which the head reads the ring or track",
        kinds=(Kind.LENGTH,),
        default="10 mm",
        above=0.0,
        only_with="off_centre",
    ),
    QuantityKey(
        name="hysteresis",
        field="hysteresis_rad",
        meaning="hysteresis of the sensor, total, at its shaft",
        kinds=(Kind.ANGLE,),
        default="0.1 deg",
        least=0.0,
        cured_by=ONE_SIDED,
    ),
    QuantityKey(
        name="noise",
        field="noise_rad",
        meaning="noise of one reading of the sensor",
        kinds=(Kind.ANGLE,),
        default="0.05 deg rms",
        persistence=Persistence.READING,
        shape=Shape.NORMAL,
        cured_by="averaging",
        tolerance=True,
    ),
    QuantityKey(
        name="delay",
        field="delay_s",
        meaning="delay of the sensor, from the shaft to its output",
        kinds=(Kind.TIME,),
        default="200 us",
        least=0.0,
        cured_by="a faster sensor",
    ),
    QuantityKey(
        name="top_speed",
        field="top_speed_rad_s",
        meaning="top speed of the sensor's shaft at which it still reads",
        kinds=(Kind.ANGULAR_SPEED,),
        above=0.0,
        example="10000 rpm",
    ),
)
"""Keys of accuracy and time that every kind of absolute sensor has.

Defaults from memory of typical data sheets of magnetic sensors on the end of a shaft; common practice, no
source.
"""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class AbsoluteSensor:
    """Share of one turn, 0 to 1, that a sensor of so many positions a turn reads; it wraps.

    `waves` (..., 9) and `off_centre` (..., 9), over the radius of the track, hold what comes round with the
    shaft. With `rounded` false there are no steps and no wrap, for nudging, and the reading is off by
    `between_rad` instead. `port` goes to the next link.
    """

    takes: ClassVar[Signal] = Signal.TURN
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    positions: int
    waves: Array
    off_centre: Array | None
    half_hysteresis_rad: Numeric
    noise_rad: Numeric
    delay_s: Numeric
    reading: Numeric
    port: Port
    between_rad: Numeric = 0.0
    rounded: bool = True

    @property
    def lag(self) -> Numeric:
        """Half the hysteresis. [rad]"""
        return self.half_hysteresis_rad

    def departure(self, turn: Numeric) -> Numeric:
        """What the sensor reads too much after a turn since the clamping. [rad]"""
        angle = TURN * self.reading + turn
        error = waves_error(self.waves, angle) if np.any(self.waves) else 0.0 * turn
        if self.off_centre is None or not np.any(self.off_centre):
            return error
        mean, cosine, sine = (self.off_centre[..., each] for each in range(3))
        return error + eccentric_error(angle, cosine=cosine, sine=sine) + mean

    def _share(self, turn: Numeric) -> Numeric:
        """What is sent after a turn that the hysteresis has let through. [1]"""
        off = self.noise_rad if self.rounded else self.noise_rad + self.between_rad
        share = self.reading + (turn + self.departure(turn) + off) / TURN
        if self.rounded:
            whole = np.mod(np.floor(self.positions * np.asarray(share)), self.positions)
            share = (whole + 0.5) / self.positions
        return share if np.ndim(share) else float(share)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of one turn, in the middle of its step. [1]"""
        return self._share(lagged(u, half=self.half_hysteresis_rad, side=side))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn since the clamping, within the one turn that holds it. [rad]"""
        turn: Numeric = TURN * (np.asarray(y, dtype=float) - self.reading)
        turn = turn if self.rounded else turn - self.between_rad
        if np.any(self.waves) or self.off_centre is not None:
            turn = rising_inverse(turn, lambda each: each + self.departure(each), reach=_REACH_RAD)
        turn = turn + self.half_hysteresis_rad * side
        return turn if np.ndim(turn) else float(turn)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the share: hysteresis, then delay, then steps and wrap. [1]

        The state holds, as far back as the delay reaches, times and the turns let through, on its last axis.
        """
        before = None if state is None else state[..., -1, 1]
        turn, _ = follow_play(u, before, half=self.half_hysteresis_rad)
        late, state = follow_delay(turn, t, state, delay_s=self.delay_s)
        return np.asarray(self._share(late)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The share of the turn, the position that it falls into, and the share that is sent."""
        reading, count = float(np.mean(self.reading)), float(self.positions)
        share = reading + u / TURN
        turned = Step(
            symbol="s",
            meaning="share of the turn, whole turns left in",
            formula="s_c + dphi / 360",
            numbers={"s_c": reading, "dphi": float(np.degrees(u))},
            result=share,
            unit="",
            source="derived",
        )
        position = float(np.floor(count * share)) - count * float(np.floor(share))
        step = Step(
            symbol="k",
            meaning="position of the sensor within its turn",
            formula="floor(Z * s) - Z * floor(s)",
            numbers={"Z": count, "s": share},
            result=position,
            unit="count",
            source="derived",
        )
        sent = Step(
            symbol="y",
            meaning="share of the turn that is sent, the middle of the position",
            formula="(k + 0.5) / Z",
            numbers={"k": position, "Z": count},
            result=(position + 0.5) / count,
            unit="",
            source="derived",
        )
        return (turned, step, sent)


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsolutePart(ABC):
    """What every absolute sensor states: its errors over a turn, hysteresis, noise, delay, top speed."""

    room: ClassVar[str] = "sensor"
    kind: ClassVar[str]
    label: ClassVar[str]
    KEYS: ClassVar[tuple[Key, ...]] = TURN_KEYS
    shape: UnknownWaves
    hysteresis_rad: Spread
    noise_rad: Spread
    delay_s: Spread
    once: UnknownWaves | None = None
    twice: UnknownWaves | None = None
    off_centre: UnknownWaves | None = None
    radius_m: Spread | None = None
    top_speed_rad_s: Spread | None = None

    @property
    def stated(self) -> tuple[Number, ...]:
        """Those numbers of the file that the reading depends on."""
        return tuple(number for number in numbers_of(self) if number.field != "top_speed_rad_s")

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Those numbers that the reading depends on."""
        return self.stated

    @property
    @abstractmethod
    def positions_a_turn(self) -> int:
        """How many positions of one turn it tells apart. [1]"""

    @abstractmethod
    def sends(self, values: Values) -> Port:
        """What the wiring may know of its output."""

    @abstractmethod
    def describe(self) -> str:
        """The sensor in a few words."""

    def link(self, values: Values, upstream: Port) -> AbsoluteSensor:
        """The sensor with plain numbers, behind a mount."""
        if not isinstance(upstream, ReadingPort):
            found = "an absolute sensor must follow a mount"
            raise RigError(Problem("sensor", found, "", "Put a mount before it."))
        off_centre = values.get("off_centre")
        return AbsoluteSensor(
            positions=self.positions_a_turn,
            waves=sum((values[each] for each in ("once", "twice") if each in values), values["shape"]),
            off_centre=None if off_centre is None else off_centre / _beside(values["radius_m"]),
            half_hysteresis_rad=values["hysteresis_rad"] / 2.0,
            noise_rad=values["noise_rad"],
            delay_s=values["delay_s"],
            between_rad=values.get("between_rad", 0.0),
            reading=upstream.reading,
            port=self.sends(values),
        )

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion that the reading of one turn cannot tell, or that runs through the wrap."""
        if problems := self._far_off():
            return problems
        turned = abs(high - low) / TURN
        if isinstance(upstream, ReadingPort) and upstream.endless:
            return _uneven(turned)
        reading = float(np.mean(upstream.reading)) if isinstance(upstream, ReadingPort) else 0.5
        return _too_long(turned) or _wrap_within(reading, low / TURN, high / TURN)

    def _far_off(self) -> tuple[Problem, ...]:
        """A track so far off its centre that its head would lose it."""
        if self.off_centre is None or self.radius_m is None:
            return ()
        reach, radius = self.off_centre.limit, self.radius_m.limits[0]
        if reach <= radius / 2.0:
            return ()
        found = f"its track lies {1e3 * reach:.4g} mm off its centre, at a radius of {1e3 * radius:.4g} mm"
        limit = "it must stay below half the radius"
        return (Problem("sensor", found, limit, "Mend off_centre or track_radius."),)


def _beside(radius_m: Numeric) -> Numeric:
    """A radius over builds, shaped to divide their coefficients. [m]"""
    return np.asarray(radius_m)[..., None] if np.ndim(radius_m) else radius_m


def _uneven(turned: float) -> tuple[Problem, ...]:
    """An endless motion that the sensor does not follow turn by turn."""
    if abs(turned - 1.0) < 1e-6:
        return ()
    found = f"the shaft turns {turned:.4g} times per turn of the axis: the reading cannot tell which"
    return (Problem("sensor", found, "", "Put the sensor on the axis itself, at a ratio of 1."),)


def _too_long(turned: float) -> tuple[Problem, ...]:
    """A motion over more than one turn of the shaft."""
    if turned <= 1.0 + 1e-9:
        return ()
    found = f"the motion turns the shaft {360.0 * turned:.4g} deg"
    limit = "its reading comes round after 360 deg"
    remedy = f"Divide the ratio by at least {turned:.3g}, or take a sensor with more turns."
    return (Problem("sensor", found, limit, remedy),)


def _wrap_within(reading: float, low: float, high: float) -> tuple[Problem, ...]:
    """A wrap between the shares that the shaft has turned at both ends, from where it was clamped."""
    ends = sorted((low, high))
    wrap = next((n - reading for n in (0.0, 1.0) if ends[0] + 1e-9 < n - reading < ends[1] - 1e-9), None)
    if wrap is None:
        return ()
    centred = float(np.mod(0.5 - (low + high) / 2.0, 1.0))
    found = f"clamped where it reads {100 * reading:.3g} %, its reading wraps within the motion"
    limit = f"the wrap falls where the shaft has turned {360 * wrap:.4g} deg from the clamping"
    remedy = f"Clamp it where it reads {100 * centred:.3g} % at the same mark: that centres the motion."
    return (Problem("sensor", found, limit, remedy),)
