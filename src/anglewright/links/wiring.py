"""From the sensor to the pin: feed, cable, series resistor, pulls, divider, capacitor."""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import ClassVar

import numpy as np

from anglewright.circuits import (
    OPEN,
    SHORT,
    Numeric,
    Thevenin,
    driving,
    in_series,
    nonzero,
    reached,
    with_shunt,
)
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key
from anglewright.links.harness import WIRING_KEYS, ohm_per_metre
from anglewright.links.nodes import Branch, node_step
from anglewright.links.protocol import (
    Array,
    FeedPort,
    Number,
    Port,
    Signal,
    State,
    TrackPort,
    Values,
    VoltagePort,
    numbers_of,
)
from anglewright.links.taps import Output, Supply, Track, floating, number, source_step
from anglewright.quantities.spread import Spread
from anglewright.steps import Step

_AT_PIN, _AT_LEAD = "voltage at the pin with the pull", "voltage at the lead with the pull"
_LOADED = "voltage at the pin with all that hangs there"


class WireFault(Enum):
    """One broken or shorted wire of the sensor's cable."""

    OPEN_FEED = "open feed"
    OPEN_GROUND = "open ground"
    OPEN_WIPER = "open wiper"
    WIPER_TO_GROUND = "wiper shorted to ground"
    WIPER_TO_FEED = "wiper shorted to the feed"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Wiring:
    """Sensor, cable, pull at the lead, series resistor, then all that hangs at the pin. [V, ohm, F, A]

    The sensor is a track, or drives its `output` itself and draws `supply_a` for it; "wiper" stands for the
    signal of either. At the pin: pull, lower resistor of a divider (its upper one lies in series), the
    controller's own pull, leakage into the node, capacitor. The ground at the sensor lies `ground_offset_v`
    above the controller's. `nominal_feed_v` is the feed as stated, where `feed_v` may be a drawn one.
    """

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
    pull_own_ohm: Numeric = OPEN
    pull_own_v: Numeric = 0.0
    wiper_ohm: Numeric = 0.0
    lead_wiper_ohm: Numeric = 0.0
    lead_feed_ohm: Numeric = 0.0
    lead_ground_ohm: Numeric = 0.0
    ground_offset_v: Numeric = 0.0
    upper_ohm: Numeric = 0.0
    lower_ohm: Numeric = OPEN
    leakage_a: Numeric = 0.0
    supply_a: Numeric = 0.0
    output: VoltagePort | None = None
    nominal_feed_v: float | None = None

    @property
    def port(self) -> Port:
        """The feed, for a converter that refers to it or measures it, and the pin that it samples."""
        nominal = number(self.feed_v) if self.nominal_feed_v is None else self.nominal_feed_v
        return FeedPort(feed_v=self.feed_v, nominal_v=nominal, pin=self.at_pin, pin_f=self.capacitor_f)

    @property
    def furnished(self) -> bool:
        """True where there is more than track, series resistor and pulls."""
        if self.output is not None:
            return True
        there = (
            self.wiper_ohm,
            self.lead_wiper_ohm,
            self.lead_feed_ohm,
            self.lead_ground_ohm,
            self.ground_offset_v,
            self.upper_ohm,
            self.leakage_a,
        )
        return any(nonzero(each) for each in there) or self._loaded

    @property
    def _loaded(self) -> bool:
        """True where more than a pull draws current from the pin."""
        return bool(np.any(np.isfinite(self.lower_ohm)) or np.any(np.isfinite(self.pull_own_ohm)))

    @property
    def _in_series(self) -> Numeric:
        return self.series_ohm + self.upper_ohm if nonzero(self.upper_ohm) else self.series_ohm

    def _pulled(self, node: Thevenin) -> Thevenin:
        return with_shunt(with_shunt(node, self.pull_down_ohm, to_v=0.0), self.pull_up_ohm, to_v=self.feed_v)

    @property
    def _tap(self) -> Track | Output:
        """What drives the signal's wire."""
        supply = Supply(
            feed_v=self.feed_v,
            ground_v=self.ground_offset_v,
            feed_ohm=self.lead_feed_ohm,
            ground_ohm=self.lead_ground_ohm,
            draws_a=self.supply_a,
        )
        if self.output is None:
            return Track(track_ohm=self.track_ohm, wiper_ohm=self.wiper_ohm, supply=supply)
        driven = self.output
        return Output(low=driven.low, high=driven.high, source_ohm=driven.source_ohm, supply=supply)

    def _lead(self, share: Numeric, fault: WireFault | None) -> Thevenin:
        """What the near end of the wiper's wire sees before the pull."""
        if fault is WireFault.OPEN_WIPER:
            return floating(share)
        if fault is WireFault.WIPER_TO_GROUND:
            return Thevenin(0.0 * np.asarray(share), SHORT)
        if fault is WireFault.WIPER_TO_FEED:
            return Thevenin(self.feed_v + 0.0 * np.asarray(share), SHORT)
        feed_open, ground_open = fault is WireFault.OPEN_FEED, fault is WireFault.OPEN_GROUND
        tap = self._tap.at(share, feed_open=feed_open, ground_open=ground_open)
        return in_series(tap, self.lead_wiper_ohm)

    def _held(self, node: Thevenin) -> Thevenin:
        """The pin with what hangs there beside a pull."""
        node = with_shunt(node, self.lower_ohm, to_v=0.0)
        node = with_shunt(node, self.pull_own_ohm, to_v=self.pull_own_v)
        if not nonzero(self.leakage_a):
            return node
        return Thevenin(node.volts + self.leakage_a * np.asarray(node.ohms), node.ohms)

    def at_pin(self, share: Numeric, *, fault: WireFault | None = None) -> Thevenin:
        """What the pin sees: voltage and source resistance, with at most one broken wire. [V, ohm]"""
        lead = self._lead(share, fault)
        if not self.pull_at_pin:
            return self._held(in_series(self._pulled(lead), self._in_series))
        return self._held(self._pulled(in_series(lead, self._in_series)))

    def at_contact(self, share: Numeric, *, fault: WireFault | None = None) -> Numeric:
        """Voltage at the controller's end of the wiper's wire, with at most one broken wire. [V]"""
        volts, lead = self.at_pin(share, fault=fault).volts, self._lead(share, fault)
        if not (self.pull_at_pin or self._loaded or nonzero(self.leakage_a)):
            return volts
        node = lead if self.pull_at_pin else self._pulled(lead)
        if np.any(np.isinf(node.ohms)):  # nothing drives the wire: no current flows to the pin
            return volts
        return driving(node, self._in_series, far_v=volts)

    def at_wiper(self, share: Numeric) -> Numeric:
        """Voltage that a meter shows at the sensor's wiper, with all connected. [V]"""
        volts = self.at_contact(share)
        if not nonzero(self.lead_wiper_ohm):
            return volts
        return driving(self._tap.at(share), self.lead_wiper_ohm, far_v=volts)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Voltage at the pin, settled. [V]"""
        return self.at_pin(u).volts

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Share of the track that gives a voltage at the pin, by bisection: the level rises with it. [1]"""
        return reached(self.forward, y)

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
        """The tap, its source resistance, and what pulls, divider and leakage leave of it."""
        before = number(self._in_series) if self.pull_at_pin else 0.0
        tap = self._tap.step(u)
        source = source_step(self._tap, u, before=before, wire=number(self.lead_wiper_ohm))
        held = any(branch.is_there for branch in (*_pulls(self), *_hanging(self)))
        if not (held or nonzero(self.leakage_a)):
            return (tap, source)
        nodes = self.node_steps(u)
        idle = "/" not in nodes[-1].formula and nodes[-1].result == tap.result
        return (tap, source) if idle else (tap, source, *nodes)

    def node_steps(self, share: float, *, fault: WireFault | None = None) -> tuple[Step, ...]:
        """Arithmetic from what drives the wiper's wire to the voltage at the pin; nothing where it floats."""
        lead, before = self._lead(share, fault), number(self._in_series)
        steps: tuple[Step | None, ...] = ()
        if self.pull_at_pin:
            branches = (*_pulls(self), *_hanging(self))
        else:
            symbol, meaning = ("V_lead", _AT_LEAD) if self._loaded else ("V", _AT_PIN)
            steps = (_node(lead, _pulls(self), symbol=symbol, meaning=meaning),)
            lead, branches = self._pulled(lead), _hanging(self)
        meaning = _LOADED if self._loaded else _AT_PIN
        steps += (_node(in_series(lead, before), branches, symbol="V", meaning=meaning),)
        if not any(steps):
            steps = (node_step(in_series(lead, before), (), symbol="V", meaning="voltage at the pin"),)
        found = tuple(step for step in steps if step is not None)
        return (*found, *_leaked(self, share, fault))


def _node(source: Thevenin, branches: tuple[Branch, ...], *, symbol: str, meaning: str) -> Step | None:
    """The node's arithmetic where anything holds it beside its source."""
    there = tuple(branch for branch in branches if branch.is_there)
    return node_step(source, there, symbol=symbol, meaning=meaning) if there else None


def _pulls(wiring: Wiring) -> tuple[Branch, ...]:
    up = Branch(ohms=("R_up", number(wiring.pull_up_ohm)), volts=("V_s", number(wiring.feed_v)))
    return (Branch(ohms=("R_down", number(wiring.pull_down_ohm))), up)


def _hanging(wiring: Wiring) -> tuple[Branch, ...]:
    own = Branch(ohms=("R_own", number(wiring.pull_own_ohm)), volts=("V_own", number(wiring.pull_own_v)))
    return (Branch(ohms=("R_lower", number(wiring.lower_ohm))), own)


def _leaked(wiring: Wiring, share: float, fault: WireFault | None) -> tuple[Step, ...]:
    current, pin = number(wiring.leakage_a), wiring.at_pin(share, fault=fault)
    if current == 0.0 or np.isnan(number(pin.volts)):
        return ()
    ohms = number(pin.ohms)
    step = Step(
        symbol="V_pin",
        meaning="voltage at the pin with the leakage",
        formula="V + I * R",
        numbers={"V": number(pin.volts) - current * ohms, "I": current, "R": ohms},
        result=number(pin.volts),
        unit="V",
        source="thevenin",
        link="wiring",
    )
    return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class WiringPart:
    """Feed, wiper series resistor, capacitor at the pin, and a pull that makes a broken wire show."""

    room: ClassVar[str] = "wiring"
    kind: ClassVar[str] = "analogue"
    label: ClassVar[str] = "Wiring"
    KEYS: ClassVar[tuple[Key, ...]] = WIRING_KEYS
    feed_v: Spread
    series_ohm: Spread
    capacitor_f: Spread
    pull_down_ohm: Spread | None = None
    pull_up_ohm: Spread | None = None
    pull_own_ohm: Spread | None = None
    pull_own_v: Spread | None = None
    pull_at: str = "pin"
    upper_ohm: Spread | None = None
    lower_ohm: Spread | None = None
    lead_length_m: Spread | None = None
    lead_gauge: int | None = None
    lead_wiper_ohm: Spread | None = None
    lead_feed_ohm: Spread | None = None
    lead_ground_ohm: Spread | None = None
    ground_offset_v: Spread | None = None
    leakage_a: Spread | None = None
    supply_a: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Every number of the circuit."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Wiring:
        """The circuit with plain numbers."""
        if not isinstance(upstream, TrackPort | VoltagePort):
            found = "analogue wiring must follow a sensor with a track or a voltage"
            raise RigError(Problem("wiring", found, "", "Change the sensor's or the wiring's kind."))
        fed = upstream if isinstance(upstream, TrackPort) else None
        return Wiring(
            track_ohm=fed.track_ohm if fed else SHORT,
            wiper_ohm=fed.wiper_ohm if fed else 0.0,
            output=None if isinstance(upstream, TrackPort) else upstream,
            feed_v=values["feed_v"],
            series_ohm=values["series_ohm"],
            capacitor_f=values["capacitor_f"],
            pull_down_ohm=values.get("pull_down_ohm", OPEN),
            pull_up_ohm=values.get("pull_up_ohm", OPEN),
            pull_at_pin=self.pull_at == "pin",
            pull_own_ohm=values.get("pull_own_ohm", OPEN),
            pull_own_v=values.get("pull_own_v", values["feed_v"]),
            lead_wiper_ohm=self._wire(values, "wiper"),
            lead_feed_ohm=self._wire(values, "feed"),
            lead_ground_ohm=self._wire(values, "ground"),
            ground_offset_v=values.get("ground_offset_v", 0.0),
            upper_ohm=values.get("upper_ohm", 0.0),
            lower_ohm=values.get("lower_ohm", OPEN),
            leakage_a=values.get("leakage_a", 0.0),
            supply_a=values.get("supply_a", 0.0),
            nominal_feed_v=self.feed_v.nominal,
        )

    def _wire(self, values: Values, wire: str) -> Numeric:
        """Resistance of one wire of the cable: as given, else by length and gauge, else none. [ohm]"""
        by_length: Numeric = 0.0
        if self.lead_gauge is not None:
            by_length = ohm_per_metre(self.lead_gauge) * values["lead_length_m"]
        ohms: Numeric = values.get(f"lead_{wire}_ohm", by_length)
        return ohms

    def describe(self) -> str:
        """Feed and pull."""
        pulls = (("pull-down", self.pull_down_ohm), ("pull-up", self.pull_up_ohm))
        named = [f"{name} {ohms.nominal / 1e3:g} kohm at the {self.pull_at}" for name, ohms in pulls if ohms]
        if self.pull_own_ohm:
            named.append(f"the controller's own pull {self.pull_own_ohm.nominal / 1e3:g} kohm")
        if self.upper_ohm and self.lower_ohm:
            named.append(
                f"divider {self.upper_ohm.nominal / 1e3:g} over {self.lower_ohm.nominal / 1e3:g} kohm"
            )
        return ", ".join([f"{self.feed_v.nominal:g} V", *(named or ["no pull"])])

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Half a divider, a ground above the feed, or a leak as large as the track's own current."""
        return tuple(_impossible(self, upstream))


def _impossible(wiring: WiringPart, upstream: Port) -> Iterator[Problem]:
    if (wiring.upper_ohm is None) != (wiring.lower_ohm is None):
        given, missing = ("upper", "lower") if wiring.upper_ohm else ("lower", "upper")
        remedy = f"Give the {missing} one too; a resistor alone is 'series' or a pull."
        yield Problem("wiring.divider", f"only its {given} resistor is given", "", remedy)
    feed, offset, leak = wiring.feed_v.limits[0], wiring.ground_offset_v, wiring.leakage_a
    if offset and offset.limits[1] >= feed:
        found = f"the ground can lie {offset.limits[1]:.4g} V up"
        yield Problem("wiring.ground_offset", found, f"the feed is {feed:.4g} V", "Mend the value.")
    if wiring.supply_a and isinstance(upstream, TrackPort):
        found = "a track draws what its own ohms let through"
        yield Problem("wiring.supply", found, "", "Leave it out; it belongs to a sensor with electronics.")
    if leak and isinstance(upstream, TrackPort):
        most, own = max(abs(each) for each in leak.limits), feed / float(np.mean(upstream.track_ohm))
        if most >= own:
            found = f"a leakage of {1e3 * most:.4g} mA"
            limit = f"the track itself carries {1e3 * own:.4g} mA"
            yield Problem("wiring.leakage", found, limit, "Mend the value, or the pin.")


PARTS = (WiringPart,)
