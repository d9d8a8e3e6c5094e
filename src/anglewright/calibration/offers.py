"""Which models of a calibration an axis has reason for: by its sensor, its load, its converter."""

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import TypeAlias

import numpy as np

from anglewright.calibration.choice import Offer
from anglewright.calibration.models.bent import Harmonics, Polynomial
from anglewright.calibration.models.loaded import LoadedDivider
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.calibration.models.straightened import Straightened
from anglewright.calibration.models.table import table_at
from anglewright.chain import Chain
from anglewright.links.converter import Converter
from anglewright.links.protocol import Array, Number, Signal, TrackPort, VoltagePort
from anglewright.rig import Axis, at_nominal, datasheet_line, nudged, realise

DEGREES = (2, 3, 4)
SEEN_TURN = 0.75  # of a sensor turn, to tell waves from a bend (common practice, no source) [1]
SAME_TRAVEL = 1e-4  # change of the codes of the whole range below which a number leaves the slope alone [1]
FREE_HARMONICS = "harmonics, free slope"
SCALING_ROOMS = ("drive", "coupling", "converter")
"""Rooms whose numbers can make a digital sensor's counts per position uncertain."""


class _Nominal:
    """An axis with its nominal chain, and what its models ask of it, each worked out once at the most."""

    def __init__(self, axis: Axis) -> None:
        self.axis = axis
        self.chain = realise(axis, at_nominal)

    @cached_property
    def slope(self) -> float | None:
        """The slope that counts and teeth fix; None where none is known. [rad or m per count]"""
        return _known_slope(self.axis, self.chain)

    @cached_property
    def turn(self) -> float | None:
        """Codes of one turn of a sensor without a track that turns far enough. [count]"""
        return _codes_of_turn(self.axis, self.chain)

    @property
    def bends(self) -> bool:
        """Whether a free curve is looked for: on an axis with ends, whose sensor shows no waves of a turn."""
        return not self.axis.motion.endless and self.turn is None


_Maker: TypeAlias = Callable[[_Nominal], Offer | None]
"""One model of an axis; None where it cannot be true of it."""


def models_for(axis: Axis) -> tuple[Offer, ...]:
    """Models that can be true of an axis; a line always.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.

    Returns
    -------
    tuple of Offer
        In no order: the choice sorts them.

    Notes
    -----
    A known slope where the sensor gives a word, a pulse or counts, and its drive is exact. Waves once and
    twice in a turn where the sensor turns three quarters or more and has no track, polynomials and a table
    elsewhere on an axis with ends. A loaded divider where a track is fed. The converter's table first, where
    the rig file has one.

    References
    ----------
    practice
    """
    nominal = _Nominal(axis)
    found = (make(nominal) for make in _MAKERS.values())
    return tuple(offer for offer in found if offer is not None)


def model_named(axis: Axis, name: str) -> Offer | None:
    """One model of an axis by the name that a plan gives it.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    name : str
        As in ``model = "table"``; "best" is none, for the points are to choose.

    Returns
    -------
    Offer or None
        None where it cannot be true of this axis.

    References
    ----------
    practice
    """
    make = _MAKERS.get(name)
    return None if make is None else make(_Nominal(axis))


def _line(nominal: _Nominal) -> Offer:
    return lambda codes: Line()


def _fixed_slope(nominal: _Nominal) -> Offer | None:
    slope = nominal.slope
    return None if slope is None else lambda codes: FixedSlope(slope=slope)


def _harmonics(nominal: _Nominal) -> Offer | None:
    turn = nominal.turn
    if turn is None:
        return None
    slope = nominal.slope
    return lambda codes: Harmonics(turn=turn, slope=slope)


def _harmonics_of_free_slope(nominal: _Nominal) -> Offer | None:
    """Beside waves on a slope that counts and teeth fix, for a drive that is not what the rig file says."""
    turn = nominal.turn
    if turn is None or nominal.slope is None:
        return None
    return lambda codes: Harmonics(turn=turn, name=FREE_HARMONICS)


def _table(nominal: _Nominal) -> Offer | None:
    return table_at if nominal.bends else None


def _polynomial(degree: int) -> _Maker:
    def offer(codes: Array) -> Polynomial:
        return Polynomial(degree=degree, span=(float(codes[0]), float(codes[-1])))

    return lambda nominal: offer if nominal.bends else None


def _loaded_divider(nominal: _Nominal) -> Offer | None:
    track = _track_codes(nominal.axis, nominal.chain)
    if track is None:
        return None
    (low, high), to_feed = track, _pulled_up(nominal.axis)
    return lambda codes: LoadedDivider(low=low, high=high, to_feed=to_feed)


def _straightened(nominal: _Nominal) -> Offer | None:
    table = _converter_table(nominal.chain)
    if table is None:
        return None
    codes_of_table, even = table
    return lambda codes: Straightened(base=Line(), codes=codes_of_table, even=even)


_MAKERS: Mapping[str, _Maker] = {
    "line": _line,
    "fixed slope": _fixed_slope,
    "harmonics": _harmonics,
    FREE_HARMONICS: _harmonics_of_free_slope,
    "table": _table,
    **{f"polynomial {degree}": _polynomial(degree) for degree in DEGREES},
    "loaded divider": _loaded_divider,
    "straightened": _straightened,
}


def _known_slope(axis: Axis, chain: Chain) -> float | None:
    """Slope that the counts per turn and the teeth fix; None where a track, a level or a drum decides it."""
    if isinstance(_sensor_port(axis, chain), TrackPort | VoltagePort):
        return None
    loose = [n for n in axis.numbers if n.room in SCALING_ROOMS and not n.variate.is_exact]
    if any(_changes_travel(axis, number) for number in loose):
        return None
    return datasheet_line(axis).slope


def _changes_travel(axis: Axis, number: Number) -> bool:
    """Whether a number at its limit changes the codes of the whole range."""
    ends = np.array([axis.motion.low, axis.motion.high])
    picks = (nudged(number.key, number.variate.limits[1]), nudged(number.key, number.variate.mean))
    moved, usual = (
        float(np.ptp(np.asarray(realise(axis, pick).unrounded().forward(ends)))) for pick in picks
    )
    return abs(moved / usual - 1.0) > SAME_TRAVEL


def _codes_of_turn(axis: Axis, chain: Chain) -> float | None:
    """Codes of one turn of a sensor without a track that turns far enough. [count]"""
    if isinstance(_sensor_port(axis, chain), TrackPort):
        return None
    ends = np.array([axis.motion.low, axis.motion.high])
    place = [link.takes for link in chain.links].index(Signal.TURN)
    turned = abs(float(np.diff(chain.trace(ends)[place - 1])[0])) / (2.0 * np.pi)
    if turned < SEEN_TURN:
        return None
    return abs(float(np.ptp(ends)) / datasheet_line(axis).slope) / turned


def _sensor_port(axis: Axis, chain: Chain) -> object:
    return chain.links[axis.index_of("sensor")].port


def _track_codes(axis: Axis, chain: Chain) -> tuple[float, float] | None:
    """Codes with the wiper at either end of a track, as if the converter had no ends of its own. [count]"""
    if not isinstance(_sensor_port(axis, chain), TrackPort):
        return None
    sensor = axis.index_of("sensor")
    between, converter = chain.links[sensor + 1 : -1], chain.links[-1]
    volts = np.array([0.0, 1.0])
    for link in between:
        volts = np.asarray(link.forward(volts))
    codes = np.array([0.25, 0.75]) * chain.codes.count
    steep, level = np.polyfit(np.asarray(converter.backward(codes)), codes, 1)
    low, high = level + steep * volts
    return float(low), float(high)


def _pulled_up(axis: Axis) -> bool:
    """Whether what loads the track goes to the feed."""
    fields = {number.field for number in axis.part("wiring").numbers}
    return "pull_up_ohm" in fields and "pull_down_ohm" not in fields


def _converter_table(chain: Chain) -> tuple[Array, Array] | None:
    """Codes of a bent converter, and what an even one would give. [count]"""
    converter = chain.links[-1]
    if not isinstance(converter, Converter) or converter.bend is None:
        return None
    codes = np.arange(chain.codes.low, chain.codes.high + 1, max(chain.codes.count // 512, 1), dtype=float)
    volts = np.asarray(converter.backward(codes))
    even = codes[0] + (volts - volts[0]) / (volts[-1] - volts[0]) * (codes[-1] - codes[0])
    return codes, even
