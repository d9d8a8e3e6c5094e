"""What can be bought: sensors and drives with price, shaft, life and speed, and what stands behind them."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from anglewright.links.protocol import Part, numbers_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """A band of prices in units of money, and the year it is of. [units of money]"""

    low: float
    high: float
    year: int

    @property
    def middle(self) -> float:
        """What is counted as the cost. [units of money]"""
        return (self.low + self.high) / 2.0

    def times(self, count: int) -> "Price":
        """The band of so many pieces. [units of money]"""
        return Price(low=count * self.low, high=count * self.high, year=self.year)

    def plus(self, other: "Price") -> "Price":
        """The band of both together, of the older year. [units of money]"""
        year = min(self.year, other.year)
        return Price(low=self.low + other.low, high=self.high + other.high, year=year)


NOTHING = Price(low=0.0, high=0.0, year=9999)
"""The price of a drive that is none."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DriveOffer:
    """A drive from the axis to the sensor's shaft, made of pieces that exist.

    `table` is that of the rig file, `pieces` are what to buy and how many of each, `bore_m` is that of the
    piece on the sensor's shaft, None where nothing sits on it. A `built_in` one belongs to a sensor.
    """

    name: str
    part: Part
    table: Mapping[str, Any]
    price: Price
    pieces: tuple[tuple[str, int], ...] = ()
    bore_m: float | None = None
    built_in: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaft:
    """Diameter and form of a sensor's shaft, and the bush or face by which its body is held. [m]"""

    diameter_m: float
    form: str
    bush: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SensorOffer:
    """A class of sensors, and how one of them would be mounted, wired and read.

    `parts` are coupling, mount, sensor, wiring and converter in the order of the chain, as they would stand
    behind the drive; `tables` are those rooms of the rig file that the sensor brings along. Life is in full
    strokes (cycles, there and back) or in turns of the shaft; None where nothing wears. `drive` is the one
    that is built into the sensor, with the longest motion that it takes. [rad/s, V, m]
    """

    name: str
    part: Part
    tables: Mapping[str, Mapping[str, Any]]
    price: Price
    shaft: Shaft
    connector: str
    parts: tuple[Part, ...] = ()
    life_cycles: float | None = None
    life_turns: float | None = None
    top_speed: float | None = None
    supply: tuple[float, float] | None = None
    drive: DriveOffer | None = None
    longest_m: float | None = None
    source: str = ""
    sources: Mapping[str, str] = field(default_factory=dict)

    @property
    def wears(self) -> bool:
        """True where something in it is worn down by turning."""
        return self.life_cycles is not None or self.life_turns is not None

    def price_with(self, drive: DriveOffer) -> Price:
        """Sensor and drive together. [units of money]"""
        return self.price.plus(drive.price)


def clamping_error(offer: SensorOffer) -> float:
    """How far off a sensor may be clamped or homed, at its shaft, either way. [rad]"""
    mount = next(part for part in offer.parts if part.room == "mount")
    numbers = [number for number in numbers_of(mount) if number.field == "error_rad"]
    return max((abs(limit) for number in numbers for limit in number.variate.limits), default=0.0)
