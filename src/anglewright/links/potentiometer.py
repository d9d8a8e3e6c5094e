"""A resistive track with a wiper: share of the electrical travel from the turn of the shaft."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, LimitKey, QuantityKey
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
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.shapes import UnknownShape, shape_error
from anglewright.steps import Step

_HALVINGS = 52  # of the track in `backward`: down to the last bit of a double


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Potentiometer:
    """Share of the track at the wiper; beyond the ends of the track it stays at the end.

    `shape` holds the Chebyshev coefficients of the departure from linearity, shape (..., 7). [1]
    """

    takes: ClassVar[Signal] = Signal.TURN
    gives: ClassVar[Signal] = Signal.OUTPUT
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    track_ohm: Numeric
    travel_rad: Numeric
    shape: Array
    reading: Numeric

    @property
    def port(self) -> Port:
        """The track, to be fed from both ends."""
        return TrackPort(track_ohm=self.track_ohm)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of the track below the wiper. [1]"""
        straight = np.clip(self.reading + u / self.travel_rad, 0.0, 1.0)
        share = np.clip(straight + shape_error(self.shape, straight), 0.0, 1.0)
        return share if np.ndim(share) else float(share)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Turn since the clamping; at an end of the track, the turn at which it is reached. [rad]"""
        straight = self._straight(y) if np.any(self.shape) else np.asarray(y, dtype=float)
        turn = (straight - self.reading) * self.travel_rad
        return turn if np.ndim(turn) else float(turn)

    def _straight(self, y: Numeric) -> Array:
        """Share that a straight track would show, by bisection: the departure may be steep."""
        low = np.zeros(np.broadcast_shapes(np.shape(y), np.shape(self.shape)[:-1]))
        high = low + 1.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            under = middle + np.asarray(shape_error(self.shape, middle)) < y
            low, high = np.where(under, middle, low), np.where(under, high, middle)
        return np.asarray(np.where(np.isnan(y), np.nan, (low + high) / 2.0))

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the share. [1]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The share from the turn since the clamping."""
        step = Step(
            symbol="x",
            meaning="share of the track below the wiper",
            formula="s_c + dphi / T",
            numbers={
                "s_c": float(np.mean(self.reading)),
                "dphi": float(np.degrees(u)),
                "T": float(np.degrees(np.mean(self.travel_rad))),
            },
            result=float(np.mean(self.reading + u / self.travel_rad)),
            unit="",
            source="iec60393",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentiometerPart:
    """A potentiometer of limited electrical travel, linear taper, fed from both ends."""

    room: ClassVar[str] = "sensor"
    kind: ClassVar[str] = "potentiometer"
    label: ClassVar[str] = "Potentiometer"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="track",
            field="track_ohm",
            meaning="resistance of the track, end to end",
            kinds=(Kind.RESISTANCE,),
            default="10 kohm ± 20 %",
            above=0.0,
        ),
        QuantityKey(
            name="electrical_travel",
            field="travel_rad",
            meaning="electrical travel, the shaft angle over which the output changes",
            kinds=(Kind.ANGLE,),
            default="270 deg ± 10 deg",
            above=0.0,
        ),
        QuantityKey(
            name="mechanical_travel",
            field="mechanical_rad",
            meaning="mechanical travel, the shaft angle between the sensor's own stops",
            kinds=(Kind.ANGLE,),
            words=("endless",),
            default="300 deg ± 5 deg",
            above=0.0,
        ),
        LimitKey(
            name="linearity",
            field="shape",
            meaning="linearity of the track, the limit of its departure from a straight line",
            default="5 %",
        ),
        QuantityKey(
            name="power",
            field="power_w",
            meaning="power rating of the whole track",
            kinds=(Kind.POWER,),
            default="50 mW",
            above=0.0,
        ),
    )
    track_ohm: Spread
    travel_rad: Spread
    mechanical_rad: Spread | None
    shape: UnknownShape
    power_w: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Those numbers that the reading depends on."""
        silent = {"mechanical_rad", "power_w"}
        return tuple(number for number in numbers_of(self) if number.field not in silent)

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
        )

    def describe(self) -> str:
        """Its kind and electrical travel."""
        return f"Single turn, {np.degrees(self.travel_rad.nominal):g} deg"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion longer than the track, or one that runs off its end from where it was clamped."""
        travel = self.travel_rad.nominal
        turned, reach = abs(high - low), np.degrees(travel)
        if turned > travel * (1.0 + 1e-9):
            found = f"the motion turns the shaft {np.degrees(turned):.4g} deg"
            remedy = f"Divide the ratio by at least {turned / travel:.3g}, or take a sensor with more turns."
            return (Problem("sensor", found, f"the track ends at {reach:.4g} deg", remedy),)
        reading = float(np.mean(upstream.reading)) if isinstance(upstream, ReadingPort) else 0.5
        ends = sorted(100.0 * (reading + turn / travel) for turn in (low, high))
        if ends[0] >= -1e-7 and ends[1] <= 100.0 + 1e-7:
            return ()
        centred = 100.0 * (0.5 - (low + high) / 2.0 / travel)
        found = (
            f"clamped where it reads {100 * reading:.3g} %, the motion takes the wiper from {ends[0]:.3g} %"
        )
        found += f" to {ends[1]:.3g} %"
        remedy = f"Clamp it where it reads {centred:.3g} % at the same mark: that centres the motion."
        return (Problem("sensor", found, "the track ends at 0 % and 100 %", remedy),)


PARTS = (PotentiometerPart,)
