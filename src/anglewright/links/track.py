"""What a resistive track is: its keys, the resistance at its ends, its turns of wire, its gap."""

import numpy as np

from anglewright.circuits import Numeric, nonzero
from anglewright.links.fields import ONE_SIDED, ChoiceKey, Key, LimitKey, QuantityKey, TableKey, WholeKey
from anglewright.links.protocol import Array
from anglewright.quantities.spread import Persistence
from anglewright.quantities.units import Kind

FULL_TURN = 2.0 * np.pi  # [rad]


def whole_ohm(track_ohm: Numeric, end_ohm: Numeric) -> Numeric:
    """Track with the resistance at both its ends. [ohm]"""
    return track_ohm + 2.0 * end_ohm if nonzero(end_ohm) else track_ohm


def share_of(place: Numeric, *, track_ohm: Numeric, end_ohm: Numeric) -> Numeric:
    r"""Share of the whole resistance below the wiper, with a resistance at each end of the track.

    Parameters
    ----------
    place : float or array
        Share of the track below the wiper. [1]
    track_ohm : float or array
        Resistance of the track between its electrical ends. [ohm]
    end_ohm : float or array
        Resistance between each electrical end and its terminal. [ohm]

    Returns
    -------
    float or array
        Output without load, as a share of the feed. [1]

    Notes
    -----
    :math:`(R_e + x R_T) / (R_T + 2 R_e)`: neither 0 nor 1 is reached.

    References
    ----------
    vrci

    Examples
    --------
    A track of 1 kohm with 5 ohm at each end still shows half a per cent at its lower end:

    >>> round(share_of(0.0, track_ohm=1e3, end_ohm=5.0), 5)
    0.00495
    """
    if not nonzero(end_ohm):
        return place
    return (end_ohm + place * track_ohm) / whole_ohm(track_ohm, end_ohm)


def place_of(share: Numeric, *, track_ohm: Numeric, end_ohm: Numeric) -> Numeric:
    """Share of the track below the wiper from the share of the whole: the way back of `share_of`. [1]"""
    if not nonzero(end_ohm):
        return share
    return (share * whole_ohm(track_ohm, end_ohm) - end_ohm) / track_ohm


def stepped(place: Numeric, *, windings: int, between: Numeric) -> Array:
    r"""Output of a wound track, which goes from turn to turn of its wire.

    Parameters
    ----------
    place : float or array
        Share of the track below the wiper. [1]
    windings : int
        Turns of wire. [1]
    between : float or array
        Where the turns lie: shifts them by up to half a turn. [1]

    Returns
    -------
    array
        Share of the track below the turn of wire that the wiper touches. [1]

    Notes
    -----
    :math:`\lfloor n (x + p) + 1/2 \rfloor / n - p`: steps of :math:`1/n`, the theoretical resolution, whose
    middles lie on the straight line.

    References
    ----------
    potentiometer-handbook

    Examples
    --------
    A coarse track of ten turns moves by a tenth, or not at all:

    >>> stepped(np.array([0.31, 0.34, 0.36]), windings=10, between=0.0)
    array([0.3, 0.3, 0.4])
    """
    moved = np.asarray(place) + between if nonzero(between) else np.asarray(place)
    return np.asarray(np.floor(moved * windings + 0.5) / windings - between)


def past_gap(place: Numeric, *, travel_rad: Numeric) -> Numeric:
    r"""Place on an endless track, counted from the end that is nearer once the wiper is in the gap.

    Parameters
    ----------
    place : float or array
        Shaft angle from the lower end, over the electrical travel, of any size. [1]
    travel_rad : float or array
        Electrical travel, less than a turn. [rad]

    Returns
    -------
    float or array
        The same a whole number of turns away, nearest to the middle of the track. [1]

    Notes
    -----
    Half way through the gap the wiper leaves one end behind and comes to the other: a jump over the whole
    output.

    References
    ----------
    derived

    Examples
    --------
    On a track of 340 deg, 9 deg past the upper end is still that end, and 15 deg past it the lower one:

    >>> track = np.radians(340.0)
    >>> places = [past_gap(1.0 + deg / 340.0, travel_rad=track) for deg in (9.0, 15.0)]
    >>> [round(place, 3) for place in places]
    [1.026, -0.015]
    """
    turn = np.maximum(FULL_TURN / np.asarray(travel_rad), 1.0)
    near = place - turn * np.floor((np.asarray(place) - 0.5) / turn + 0.5)
    return near if np.ndim(near) else float(near)


_USUAL: tuple[Key, ...] = (
    QuantityKey(
        name="track",
        field="track_ohm",
        meaning="resistance of the track, end to end",
        kinds=(Kind.RESISTANCE,),
        default="10 kohm ± 20 %",
        above=0.0,
    ),
    QuantityKey(
        name="electrical_travel",
        field="travel_rad",
        meaning="electrical travel, the shaft angle over which the output changes",
        kinds=(Kind.ANGLE,),
        default="270 deg ± 10 deg",
        above=0.0,
    ),
    QuantityKey(
        name="mechanical_travel",
        field="mechanical_rad",
        meaning="mechanical travel, the shaft angle between the sensor's own stops",
        kinds=(Kind.ANGLE,),
        words=("endless",),
        default="300 deg ± 5 deg",
        above=0.0,
    ),
    LimitKey(
        name="linearity",
        field="shape",
        meaning="linearity of the track, the limit of its departure from a straight line",
        default="5 %",
    ),
    QuantityKey(
        name="power",
        field="power_w",
        meaning="power rating of the whole track",
        kinds=(Kind.POWER,),
        default="50 mW",
        above=0.0,
    ),
)

_FURTHER: tuple[Key, ...] = (
    QuantityKey(
        name="end_resistance",
        field="end_ohm",
        meaning="resistance at the ends of the track, at each of them, beside the track itself",
        kinds=(Kind.RESISTANCE,),
        least=0.0,
        example="20 ohm ± 10 ohm",
    ),
    QuantityKey(
        name="wiper_resistance",
        field="wiper_ohm",
        meaning="resistance of the wiper and its contact, felt only through what loads them",
        kinds=(Kind.RESISTANCE,),
        least=0.0,
        example="100 ohm ± 50 ohm",
    ),
    QuantityKey(
        name="contact_noise",
        field="noise_share",
        meaning="noise of the contact, its output smoothness, as a share of full output, either way",
        kinds=(Kind.FRACTION,),
        persistence=Persistence.READING,
        cured_by="averaging over a small motion",
        tolerance=True,
        example="0.1 %",
    ),
    WholeKey(
        name="windings",
        field="windings",
        meaning="turns of wire of a wound track, the output goes from one to the next",
        least=10,
        most=1_000_000,
        example=1500,
    ),
    QuantityKey(
        name="hysteresis",
        field="hysteresis_rad",
        meaning="hysteresis of the wiper, total, at the sensor's shaft",
        kinds=(Kind.ANGLE,),
        least=0.0,
        cured_by=ONE_SIDED,
        example="0.5 deg",
    ),
    ChoiceKey(
        name="taper",
        field="taper",
        meaning="law of the track; only a linear one can tell a position",
        choices=("linear", "logarithmic"),
        default="linear",
    ),
)


def _temperature_key(name: str, field: str, *, meaning: str, example: str) -> QuantityKey:
    return QuantityKey(name=name, field=field, meaning=meaning, kinds=(Kind.TEMPERATURE,), example=example)


_LIMITS: tuple[Key, ...] = (
    QuantityKey(
        name="top_speed",
        field="top_speed_rad_s",
        meaning="top speed of the shaft that the data sheet allows",
        kinds=(Kind.ANGULAR_SPEED,),
        above=0.0,
        example="60 rpm",
    ),
    TableKey(
        name="life",
        field="life",
        meaning="life of track and wiper, in full strokes there and back or in turns of the shaft",
        example="{ strokes = 15000 }",
        keys=(
            WholeKey(
                name="strokes",
                field="life_strokes",
                meaning="life in full strokes, there and back",
                least=1,
                most=1_000_000_000,
                unless="turns",
                example=15000,
            ),
            WholeKey(
                name="turns",
                field="life_turns",
                meaning="life in turns of the shaft",
                least=1,
                most=1_000_000_000,
                example=1_000_000,
            ),
        ),
    ),
    TableKey(
        name="derating",
        field="derating",
        meaning="how the power rating falls with the temperature of the surroundings",
        example='{ full_to = "70 degC", none_at = "125 degC", hottest = "40 degC" }',
        keys=(
            _temperature_key(
                "full_to",
                "full_power_k",
                meaning="temperature up to which the rating holds",
                example="70 degC",
            ),
            _temperature_key(
                "none_at",
                "no_power_k",
                meaning="temperature at which nothing is left of it",
                example="125 degC",
            ),
            _temperature_key(
                "hottest", "hottest_k", meaning="hottest surroundings of the sensor", example="40 degC"
            ),
        ),
    ),
)

TRACK_KEYS: tuple[Key, ...] = (*_USUAL, *_FURTHER, *_LIMITS)
"""Keys of a potentiometer; only those of the first row stand where the file is silent."""
