"""A sensor of the catalogue as numbers, behind the coupling, mount, wiring and converter of one axis."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

import numpy as np

from anglewright.angles import TURN
from anglewright.links.converter import ConverterPart
from anglewright.links.mount import ClampPart
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.links.protocol import Array, LinesPort, Link, Number, Part, ReadingPort, TrackPort
from anglewright.links.wiring import WiringPart
from anglewright.quantities.spread import Spread
from anglewright.rig import at_mean, realise
from anglewright.selection.curves import ANGLES, SensorCurves, angles_up_to, bench_axis, sensor_curves
from anglewright.selection.drives import Drives
from anglewright.selection.needs import Need, Places
from anglewright.selection.offers import SensorOffer, clamping_error

_BESIDE = 1e-9  # a share by which a second angle lies beside an only one: a row has two at least [1]
CENTRE = 0.5  # share of the output at which a sensor is clamped in the middle of its travel [1]


class Form(Enum):
    """What a sensor tells: a place on a track with ends, the angle within its turns, or steps from a home."""

    TRACK = "track"
    ABSOLUTE = "absolute"
    COUNTING = "counting"


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A voltage against the one that it must keep to: which it is, how much there is, how much may be. [V]"""

    what: str
    asked: float
    there: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SensorFigures:
    """One sensor as numbers; angles at its shaft, endless where nothing limits them.

    `reach` is the least angle over which it reads, `mechanical` the least between its own stops, `clamping`
    how far off it may be clamped. [rad] `top_speed` in rad/s, `life` in strokes or turns of the shaft,
    `longest` motion in m, `cost` in units of money, `counts` that its register holds. `drives` are the
    columns of the drives that it can sit on.
    """

    offer: SensorOffer
    form: Form
    reach: float
    mechanical: float
    clamping: float
    top_speed: float
    life: float
    life_in_turns: bool
    levels: tuple[Level, ...]
    longest: float
    cost: float
    counts: float
    curves: SensorCurves
    drives: Places

    @property
    def voltage(self) -> tuple[float, float]:
        """The voltage that is most too much, and what may be; (0, 1) where all is well. [V]"""
        worst = max(self.levels, key=lambda level: level.asked / level.there, default=None)
        return (0.0, 1.0) if worst is None else (worst.asked, worst.there)


def figures_of(need: Need, offer: SensorOffer, drives: Drives) -> SensorFigures:
    """The numbers of a sensor for a need.

    Parameters
    ----------
    need : Need
        What the axis asks for.
    offer : SensorOffer
        The sensor, with the parts that would stand behind the drive.
    drives : Drives
        The drives that there are. [m or rad]

    Returns
    -------
    SensorFigures
        Reach, life, speed, voltage and what the planned calibration leaves. [rad, rad/s, V]

    Raises
    ------
    RigError
        Its parts do not fit each other.
    """
    form, at = form_of(offer.part), _own_or_all(offer, drives)
    parts = tuple(centred(part, form) for part in offer.parts)
    reach = _reach(offer.part) if form is not Form.COUNTING else math.inf
    mechanical, in_turns = getattr(offer.part, "mechanical_rad", None), offer.life_cycles is None
    life = offer.life_turns if in_turns else offer.life_cycles
    curves = sensor_curves(need, parts, turned=_angles(need, form, reach, ratios=drives.ratio[at]))
    return SensorFigures(
        offer=offer,
        form=form,
        reach=reach,
        mechanical=mechanical.limits[0] if isinstance(mechanical, Spread) else math.inf,
        clamping=clamping_error(offer),
        top_speed=min(_top_speed(offer), _top_count_speed(parts[-1], curves)),
        life=math.inf if life is None else life,
        life_in_turns=in_turns,
        levels=tuple(_levels(need, offer, parts)),
        longest=math.inf if offer.longest_m is None else offer.longest_m,
        cost=offer.price.middle,
        counts=_counts(need, parts) if form is Form.COUNTING else math.inf,
        curves=curves,
        drives=at,
    )


def _angles(need: Need, form: Form, reach: float, *, ratios: Array) -> Array:
    """Shaft angles to work out: those of the drives, or where these are many a row up to the reach. [rad]

    What comes round with the shaft changes too fast over many turns to be read between a few angles.
    """
    most = reach * need.span / need.stops_span
    own = np.unique(np.minimum(np.abs(ratios) * need.span, most))
    if len(own) > ANGLES and (form is Form.TRACK or reach <= 1.001 * TURN):
        return angles_up_to(most)
    if not len(own):
        return angles_up_to(need.span)
    return own if len(own) > 1 else np.append(own, (1.0 + _BESIDE) * own)


def _top_speed(offer: SensorOffer) -> float:
    """The lower of what the catalogue says of the class and what the part itself knows. [rad/s]"""
    speed, rate = getattr(offer.part, "top_speed_rad_s", None), getattr(offer.part, "top_rate_hz", None)
    known = [math.inf if offer.top_speed is None else offer.top_speed]
    if isinstance(speed, Spread):
        known.append(speed.limits[0])
    port = _link(offer.part).port
    if isinstance(rate, Spread) and isinstance(port, LinesPort):
        known.append(TURN * rate.limits[0] / port.lines)
    return min(known)


def _top_count_speed(converter: Part, curves: SensorCurves) -> float:
    """Speed of the shaft at which edges come as fast as a counter follows; any for another. [rad/s]"""
    rate = getattr(converter, "top_rate_hz", None)
    return rate.limits[0] / float(np.max(curves.slope)) if isinstance(rate, Spread) else math.inf


def _counts(need: Need, parts: tuple[Part, ...]) -> float:
    """Counts that a register holds from its home to its nearer end. [count]"""
    codes = realise(bench_axis(need.axis, parts), at_mean).codes
    return float(min(codes.high, -codes.low))


def _own_or_all(offer: SensorOffer, drives: Drives) -> Places:
    """Columns of the drives that a sensor can sit on: its own, or all that belong to no other."""
    own = [k for k, each in enumerate(drives.offers) if each is offer.drive]
    free = [k for k, each in enumerate(drives.offers) if not each.built_in]
    return np.array(own if offer.drive is not None else free, dtype=np.intp)


def form_of(part: Part) -> Form:
    """What a kind of sensor tells, from what it lets the wiring know."""
    port = _link(part).port
    if isinstance(port, TrackPort):
        return Form.TRACK
    return Form.COUNTING if isinstance(port, LinesPort) else Form.ABSOLUTE


def _link(part: Part, **changed: Any) -> Link:
    values = {number.field: number.variate.mean for number in part.numbers} | changed
    return part.link(values, ReadingPort(reading=CENTRE))


def _reach(part: Part) -> float:
    """Least shaft angle over which it reads: a track's travel, else from no output to all of it. [rad]"""
    travel = getattr(part, "travel_rad", None)
    if isinstance(travel, Spread):
        return travel.limits[0]
    numbers: list[Number] = [n for n in part.numbers if isinstance(n.variate, Spread)]
    limits = [{n.field: limit} for n in numbers for limit in n.variate.limits] or [{}]
    return min(_whole(_link(part, **changed)) for changed in limits)


def _whole(link: Link) -> float:
    """Shaft angle from no output to the whole of it. [rad]"""
    return abs(float(np.mean(link.backward(1.0))) - float(np.mean(link.backward(0.0))))


def centred(part: Part, form: Form) -> Part:
    """A clamp that reads the middle of the output in the middle of the stops; any other part as it is."""
    if not isinstance(part, ClampPart) or form is Form.COUNTING:
        return part
    return replace(part, reading=replace(part.reading, nominal=CENTRE))


def _levels(need: Need, offer: SensorOffer, parts: tuple[Part, ...]) -> Iterator[Level]:
    """Feed against the sensor's supply and its power, output against the converter's reference."""
    by_room = {part.room: part for part in parts}
    wiring, converter = by_room["wiring"], by_room["converter"]
    feed = getattr(wiring, "feed_v", None)
    if isinstance(feed, Spread):
        yield from _feed_levels(feed.nominal, offer)
    if isinstance(wiring, WiringPart) and isinstance(converter, ConverterPart) and converter.reference_v:
        links = realise(bench_axis(need.axis, parts), at_mean).links
        pin = float(np.mean(links[-2].forward(1.0)))
        yield Level(what="the pin at full output", asked=pin, there=converter.reference_v.nominal)


def _feed_levels(feed: float, offer: SensorOffer) -> Iterator[Level]:
    if offer.supply is not None:
        low, high = offer.supply
        yield Level(what="the feed", asked=feed, there=high)
        yield Level(what="the least supply of the sensor", asked=low, there=feed)
    if isinstance(offer.part, PotentiometerPart):
        most = math.sqrt(offer.part.power_w.limits[0] * offer.part.track_ohm.limits[0])
        yield Level(what="the feed, for the power of the track,", asked=feed, there=most)
