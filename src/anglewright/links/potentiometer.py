"""A resistive track with a wiper: share of the electrical travel from the turn of the shaft."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric, nonzero
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key
from anglewright.links.protocol import (
    Array,
    Number,
    Port,
    ReadingPort,
    Signal,
    State,
    TrackPort,
    Values,
    numbers_of,
)
from anglewright.links.track import (
    FULL_TURN,
    TRACK_KEYS,
    past_gap,
    place_of,
    share_of,
    stepped,
    whole_ohm,
)
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Spread
from anglewright.shapes import UnknownShape, bent
from anglewright.steps import Step

_HALVINGS = 52  # of the track in `backward`: down to the last bit of a double
_TEN_TURNS, _NEARLY = 10.0, 0.05  # travel of a ten-turn sensor, and how near to it [turn]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Potentiometer:
    """Share of the whole resistance at the wiper; beyond the ends of the track it stays at the end.

    `shape` holds the Chebyshev coefficients of the departure from linearity, shape (..., 7). [1] The wiper
    lags behind the shaft by half its hysteresis; on a wound track it goes from turn to turn of the wire. In
    the gap of an endless track (`gapped`) the output means nothing: here it is that of the nearer end, and
    after the gap the track comes round again. With `rounded` false there are no steps and no gap, for
    nudging: straight, `between` off, and the end holds. Noise of the contact is fresh in every reading.
    """

    takes: ClassVar[Signal] = Signal.TURN
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    track_ohm: Numeric
    travel_rad: Numeric
    shape: Array
    reading: Numeric
    end_ohm: Numeric = 0.0
    wiper_ohm: Numeric = 0.0
    noise_share: Numeric = 0.0
    half_hysteresis_rad: Numeric = 0.0
    windings: int | None = None
    between: Numeric = 0.0
    gapped: bool = False
    rounded: bool = True

    @property
    def port(self) -> Port:
        """The track with its ends, to be fed from both, and the wiper in series with what it drives."""
        return TrackPort(track_ohm=whole_ohm(self.track_ohm, self.end_ohm), wiper_ohm=self.wiper_ohm)

    @property
    def lag(self) -> Numeric:
        """Half the hysteresis. [rad]"""
        return self.half_hysteresis_rad

    @property
    def _clamped(self) -> Numeric:
        """Place on the track where the sensor was clamped. [1]"""
        return place_of(self.reading, track_ohm=self.track_ohm, end_ohm=self.end_ohm)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of the whole resistance below the wiper. [1]"""
        return self._output(lagged(u, half=self.half_hysteresis_rad, side=side))

    def _output(self, turn: Numeric) -> Numeric:
        """Output for a turn of the wiper itself. [1]"""
        place = np.clip(bent(self.shape, self._from_middle(turn)), 0.0, 1.0)
        place = self._on_wire(place) if self.windings else place
        share = share_of(place, track_ohm=self.track_ohm, end_ohm=self.end_ohm)
        if nonzero(self.noise_share):
            share = np.clip(share + np.asarray(self.noise_share), 0.0, 1.0)
        return share if np.ndim(share) else float(share)

    def _from_middle(self, turn: Numeric) -> Array:
        """Place on the track from its middle, -1 to 1 at its ends and beyond, the gap left behind. [1]"""
        t = np.asarray(turn * (2.0 / self.travel_rad) + (2.0 * self._clamped - 1.0))
        if t.min() >= -1.0 and t.max() <= 1.0:
            return t
        if self.gapped and self.rounded:
            t = 2.0 * np.asarray(past_gap((1.0 + t) / 2.0, travel_rad=self.travel_rad)) - 1.0
        return np.asarray(np.clip(t, -1.0, 1.0))

    def _on_wire(self, place: Numeric) -> Array:
        """Place of the turn of wire that the wiper touches. [1]"""
        if self.rounded and self.windings:
            place = stepped(place, windings=self.windings, between=self.between)
        else:
            place = place + np.asarray(self.between)
        return np.asarray(np.clip(place, 0.0, 1.0))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn since the clamping; at an end of the track, the turn at which it is reached. [rad]"""
        place = place_of(y, track_ohm=self.track_ohm, end_ohm=self.end_ohm)
        place = np.asarray(place, dtype=float) - (0.0 if self.rounded else self.between)
        straight = self._straight(place) if np.any(self.shape) else place
        turn = (straight - self._clamped) * self.travel_rad + self.half_hysteresis_rad * side
        return turn if np.ndim(turn) else float(turn)

    def _straight(self, y: Array) -> Array:
        """Share that a straight track would show, by bisection: the departure may be steep."""
        low = np.zeros(np.broadcast_shapes(np.shape(y), np.shape(self.shape)[:-1]))
        high = low + 1.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            under = bent(self.shape, 2.0 * middle - 1.0) < y
            low, high = np.where(under, middle, low), np.where(under, high, middle)
        return np.asarray(np.where(np.isnan(y), np.nan, (low + high) / 2.0))

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the share; the state is where the wiper stood. [1]"""
        if nonzero(self.half_hysteresis_rad):
            u, state = follow_play(u, state, half=self.half_hysteresis_rad)
        return np.asarray(self._output(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The hysteresis, the share of the track, its nearest turn of wire, the resistance at its ends."""
        place = _place_step(self, u)
        steps, result = [*_lag_step(self), place], place.result
        if self.windings:
            wire = _wire_step(self, result)
            steps, result = [*steps, wire], wire.result
        return (*steps, *_end_step(self, result))


def _mean(value: Numeric) -> float:
    return float(np.mean(value))


def _place_step(track: Potentiometer, u: float) -> Step:
    """Place on the track from the turn since the clamping."""
    numbers = {"s_c": _mean(track.reading), "dphi": float(np.degrees(u))}
    numbers["T"] = float(np.degrees(_mean(track.travel_rad)))
    ends = {"R_T": _mean(track.track_ohm), "R_e": _mean(track.end_ohm)} if nonzero(track.end_ohm) else {}
    clamped = "(s_c * (R_T + 2 * R_e) - R_e) / R_T" if ends else "s_c"
    return Step(
        symbol="x",
        meaning="share of the track below the wiper",
        formula=f"{clamped} + dphi / T",
        numbers=numbers | ends,
        result=_mean(track._clamped + u / track.travel_rad),
        unit="",
        source="iec60393",
    )


def _lag_step(track: Potentiometer) -> tuple[Step, ...]:
    if not nonzero(track.half_hysteresis_rad):
        return ()
    half = float(np.degrees(_mean(track.half_hysteresis_rad)))
    step = Step(
        symbol="r",
        meaning="the wiper lags by half the hysteresis, either way",
        formula="h / 2",
        numbers={"h": 2.0 * half},
        result=half,
        unit="deg",
        source="play-operator",
    )
    return (step,)


def _wire_step(track: Potentiometer, place: float) -> Step:
    turns = float(track.windings or 1)
    return Step(
        symbol="x_n",
        meaning="share of the track below the nearest turn of wire",
        formula="floor(n * x + 0.5) / n",
        numbers={"n": turns, "x": place},
        result=float(np.floor(turns * place + 0.5) / turns),
        unit="",
        source="potentiometer-handbook",
    )


def _end_step(track: Potentiometer, place: float) -> tuple[Step, ...]:
    if not nonzero(track.end_ohm):
        return ()
    ohms = {"R_T": _mean(track.track_ohm), "R_e": _mean(track.end_ohm)}
    symbol = "x_n" if track.windings else "x"
    step = Step(
        symbol="s",
        meaning="share of the feed, with the resistance at both ends of the track",
        formula=f"(R_e + {symbol} * R_T) / (R_T + 2 * R_e)",
        numbers=ohms | {symbol: place},
        result=float(share_of(place, track_ohm=ohms["R_T"], end_ohm=ohms["R_e"])),
        unit="",
        source="vrci",
    )
    return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentiometerPart:
    """A potentiometer of limited electrical travel, linear taper, fed from both ends.

    The line of the data sheet runs through the nominal outputs at the electrical ends: a nominal resistance
    there is in it and only its spread is an error. A greatest one is written ``"0 ohm +2 / -0"``: the line
    then takes none, and half of it counts as bias. `between` is where the wiper rests among the turns of
    wire: any place is as likely, no calibration can know it, and it is another after each motion.
    """

    room: ClassVar[str] = "sensor"
    kind: ClassVar[str] = "potentiometer"
    label: ClassVar[str] = "Potentiometer"
    KEYS: ClassVar[tuple[Key, ...]] = TRACK_KEYS
    track_ohm: Spread
    travel_rad: Spread
    mechanical_rad: Spread | None
    shape: UnknownShape
    power_w: Spread
    end_ohm: Spread | None = None
    wiper_ohm: Spread | None = None
    noise_share: Spread | None = None
    windings: int | None = None
    hysteresis_rad: Spread | None = None
    taper: str = "linear"
    top_speed_rad_s: Spread | None = None
    life_strokes: int | None = None
    life_turns: int | None = None
    full_power_k: Spread | None = None
    no_power_k: Spread | None = None
    hottest_k: Spread | None = None
    between: Spread | None = field(init=False, repr=False, compare=False, default=None)

    def __post_init__(self) -> None:
        """Half a step of the output either way, where the track is wound."""
        if self.windings is not None:
            half = 0.5 / self.windings
            between = Spread(nominal=0.0, below=half, above=half, persistence=Persistence.MOTION)
            object.__setattr__(self, "between", between)

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Those numbers that the reading depends on."""
        silent = {"mechanical_rad", "power_w", "top_speed_rad_s", "full_power_k", "no_power_k", "hottest_k"}
        found = tuple(number for number in numbers_of(self) if number.field not in silent)
        if self.between is None:
            return found
        wound = Number(
            room=self.room,
            field="between",
            name="windings",
            meaning="steps of the windings",
            cured_by="a track without windings",
            variate=self.between,
        )
        return (*found, wound)

    @property
    def whole_ohm(self) -> Spread:
        """Track with the resistance at both its ends, nominals and limits added up. [ohm]"""
        track, end = self.track_ohm, self.end_ohm
        if end is None:
            return track
        below, above = track.below + 2.0 * end.below, track.above + 2.0 * end.above
        return replace(track, nominal=track.nominal + 2.0 * end.nominal, below=below, above=above)

    @property
    def gap_rad(self) -> float:
        """Shaft angle between the two ends of an endless track; 0 where it has stops or overlaps. [rad]"""
        return 0.0 if self.mechanical_rad else max(FULL_TURN - self.travel_rad.nominal, 0.0)

    def link(self, values: Values, upstream: Port) -> Potentiometer:
        """The potentiometer with plain numbers."""
        if not isinstance(upstream, ReadingPort):
            raise RigError(
                Problem("sensor", "a potentiometer must follow a mount", "", "Put a mount before it.")
            )
        return Potentiometer(
            track_ohm=values["track_ohm"],
            travel_rad=values["travel_rad"],
            shape=values["shape"],
            reading=upstream.reading,
            end_ohm=values.get("end_ohm", 0.0),
            wiper_ohm=values.get("wiper_ohm", 0.0),
            noise_share=values.get("noise_share", 0.0),
            half_hysteresis_rad=values.get("hysteresis_rad", 0.0) / 2.0,
            windings=self.windings,
            between=values.get("between", 0.0),
            gapped=self.gap_rad > 0.0,
        )

    def describe(self) -> str:
        """Its turns, and the electrical travel."""
        turns = self.travel_rad.nominal / FULL_TURN
        many = "Ten-turn" if abs(turns - _TEN_TURNS) < _NEARLY else "Multi-turn"
        kind = many if turns > 1.0 + 1e-9 else "Single turn"
        return f"{kind}, {np.degrees(self.travel_rad.nominal):g} deg"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """What no track can follow: a motion too long for it or off its end, a law that is not straight."""
        found = tuple(_unfit(self))
        if isinstance(upstream, ReadingPort) and upstream.endless:
            remedy = "Take an endless sensor without a gap, a magnetic one for example."
            return (*found, Problem("sensor", "the motion turns endlessly", _end_said(self), remedy))
        reading = float(np.mean(upstream.reading)) if isinstance(upstream, ReadingPort) else 0.5
        return (*found, *_off_track(self, low, high, reading))


def _end_said(part: PotentiometerPart) -> str:
    reach, gap = np.degrees(part.travel_rad.nominal), np.degrees(part.gap_rad)
    return f"the track ends at {reach:.4g} deg" + (f", a gap of {gap:.4g} deg follows" if gap else "")


def _unfit(part: PotentiometerPart) -> Iterator[Problem]:
    """What is wrong with the sensor whatever the motion."""
    if part.taper == "logarithmic":
        limit = "half its turn gives 10 to 20 % of the output, a position needs half"
        remedy = "Take a sensor with a linear taper."
        yield Problem("sensor.taper", "the track is logarithmic", limit, remedy)
    stops, travel = part.mechanical_rad, part.travel_rad.nominal
    if stops and travel > FULL_TURN and stops.nominal < travel * (1.0 - 1e-9):
        found = f"the sensor's own stops are {np.degrees(stops.nominal):.4g} deg apart"
        limit = f"its electrical travel is {np.degrees(travel):.4g} deg"
        remedy = "Give the mechanical travel of its data sheet, which is not less."
        yield Problem("sensor.mechanical_travel", found, limit, remedy)


def _off_track(part: PotentiometerPart, low: float, high: float, reading: float) -> Iterator[Problem]:
    """A motion longer than the track, or one that runs off its end from where it was clamped."""
    travel, turned = part.travel_rad.nominal, abs(high - low)
    if turned > travel * (1.0 + 1e-9):
        found = f"the motion turns the shaft {np.degrees(turned):.4g} deg"
        remedy = f"Divide the ratio by at least {turned / travel:.3g}, or take a sensor with more turns."
        yield Problem("sensor", found, _end_said(part), remedy)
        return
    track, end = part.track_ohm.nominal, part.end_ohm.nominal if part.end_ohm else 0.0
    place = float(place_of(reading, track_ohm=track, end_ohm=end))
    ends = sorted(100.0 * (place + turn / travel) for turn in (low, high))
    if ends[0] >= -1e-7 and ends[1] <= 100.0 + 1e-7:
        return
    middle = 0.5 - (low + high) / 2.0 / travel
    centred = 100.0 * float(share_of(middle, track_ohm=track, end_ohm=end))
    found = f"clamped where it reads {100 * reading:.3g} %, the motion takes the wiper from {ends[0]:.3g} %"
    found += f" to {ends[1]:.3g} %"
    remedy = f"Clamp it where it reads {centred:.3g} % at the same mark: that centres the motion."
    gap = f", a gap of {np.degrees(part.gap_rad):.4g} deg lies between" if part.gap_rad else ""
    yield Problem("sensor", found, f"the track ends at 0 % and 100 %{gap}", remedy)


PARTS = (PotentiometerPart,)
