"""What a meter and the controller show on the bench, for a healthy axis and for one with a fault."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np

from anglewright.chain import Chain
from anglewright.links.converter import Converter, ConverterPart
from anglewright.links.fields import ONE_SIDED
from anglewright.links.potentiometer import Potentiometer
from anglewright.links.protocol import Array, Link, Number, TrackPort
from anglewright.links.wiring import Wiring
from anglewright.quantities.spread import SIGMAS_OF_A_LIMIT, Persistence, Spread
from anglewright.rig import Axis, at_mean, nudged, realise
from anglewright.testsheet.meter import OPEN_OHM
from anglewright.testsheet.situation import PAIRS, Situation
from anglewright.testsheet.unknowns import Unknown
from anglewright.testsheet.visits import Visit, visits_of

Numbers: TypeAlias = Mapping[str, Array]
Change: TypeAlias = Callable[[Situation, Numbers], Situation]

CONTACT_SHARE = 0.03  # resistance of a sound wiper where the file is silent, at most, of its track [1]
UNSAID = 1e-3  # of its codes, what a converter may be off by where the file says nothing of its line [1]
FEED_WITHIN = 0.05  # of a feed that the file takes as exact [1]
FEED = "wiring.feed"  # key of the feed
SUM = "resistance-sum"  # key of what both parts of a track have too much, together
OWN_RAIL = "own rail"  # key of the controller's own feed, where the sensor is fed from another
SLIP = "slip"  # key of the turn that a shaft or body has slipped by


def unchanged(situation: Situation, numbers: Numbers) -> Situation:
    """The axis as it should be."""
    return situation


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Variant:
    """One way of a fault to be there: unknowns of its own, which may stand in for numbers of the axis, what
    it changes, and by how much more every share may be off. [1]
    """

    unknowns: tuple[Unknown, ...] = ()
    change: Change = unchanged
    looser: float = 0.0
    where: str = ""


HEALTHY = Variant()


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Bench:
    """An axis to be tested: where it is taken, what is unknown about it, how readings follow from that.

    `reach` is how far the output may lie off at each visit for reasons that are others at each visit: play,
    the shape of a track, the mark itself. [1] `slack` is how far a code may be off by itself. [count]
    """

    axis: Axis
    visits: tuple[Visit, ...]
    reach: Array
    slack: float
    noise: float
    known: tuple[Unknown, ...]
    has_track: bool
    analogue: bool

    @property
    def positions(self) -> Array:
        """Where the axis stands at each visit, (P,). [m or rad]"""
        return np.array([visit.position for visit in self.visits])

    @property
    def keys(self) -> tuple[str, ...]:
        """Every reading that is a number, in the order of `predict`."""
        names = [visit.name for visit in self.visits[1:]]
        marks = [visit.name for visit in self.visits[1:] if not visit.is_stop]
        return (
            *((*PAIRS, SUM) if self.has_track else ()),
            "feed-alone",
            *(("signal-alone",) if self.analogue else ()),
            *((f"signal-at-{name}" for name in marks) if self.analogue else ()),
            *(name if name.startswith("stop-") else f"code-at-{name}" for name in names),
        )

    def unknowns(self, variant: Variant) -> tuple[Unknown, ...]:
        """Unknowns of the axis, of its visits, and of the fault, which come last."""
        own = {each.key for each in variant.unknowns}
        wander = tuple(Unknown(key=f"visit {k}", low=-1.0, high=1.0) for k in range(len(self.visits)))
        return (*(each for each in self.known if each.key not in own), *wander, *variant.unknowns)

    def predict(self, variant: Variant, places: Array) -> Array:
        """Readings of an axis with a fault.

        Parameters
        ----------
        variant : Variant
            The fault.
        places : array, (B, N)
            The unknowns, each from -1 to 1, in the order of `unknowns`. [1]

        Returns
        -------
        array, (B, M)
            A reading for each of `keys`; nan where a pin floats. [ohm, V or count]
        """
        numbers = {
            each.key: each.at(places[:, [column]]) for column, each in enumerate(self.unknowns(variant))
        }
        situation = variant.change(self._situation(variant, numbers), numbers)
        return self._readings(situation)

    def _situation(self, variant: Variant, numbers: Numbers) -> Situation:
        chain = _with_gap(realise(self.axis, _picked(numbers)))
        rooms = [part.room for part in self.axis.chain_parts]
        links = dict(zip(rooms, chain.links, strict=True))
        count = len(numbers["visit 0"])
        shares = np.zeros((count, len(self.visits))) + Chain(
            chain.links[: self.axis.index_of("sensor") + 1]
        ).forward(self.positions)
        wander = np.hstack([numbers[f"visit {k}"] for k in range(len(self.visits))])
        shares = self._within(shares + wander * (self.reach + variant.looser))
        feed = numbers.get(FEED, np.full((count, 1), feed_of(self.axis).mean))
        return Situation(
            shares=shares,
            feed_v=feed,
            converter=_own_scale(self.axis, links["converter"], numbers),
            link=_with_contact(links["wiring"], numbers),
            arms=_arms(links, shares[:, :1], numbers) if self.has_track else None,
        )

    def _within(self, shares: Array) -> Array:
        """Shares as the sensor gives them: it ends, or it comes round."""
        if self.has_track:
            return np.asarray(np.clip(shares, 0.0, 1.0))
        return np.mod(shares, 1.0) if self.analogue else shares

    def _readings(self, situation: Situation) -> Array:
        codes, volts = situation.codes[:, 1:], situation.at_contact[:, 1:]
        marks = [k for k, visit in enumerate(self.visits[1:]) if not visit.is_stop]
        ohms = tuple(situation.ohms.values())
        columns = [*ohms, *((_excess(ohms),) if ohms else ()), situation.feed_v + np.zeros_like(codes[:, :1])]
        columns += [situation.bare_codes, volts[:, marks]] if self.analogue else []
        return np.hstack([*columns, codes])


def _excess(ohms: tuple[Array, ...]) -> Array:
    """Both parts of the track less the whole; nan where one is open. [ohm]"""
    ends, low, high = ohms
    there = np.max(np.stack(ohms), axis=0) < OPEN_OHM
    return np.asarray(np.where(there, low + high - ends, np.nan))


def _with_gap(chain: Chain) -> Chain:
    """The chain without steps and wraps; an endless track keeps its gap, into which a slip can take it."""
    links = list(chain.unrounded().links)
    for place, link in enumerate(links):
        if isinstance(link, Potentiometer) and link.gapped:
            links[place] = replace(link, rounded=True, windings=None)
    return Chain(tuple(links))


def _links(axis: Axis) -> dict[str, Any]:
    return dict(zip((p.room for p in axis.chain_parts), realise(axis, at_mean).links, strict=True))


def feed_of(axis: Axis) -> Spread:
    """The feed as the file has it. [V]"""
    feed = getattr(axis.part("wiring"), "feed_v", None)
    return feed if isinstance(feed, Spread) else Spread(nominal=float("nan"))


def feed_limits(axis: Axis) -> tuple[float, float]:
    """What the feed may be, within 5 % where the file takes it as exact. [V]"""
    feed = feed_of(axis)
    if not feed.is_exact:
        return feed.limits
    return feed.nominal * (1.0 - FEED_WITHIN), feed.nominal * (1.0 + FEED_WITHIN)


def _picked(numbers: Numbers) -> Callable[[Number], Any]:
    """Each number as drawn, or its mean; a slip turns what was clamped."""

    def pick(number: Number) -> Any:
        value = numbers.get(number.key, number.variate.mean)
        return value + numbers[SLIP] if number.field == "error_rad" and SLIP in numbers else value

    return pick


def _own_scale(axis: Axis, converter: Link, numbers: Numbers) -> Link:
    """The converter; where the sensor is fed from another rail its full scale stays the controller's own."""
    fixed = getattr(axis.part("converter"), "reference_v", None)
    if not isinstance(converter, Converter) or OWN_RAIL not in numbers or isinstance(fixed, Spread):
        return converter
    return replace(converter, reference_v=numbers[OWN_RAIL])


def _with_contact(wiring: Link, numbers: Numbers) -> Link:
    """The circuit with the contact of the wiper, where the file says nothing of it."""
    if isinstance(wiring, Wiring) and "contact" in numbers:
        return replace(wiring, wiper_ohm=numbers["contact"])
    return wiring


def _arms(links: Mapping[str, Any], share: Array, numbers: Numbers) -> dict[str, Array]:
    """Resistance of each contact to the wiper's place on the track, cable and contact with it. [ohm]"""
    track, wiring = links["sensor"].port, links["wiring"]
    contact = numbers.get("contact", track.wiper_ohm)
    wires = (wiring.lead_feed_ohm, wiring.lead_wiper_ohm, wiring.lead_ground_ohm)
    ohms = ((1.0 - share) * track.track_ohm, contact, share * track.track_ohm)
    names = ("feed", "signal", "ground")
    return {
        name: np.asarray(ohm + wire + 0.0 * share) for name, ohm, wire in zip(names, ohms, wires, strict=True)
    }


def bench_of(axis: Axis) -> Bench:
    """The axis as it will be tested.

    Parameters
    ----------
    axis : Axis
        The axis.

    Returns
    -------
    Bench
        With every spread of its file at its limits; three standard deviations of a normal one.

    Notes
    -----
    What is another at each visit (play, half the steps of a winding, the shape of a track, how well a mark is
    found) is added up as limits. Sampling errors of a channel before are left out where a fault changes the
    circuit. A feed without a tolerance may be off by 5 % (common practice, no source), the contact of a
    sound wiper has up to 3 % of its track, and a converter of whose line the file says nothing may be off by
    0.1 % of its codes (both from memory of typical data sheets).

    References
    ----------
    practice
    typical-sheets
    """
    visits, links = visits_of(axis), _links(axis)
    return Bench(
        axis=axis,
        visits=visits,
        reach=_reach(axis, visits),
        slack=SIGMAS_OF_A_LIMIT * _noise(axis, visits) + _bends(axis, visits) + 1.0,
        noise=_noise(axis, visits),
        known=tuple(_known(axis)),
        has_track=isinstance(links["sensor"].port, TrackPort),
        analogue=isinstance(links["wiring"], Wiring),
    )


def _known(axis: Axis) -> Iterator[Unknown]:
    """Spreads of the axis that stay what they are while it is tested."""
    for number in axis.numbers:
        spread = number.variate
        if not isinstance(spread, Spread) or spread.persistence is Persistence.READING or _is_new(number):
            continue
        if number.key == FEED:
            low, high = feed_limits(axis)
            yield Unknown(key=number.key, low=low, high=high)
        elif not spread.is_exact:
            yield Unknown(key=number.key, low=spread.limits[0], high=spread.limits[1])
    if all(number.key != FEED for number in axis.numbers):  # wires of pulses and words: it moves no code
        low, high = feed_limits(axis)
        yield Unknown(key=FEED, low=low, high=high)
    if contact := sound_contact(axis):
        yield Unknown(key="contact", low=0.0, high=contact)


def sound_contact(axis: Axis) -> float:
    """Most that the contact of a sound wiper has where the file is silent; 0 where it is not. [ohm]"""
    sensor = axis.part("sensor")
    track = getattr(sensor, "track_ohm", None)
    silent = getattr(sensor, "wiper_ohm", None) is None
    return CONTACT_SHARE * track.nominal if isinstance(track, Spread) and silent else 0.0


def _is_new(number: Number) -> bool:
    """True for what is another after each motion."""
    return number.cured_by == ONE_SIDED or number.variate.persistence is Persistence.MOTION


def _share_chain(axis: Axis, chain: Chain) -> Chain:
    return Chain(chain.links[: axis.index_of("sensor") + 1]).unrounded()


def _reach(axis: Axis, visits: tuple[Visit, ...]) -> Array:
    """How far the output may lie off at each visit, for reasons that are others at each. [1]"""
    q, within = (np.array([getattr(v, name) for v in visits]) for name in ("position", "within"))
    middle = np.asarray(_share_chain(axis, realise(axis, at_mean)).forward(q))
    loosest = _share_chain(axis, realise(axis, _loosest))
    reach = np.max([np.abs(loosest.forward(q, side=side) - middle) for side in (-1, 1)], axis=0)
    off_mark = _share_chain(axis, realise(axis, at_mean))
    reach += np.max([np.abs(off_mark.forward(q + way * within) - middle) for way in (-1, 1)], axis=0)
    for number in axis.numbers:
        if _is_shape(number) or number.variate.persistence is Persistence.MOTION:
            moved = [
                np.abs(_share_chain(axis, realise(axis, nudged(number.key, limit))).forward(q) - middle)
                for limit in number.variate.limits
            ]
            reach += np.max(moved, axis=0)
    return np.asarray(reach)


def _is_shape(number: Number) -> bool:
    return not isinstance(number.variate, Spread)


def _loosest(number: Number) -> Any:
    """Free motion at its upper limit, every other number at its mean. [SI]"""
    return number.variate.limits[1] if number.cured_by == ONE_SIDED else number.variate.mean


def _moved(axis: Axis, visits: tuple[Visit, ...], number: Number, value: Any) -> float:
    """Change of the code with one number elsewhere, at the visit where it is largest. [count]"""
    q = np.array([visit.position for visit in visits])
    codes, middle = (
        np.asarray(realise(axis, pick).unrounded().forward(q))
        for pick in (nudged(number.key, value), at_mean)
    )
    return float(np.max(np.abs(codes - middle)))


def _noise(axis: Axis, visits: tuple[Visit, ...]) -> float:
    """Standard deviation of all that is another in every reading, added up. [count]"""
    return sum(
        _moved(axis, visits, number, number.variate.nudges[0][1])
        for number in axis.numbers
        if number.variate.persistence is Persistence.READING
    )


def _bends(axis: Axis, visits: tuple[Visit, ...]) -> float:
    """What the converter's own line may be off by. [count]"""
    converter = axis.part("converter")
    silent = isinstance(converter, ConverterPart) and not (converter.gain_error or converter.inl)
    unsaid = UNSAID * axis.codes.count if silent else 0.0
    return unsaid + sum(
        _moved(axis, visits, number, number.variate.limits[1])
        for number in axis.numbers
        if _is_shape(number) and number.room == "converter"
    )


def play_codes(axis: Axis, q: float) -> float:
    """Codes between both sides of all free motion at its upper limit, at a position. [count]"""
    chain = realise(axis, _loosest).unrounded()
    up, down = (float(np.max(np.asarray(chain.forward(q, side=side)))) for side in (1, -1))
    return abs(up - down)
