"""What the themes of a review look at: an axis with nominal numbers, and its circuit where it has one."""

from dataclasses import dataclass

import numpy as np

from anglewright.angles import TURN
from anglewright.chain import Chain
from anglewright.circuits import Numeric
from anglewright.links.converter import Converter, ConverterPart
from anglewright.links.potentiometer import Potentiometer, PotentiometerPart
from anglewright.links.protocol import Array
from anglewright.links.track import place_of, share_of
from anglewright.links.wiring import Wiring, WiringPart
from anglewright.quantities.showing import show
from anglewright.rig import Axis, at_nominal, realise

POSITIONS = 1351  # looked at over the range, both ends included [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Design:
    """An axis and its chain with nominal numbers; `sensor_at` is where the sensor stands in the chain."""

    axis: Axis
    chain: Chain
    sensor_at: int

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
        part = Chain(self.chain.links[: index + 1]).unrounded()
        reached = part.forward(q, side=1, at=index)
        return abs(float(part.backward(reached)) - q)

    @property
    def before_sensor(self) -> Chain:
        """The links up to the sensor, without it."""
        return Chain(self.chain.links[: self.sensor_at])

    @property
    def to_sensor(self) -> Chain:
        """The links up to the sensor and with it, without its steps and its wrap."""
        return Chain(self.chain.links[: self.sensor_at + 1]).unrounded()

    def turn(self, q: Numeric) -> Numeric:
        """Turn of the sensor since it was clamped, with nothing in its way. [rad]"""
        return self.before_sensor.forward(q)

    def share(self, q: Numeric) -> Numeric:
        """Share of the sensor's output at a position; of a track past its end, that of the end. [1]"""
        return self.to_sensor.forward(q)

    def place(self, share: float) -> float:
        """Position at which the sensor's output stands at a share of the whole. [m or rad]"""
        return float(Chain(self.chain.links[: self.sensor_at + 1]).backward(share))

    @property
    def span(self) -> float:
        """Motion that the whole output stands for; as over the range where that ends before. [m or rad]"""
        whole = abs(self.place(1.0) - self.place(0.0))
        if np.isfinite(whole):
            return whole
        return (self.axis.motion.high - self.axis.motion.low) / float(np.ptp(self.shares))

    @property
    def shares(self) -> Array:
        """Shares of the output over the working range, shape (1351,). [1]"""
        return np.asarray(self.share(self.positions))

    @property
    def rad_per_unit(self) -> float:
        """Largest turn of the sensor's shaft for a small motion of the axis. [rad/m or 1]"""
        return float(np.max(np.abs(np.asarray(self.before_sensor.slope(self.positions)))))

    @property
    def turns_per_s(self) -> float:
        """Largest speed of the sensor's shaft at the axis's top speed; 0 where none is stated. [1/s]"""
        speed = self.axis.motion.speed
        return 0.0 if speed is None else speed.nominal * self.rad_per_unit / TURN

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

    @property
    def clamping_error(self) -> float:
        """How far off the clamping may be, at the sensor's shaft. [rad]"""
        numbers = self.axis.part("mount").numbers
        return sum(float(n.variate.limits[1] - n.variate.mean) for n in numbers if n.field == "error_rad")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Analogue(Design):
    """A sensor whose voltage goes over analogue wiring to a converter."""

    wiring: WiringPart
    net: Wiring
    converting: ConverterPart
    converter: Converter

    @property
    def feed(self) -> float:
        """Nominal feed of the sensor. [V]"""
        return self.wiring.feed_v.nominal

    @property
    def reference(self) -> float:
        """Nominal full scale of the converter. [V]"""
        return float(self.converter.reference_v)

    @property
    def pulled(self) -> bool:
        """True where a resistor holds the signal's wire or the pin."""
        return self.wiring.pull_down_ohm is not None or self.wiring.pull_up_ohm is not None

    @property
    def full_level(self) -> float:
        """What the sensor gives at most without load, as a share of its feed. [1]"""
        return 1.0 if self.net.output is None else float(np.mean(self.net.output.high))

    @property
    def wire(self) -> str:
        """What the signal's wire is called."""
        return "wiper" if self.net.output is None else "signal wire"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Circuit(Analogue):
    """A resistive track, the wiring behind it and the converter at the end."""

    sensor: PotentiometerPart
    track: Potentiometer

    @property
    def clamped_place(self) -> float:
        """Share of the track below the wiper where the sensor was clamped. [1]"""
        return float(self.on_track(float(self.track.reading)))

    def on_track(self, share: Numeric) -> Numeric:
        """Share of the track below the wiper for a share of the output: less the ends' resistance. [1]"""
        return place_of(share, track_ohm=self.track.track_ohm, end_ohm=self.track.end_ohm)

    def reading_of(self, place: Numeric) -> Numeric:
        """Share of the output for a share of the track: the way back of `on_track`. [1]"""
        return share_of(place, track_ohm=self.track.track_ohm, end_ohm=self.track.end_ohm)

    @property
    def travel_span(self) -> float:
        """Motion of the axis that the whole electrical travel stands for. [m or rad]"""
        ends = self.reading_of(np.array([0.0, 1.0]))
        return self.span * float(np.ptp(ends))


def design_of(axis: Axis) -> Design:
    """The axis with nominal numbers: `Analogue` behind analogue wiring, a `Circuit` where it has a track."""
    chain = realise(axis, at_nominal)
    rooms = [part.room for part in axis.chain_parts]
    at, links = rooms.index("sensor"), dict(zip(rooms, chain.links, strict=True))
    sensor, wiring, converting = (axis.part(room) for room in ("sensor", "wiring", "converter"))
    net, track, converter = links["wiring"], links["sensor"], links["converter"]
    if not (
        isinstance(wiring, WiringPart)
        and isinstance(net, Wiring)
        and isinstance(converting, ConverterPart)
        and isinstance(converter, Converter)
    ):
        return Design(axis=axis, chain=chain, sensor_at=at)
    plain = Analogue(
        axis=axis,
        chain=chain,
        sensor_at=at,
        wiring=wiring,
        net=net,
        converting=converting,
        converter=converter,
    )
    if not (isinstance(sensor, PotentiometerPart) and isinstance(track, Potentiometer)):
        return plain
    return _with_track(plain, sensor, track)


def _with_track(plain: Analogue, sensor: PotentiometerPart, track: Potentiometer) -> Circuit:
    return Circuit(
        axis=plain.axis,
        chain=plain.chain,
        sensor_at=plain.sensor_at,
        wiring=plain.wiring,
        net=plain.net,
        converting=plain.converting,
        converter=plain.converter,
        sensor=sensor,
        track=track,
    )
