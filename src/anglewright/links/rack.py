"""Rack and pinion: a length turns the pinion on the sensor's shaft."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import Number, Port, Values, numbers_of
from anglewright.links.ratio import (
    SEAT_KEYS,
    TURN,
    ConstantRatio,
    behind_motion,
    felt_half,
    flat_backlash,
    seat_problems,
    takes_length,
    travel_figure,
)
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind


def rack_travel(module_m: Numeric, *, teeth: int) -> Numeric:
    r"""Travel of a rack per turn of its pinion: the pitch circle unrolled. [m]

    Notes
    -----
    :math:`\pi m z`, exact at the pitch line whatever the centre distance.

    References
    ----------
    iso54

    Examples
    --------
    A pinion of 20 teeth, module 1 mm: ten turns of a sensor span 628.3 mm.

    >>> round(10e3 * rack_travel(1e-3, teeth=20), 1)
    628.3
    """
    return float(np.pi) * module_m * teeth


@dataclass(frozen=True, slots=True, kw_only=True)
class RackPart:
    """A straight rack on the axis and a pinion on the sensor's shaft."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "rack"
    label: ClassVar[str] = "Rack and pinion"
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="teeth",
            field="pinion_teeth",
            meaning="teeth of the pinion",
            least=4,
            most=1000,
            required=True,
            example=20,
        ),
        QuantityKey(
            name="module",
            field="module_m",
            meaning="module of the rack, its pitch over pi",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example="1 mm",
        ),
        flat_backlash("rack", default="0.1 mm"),
        *SEAT_KEYS,
    )
    pinion_teeth: int
    module_m: Spread
    backlash_m: Spread
    sensor_at: str = "joint"
    flank: str = "friction"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Module and backlash."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The rack with plain numbers, behind a motion along a line."""
        module, teeth = values["module_m"], self.pinion_teeth
        travel = rack_travel(module, teeth=teeth)
        numbers = {"m": 1e3 * module, "z": float(teeth)}
        return ConstantRatio(
            ratio=TURN / travel,
            half_play=felt_half(values["backlash_m"] / 2.0, sensor_at=self.sensor_at, flank=self.flank),
            clamped_at=behind_motion(upstream),
            rotary=False,
            figures=(travel_figure("pi * m * z", numbers, travel_m=travel, source="iso54"),),
        )

    def describe(self) -> str:
        """Module and teeth."""
        return f"Rack, module {1e3 * self.module_m.nominal:g} mm, pinion of {self.pinion_teeth}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A turning motion, or a flank that nothing holds."""
        return takes_length(upstream) or seat_problems(self.sensor_at, self.flank)


PARTS = (RackPart,)
