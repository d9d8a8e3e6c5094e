"""The keys that describe an analogue-to-digital converter, and how its controller reads it."""

from anglewright.links.fields import CurveKey, Key, LimitKey, QuantityKey, TableKey, WholeKey
from anglewright.quantities.spread import Persistence, Shape
from anglewright.quantities.units import Kind

FEED_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="ratio",
        field="feed_ratio",
        meaning="share of the feed that reaches the channel which measures it",
        kinds=(Kind.FRACTION,),
        above=0.0,
        example="50 % ± 0.1 %",
    ),
    QuantityKey(
        name="noise",
        field="feed_noise_counts",
        meaning="noise and rounding of one reading of the feed, after any averaging",
        kinds=(Kind.COUNT,),
        default="1.5 LSB rms",
        persistence=Persistence.READING,
        shape=Shape.NORMAL,
        cured_by="averaging the feed",
        tolerance=True,
        only_with="ratio",
    ),
)

BEND_KEYS: tuple[Key, ...] = (
    LimitKey(
        name="inl",
        field="inl",
        meaning="integral non-linearity of the converter, the limit of its departure from a straight line",
        kind=Kind.COUNT,
        example="4 LSB",
    ),
    CurveKey(
        name="table",
        field="table",
        meaning="codes of a converter that is not straight, at known voltages at its pin",
        kinds=(Kind.VOLTAGE, Kind.COUNT),
        example=[["0 V", 5], ["1.65 V", 2100], ["3.3 V", 4090]],
    ),
)

SAMPLING_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="sampling_time",
        field="sampling_s",
        meaning="time for which the sampling capacitor is switched to the pin",
        kinds=(Kind.TIME,),
        above=0.0,
        example="0.54 us",
    ),
    QuantityKey(
        name="sampling_capacitor",
        field="sampling_f",
        meaning="sampling capacitor of the converter",
        kinds=(Kind.CAPACITANCE,),
        default="14 pF",
        above=0.0,
        only_with="sampling_time",
    ),
    QuantityKey(
        name="sampling_resistance",
        field="sampling_ohm",
        meaning="resistance of the switch before the sampling capacitor",
        kinds=(Kind.RESISTANCE,),
        default="1 kohm",
        least=0.0,
        only_with="sampling_time",
    ),
    QuantityKey(
        name="neighbour",
        field="neighbour",
        meaning="where the channel that was read before stands, as a share of full scale",
        kinds=(Kind.FRACTION,),
        default="50 % ± 50 %",
        persistence=Persistence.READING,
        least=0.0,
        cured_by="a longer sample, or reading twice and dropping the first",
        only_with="sampling_time",
    ),
)
"""How it samples. The neighbour is another axis, which may have moved whenever this one is read again: what
it leaves behind is fresh at each reading, and no calibration of this axis takes it out.
"""

CONVERTER_KEYS: tuple[Key, ...] = (
    WholeKey(
        name="bits",
        field="bits",
        meaning="bits of the code",
        least=4,
        most=24,
        default=12,
        kind=Kind.BITS,
    ),
    QuantityKey(
        name="reference",
        field="reference_v",
        meaning="full scale of the converter: a voltage, or the feed itself",
        kinds=(Kind.VOLTAGE,),
        words=("feed",),
        default="feed",
        persistence=Persistence.CONDITION,
        above=0.0,
        cured_by="a ratiometric converter",
    ),
    QuantityKey(
        name="noise",
        field="noise_counts",
        meaning="noise of one reading",
        kinds=(Kind.COUNT,),
        default="1.5 LSB rms",
        persistence=Persistence.READING,
        shape=Shape.NORMAL,
        cured_by="averaging",
        tolerance=True,
        unless="noise_voltage",
    ),
    QuantityKey(
        name="noise_voltage",
        field="noise_v",
        meaning="noise of one reading, as a voltage at the pin",
        kinds=(Kind.VOLTAGE,),
        persistence=Persistence.READING,
        shape=Shape.NORMAL,
        cured_by="averaging",
        tolerance=True,
        example="1 mV rms",
    ),
    WholeKey(
        name="average",
        field="average",
        meaning="conversions that the controller averages into one reading",
        least=1,
        most=65536,
    ),
    QuantityKey(
        name="offset",
        field="offset_counts",
        meaning="offset error of the converter",
        kinds=(Kind.COUNT,),
        default="2 LSB",
        cured_by="zeroing",
        tolerance=True,
    ),
    QuantityKey(
        name="gain",
        field="gain_error",
        meaning="gain error of the converter",
        kinds=(Kind.FRACTION,),
        tolerance=True,
        example="0.1 %",
    ),
    *BEND_KEYS,
    TableKey(
        name="feed_channel",
        field="feed_channel",
        meaning="channel that measures the feed, so that the controller can divide by it",
        example='{ ratio = "50 % ± 0.1 %" }',
        keys=FEED_KEYS,
    ),
    *SAMPLING_KEYS,
)
"""Keys of a converter: full scale, noise, errors, how the feed is measured, how it samples."""
