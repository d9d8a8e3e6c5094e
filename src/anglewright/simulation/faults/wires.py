"""Faults of wires: opens, shorts, a pin that floats, a pull left on, a load, a plug put in backwards.

Each is the sound circuit with a few of its values changed, so that the pin moves to its new level with
the time constant that the circuit then has, through every level between.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np

from anglewright.circuits import OPEN, SHORT
from anglewright.links.protocol import Array, Link, VoltagePort
from anglewright.quantities.units import Kind
from anglewright.rig import Axis, at_nominal, realise
from anglewright.simulation.faults.protocol import Fault, Fits, Scene, Site, Size, has_track

LEAK_OHM = 10e6  # through which a floating pin creeps to its rest [ohm]
HUM_HZ = 50.0  # of the mains that a floating pin picks up [Hz]
HUM_V = 0.1  # amplitude of it [V]
FLOATS_ABOVE_OHM = 1e6  # a pin behind more than this is driven by nothing [ohm]
_RESTING_V = 0.9  # where an open wiper's pin comes to rest, where nothing else holds it [V]

_OPEN_FEED: Mapping[str, float] = {"lead_feed_ohm": OPEN}
_OPEN_GROUND: Mapping[str, float] = {"lead_ground_ohm": OPEN}
_OPEN_WIPER: Mapping[str, float] = {"lead_wiper_ohm": OPEN}
_DEAD_SHORT: Mapping[str, float] = {
    "lead_feed_ohm": SHORT,
    "lead_ground_ohm": SHORT,
    "lead_wiper_ohm": SHORT,
    "ground_offset_v": 0.0,
    "supply_a": 0.0,
}
_CUT_AT_PIN: Mapping[str, float] = {
    "lead_wiper_ohm": OPEN,
    "pull_down_ohm": OPEN,
    "pull_up_ohm": OPEN,
    "lower_ohm": OPEN,
    "pull_own_ohm": LEAK_OHM,
    "leakage_a": 0.0,
}


def rewired(link: Link, changes: Mapping[str, Any]) -> Link:
    """The wires with some of their values changed. [SI]"""
    wires: Any = link
    changed: Link = replace(wires, **changes)
    return changed


def fits_wires(names: Mapping[str, float]) -> Fits:
    """Nothing where the wiring of an axis has these values to change, else that it has not."""

    def fits(axis: Axis, size: float) -> str:
        wires: Any = realise(axis, at_nominal).links[-2]
        there = {each.name for each in fields(wires)}
        return "" if set(names) <= there else "its wiring has no such wire"

    return fits


def _is_driven(link: Link) -> bool:
    """True where the sensor drives its output itself, and so gives nothing without feed or ground."""
    return getattr(link, "output", None) is not None


def _without(changes: Mapping[str, float]) -> Callable[[Link, Scene], Link]:
    """A wire of the sensor's supply broken."""
    return lambda link, scene: _open_wiper(link, scene) if _is_driven(link) else rewired(link, changes)


def _shorted(level: float) -> Callable[[Link, Scene], Link]:
    """The signal's wire held at ground or feed, as by an output without resistance."""
    held = VoltagePort(low=level, high=level, source_ohm=SHORT)
    return lambda link, scene: rewired(link, {**_DEAD_SHORT, "output": held})


def _is_held(link: Link) -> bool:
    """True where something beside the wiper holds the pin."""
    wires: Any = link
    return bool(np.all(np.asarray(wires.at_pin(0.5).ohms) < FLOATS_ABOVE_OHM))


def _open_wiper(link: Link, scene: Scene) -> Link:
    cut = rewired(link, _OPEN_WIPER)
    return cut if _is_held(cut) else _floating(link, replace(scene, size=_RESTING_V))


def _floating(link: Link, scene: Scene) -> Link:
    return rewired(link, {**_CUT_AT_PIN, "pull_own_v": scene.size})


def _hum(volts: Array, scene: Scene) -> Array:
    phase = scene.chance.uniform(0.0, 2.0 * np.pi)
    hum = HUM_V * np.sin(2.0 * np.pi * HUM_HZ * scene.t + phase)
    return np.where(scene.on, np.maximum(volts + hum, 0.0), volts)


def _hum_if_open(volts: Array, scene: Scene) -> Array:
    return volts if _is_held(rewired(scene.link("wiring"), _OPEN_WIPER)) else _hum(volts, scene)


def _hum_if_driven(volts: Array, scene: Scene) -> Array:
    return _hum_if_open(volts, scene) if _is_driven(scene.link("wiring")) else volts


def _own_pull(link: Link, scene: Scene) -> Link:
    wires: Any = link
    return rewired(link, {"pull_own_ohm": scene.size, "pull_own_v": wires.feed_v})


def _loaded(link: Link, scene: Scene) -> Link:
    return rewired(link, {"lower_ohm": scene.size})


def _has_no_lower(axis: Axis, size: float) -> str:
    taken = getattr(axis.part("wiring"), "lower_ohm", None)
    return "its wiring has a divider already" if taken else fits_wires({"lower_ohm": 0.0})(axis, size)


def _backwards(share: Array, scene: Scene) -> Array:
    return np.where(scene.on, 1.0 - share, share)


_OHM = (Kind.RESISTANCE,)

FAULTS = (
    Fault(
        name="open-feed",
        meaning="the wire of the feed breaks",
        notes="F04",
        event=True,
        acts={Site.INPUT: _hum_if_driven},
        circuit=_without(_OPEN_FEED),
        fits=fits_wires(_OPEN_FEED),
    ),
    Fault(
        name="open-ground",
        meaning="the wire of the ground breaks",
        notes="F04",
        event=True,
        acts={Site.INPUT: _hum_if_driven},
        circuit=_without(_OPEN_GROUND),
        fits=fits_wires(_OPEN_GROUND),
    ),
    Fault(
        name="open-wiper",
        meaning="the signal's wire breaks at the sensor; a pull holds the pin, else it floats",
        notes="F04",
        event=True,
        acts={Site.INPUT: _hum_if_open},
        circuit=_open_wiper,
        fits=fits_wires(_CUT_AT_PIN),
    ),
    Fault(
        name="short-to-ground",
        meaning="the signal's wire touches the ground",
        notes="list 3",
        event=True,
        circuit=_shorted(0.0),
        fits=fits_wires(_DEAD_SHORT),
    ),
    Fault(
        name="short-to-feed",
        meaning="the signal's wire touches the feed",
        notes="F04",
        event=True,
        circuit=_shorted(1.0),
        fits=fits_wires(_DEAD_SHORT),
    ),
    Fault(
        name="floating",
        meaning="the pin is cut off, pulls and all: it creeps to a rest of so many volts and hums",
        notes="F03",
        size=Size(kinds=(Kind.VOLTAGE,), usual="0.9 V", least=0.0),
        event=True,
        acts={Site.INPUT: _hum},
        circuit=_floating,
        fits=fits_wires(_CUT_AT_PIN),
    ),
    Fault(
        name="pull-up",
        meaning="the controller's own pull-up is left on",
        notes="F18",
        size=Size(kinds=_OHM, usual="20 kohm", least=1.0),
        circuit=_own_pull,
        fits=fits_wires({"pull_own_ohm": OPEN, "pull_own_v": 0.0}),
    ),
    Fault(
        name="load",
        meaning="a resistor from pin to ground that is far too small",
        notes="F18",
        size=Size(kinds=_OHM, usual="220 ohm", least=1.0),
        circuit=_loaded,
        fits=_has_no_lower,
    ),
    Fault(
        name="swapped",
        meaning="feed and ground are swapped: a plug put in backwards",
        notes="list 16",
        acts={Site.OUTPUT: _backwards},
        fits=has_track,
    ),
)
