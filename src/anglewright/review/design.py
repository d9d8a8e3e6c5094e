"""What the themes of a review look at: an axis with nominal numbers, and its circuit where it has one."""

from dataclasses import dataclass

import numpy as np

from anglewright.chain import Chain
from anglewright.circuits import Numeric
from anglewright.links.converter import Converter
from anglewright.links.potentiometer import Potentiometer, PotentiometerPart
from anglewright.links.protocol import Array
from anglewright.links.wiring import Wiring, WiringPart
from anglewright.quantities.showing import show
from anglewright.rig import Axis, at_nominal, realise

POSITIONS = 1351  # looked at over the range, both ends included [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Design:
    """An axis and its chain with nominal numbers."""

    axis: Axis
    chain: Chain

    @property
    def positions(self) -> Array:
        """Positions closely over the working range, shape (1351,). [m or rad]"""
        return self.axis.positions(POSITIONS)

    def number(self, length: float) -> float:
        """A difference of positions as a number in the unit of the axis. [unit of the axis]"""
        return self.axis.unit.difference_from_si(float(length))

    def text(self, length: float, *, digits: int = 4) -> str:
        """A position or a difference of positions as a user reads it."""
        return show(float(length), self.axis.unit, digits=digits)

    def half_play(self, index: int) -> float:
        """Half the free motion of one link, seen at the axis. [m or rad]"""
        q = self.axis.motion.high
        part = Chain(self.chain.links[: index + 1])
        reached = part.forward(q, side=1, at=index)
        return abs(float(part.backward(reached)) - q)

    @property
    def half_plays(self) -> dict[str, float]:
        """Half the free motion at the axis by room, of the links that have one. [m or rad]"""
        rooms = [part.room for part in self.axis.chain_parts]
        halves = {
            room: self.half_play(index)
            for index, (room, link) in enumerate(zip(rooms, self.chain.links, strict=True))
            if np.any(link.lag)
        }
        return {room: half for room, half in halves.items() if half > 0.0}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Circuit(Design):
    """A resistive track, the wiring behind it and the converter at the end."""

    sensor: PotentiometerPart
    wiring: WiringPart
    track: Potentiometer
    net: Wiring
    converter: Converter
    sensor_at: int

    def turn(self, q: Numeric) -> Numeric:
        """Turn of the sensor since it was clamped, with nothing in its way. [rad]"""
        return Chain(self.chain.links[: self.sensor_at]).forward(q)

    def share(self, q: Numeric) -> Numeric:
        """Share of the track below the wiper at a position. [1]"""
        return Chain(self.chain.links[: self.sensor_at + 1]).forward(q)

    def place(self, share: float) -> float:
        """Position at which the wiper stands at a share of the track. [m or rad]"""
        return float(Chain(self.chain.links[: self.sensor_at + 1]).backward(share))

    @property
    def span(self) -> float:
        """Motion of the axis that the whole electrical travel stands for. [m or rad]"""
        return abs(self.place(1.0) - self.place(0.0))

    @property
    def shares(self) -> Array:
        """Shares of the track over the working range, shape (1351,). [1]"""
        return np.asarray(self.share(self.positions))

    @property
    def sensor_reading(self) -> float:
        """Share of the track at which the sensor was clamped. [1]"""
        return float(self.track.reading)

    @property
    def clamping_error(self) -> float:
        """How far off the clamping may be, at the sensor's shaft. [rad]"""
        numbers = self.axis.part("mount").numbers
        return sum(float(n.variate.limits[1] - n.variate.mean) for n in numbers if n.field == "error_rad")

    @property
    def feed(self) -> float:
        """Nominal voltage across the track. [V]"""
        return self.wiring.feed_v.nominal

    @property
    def reference(self) -> float:
        """Nominal full scale of the converter. [V]"""
        return float(self.converter.reference_v)

    @property
    def pulled(self) -> bool:
        """True where a resistor holds the wiper's lead or the pin."""
        return self.wiring.pull_down_ohm is not None or self.wiring.pull_up_ohm is not None


def design_of(axis: Axis) -> Design:
    """The axis with nominal numbers; a `Circuit` where its sensor is a track behind analogue wiring."""
    chain = realise(axis, at_nominal)
    rooms = [part.room for part in axis.chain_parts]
    sensor, wiring = axis.part("sensor"), axis.part("wiring")
    links = dict(zip(rooms, chain.links, strict=True))
    track, net, converter = links["sensor"], links["wiring"], links["converter"]
    if not (
        isinstance(sensor, PotentiometerPart)
        and isinstance(wiring, WiringPart)
        and isinstance(track, Potentiometer)
        and isinstance(net, Wiring)
        and isinstance(converter, Converter)
    ):
        return Design(axis=axis, chain=chain)
    return Circuit(
        axis=axis,
        chain=chain,
        sensor=sensor,
        wiring=wiring,
        track=track,
        net=net,
        converter=converter,
        sensor_at=rooms.index("sensor"),
    )
