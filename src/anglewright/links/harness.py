"""What lies between a sensor and a pin: the keys that describe it, and copper by its gauge."""

from anglewright.links.fields import ChoiceKey, Key, QuantityKey, TableKey, WholeKey
from anglewright.quantities.spread import Persistence
from anglewright.quantities.units import Kind

COPPER_OHM_M = 1.7241e-8  # resistivity of annealed copper at 20 degC, IEC 60028, from memory [ohm m]


def ohm_per_metre(gauge: int) -> float:
    r"""Resistance of a solid copper wire by its American gauge.

    Parameters
    ----------
    gauge : int
        Number of the gauge, 24 for example. [1]

    Returns
    -------
    float
        Resistance per metre at 20 degC. [ohm/m]

    Notes
    -----
    The diameter is :math:`0.127 \cdot 92^{(36 - n) / 39}` mm.

    References
    ----------
    astm-b258

    Examples
    --------
    A metre of gauge 24 has 84 milliohm:

    >>> round(1e3 * ohm_per_metre(24), 1)
    84.2
    """
    diameter_m = 0.127e-3 * 92.0 ** ((36 - gauge) / 39.0)
    return float(COPPER_OHM_M / (0.7853981633974483 * diameter_m**2))


def _wire_key(wire: str, what: str) -> QuantityKey:
    return QuantityKey(
        name=wire,
        field=f"lead_{wire}_ohm",
        meaning=f"resistance of the {what}, in place of length and gauge",
        kinds=(Kind.RESISTANCE,),
        least=0.0,
        example="2 ohm",
    )


LEAD_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="length",
        field="lead_length_m",
        meaning="length of the cable, one way",
        kinds=(Kind.LENGTH,),
        least=0.0,
        example="2 m",
    ),
    WholeKey(
        name="gauge",
        field="lead_gauge",
        meaning="American wire gauge of the cable's copper",
        least=10,
        most=36,
        default=24,
        only_with="length",
    ),
    _wire_key("wiper", "wiper's wire"),
    _wire_key("feed", "feed's wire"),
    _wire_key("ground", "ground's wire"),
)
"""Keys of the cable: a length and a gauge for all three wires, or ohms for each."""

PULL_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="down",
        field="pull_down_ohm",
        meaning="pull-down to ground",
        kinds=(Kind.RESISTANCE,),
        above=0.0,
    ),
    QuantityKey(
        name="up",
        field="pull_up_ohm",
        meaning="pull-up to the feed",
        kinds=(Kind.RESISTANCE,),
        above=0.0,
    ),
    QuantityKey(
        name="own",
        field="pull_own_ohm",
        meaning="controller's own pull at the pin, left on",
        kinds=(Kind.RESISTANCE,),
        above=0.0,
        example="40 kohm",
    ),
    QuantityKey(
        name="own_to",
        field="pull_own_v",
        meaning="voltage of the controller's own pull, 0 V for a pull-down",
        kinds=(Kind.VOLTAGE,),
        words=("feed",),
        default="feed",
        persistence=Persistence.CONDITION,
        least=0.0,
        cured_by="switching the controller's own pull off",
        only_with="own",
    ),
    ChoiceKey(
        name="at",
        field="pull_at",
        meaning="where the pull sits: at the sensor's lead or at the pin",
        choices=("pin", "lead"),
        default="pin",
    ),
)

DIVIDER_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="upper",
        field="upper_ohm",
        meaning="upper resistor of the divider, in series to the pin",
        kinds=(Kind.RESISTANCE,),
        above=0.0,
    ),
    QuantityKey(
        name="lower",
        field="lower_ohm",
        meaning="lower resistor of the divider, from the pin to ground",
        kinds=(Kind.RESISTANCE,),
        above=0.0,
    ),
)

WIRING_KEYS: tuple[Key, ...] = (
    QuantityKey(
        name="feed",
        field="feed_v",
        meaning="voltage that feeds the sensor",
        kinds=(Kind.VOLTAGE,),
        default="3.3 V",
        persistence=Persistence.CONDITION,
        above=0.0,
        cured_by="a ratiometric converter",
    ),
    QuantityKey(
        name="series",
        field="series_ohm",
        meaning="resistor in the wiper's lead",
        kinds=(Kind.RESISTANCE,),
        default="1 kohm",
        least=0.0,
    ),
    QuantityKey(
        name="capacitor",
        field="capacitor_f",
        meaning="capacitor at the pin",
        kinds=(Kind.CAPACITANCE,),
        default="100 nF",
        least=0.0,
    ),
    TableKey(
        name="pull",
        field="pull",
        meaning="resistor that holds a broken wire at a known level",
        example='{ down = "100 kohm", at = "pin" }',
        keys=PULL_KEYS,
    ),
    TableKey(
        name="divider",
        field="divider",
        meaning="two resistors that bring a high feed down to the pin",
        example='{ upper = "10 kohm", lower = "20 kohm" }',
        keys=DIVIDER_KEYS,
    ),
    TableKey(
        name="lead",
        field="lead",
        meaning="cable from the sensor to the controller",
        example='{ length = "2 m", gauge = 24 }',
        keys=LEAD_KEYS,
    ),
    QuantityKey(
        name="ground_offset",
        field="ground_offset_v",
        meaning="ground offset, of the sensor's ground above the controller's, by the current of motors",
        kinds=(Kind.VOLTAGE,),
        persistence=Persistence.CONDITION,
        cured_by="a ground wire of its own",
        tolerance=True,
        example="5 mV",
    ),
    QuantityKey(
        name="supply",
        field="supply_a",
        meaning="current that an active sensor draws over the wires of feed and ground",
        kinds=(Kind.CURRENT,),
        least=0.0,
        cured_by="wires of fewer ohms",
        example="15 mA",
    ),
    QuantityKey(
        name="leakage",
        field="leakage_a",
        meaning="leakage of the pin, into it or out of it, times the source resistance",
        kinds=(Kind.CURRENT,),
        persistence=Persistence.CONDITION,
        cured_by="a track of fewer ohms",
        tolerance=True,
        example="1 uA",
    ),
)
"""Keys of analogue wiring, in the order of the signal."""
