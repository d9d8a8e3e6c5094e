"""Faults of the sensor itself and of how it is held: what each changes on the bench."""

from dataclasses import replace

import numpy as np

from anglewright.links.mount import ClampPart
from anglewright.links.protocol import Array
from anglewright.quantities.spread import Spread
from anglewright.testsheet.model import SLIP, Bench, Numbers, Variant, sound_contact
from anglewright.testsheet.situation import Situation
from anglewright.testsheet.unknowns import Unknown

HALF_TURN = float(np.pi)  # [rad]
MOST_CONTACT = 20.0  # of a bad contact, of the track at most [1]
OFF_BY = 50.0  # factor by which a wrong track may be off [1]
TAPER_MIDDLE = (0.08, 0.27)  # output of a logarithmic track at its middle, 10 to 20 % and some more [1]
TAPER_LOOSE = 0.03  # of the output, for tracks of two straight pieces or more [1]


def slips(bench: Bench) -> tuple[Variant, ...]:
    """The sensor turned further than its clamping may be off, either way; up to half a turn of its shaft."""
    mount = bench.axis.part("mount")
    error = getattr(mount, "error_rad", None)
    if not isinstance(error, Spread) or not isinstance(mount, ClampPart):
        return ()
    within, most = max(error.half_width, 1e-3), _furthest(bench)
    spans = ((-most, -2.0 * within), (2.0 * within, most))  # less the clamping error itself
    return tuple(Variant(unknowns=(Unknown(key=SLIP, low=low, high=high),)) for low, high in spans)


def _furthest(bench: Bench) -> float:
    """Furthest slip looked for: half a turn, or the whole track where that is longer. [rad]"""
    travel = getattr(bench.axis.part("sensor"), "travel_rad", None)
    return max(HALF_TURN, travel.nominal) if isinstance(travel, Spread) else HALF_TURN


def wrong_tracks(bench: Bench) -> tuple[Variant, ...]:
    """A track of fewer or of more ohms than its tolerance lets it have."""
    track = getattr(bench.axis.part("sensor"), "track_ohm", None)
    if not isinstance(track, Spread):
        return ()
    low, high = track.limits
    spans = ((low / OFF_BY, low, "too few ohms"), (high, OFF_BY * high, "too many ohms"))
    return tuple(
        Variant(unknowns=(Unknown(key="sensor.track", low=least, high=most, by_ratio=True),), where=word)
        for least, most, word in spans
    )


def bad_contacts(bench: Bench) -> tuple[Variant, ...]:
    """A wiper whose contact has more ohms than a sound one."""
    sensor = bench.axis.part("sensor")
    track, stated = (getattr(sensor, name, None) for name in ("track_ohm", "wiper_ohm"))
    if not isinstance(track, Spread):
        return ()
    key, most = ("contact", sound_contact(bench.axis))
    if isinstance(stated, Spread):
        key, most = "sensor.wiper_resistance", max(stated.limits[1], 1.0)
    worst = MOST_CONTACT * track.nominal
    return (Variant(unknowns=(Unknown(key=key, low=most, high=worst, by_ratio=True),)),)


def tapers(bench: Bench) -> tuple[Variant, ...]:
    """A logarithmic track, from either end: smooth, of two straight pieces, or between the two."""
    if not bench.has_track:
        return ()
    low, high = TAPER_MIDDLE
    unknowns = (Unknown(key="bend", low=0.0, high=1.0), Unknown(key="middle", low=low, high=high))

    def rising_late(situation: Situation, numbers: Numbers) -> Situation:
        return _relaid(situation, tapered(situation.shares, numbers))

    def rising_early(situation: Situation, numbers: Numbers) -> Situation:
        return _relaid(situation, 1.0 - tapered(1.0 - situation.shares, numbers))

    ways = ((rising_late, "logarithmic"), (rising_early, "the other way round"))
    return tuple(
        Variant(unknowns=unknowns, change=change, looser=TAPER_LOOSE, where=word) for change, word in ways
    )


def tapered(share: Array, numbers: Numbers) -> Array:
    r"""Output of a logarithmic track for the share of its travel.

    Parameters
    ----------
    share : array, (B, P)
        Share of the travel from the slow end. [1]
    numbers : mapping
        ``middle``, the output at half its travel, and ``bend``, 0 for an exponential law and 1 for two
        straight pieces. [1]

    Returns
    -------
    array, (B, P)
        Share of the whole resistance. [1]

    Notes
    -----
    :math:`(b^x - 1) / (b - 1)` with :math:`b = (1 / m - 1)^2`, so that it is :math:`m` in the middle; the
    two pieces meet there too.

    References
    ----------
    practice
    """
    middle, bend = numbers["middle"], numbers["bend"]
    base = (1.0 / middle - 1.0) ** 2
    smooth = (base**share - 1.0) / (base - 1.0)
    pieces = np.where(share < 0.5, 2.0 * middle * share, middle + 2.0 * (1.0 - middle) * (share - 0.5))
    return np.asarray(bend * pieces + (1.0 - bend) * smooth)


def _relaid(situation: Situation, shares: Array) -> Situation:
    """The same track with its ohms laid otherwise along its travel."""
    arms = situation.arms or {}
    ends = arms["feed"] + arms["ground"]
    first = shares[:, :1]
    laid = {"feed": (1.0 - first) * ends, "signal": arms["signal"], "ground": first * ends}
    return replace(situation, shares=shares, arms=laid)


def turned_round(bench: Bench) -> tuple[Variant, ...]:
    """A sensor without a track that counts the other way than the file says."""
    if bench.has_track:
        return ()
    reading = getattr(bench.axis.part("mount"), "reading", None)
    about = reading.nominal if isinstance(reading, Spread) else 0.0

    def change(situation: Situation, numbers: Numbers) -> Situation:
        mirrored = 2.0 * about - situation.shares
        return replace(situation, shares=np.mod(mirrored, 1.0) if bench.analogue else mirrored)

    return (Variant(change=change),)
