"""A magnet on the end of the shaft over a sensor whose voltage follows the angle, as a share of its feed."""

from dataclasses import dataclass, field
from typing import ClassVar

from anglewright.angles import TURN
from anglewright.errors import Problem
from anglewright.links.absolute import TURN_KEYS, AbsolutePart
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import Number, Port, Values, VoltagePort
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind


def _level_key(end: str, *, default: str) -> QuantityKey:
    return QuantityKey(
        name=f"output_{end}",
        field=f"{end}_share",
        meaning=f"{'lowest' if end == 'low' else 'highest'} level of the output, as a share of the feed",
        kinds=(Kind.FRACTION,),
        default=default,
        least=0.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class MagneticPart(AbsolutePart):
    """A magnetic absolute sensor with a ratiometric voltage, from one level to another over one turn.

    Where the turn begins anew the voltage falls from the highest level to the lowest: a converter or a
    filter caught in that fall gives values in between.
    """

    kind: ClassVar[str] = "magnetic"
    label: ClassVar[str] = "Magnetic sensor"
    KEYS: ClassVar[tuple[Key, ...]] = (
        _level_key("low", default="10 %"),
        _level_key("high", default="90 %"),
        WholeKey(
            name="resolution",
            field="resolution",
            meaning="resolution inside the sensor, over one turn",
            least=6,
            most=24,
            default=12,
            kind=Kind.BITS,
        ),
        QuantityKey(
            name="source_resistance",
            field="source_ohm",
            meaning="resistance behind the output of the sensor",
            kinds=(Kind.RESISTANCE,),
            default="100 ohm",
            least=0.0,
        ),
        *TURN_KEYS,
    )
    low_share: Spread
    high_share: Spread
    resolution: int
    source_ohm: Spread
    between_rad: Spread = field(init=False, repr=False, compare=False, default=Spread(nominal=0.0))

    def __post_init__(self) -> None:
        """Half a step inside the sensor, either way."""
        half = TURN / self.positions_a_turn / 2.0
        between = Spread(nominal=0.0, below=half, above=half, persistence=Persistence.MOTION)
        object.__setattr__(self, "between_rad", between)

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Those numbers that the reading depends on, and the steps inside."""
        steps = Number(
            room=self.room,
            field="between_rad",
            name="resolution",
            meaning="steps inside the sensor",
            cured_by="a sensor of finer steps",
            variate=self.between_rad,
        )
        return (*self.stated, steps)

    @property
    def positions_a_turn(self) -> int:
        """Steps inside the sensor over one turn. [1]"""
        return int(2**self.resolution)

    def sends(self, values: Values) -> VoltagePort:
        """Its levels at both ends of the turn, and the resistance behind them."""
        return VoltagePort(
            low=values["low_share"], high=values["high_share"], source_ohm=values["source_ohm"]
        )

    def describe(self) -> str:
        """Its output and the resolution inside."""
        low, high = 100 * self.low_share.nominal, 100 * self.high_share.nominal
        return f"Magnetic, {low:g} to {high:g} % of the feed, {self.resolution} bit inside"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """Levels that do not rise or lie beyond the feed, or a motion that one turn cannot tell."""
        lowest, highest = 100 * self.low_share.limits[1], 100 * self.high_share.limits[0]
        if highest > lowest and self.high_share.nominal <= 1.0:
            return AbsolutePart.objections(self, low, high, upstream)
        found = f"its output runs from {100 * self.low_share.nominal:.4g} % to"
        found += f" {100 * self.high_share.nominal:.4g} % of the feed"
        limit = "output_low must lie below output_high, and both within 0 to 100 %"
        return (Problem("sensor", found, limit, "Mend output_low or output_high."),)


PARTS = (MagneticPart,)
