"""From the track to the pin: feed, series resistor, pull, capacitor."""

from dataclasses import dataclass
from enum import Enum
from typing import ClassVar

import numpy as np

from anglewright.circuits import OPEN, SHORT, Numeric, Thevenin, divider, in_series, with_shunt
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ChoiceKey, Key, QuantityKey, TableKey
from anglewright.links.protocol import (
    Array,
    FeedPort,
    Number,
    Port,
    Signal,
    State,
    TrackPort,
    Values,
    numbers_of,
)
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

_HALVINGS = 52  # of the interval in `backward`: down to the last bit of a double


class WireFault(Enum):
    """One broken or shorted wire of the sensor's cable."""

    OPEN_FEED = "open feed"
    OPEN_GROUND = "open ground"
    OPEN_WIPER = "open wiper"
    WIPER_TO_GROUND = "wiper shorted to ground"
    WIPER_TO_FEED = "wiper shorted to the feed"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Wiring:
    """Sensor, lead, pull at the lead, series resistor, pull at the pin, capacitor, pin. [V, ohm, F]"""

    takes: ClassVar[Signal] = Signal.OUTPUT
    gives: ClassVar[Signal] = Signal.VOLTAGE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    track_ohm: Numeric
    feed_v: Numeric
    series_ohm: Numeric
    capacitor_f: Numeric
    pull_down_ohm: Numeric
    pull_up_ohm: Numeric
    pull_at_pin: bool

    @property
    def port(self) -> Port:
        """The feed, for a converter that refers to it."""
        return FeedPort(feed_v=self.feed_v)

    def _pulled(self, node: Thevenin) -> Thevenin:
        return with_shunt(with_shunt(node, self.pull_down_ohm, to_v=0.0), self.pull_up_ohm, to_v=self.feed_v)

    def _track(self, share: Numeric, fault: WireFault | None) -> Thevenin:
        below, over = share * self.track_ohm, 1.0 - np.asarray(share)
        if fault is WireFault.OPEN_GROUND:
            return divider(over * self.track_ohm, OPEN, top_v=self.feed_v)
        if fault is WireFault.OPEN_FEED:
            return divider(OPEN, below, top_v=self.feed_v)
        return Thevenin(share * self.feed_v, below * over)

    def _lead(self, share: Numeric, fault: WireFault | None) -> Thevenin:
        """What the far end of the wiper's lead sees before the pull."""
        if fault is WireFault.OPEN_WIPER:
            return Thevenin(np.nan * np.asarray(share), OPEN + np.asarray(share))
        if fault is WireFault.WIPER_TO_GROUND:
            return Thevenin(0.0 * np.asarray(share), SHORT)
        if fault is WireFault.WIPER_TO_FEED:
            return Thevenin(self.feed_v + 0.0 * np.asarray(share), SHORT)
        return self._track(share, fault)

    def at_pin(self, share: Numeric, *, fault: WireFault | None = None) -> Thevenin:
        """What the pin sees: voltage and source resistance, with at most one broken wire. [V, ohm]"""
        lead = self._lead(share, fault)
        if not self.pull_at_pin:
            return in_series(self._pulled(lead), self.series_ohm)
        return self._pulled(in_series(lead, self.series_ohm))

    def at_wiper(self, share: Numeric) -> Numeric:
        """Voltage that a meter shows at the wiper, with the pull connected. [V]"""
        pin = self.at_pin(share)
        if not self.pull_at_pin:
            return pin.volts
        bare = self._track(share, None)
        current = (bare.volts - np.asarray(pin.volts)) / (bare.ohms + np.asarray(self.series_ohm) + 1e-30)
        volts = bare.volts - current * bare.ohms
        return volts if np.ndim(volts) else float(volts)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Voltage at the pin, settled. [V]"""
        return self.at_pin(u).volts

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of the track that gives a voltage at the pin, by bisection: the level rises with it. [1]"""
        low = np.zeros(np.broadcast_shapes(np.shape(y), np.shape(self.track_ohm)))
        high = low + 1.0
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            under = np.asarray(self.forward(middle)) < y
            low, high = np.where(under, middle, low), np.where(under, high, middle)
        share = np.where(np.isnan(y), np.nan, (low + high) / 2.0)
        return share if np.ndim(share) else float(share)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the voltage at the pin, lagging by source resistance times capacitance. [V]

        The state holds the last voltage and its time, on its last axis.
        """
        pin = self.at_pin(u)
        target, tau = np.broadcast_arrays(pin.volts, np.asarray(pin.ohms) * self.capacitor_f)
        v = target[..., 0] if state is None else state[..., 0]
        since = np.broadcast_to(np.diff(t, prepend=t[0]), tau.shape).copy()
        if state is not None:
            since[..., 0] = t[0] - state[..., 1]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            left = np.where(tau > 0.0, np.exp(-since / tau), 0.0)
        path = np.empty_like(target)
        for k in range(target.shape[-1]):
            v = target[..., k] + (v - target[..., k]) * left[..., k]
            path[..., k] = v
        return path, np.stack([v, np.full(np.shape(v), t[-1])], axis=-1)

    def explain(self, u: float) -> tuple[Step, ...]:
        """The tap, its source resistance, and what the pull leaves of it."""
        return _explain(self, u)


def _number(value: Numeric) -> float:
    return float(np.mean(value))


def _explain(wiring: Wiring, share: float) -> tuple[Step, ...]:
    tap, source = _tap(wiring, share), _source(wiring, share)
    pulls = (wiring.pull_down_ohm, wiring.pull_up_ohm)
    if source.result == 0.0 or np.all(np.isinf([_number(pull) for pull in pulls])):
        return (tap, source)
    return (tap, source, _pulled(wiring, share, tap.result, source.result))


def _tap(wiring: Wiring, share: float) -> Step:
    feed = _number(wiring.feed_v)
    return Step(
        symbol="V_tap",
        meaning="voltage at the tap without any load",
        formula="V_s * x",
        numbers={"V_s": feed, "x": share},
        result=feed * share,
        unit="V",
        source="thevenin",
    )


def _source(wiring: Wiring, share: float) -> Step:
    before = _number(wiring.series_ohm) if wiring.pull_at_pin else 0.0
    return Step(
        symbol="R_s",
        meaning="source resistance that the pull works against",
        formula="R_T * x * (1 - x) + R_series",
        numbers={"R_T": _number(wiring.track_ohm), "x": share, "R_series": before},
        result=_number(wiring._track(share, None).ohms) + before,
        unit="ohm",
        source="thevenin",
    )


def _pulled(wiring: Wiring, share: float, tap_v: float, source_ohm: float) -> Step:
    """The node as a weighted mean of what pulls at it; weights are conductances."""
    down, up = _number(wiring.pull_down_ohm), _number(wiring.pull_up_ohm)
    terms, under, numbers = ["V_tap / R_s"], ["1 / R_s"], {"V_tap": tap_v, "R_s": source_ohm}
    if np.isfinite(down):
        numbers["R_down"] = down
        under.append("1 / R_down")
    if np.isfinite(up):
        numbers |= {"R_up": up, "V_s": _number(wiring.feed_v)}
        terms.append("V_s / R_up")
        under.append("1 / R_up")
    return Step(
        symbol="V",
        meaning="voltage at the pin with the pull",
        formula=f"({' + '.join(terms)}) / ({' + '.join(under)})",
        numbers=numbers,
        result=_number(wiring.forward(share)),
        unit="V",
        source="thevenin",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringPart:
    """Feed, wiper series resistor, capacitor at the pin, and a pull that makes a broken wire show."""

    room: ClassVar[str] = "wiring"
    kind: ClassVar[str] = "analogue"
    label: ClassVar[str] = "Wiring"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="feed",
            field="feed_v",
            meaning="voltage across the track",
            kinds=(Kind.VOLTAGE,),
            default="3.3 V",
            persistence=Persistence.CONDITION,
            above=0.0,
            cured_by="a ratiometric converter",
        ),
        QuantityKey(
            name="series",
            field="series_ohm",
            meaning="resistor in the wiper's lead",
            kinds=(Kind.RESISTANCE,),
            default="1 kohm",
            least=0.0,
        ),
        QuantityKey(
            name="capacitor",
            field="capacitor_f",
            meaning="capacitor at the pin",
            kinds=(Kind.CAPACITANCE,),
            default="100 nF",
            least=0.0,
        ),
        TableKey(
            name="pull",
            field="pull",
            meaning="resistor that holds a broken wire at a known level",
            keys=(
                QuantityKey(
                    name="down",
                    field="pull_down_ohm",
                    meaning="pull-down to ground",
                    kinds=(Kind.RESISTANCE,),
                    above=0.0,
                ),
                QuantityKey(
                    name="up",
                    field="pull_up_ohm",
                    meaning="pull-up to the feed",
                    kinds=(Kind.RESISTANCE,),
                    above=0.0,
                ),
                ChoiceKey(
                    name="at",
                    field="pull_at",
                    meaning="where the pull sits: at the sensor's lead or at the pin",
                    choices=("pin", "lead"),
                    default="pin",
                ),
            ),
        ),
    )
    feed_v: Spread
    series_ohm: Spread
    capacitor_f: Spread
    pull_down_ohm: Spread | None = None
    pull_up_ohm: Spread | None = None
    pull_at: str = "pin"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Every number of the circuit."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Wiring:
        """The circuit with plain numbers."""
        if not isinstance(upstream, TrackPort):
            raise RigError(
                Problem(
                    "wiring",
                    "analogue wiring must follow a resistive sensor",
                    "",
                    "Change the sensor's kind.",
                )
            )
        return Wiring(
            track_ohm=upstream.track_ohm,
            feed_v=values["feed_v"],
            series_ohm=values["series_ohm"],
            capacitor_f=values["capacitor_f"],
            pull_down_ohm=values.get("pull_down_ohm", OPEN),
            pull_up_ohm=values.get("pull_up_ohm", OPEN),
            pull_at_pin=self.pull_at == "pin",
        )

    def describe(self) -> str:
        """Feed and pull."""
        pulls = (("pull-down", self.pull_down_ohm), ("pull-up", self.pull_up_ohm))
        named = [f"{name} {ohms.nominal / 1e3:g} kohm at the {self.pull_at}" for name, ohms in pulls if ohms]
        return ", ".join([f"{self.feed_v.nominal:g} V", *(named or ["no pull"])])

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (WiringPart,)
