"""One axis on the bench, many times at once: its three contacts, its circuit, its converter."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from anglewright.circuits import parallel
from anglewright.links.protocol import Array, Link
from anglewright.links.wiring import WireFault, Wiring
from anglewright.testsheet.meter import shown_ohm

PAIRS: Mapping[str, tuple[str, str]] = {
    "resistance-ends": ("feed", "ground"),
    "resistance-low": ("signal", "ground"),
    "resistance-high": ("signal", "feed"),
}
"""Contacts of the plug between which each resistance is measured."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Situation:
    """Rows of one axis with plain numbers, as it stands at each visit; the first visit is for ohms.

    `arms` are the resistances from each contact to the point where all three meet, None for a sensor without
    a track; `bridge` are two contacts that touch, through `bridge_ohm`. `fault` is the wire at fault with the
    plug in, `bare` what the pin sees with it off. `wiring` is None where no voltage is measured.
    """

    shares: Array
    feed_v: Array
    converter: Link
    link: Link
    arms: Mapping[str, Array] | None = None
    bridge: tuple[str, str] | None = None
    bridge_ohm: Any = 0.0
    fault: WireFault | None = None
    bare: WireFault = WireFault.OPEN_WIPER

    @property
    def wiring(self) -> Wiring | None:
        """The circuit, where the signal is a voltage."""
        return self.link if isinstance(self.link, Wiring) else None

    @property
    def ohms(self) -> dict[str, Array]:
        """Resistances between the contacts of the plug, as a meter shows them, (B, 1). [ohm]"""
        if self.arms is None:
            return {}
        return {key: shown_ohm(np.asarray(self._between(*pair))) for key, pair in PAIRS.items()}

    def _between(self, first: str, second: str) -> Array:
        arms = self.arms or {}
        straight = np.asarray(arms[first] + arms[second])
        if self.bridge is None:
            return straight
        near, far = self.bridge
        beside = np.asarray(parallel(np.maximum(self.bridge_ohm, 1e-3), arms[near] + arms[far]))
        if {first, second} == {near, far}:
            return beside
        third = first if first not in self.bridge else second
        touched = second if third == first else first
        other = far if touched == near else near
        around = np.asarray(parallel(arms[touched], arms[other] + np.asarray(self.bridge_ohm)))
        return np.asarray(arms[third] + around)

    @property
    def at_contact(self) -> Array:
        """Voltage at the signal's contact with the plug in, (B, P). [V]"""
        volts = self.wiring.at_contact(self.shares, fault=self.fault) if self.wiring else np.nan
        return np.asarray(volts + 0.0 * self.shares)

    @property
    def codes(self) -> Array:
        """What the converter gives with the plug in, not rounded, (B, P). [count]"""
        sent = self.link.forward(self.shares)
        if self.wiring:
            sent = self.wiring.at_pin(self.shares, fault=self.fault).volts
        return self._coded(np.asarray(sent) + 0.0 * self.shares)

    @property
    def bare_codes(self) -> Array:
        """What the converter gives with the plug off, nan where the pin floats, (B, 1). [count]"""
        first = self.shares[:, :1]
        if self.wiring is None:
            return np.asarray(np.nan * first)
        return self._coded(np.asarray(self.wiring.at_pin(first, fault=self.bare).volts) + 0.0 * first)

    def _coded(self, sent: Array) -> Array:
        floats = np.isnan(sent)
        codes = np.asarray(self.converter.forward(np.where(floats, 0.0, sent)))
        return np.asarray(np.where(floats, np.nan, codes))
