"""What times a pulse-width sensor: edges by a timer, then a code by the ratio of pulse and frame."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.delay import follow_delay
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ChoiceKey, Key, QuantityKey
from anglewright.links.protocol import (
    Array,
    CodeRange,
    Number,
    Port,
    PulsePort,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.links.readiness import READY_KEYS
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


def edge_share(pulse_share: Numeric) -> Numeric:
    r"""Error of pulse over frame from edges timed to a tick, as a share of that of the pulse alone.

    Parameters
    ----------
    pulse_share : float or array
        Length of the pulse over that of the frame, 0 to 1. [1]

    Returns
    -------
    float or array
        Between :math:`\sqrt{3}/2` in the middle and 1 at both ends. [1]

    Notes
    -----
    The edges :math:`e_1, e_2, e_3` err independently. The pulse errs by :math:`e_2 - e_1`; the ratio, in
    units of the frame, by :math:`e_2 - (1 - s) e_1 - s e_3`. The shares of variance are 2 and
    :math:`1 + (1 - s)^2 + s^2`.

    References
    ----------
    derived

    Examples
    --------
    A pulse of half the frame is told a little better than one that is nearly nothing:

    >>> round(edge_share(0.5), 3), edge_share(0.0)
    (0.866, 1.0)
    """
    share = np.sqrt((1.0 + (1.0 - pulse_share) ** 2 + np.square(pulse_share)) / 2.0)
    return share if np.ndim(share) else float(share)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PulseTimer:
    """Code of a pulse in its frame; with `rounded` false the mean code, for nudging.

    `edge_s` is what the edges make the pulse too long. By the ratio the sensor's clock cancels; by the high
    time alone the code takes `assumed_s` for the clock.
    """

    takes: ClassVar[Signal] = Signal.OUTPUT
    gives: ClassVar[Signal] = Signal.CODE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    positions: int
    frame_clocks: int
    first_clocks: int
    clock_s: Numeric
    assumed_s: Numeric
    edge_s: Numeric
    by_ratio: bool = True
    rounded: bool = True

    @property
    def port(self) -> Port:
        """Nothing that a code could need."""
        return Port()

    @property
    def codes(self) -> CodeRange:
        """By the ratio every code is a position; by the high time the ends mean "at or beyond". [count]"""
        top = self.positions - 1
        if self.by_ratio:
            return CodeRange(low=0, high=top, period=self.positions, ends_valid=True)
        return CodeRange(low=0, high=top)

    def _pulse_clocks(self, u: Numeric) -> Numeric:
        return self.first_clocks + (self.positions * np.asarray(u) - 0.5)

    def _exact(self, u: Numeric) -> Numeric:
        """Code before it becomes a whole number. [count]"""
        pulse = self._pulse_clocks(u)
        if not self.by_ratio:
            return (pulse * self.clock_s + self.edge_s) / self.assumed_s - self.first_clocks
        edges = self.edge_s / self.clock_s * np.asarray(edge_share(pulse / self.frame_clocks))
        return pulse - self.first_clocks + edges

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a share of the turn. [count]"""
        exact = self._exact(u)
        code = np.clip(np.floor(exact + 0.5), 0.0, self.positions - 1.0) if self.rounded else exact
        return code if np.ndim(code) else float(code)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share in the middle of a code. [1]"""
        pulse = y + self.first_clocks
        if not self.by_ratio:
            pulse = pulse * self.assumed_s / self.clock_s
        return (pulse - self.first_clocks + 0.5) / self.positions

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the codes: a position is known when its frame is over. [count]"""
        late, state = follow_delay(u, t, state, delay_s=self.frame_clocks * self.clock_s, held=True)
        return np.asarray(self.forward(late)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The pulse, the frame, and the code of their ratio; or the pulse and the code of its high time."""
        clock_us, first = 1e6 * float(np.mean(self.clock_s)), float(self.first_clocks)
        pulse = Step(
            symbol="t_on",
            meaning="length of the pulse",
            formula="(a + Z * y - 0.5) * c",
            numbers={"a": first, "Z": float(self.positions), "y": u, "c": clock_us},
            result=float(self._pulse_clocks(u)) * clock_us,
            unit="us",
            source="derived",
        )
        return self._by_ratio(pulse, clock_us) if self.by_ratio else (pulse, self._by_high_time(pulse))

    def _by_ratio(self, pulse: Step, clock_us: float) -> tuple[Step, ...]:
        clocks, first = float(self.frame_clocks), float(self.first_clocks)
        frame = Step(
            symbol="T",
            meaning="length of the frame, pulse and pause",
            formula="F * c",
            numbers={"F": clocks, "c": clock_us},
            result=clocks * clock_us,
            unit="us",
            source="derived",
        )
        code = Step(
            symbol="n",
            meaning="code, from the ratio of pulse and frame",
            formula="floor(t_on * F / T - a + 0.5)",
            numbers={"t_on": pulse.result, "F": clocks, "T": frame.result, "a": first},
            result=float(np.floor(pulse.result * clocks / frame.result - first + 0.5)),
            unit="count",
            source="derived",
        )
        return (pulse, frame, code)

    def _by_high_time(self, pulse: Step) -> Step:
        assumed_us, first = 1e6 * float(np.mean(self.assumed_s)), float(self.first_clocks)
        return Step(
            symbol="n",
            meaning="code, from the high time and the clock that the program takes for granted",
            formula="floor(t_on / c_0 - a + 0.5)",
            numbers={"t_on": pulse.result, "c_0": assumed_us, "a": first},
            result=float(np.floor(pulse.result / assumed_us - first + 0.5)),
            unit="count",
            source="derived",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseTimerPart:
    """A timer of the controller that takes the times of the edges, to a tick.

    An edge falls anywhere between two ticks, so a pulse is measured wrong by up to a tick either way, small
    errors being the likelier: two edges, each rectangular, make a triangular error.
    """

    room: ClassVar[str] = "converter"
    kind: ClassVar[str] = "pulse-timer"
    label: ClassVar[str] = "Pulse timer"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="tick",
            field="tick_s",
            meaning="tick of the timer that times the edges",
            kinds=(Kind.TIME,),
            default="1 us",
            persistence=Persistence.READING,
            shape=Shape.TRIANGULAR,
            cured_by="a faster timer, or averaging",
            tolerance=True,
        ),
        QuantityKey(
            name="jitter",
            field="jitter_s",
            meaning="jitter of the measured pulse beside the tick, of late interrupts or slow edges",
            kinds=(Kind.TIME,),
            persistence=Persistence.READING,
            shape=Shape.NORMAL,
            cured_by="a capture in hardware, or averaging",
            tolerance=True,
            example="0.5 us rms",
        ),
        ChoiceKey(
            name="method",
            field="method",
            meaning="what the code is worked out from: ratio of pulse and frame, or the high time alone",
            choices=("ratio", "high time"),
            default="ratio",
        ),
        QuantityKey(
            name="clock",
            field="assumed_s",
            meaning="clock of the sensor that the program takes for granted; plays a part by the high time",
            kinds=(Kind.TIME,),
            default="1 us",
            above=0.0,
            cured_by="the ratio of pulse and frame",
        ),
        *READY_KEYS,
    )
    tick_s: Spread
    assumed_s: Spread
    ready_s: Spread
    good_frames: int
    method: str = "ratio"
    jitter_s: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Tick, jitter, and the clock where the code relies on it."""
        silent = {"ready_s"} if self.method == "high time" else {"ready_s", "assumed_s"}
        return tuple(number for number in numbers_of(self) if number.field not in silent)

    def link(self, values: Values, upstream: Port) -> PulseTimer:
        """The timer with plain numbers."""
        if not isinstance(upstream, PulsePort):
            found = "a pulse timer must follow a sensor that sends pulses"
            remedy = "Change the converter's or the sensor's kind; the wiring between them is digital."
            raise RigError(Problem("converter", found, "", remedy))
        return PulseTimer(
            positions=upstream.positions,
            frame_clocks=upstream.frame_clocks,
            first_clocks=upstream.first_clocks,
            clock_s=upstream.clock_s,
            assumed_s=values.get("assumed_s", self.assumed_s.nominal),
            edge_s=values["tick_s"] + values.get("jitter_s", 0.0),
            by_ratio=self.method == "ratio",
        )

    def describe(self) -> str:
        """Tick and method."""
        how = "ratio of pulse and frame" if self.method == "ratio" else "high time alone"
        return f"Timer, tick {1e6 * self.tick_s.above:.4g} us, {how}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (PulseTimerPart,)
