"""Roller chains and toothed belts: along a line over one wheel, or between two shafts."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import ClampedPort, Number, Port, Values, numbers_of
from anglewright.links.ratio import (
    SEAT_KEYS,
    TURN,
    ConstantRatio,
    Figure,
    behind_motion,
    felt_half,
    flat_backlash,
    seat_problems,
    stretch_key,
    travel_figure,
)
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind


def sprocket_diameter(pitch_m: Numeric, *, teeth: int) -> Numeric:
    r"""Pitch diameter of a sprocket of a roller chain: the circle through the pins. [m]

    Notes
    -----
    :math:`p / \sin(\pi / z)`. Its circumference is more than the travel per turn, :math:`z p`, because
    the chain lies on it as a polygon.

    References
    ----------
    iso606

    Examples
    --------
    A chain of 12.7 mm pitch on 16 teeth:

    >>> round(1e3 * sprocket_diameter(12.7e-3, teeth=16), 2)
    65.1
    """
    return pitch_m / float(np.sin(np.pi / teeth))


def pulley_diameter(pitch_m: Numeric, *, teeth: int) -> Numeric:
    r"""Pitch diameter of a pulley of a toothed belt, on the belt's cord line; it lies outside the pulley. [m]

    Notes
    -----
    :math:`z p / \pi`.

    References
    ----------
    iso5296

    Examples
    --------
    >>> round(1e3 * pulley_diameter(2e-3, teeth=20), 3)
    12.732
    """
    return pitch_m * teeth / float(np.pi)


def speed_ripple(teeth: int) -> float:
    r"""Drop of a chain's speed between two teeth, as a share of its highest speed, at a steady turn. [1]

    Notes
    -----
    :math:`1 - \cos(\pi / z)`: the radius at which the chain leaves the polygon varies. Over whole pitches
    the travel is exact; within one it departs by about 0.1 % of a pitch at 16 teeth, far less than the slack.

    References
    ----------
    iso606

    Examples
    --------
    >>> f"{100 * speed_ripple(16):.2f} % at 16 teeth, {100 * speed_ripple(11):.2f} % at 11"
    '1.92 % at 16 teeth, 4.05 % at 11'
    """
    return 1.0 - float(np.cos(np.pi / teeth))


def _wheel_keys(wheel: str, pitch: str) -> tuple[Key, ...]:
    return (
        QuantityKey(
            name="pitch",
            field="pitch_m",
            meaning="pitch, from one tooth to the next",
            kinds=(Kind.LENGTH,),
            required=True,
            above=0.0,
            example=pitch,
        ),
        WholeKey(
            name="teeth",
            field="sensor_teeth",
            meaning=f"teeth of the {wheel} on the sensor's shaft",
            least=6,
            most=1000,
            required=True,
            example=20,
        ),
        WholeKey(
            name="axis_teeth",
            field="axis_teeth",
            meaning=f"teeth of the {wheel} on the axis, where it runs between two shafts",
            least=6,
            most=1000,
            example=40,
        ),
    )


def _wheel_problems(axis_teeth: int | None, upstream: Port) -> tuple[Problem, ...]:
    """One wheel for a turning motion, or two for a length."""
    rotary = isinstance(upstream, ClampedPort) and upstream.rotary
    if axis_teeth is None and rotary:
        found = "the motion is an angle, and the teeth on the axis are missing"
        remedy = "Give axis_teeth, or from and to as lengths if the axis moves along the run."
        return (Problem("drive", found, "", remedy),)
    if axis_teeth is not None and not rotary:
        found = "the motion is a length, and axis_teeth is for a wheel that turns with the axis"
        return (Problem("drive", found, "", "Leave axis_teeth out, or give from and to as angles."),)
    return ()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Run:
    """A chain or belt with plain numbers, and the teeth of the wheel on the sensor's shaft."""

    pitch_m: Numeric
    teeth: int
    half_play_m: Numeric
    stretch_m: Numeric
    figures: tuple[Figure, ...]

    def along(self, upstream: Port, *, travel: Figure) -> ConstantRatio:
        """Moved along a line."""
        return ConstantRatio(
            ratio=TURN / (self.pitch_m * self.teeth),
            half_play=self.half_play_m,
            clamped_at=behind_motion(upstream),
            stretch=self.stretch_m,
            rotary=False,
            figures=(*self.figures, travel),
        )

    def between(self, upstream: Port, *, axis_teeth: int, source: str) -> ConstantRatio:
        """Moved by a wheel on the axis: a length along the run is so much turn of that wheel."""
        turn_per_length = TURN / (self.pitch_m * axis_teeth)
        ratio = Figure(
            symbol="N",
            meaning="turns of the sensor per turn of the axis",
            formula="z1 / z2",
            numbers={"z1": float(axis_teeth), "z2": float(self.teeth)},
            result=axis_teeth / self.teeth,
            unit="",
            source=source,
        )
        return ConstantRatio(
            ratio=axis_teeth / self.teeth,
            half_play=self.half_play_m * turn_per_length,
            clamped_at=behind_motion(upstream),
            stretch=self.stretch_m * turn_per_length,
            figures=(*self.figures, ratio),
        )


def _chain_figures(pitch_m: Numeric, teeth: int) -> tuple[Figure, ...]:
    diameter = Figure(
        symbol="PD",
        meaning="pitch diameter of the sprocket on the sensor's shaft",
        formula="p / sin(pi / z)",
        numbers={"p": 1e3 * pitch_m, "z": float(teeth)},
        result=1e3 * sprocket_diameter(pitch_m, teeth=teeth),
        unit="mm",
        source="iso606",
    )
    ripple = Figure(
        symbol="r_v",
        meaning="drop of speed within a pitch, whole pitches being exact",
        formula="1 - cos(pi / z)",
        numbers={"z": float(teeth)},
        result=speed_ripple(teeth),
        unit="",
        source="iso606",
    )
    return (diameter, ripple)


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainPart:
    """A roller chain that moves along a line over one sprocket, or runs from the axis to the sensor."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "chain"
    label: ClassVar[str] = "Roller chain"
    KEYS: ClassVar[tuple[Key, ...]] = (
        *_wheel_keys("sprocket", "12.7 mm"),
        flat_backlash("chain", default="1 mm"),
        QuantityKey(
            name="wear",
            field="wear",
            meaning="lengthening of the chain by wear, as a share of its pitch",
            kinds=(Kind.FRACTION,),
            default="0 %",
            persistence=Persistence.CONDITION,
        ),
        stretch_key("chain"),
        *SEAT_KEYS,
    )
    pitch_m: Spread
    sensor_teeth: int
    axis_teeth: int | None
    backlash_m: Spread
    wear: Spread
    stretch_m: Spread
    sensor_at: str = "joint"
    flank: str = "friction"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Pitch, backlash, wear and stretch."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The chain with plain numbers."""
        new, wear, teeth = values["pitch_m"], values["wear"], self.sensor_teeth
        pitch = new * (1.0 + wear)
        run = _Run(
            pitch_m=pitch,
            teeth=teeth,
            half_play_m=felt_half(values["backlash_m"] / 2.0, sensor_at=self.sensor_at, flank=self.flank),
            stretch_m=values["stretch_m"],
            figures=_chain_figures(pitch, teeth),
        )
        if self.axis_teeth is not None:
            return run.between(upstream, axis_teeth=self.axis_teeth, source="iso606")
        numbers = {"z": float(teeth), "p": 1e3 * new, "w": wear}
        travel = travel_figure("z * p * (1 + w)", numbers, travel_m=teeth * pitch, source="iso606")
        return run.along(upstream, travel=travel)

    def describe(self) -> str:
        """Pitch and teeth."""
        return f"Chain, {1e3 * self.pitch_m.nominal:g} mm, {_wheels(self.axis_teeth, self.sensor_teeth)}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Wheels that do not suit the motion, or a flank that nothing holds."""
        return _wheel_problems(self.axis_teeth, upstream) or seat_problems(self.sensor_at, self.flank)


def _wheels(axis_teeth: int | None, sensor_teeth: int) -> str:
    return f"{sensor_teeth} teeth" if axis_teeth is None else f"{axis_teeth} : {sensor_teeth}"


@dataclass(frozen=True, slots=True, kw_only=True)
class BeltPart:
    """A toothed belt that moves along a line over one pulley, or runs from the axis to the sensor."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "belt"
    label: ClassVar[str] = "Toothed belt"
    KEYS: ClassVar[tuple[Key, ...]] = (
        *_wheel_keys("pulley", "2 mm"),
        flat_backlash("belt", default="0.1 mm"),
        stretch_key("belt"),
        *SEAT_KEYS,
    )
    pitch_m: Spread
    sensor_teeth: int
    axis_teeth: int | None
    backlash_m: Spread
    stretch_m: Spread
    sensor_at: str = "joint"
    flank: str = "friction"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Pitch, backlash and stretch."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> ConstantRatio:
        """The belt with plain numbers."""
        pitch, teeth = values["pitch_m"], self.sensor_teeth
        run = _Run(
            pitch_m=pitch,
            teeth=teeth,
            half_play_m=felt_half(values["backlash_m"] / 2.0, sensor_at=self.sensor_at, flank=self.flank),
            stretch_m=values["stretch_m"],
            figures=(),
        )
        if self.axis_teeth is not None:
            return run.between(upstream, axis_teeth=self.axis_teeth, source="iso5296")
        numbers = {"z": float(teeth), "p": 1e3 * pitch}
        travel = travel_figure("z * p", numbers, travel_m=teeth * pitch, source="iso5296")
        return run.along(upstream, travel=travel)

    def describe(self) -> str:
        """Pitch and teeth."""
        return f"Belt, {1e3 * self.pitch_m.nominal:g} mm, {_wheels(self.axis_teeth, self.sensor_teeth)}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Wheels that do not suit the motion, or a flank that nothing holds."""
        return _wheel_problems(self.axis_teeth, upstream) or seat_problems(self.sensor_at, self.flank)


PARTS = (ChainPart, BeltPart)
