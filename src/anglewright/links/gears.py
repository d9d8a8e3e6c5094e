"""Gears from the axis to the sensor: a ratio of teeth, and backlash."""

from dataclasses import dataclass
from functools import lru_cache
from math import prod
from typing import ClassVar

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey, TeethKey
from anglewright.links.protocol import Number, Port, Values, numbers_of
from anglewright.links.ratio import (
    SEAT_KEYS,
    ConstantRatio,
    Figure,
    behind_motion,
    felt_half,
    seat_problems,
    takes_angle,
)
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind


def ratio_of(teeth: tuple[int, ...]) -> float:
    """Turns of the sensor per turn of the axis, from teeth in pairs axis to sensor. [1]

    Examples
    --------
    48 teeth on the joint driving 24 on the sensor:

    >>> ratio_of((48, 24))
    2.0
    """
    return prod(teeth[::2]) / prod(teeth[1::2])


def backlash_angle(backlash_m: Numeric, *, module_m: Numeric, teeth: int) -> Numeric:
    r"""Free turn of a gear whose mate is held. [rad]

    Parameters
    ----------
    backlash_m : float or array
        Circumferential backlash at the pitch circle, total. [m]
    module_m : float or array
        Module: pitch diameter over number of teeth. [m]
    teeth : int
        Teeth of the gear that turns. [1]

    Returns
    -------
    float or array
        Total free turn. [rad]

    Notes
    -----
    :math:`2 j / d` with the pitch diameter :math:`d = m z`.

    References
    ----------
    iso54

    Examples
    --------
    0.1 mm on a pitch circle of 50 mm is 0.229 deg:

    >>> from math import degrees
    >>> round(degrees(backlash_angle(0.1e-3, module_m=1e-3, teeth=50)), 5)
    0.22918
    """
    return 2.0 * backlash_m / (module_m * teeth)


def train_play(backlash_m: Numeric, *, module_m: Numeric, teeth: tuple[int, ...]) -> Numeric:
    r"""Free turn of the axis of a gear train whose last gear is held. [rad]

    Parameters
    ----------
    backlash_m : float or array
        Circumferential backlash of each mesh at its pitch circles, total. [m]
    module_m : float or array
        Module of the gears. [m]
    teeth : tuple of int
        Teeth in pairs from the axis to the sensor. [1]

    Returns
    -------
    float or array
        Total free turn at the axis. [rad]

    Notes
    -----
    The free turn of each mesh at its driving gear counts divided by the ratio before it:
    :math:`\sum_k \frac{2 j}{m z_{2k-1}} \Big/ \prod_{i<k} \frac{z_{2i-1}}{z_{2i}}`.

    References
    ----------
    iso54

    Examples
    --------
    48 : 24 and 36 : 12, 0.1 mm in each mesh of module 1 mm: the second mesh counts half.

    >>> first = backlash_angle(0.1e-3, module_m=1e-3, teeth=48)
    >>> second = backlash_angle(0.1e-3, module_m=1e-3, teeth=36)
    >>> train_play(0.1e-3, module_m=1e-3, teeth=(48, 24, 36, 12)) == first + second / 2
    True
    """
    total: Numeric = 0.0
    for mesh in range(0, len(teeth), 2):
        free = backlash_angle(backlash_m, module_m=module_m, teeth=teeth[mesh])
        total = total + free / ratio_of(teeth[:mesh])
    return total


@lru_cache
def _figure(teeth: tuple[int, ...]) -> Figure:
    names = [f"z{k + 1}" for k in range(len(teeth))]
    return Figure(
        symbol="N",
        meaning="turns of the sensor per turn of the axis",
        formula=f"({' * '.join(names[::2])}) / ({' * '.join(names[1::2])})",
        numbers=dict(zip(names, map(float, teeth), strict=True)),
        result=ratio_of(teeth),
        unit="",
        source="iso54",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class GearsPart:
    """A train of spur gears; teeth from the axis to the sensor, in pairs that mesh.

    Module and backlash are those of every mesh; meshes that differ are described as stages.
    """

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "gears"
    label: ClassVar[str] = "Gears"
    KEYS: ClassVar[tuple[Key, ...]] = (
        TeethKey(name="gears", field="teeth", meaning="teeth from the axis to the sensor", required=True),
        QuantityKey(
            name="backlash",
            field="backlash_m",
            meaning="backlash of the gears, total, of each mesh at its pitch circle",
            kinds=(Kind.LENGTH,),
            default="0.1 mm",
            persistence=Persistence.BUILD,
            least=0.0,
            cured_by=ONE_SIDED,
        ),
        QuantityKey(
            name="module",
            field="module_m",
            meaning="module of the gears",
            kinds=(Kind.LENGTH,),
            default="1 mm",
            above=0.0,
        ),
        *SEAT_KEYS,
    )
    teeth: tuple[int, ...]
    backlash_m: Spread
    module_m: Spread
    sensor_at: str = "joint"
    flank: str = "friction"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Backlash and module."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The train with plain numbers, behind a rotary motion."""
        free = train_play(values["backlash_m"], module_m=values["module_m"], teeth=self.teeth)
        return ConstantRatio(
            ratio=ratio_of(self.teeth),
            half_play=felt_half(free / 2.0, sensor_at=self.sensor_at, flank=self.flank),
            clamped_at=behind_motion(upstream),
            figures=(_figure(self.teeth),),
        )

    def describe(self) -> str:
        """The teeth."""
        return "Gears " + " : ".join(str(count) for count in self.teeth)

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion along a line: nothing here turns it into a turn of the shaft."""
        return takes_angle(upstream) or seat_problems(self.sensor_at, self.flank)


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectPart:
    """The sensor sits on the axis itself: one turn per turn, nothing that could play."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "direct"
    label: ClassVar[str] = "Direct"
    KEYS: ClassVar[tuple[Key, ...]] = ()

    @property
    def numbers(self) -> tuple[Number, ...]:
        """None."""
        return ()

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """One to one without backlash."""
        clamped_at = behind_motion(upstream)
        return ConstantRatio(ratio=1.0, half_play=0.0, clamped_at=clamped_at, figures=(_figure((1, 1)),))

    def describe(self) -> str:
        """One to one."""
        return "On the axis itself"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion along a line: nothing here turns it into a turn of the shaft."""
        return takes_angle(upstream)


PARTS = (GearsPart, DirectPart)
