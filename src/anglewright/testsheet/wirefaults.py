"""Faults of wires, pulls and feed: what each changes on the bench."""

from dataclasses import replace

import numpy as np

from anglewright.circuits import OPEN, in_series, with_shunt
from anglewright.links.protocol import Array, VoltagePort
from anglewright.links.taps import Supply, Track
from anglewright.links.wiring import WireFault
from anglewright.quantities.spread import Spread
from anglewright.testsheet.model import FEED, OWN_RAIL, Bench, Change, Numbers, Variant, feed_limits
from anglewright.testsheet.situation import Situation
from anglewright.testsheet.unknowns import Unknown

IN_CABLE, AT_PLUG, ON_BOARD = "in the cable or the sensor", "at the plug", "on the controller's side"
OWN_PULL = (15e3, 80e3)  # pull of a controller's own input, 20 to 50 kohm and some more [ohm]
DEAD_FEED = "dead feed"  # key of a feed that is none
DEAD_V = 0.2  # a feed below that is none [V]
OTHER_RAIL_V = 30.0  # highest rail looked for [V]
TOUCH_OHM = 5.0  # of two wires that touch, at most [ohm]
_BARE_OHM = 1e-3  # least of what stands in for a track [ohm]


def dead_feed() -> Unknown:
    """A feed that is none."""
    return Unknown(key=DEAD_FEED, low=0.0, high=DEAD_V)


def broken_wire(bench: Bench, arm: str, fault: WireFault) -> tuple[Variant, ...]:
    """A wire open in the cable, at the plug, or (of the feed) on the controller's side."""

    def in_cable(situation: Situation, numbers: Numbers) -> Situation:
        return at_plug(_opened(situation, arm), numbers)

    def at_plug(situation: Situation, numbers: Numbers) -> Situation:
        return replace(situation, fault=fault)

    def on_board(situation: Situation, numbers: Numbers) -> Situation:
        return replace(at_plug(situation, numbers), feed_v=numbers[DEAD_FEED])

    found = [Variant(change=at_plug, where=AT_PLUG)]
    if bench.has_track:
        found.insert(0, Variant(change=in_cable, where=IN_CABLE))
    if fault is WireFault.OPEN_FEED:
        found.append(Variant(unknowns=(dead_feed(),), change=on_board, where=ON_BOARD))
    return tuple(found)


def _opened(situation: Situation, arm: str) -> Situation:
    arms = dict(situation.arms or {})
    arms[arm] = arms[arm] + OPEN
    return replace(situation, arms=arms)


def touching(bench: Bench, other: str, fault: WireFault) -> tuple[Variant, ...]:
    """The signal's wire touching another: in the cable or the sensor, or on the controller's side."""
    unknowns = (Unknown(key="touch", low=0.0, high=TOUCH_OHM),)

    def in_cable(situation: Situation, numbers: Numbers) -> Situation:
        held = _touched(situation, other, numbers)
        held = replace(situation, fault=fault) if held is None else held
        return replace(held, bridge=("signal", other), bridge_ohm=numbers["touch"]) if held.arms else held

    def on_board(situation: Situation, numbers: Numbers) -> Situation:
        held = _touched(situation, other, numbers)
        return replace(situation, fault=fault, bare=fault) if held is None else replace(held, bare=fault)

    found = [Variant(unknowns=unknowns, change=on_board, where=ON_BOARD)]
    if bench.has_track:
        found.insert(0, Variant(unknowns=unknowns, change=in_cable, where=IN_CABLE))
    return tuple(found)


def _touched(situation: Situation, other: str, numbers: Numbers) -> Situation | None:
    """The signal of a track held at a rail through a few ohms; None for a sensor that drives its output."""
    wiring = situation.wiring
    if wiring is None or wiring.output is not None:
        return None
    supply = Supply(
        feed_v=wiring.feed_v,
        ground_v=wiring.ground_offset_v,
        feed_ohm=wiring.lead_feed_ohm,
        ground_ohm=wiring.lead_ground_ohm,
    )
    tap = Track(track_ohm=wiring.track_ohm, wiper_ohm=wiring.wiper_ohm, supply=supply).at(situation.shares)
    to_v = situation.feed_v if other == "feed" else 0.0
    held = with_shunt(in_series(tap, wiring.lead_wiper_ohm), numbers["touch"] + _BARE_OHM, to_v=to_v)
    level = np.asarray(held.volts) / situation.feed_v
    port = VoltagePort(low=level, high=level, source_ohm=held.ohms)
    bare = replace(wiring, output=port, ground_offset_v=0.0, lead_wiper_ohm=0.0, supply_a=0.0)
    return replace(situation, link=bare)


def ends_swapped(situation: Situation, numbers: Numbers) -> Situation:
    """Feed and ground change places at the ends of the track."""
    arms = situation.arms or {}
    turned = {"feed": arms["ground"], "signal": arms["signal"], "ground": arms["feed"]}
    return replace(situation, arms=turned, shares=1.0 - situation.shares)


def signal_swapped(other: str) -> Change:
    """The signal's contact changes places with that of the feed or of the ground.

    The wiper is then fed, or grounded, and an end of the track is taken for the signal: it stands at the
    voltage of a short track between the fed contacts, behind the rest of the real one.
    """

    def change(situation: Situation, numbers: Numbers) -> Situation:
        arms, wiring = dict(situation.arms or {}), situation.wiring
        arms["signal"], arms[other] = arms[other], arms["signal"]
        if wiring is None:
            return replace(situation, arms=arms)
        contact = np.maximum(numbers.get("contact", wiring.wiper_ohm), _BARE_OHM)
        below = situation.shares * wiring.track_ohm
        above = wiring.track_ohm - below
        kept, rest = (below, above) if other == "feed" else (above, below)
        track = contact + kept
        net = replace(wiring, track_ohm=track, wiper_ohm=rest)
        shares = kept / track if other == "feed" else contact / track
        return replace(situation, arms=arms, shares=np.asarray(shares), link=net)

    return change


def ends_touching(situation: Situation, numbers: Numbers) -> Situation:
    """Feed and ground touch in the cable or the sensor: no current is left for the track."""
    fed = situation.feed_v * 0.0
    net = None if situation.wiring is None else replace(situation.wiring, feed_v=fed)
    bridged = replace(situation, bridge=("feed", "ground"), bridge_ohm=numbers["touch"])
    return bridged if net is None else replace(bridged, link=net)


def missing_pulls(bench: Bench) -> tuple[Variant, ...]:
    """Each resistor at lead or pin that the file has, not there."""
    wiring = bench.axis.part("wiring")
    return tuple(
        Variant(change=_without(name), where=f"the {label}")
        for name, label in (("pull_down_ohm", "pull-down"), ("pull_up_ohm", "pull-up"))
        if getattr(wiring, name, None) is not None
    )


def _without(name: str) -> Change:
    def change(situation: Situation, numbers: Numbers) -> Situation:
        wiring = situation.wiring
        if wiring is None:
            return situation
        down, up = wiring.pull_down_ohm, wiring.pull_up_ohm
        down, up = (OPEN, up) if name == "pull_down_ohm" else (down, OPEN)
        return replace(situation, link=replace(wiring, pull_down_ohm=down, pull_up_ohm=up))

    return change


def pull_left_on(bench: Bench) -> tuple[Variant, ...]:
    """The controller's own pull-up, where the file has none."""
    if not bench.analogue or getattr(bench.axis.part("wiring"), "pull_own_ohm", None) is not None:
        return ()
    fixed = getattr(bench.axis.part("converter"), "reference_v", None)

    def change(situation: Situation, numbers: Numbers) -> Situation:
        wiring = situation.wiring
        if wiring is None:
            return situation
        rail = fixed.nominal if isinstance(fixed, Spread) else situation.feed_v
        net = replace(wiring, pull_own_ohm=numbers["own pull"], pull_own_v=rail)
        return replace(situation, link=net)

    low, high = OWN_PULL
    return (Variant(unknowns=(Unknown(key="own pull", low=low, high=high, by_ratio=True),), change=change),)


def wrong_rail(bench: Bench) -> tuple[Variant, ...]:
    """The feed below or above what it may be."""
    low, high = feed_limits(bench.axis)
    spans = ((DEAD_V, low, "lower"), (high, max(OTHER_RAIL_V, 2.0 * high), "higher"))
    own = Unknown(key=OWN_RAIL, low=low, high=high)
    return tuple(
        Variant(
            unknowns=(own, Unknown(key=FEED, low=least, high=most, by_ratio=True)),
            where=f"a {word} one",
        )
        for least, most, word in spans
        if least < most
    )


def fixed_share(situation: Situation, numbers: Numbers) -> Situation:
    """The same output wherever the axis stands: nothing arrives, or nothing turns."""
    still: Array = 0.0 * situation.shares + numbers["still"]
    return replace(situation, shares=still)


def unfed(situation: Situation, numbers: Numbers) -> Situation:
    """No feed at the plug, and so the same output wherever the axis stands."""
    return replace(fixed_share(situation, numbers), feed_v=numbers[DEAD_FEED])
