"""When a sensor that sends pulses or words can first be believed after its power came on."""

from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.quantities.units import Kind

READY_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="ready_after",
        field="ready_s",
        meaning="time after the power came on before a reading counts",
        kinds=(Kind.TIME,),
        default="250 ms",
        least=0.0,
        cured_by="waiting",
    ),
    WholeKey(
        name="good_frames",
        field="good_frames",
        meaning="frames in a row without a fault before a reading counts",
        least=1,
        most=1000,
        default=3,
    ),
)
"""Keys of a converter whose sensor is not ready at power-up: 250 ms, 3 good frames (common practice, no
source).
"""
