"""The secret chain along a path, with planted faults acting each at its own place of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from anglewright.links.protocol import Array, Link
from anglewright.rig import Axis
from anglewright.simulation.faults.protocol import Planted, Scene, Site

BEFORE: Mapping[str, Site] = {
    "coupling": Site.DRIVEN,
    "mount": Site.SHAFT,
    "sensor": Site.TURN,
    "wiring": Site.OUTPUT,
    "converter": Site.INPUT,
}
"""Where what enters the link of a room can be taken hold of."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Plot:
    """Planted faults, the machine they are planted in and the run's end [s]; everything random by `seed`."""

    axis: Axis
    links: tuple[Link, ...]
    planted: tuple[Planted, ...]
    seed: int
    end_s: float

    def scene(self, place: int, *, t: Array, q: Array) -> Scene:
        """What the fault of a place in the list sees at times t [s] and true positions q. [m or rad]"""
        planted = self.planted[place]
        own = [self.seed, crc32(planted.fault.name.encode()), place]
        return Scene(
            axis=self.axis,
            links=self.links,
            t=t,
            q=q,
            size=planted.size,
            since_s=planted.begins(self.end_s),
            chance=np.random.default_rng(own),
        )

    def acted(self, site: Site, signal: Array, *, t: Array, q: Array) -> Array:
        """What passes at a site, once every fault that acts there has acted.

        Parameters
        ----------
        site : Site
            Where.
        signal : array, (N,)
            What passes. [unit of the signal]
        t : array, (N,)
            Times. [s]
        q : array, (N,)
            True positions. [m or rad]

        Returns
        -------
        array, (N,)
            What passes on. [unit of the signal]
        """
        for place, planted in enumerate(self.planted):
            act = planted.fault.acts.get(site)
            if act is not None:
                signal = np.asarray(act(signal, self.scene(place, t=t, q=q)))
        return signal

    @property
    def reads(self) -> int:
        """How many codes go into one reading. [1]"""
        return max([1, *(int(each.size) for each in self.planted if each.fault.reads)])

    def columns(self, *, t: Array, q: Array) -> dict[str, Array]:
        """Columns that the faults add to the log. [each in its own unit]"""
        found: dict[str, Array] = {}
        for place, planted in enumerate(self.planted):
            if planted.fault.columns is not None:
                found |= planted.fault.columns(self.scene(place, t=t, q=q))
        return found

    def rows(self, *, t: Array, q: Array) -> NDArray[np.intp]:
        """Which rows are written, in their order. [1]"""
        kept = np.arange(len(t))
        for place, planted in enumerate(self.planted):
            if planted.fault.rows is not None:
                kept = kept[planted.fault.rows(self.scene(place, t=t[kept], q=q[kept]))]
        return kept


def follow(plot: Plot, *, t: Array, q: Array) -> Array:
    """What enters the converter along a path.

    Parameters
    ----------
    plot : Plot
        The machine and its faults.
    t : array, (N,)
        Times. [s]
    q : array, (N,)
        Positions. [m or rad]

    Returns
    -------
    array, (N,)
        What the converter takes. [unit of its signal]
    """
    signal = q
    for part, link in zip(plot.axis.chain_parts, plot.links, strict=True):
        if part.room in BEFORE:
            signal = plot.acted(BEFORE[part.room], signal, t=t, q=q)
        if link is plot.links[-1]:
            return signal
        signal = (
            _through(plot, link, signal, t=t, q=q)
            if part.room == "wiring"
            else link.follow(signal, t, None)[0]
        )
    return signal


def _through(plot: Plot, link: Link, signal: Array, *, t: Array, q: Array) -> Array:
    """Through the wires, which break one after the other; charge on the pin's capacitor stays."""
    breaks = [
        (each.begins(plot.end_s), place) for place, each in enumerate(plot.planted) if each.fault.circuit
    ]
    starts = [int(np.searchsorted(t, since)) for since, _ in sorted(breaks)]
    pieces, state = [], None
    for first, last, place in zip(
        [0, *starts], [*starts, len(t)], [None, *(p for _, p in sorted(breaks))], strict=True
    ):
        if place is not None:
            act = plot.planted[place].fault.circuit
            assert act is not None
            link = act(link, plot.scene(place, t=t, q=q))
        if first < last:
            piece, state = link.follow(signal[..., first:last], t[first:last], state)
            pieces.append(piece)
    return np.concatenate(pieces, axis=-1)
