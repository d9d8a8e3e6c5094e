"""Drums: a rope wound on one, or the wire of a draw-wire sensor; both turn the sensor's shaft."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import Number, Port, Values, numbers_of
from anglewright.links.ratio import (
    TURN,
    ConstantRatio,
    behind_motion,
    stretch_key,
    takes_length,
    travel_figure,
)
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind


def drum_travel(drum_m: Numeric, *, rope_m: Numeric, layer: int) -> Numeric:
    r"""Rope per turn of a drum, at the middle of the rope.

    Parameters
    ----------
    drum_m : float or array
        Diameter of the bare drum. [m]
    rope_m : float or array
        Diameter of the rope. [m]
    layer : int
        Layer that is being wound, the first one 1. [1]

    Returns
    -------
    float or array
        Travel per turn. [m]

    Notes
    -----
    :math:`\pi (D + (2 n - 1) d)`, for layers that stack plainly; a rope that beds into the grooves of the
    layer below gives less.

    References
    ----------
    derived

    Examples
    --------
    A drum of 50 mm with a 4 mm rope takes up 169.6 mm a turn, 194.8 mm in the second layer:

    >>> [round(1e3 * drum_travel(50e-3, rope_m=4e-3, layer=n), 3) for n in (1, 2)]
    [169.646, 194.779]
    """
    return float(np.pi) * (drum_m + (2 * layer - 1) * rope_m)


def _drive(
    travel_m: Numeric, upstream: Port, *, stretch_m: Numeric, numbers: Values, formula: str
) -> ConstantRatio:
    return ConstantRatio(
        ratio=TURN / travel_m,
        half_play=0.0,
        clamped_at=behind_motion(upstream),
        stretch=stretch_m,
        rotary=False,
        figures=(travel_figure(formula, numbers, travel_m=travel_m, source="derived"),),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DrumPart:
    """A rope under tension on one layer of a drum, the drum on the sensor's shaft; it has no free motion."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "drum"
    label: ClassVar[str] = "Drum and rope"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="diameter",
            field="drum_m",
            meaning="diameter of the bare drum",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example="50 mm",
        ),
        QuantityKey(
            name="rope",
            field="rope_m",
            meaning="diameter of the rope",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example="4 mm",
        ),
        WholeKey(
            name="layer",
            field="layer",
            meaning="layer that is wound over the whole motion, the first one 1",
            least=1,
            most=20,
            default=1,
        ),
        stretch_key("rope"),
    )
    drum_m: Spread
    rope_m: Spread
    layer: int
    stretch_m: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Both diameters and the stretch."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The drum with plain numbers, behind a motion along a line."""
        drum, rope = values["drum_m"], values["rope_m"]
        return _drive(
            drum_travel(drum, rope_m=rope, layer=self.layer),
            upstream,
            stretch_m=values["stretch_m"],
            numbers={"D": 1e3 * drum, "d": 1e3 * rope, "n": float(self.layer)},
            formula="pi * (D + (2 * n - 1) * d)",
        )

    def describe(self) -> str:
        """Drum, rope and layer."""
        drum, rope = (1e3 * each.nominal for each in (self.drum_m, self.rope_m))
        return f"Drum of {drum:g} mm, {rope:g} mm rope, layer {self.layer}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A turning motion."""
        return takes_length(upstream)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawWirePart:
    """A measuring wire on a drum under a spring: the wire is drawn out by the axis, without free motion."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "draw-wire"
    label: ClassVar[str] = "Draw-wire"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="travel_per_turn",
            field="travel_m",
            meaning="travel per turn of the drum, its circumference at the middle of the wire",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example="200 mm",
        ),
        QuantityKey(
            name="wire",
            field="wire",
            meaning="tolerance of the wire, as a share of what is drawn out",
            kinds=(Kind.FRACTION,),
            default="0.1 %",
            tolerance=True,
        ),
        stretch_key("wire"),
    )
    travel_m: Spread
    wire: Spread
    stretch_m: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Travel per turn, the wire's tolerance and its stretch."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The drum with plain numbers, behind a motion along a line."""
        travel, wire = values["travel_m"], values["wire"]
        return _drive(
            travel * (1.0 + wire),
            upstream,
            stretch_m=values["stretch_m"],
            numbers={"s_0": 1e3 * travel, "w": wire},
            formula="s_0 * (1 + w)",
        )

    def describe(self) -> str:
        """Travel per turn."""
        return f"Draw-wire, {1e3 * self.travel_m.nominal:g} mm per turn"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A turning motion."""
        return takes_length(upstream)


PARTS = (DrumPart, DrawWirePart)
