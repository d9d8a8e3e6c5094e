"""Two absolute sensors on gears of different teeth, driven by one gear: together they tell several turns."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import gcd, lcm
from typing import ClassVar

import numpy as np

from anglewright.angles import TURN, first_turns, pair_limit
from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.harmonics import UnknownWaves, angle_behind, waves_error
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey, TurnLimitKey, WholeKey
from anglewright.links.protocol import (
    Array,
    Number,
    Port,
    ReadingPort,
    Signal,
    State,
    Values,
    WordPort,
    numbers_of,
)
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

HALF_TURN = TURN / 2.0  # [rad]
_LEAST_TEETH, _MOST_TEETH = 4, 1000


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class GearPair:
    """Share of the teeth after which both gears stand as before, from the turn of the driving gear.

    `teeth` are those of the driving, the first and the second gear; `waves` and `second_waves` hold the
    departures of the two sensors, shape (..., 9). [rad] The fine position is the first sensor's; the second
    tells in which of its turns. With `rounded` false there are no steps, every turn is told rightly, and
    nothing comes round.
    """

    takes: ClassVar[Signal] = Signal.TURN
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    teeth: tuple[int, int, int]
    bits: int
    waves: Array
    second_waves: Array
    noise_rad: Numeric
    half_play_rad: Numeric
    reading: Numeric
    rounded: bool = True

    @property
    def port(self) -> WordPort:
        """Every position of the first sensor, in each of its turns; both sensors are read."""
        return WordPort(positions=self.positions, senders=2)

    @property
    def positions(self) -> int:
        """Positions that the pair tells apart. [1]"""
        return int(self.whole // self.teeth[1] * 2**self.bits)

    @property
    def whole(self) -> int:
        """Teeth after which both gears stand as before. [1]"""
        return lcm(*self.teeth[1:])

    @property
    def lag(self) -> Numeric:
        """Half the play of the meshes, at the driving gear. [rad]"""
        return self.half_play_rad

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of the range of the pair, in the middle of its step. [1]"""
        return self._share(lagged(u, half=self.half_play_rad, side=side))

    def _share(self, turned: Numeric) -> Numeric:
        """Share of the range, from the turn of what the two gears follow. [1]"""
        driving, first, second = self.teeth
        passed = self.whole * self.reading + driving / TURN * np.asarray(turned)
        read = _read(passed, self.waves, teeth=first) + self.noise_rad
        share = first / TURN * np.asarray(read) / self.whole
        if self.rounded:
            other = self._position(_read(passed, self.second_waves, teeth=second))
            share = self._told(self._position(read), other) / self.positions
        return share if np.ndim(share) else float(share)

    def _position(self, read: Numeric) -> Array:
        """Position of one sensor within its turn, from 0 up. [1]"""
        count = 2.0**self.bits
        return np.asarray(np.mod(np.floor(read * (count / TURN)), count))

    def _told(self, own: Array, other: Array) -> Array:
        """Middle of the position of the pair, from those of both sensors. [1]"""
        step = TURN / 2.0**self.bits
        middles = ((position + 0.5) * step for position in (own, other))
        turns = first_turns(*middles, first=self.teeth[1], second=self.teeth[2])
        return np.asarray(turns * 2.0**self.bits + own + 0.5)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn of the driving gear since the clamping, within the range of the pair. [rad]"""
        driving, first, _ = self.teeth
        read = np.asarray(y) * self.whole * TURN / first - self.noise_rad
        passed = first / TURN * np.asarray(angle_behind(read, self.waves))
        turn = (passed - self.whole * self.reading) * TURN / driving + self.half_play_rad * side
        return turn if np.ndim(turn) else float(turn)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the share, flank by flank. [1]"""
        path, state = follow_play(u, state, half=self.half_play_rad)
        return np.asarray(self._share(path)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The range of the pair, the share of it, and the middle of the position that it falls into."""
        share = float(np.mean(self.reading)) + self.teeth[0] * u / TURN / self.whole
        count = float(self.positions)
        sent = Step(
            symbol="y",
            meaning="share that is sent, the middle of the position",
            formula="(floor(Z * s) - Z * floor(s) + 0.5) / Z",
            numbers={"Z": count, "s": share},
            result=(np.floor(count * share) - count * np.floor(share) + 0.5) / count,
            unit="",
            source="derived",
        )
        return (self._range_step(), self._share_step(u, share), sent)

    def _range_step(self) -> Step:
        _, first, second = self.teeth
        return Step(
            symbol="L",
            meaning="teeth after which both gears stand as before",
            formula="z_1 * z_2 / g",
            numbers={"z_1": float(first), "z_2": float(second), "g": float(gcd(first, second))},
            result=float(self.whole),
            unit="",
            source="derived",
        )

    def _share_step(self, u: float, share: float) -> Step:
        numbers = {"s_c": float(np.mean(self.reading)), "G": float(self.teeth[0])}
        return Step(
            symbol="s",
            meaning="share of the range of the pair",
            formula="s_c + G * dphi / (360 * L)",
            numbers=numbers | {"dphi": float(np.degrees(u)), "L": float(self.whole)},
            result=share,
            unit="",
            source="derived",
        )


def _read(passed: Numeric, waves: Array, *, teeth: int) -> Numeric:
    """What a sensor reads after so many teeth, turns added. [rad]"""
    shaft = passed * TURN / teeth
    return shaft + waves_error(waves, shaft)


def _teeth_key(which: str, *, what: str, example: int) -> WholeKey:
    return WholeKey(
        name=f"{which}_teeth",
        field=which,
        meaning=f"teeth of the {what}",
        least=_LEAST_TEETH,
        most=_MOST_TEETH,
        required=True,
        example=example,
    )


def _error_key(which: str, *, field: str, does: str) -> TurnLimitKey:
    return TurnLimitKey(
        name=f"{which}_error",
        field=field,
        meaning=f"error of the {which} sensor at its own gear, the limit; {does}",
        default="1 deg",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class GearPairPart:
    """Two absolute sensors, each on a gear of its own, which one gear on the shaft drives.

    The first gives the fine position, the second tells in which turn of the first it lies. An error of the
    first counts for less at the driving gear the fewer teeth its gear has.
    """

    room: ClassVar[str] = "sensor"
    kind: ClassVar[str] = "gear-pair"
    label: ClassVar[str] = "Gear pair"
    GOES_WITH: ClassVar[Mapping[str, str]] = {"wiring": "digital", "converter": "serial-word"}
    KEYS: ClassVar[tuple[Key, ...]] = (
        _teeth_key("driving", what="gear on the shaft, which drives both others", example=40),
        _teeth_key("first", what="gear of the sensor that gives the fine position", example=16),
        _teeth_key("second", what="gear of the sensor that tells the turn", example=17),
        WholeKey(
            name="resolution",
            field="bits",
            meaning="bits of each sensor, for one turn of its own gear",
            least=6,
            most=20,
            default=12,
            kind=Kind.BITS,
        ),
        _error_key("first", field="waves", does="it stays in the position"),
        _error_key("second", field="second_waves", does="it only helps to tell the turn"),
        QuantityKey(
            name="noise",
            field="noise_rad",
            meaning="noise of one reading of the first sensor, at its own gear",
            kinds=(Kind.ANGLE,),
            default="0.05 deg rms",
            persistence=Persistence.READING,
            shape=Shape.NORMAL,
            cured_by="averaging",
            tolerance=True,
        ),
        QuantityKey(
            name="play",
            field="play_rad",
            meaning="play of the two meshes, total, at the driving gear",
            kinds=(Kind.ANGLE,),
            least=0.0,
            cured_by=ONE_SIDED,
            example="0.3 deg",
        ),
    )
    driving: int
    first: int
    second: int
    bits: int
    waves: UnknownWaves
    second_waves: UnknownWaves
    noise_rad: Spread
    play_rad: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Errors of both sensors, noise of the first, play of the meshes."""
        return numbers_of(self)

    @property
    def range_turns(self) -> float:
        """Turns of the driving gear after which the pair reads the same again. [1]"""
        return lcm(self.first, self.second) / self.driving

    def link(self, values: Values, upstream: Port) -> GearPair:
        """The pair with plain numbers."""
        if not isinstance(upstream, ReadingPort):
            raise RigError(Problem("sensor", "a gear pair must follow a mount", "", "Put a mount before it."))
        return GearPair(
            teeth=(self.driving, self.first, self.second),
            bits=self.bits,
            waves=values["waves"],
            second_waves=values["second_waves"],
            noise_rad=values["noise_rad"],
            half_play_rad=values.get("play_rad", 0.0) / 2.0,
            reading=upstream.reading,
        )

    def describe(self) -> str:
        """Its teeth and its range."""
        return (
            f"Gear pair, {self.driving} on {self.first} and {self.second} teeth, {self.range_turns:.4g} turns"
        )

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Errors that may tell a wrong turn, or a motion that the range of the pair does not hold."""
        if problems := self._confused():
            return problems
        if isinstance(upstream, ReadingPort) and upstream.endless:
            return self._uneven(abs(high - low) / TURN)
        reading = float(np.mean(upstream.reading)) if isinstance(upstream, ReadingPort) else 0.5
        return self._too_long(abs(high - low) / TURN) or self._wrap_within(reading, low, high)

    @property
    def doubts(self) -> tuple[tuple[int, float], ...]:
        """Errors at their limits, and the teeth by which each counts when the turn is told. [1, deg]"""
        play = 0.0 if self.play_rad is None else self.play_rad.limits[1]
        limits = [self.waves.limit, self.second_waves.limit, HALF_TURN / 2.0**self.bits, play]
        teeth = (self.first, self.second, self.first + self.second, self.driving)
        return tuple(zip(teeth, np.degrees(limits).tolist(), strict=True))

    def _confused(self) -> tuple[Problem, ...]:
        """Errors that add up to half the step between two turns of the first gear."""
        step, total = gcd(self.first, self.second), sum(teeth * error for teeth, error in self.doubts)
        if total < 180.0 * step:
            return ()
        added = " + ".join(f"{teeth} x {error:.4g}" for teeth, error in self.doubts if error)
        found = f"teeth times errors, {added}, make {total:.4g} deg, and a wrong turn may be told"
        limit = f"they must stay below {step} x 180 deg, by the common divisor of the teeth"
        most = float(np.degrees(pair_limit(self.first, self.second)))
        remedy = f"Take sensors well within {most:.3g} deg each, or teeth with a larger common divisor."
        return (Problem("sensor", found, limit, remedy),)

    def _uneven(self, turned: float) -> tuple[Problem, ...]:
        """An endless motion in whose turns the pair does not come round evenly."""
        rounds = self.range_turns / turned
        if round(rounds) >= 1 and abs(rounds - round(rounds)) < 1e-9:
            return ()
        found = f"the pair comes round after {rounds:.4g} turns of an endless axis"
        remedy = f"Take a driving gear whose teeth divide {lcm(self.first, self.second)}, at a ratio of 1."
        return (Problem("sensor", found, "it must be a whole number of them", remedy),)

    def _too_long(self, turned: float) -> tuple[Problem, ...]:
        """A motion over more than the range of the pair."""
        if turned <= self.range_turns * (1.0 + 1e-9):
            return ()
        found = f"the motion turns the driving gear {turned:.4g} times"
        limit = f"the pair of {self.first} and {self.second} teeth repeats after {self.range_turns:.4g} turns"
        remedy = "Take teeth with a smaller common divisor, more of them, "
        remedy += f"or divide the ratio by at least {turned / self.range_turns:.3g}."
        return (Problem("sensor", found, limit, remedy),)

    def _wrap_within(self, reading: float, low: float, high: float) -> tuple[Problem, ...]:
        """A motion that runs over an end of the range from where it was clamped."""
        ends = sorted(reading + turn / TURN / self.range_turns for turn in (low, high))
        if ends[0] >= -1e-9 and ends[1] <= 1.0 + 1e-9:
            return ()
        centred = 0.5 - (ends[0] + ends[1]) / 2.0 + reading
        found = f"clamped where it reads {100 * reading:.3g} %, the motion takes the pair from "
        found += f"{100 * ends[0]:.3g} % to {100 * ends[1]:.3g} %"
        remedy = f"Clamp it where it reads {100 * centred:.3g} % at the same mark: that centres the motion."
        return (Problem("sensor", found, "its range ends at 0 % and 100 %", remedy),)


PARTS = (GearPairPart,)
