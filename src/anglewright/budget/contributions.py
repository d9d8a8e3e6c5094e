"""Error curves of single numbers: each nudged through the chain without rounding."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any, TypeAlias

import numpy as np

from anglewright.chain import Chain
from anglewright.circuits import Numeric, nonzero
from anglewright.harmonics import UnknownWaves
from anglewright.links.code import CodeLine
from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Array, Number
from anglewright.quantities.spread import Persistence
from anglewright.rig import Axis, at_mean, nudged, realise
from anglewright.shapes import UnknownShape

Nudge: TypeAlias = tuple[str, Any]
"""Key of a number, and the value that it takes while every other stays at its mean."""


class Play(Enum):
    """How the axis comes to rest before it is read."""

    TWO_SIDED = "two-sided"
    ONE_SIDED = "one-sided"
    DITHERED = "dithered"


_SIDES = np.array([[1.0], [-1.0]])  # rising and falling, one row each [1]
_PLAY_DIVISOR = {Play.TWO_SIDED: 1.0, Play.DITHERED: float(np.sqrt(3.0))}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Contribution:
    """What one number does to the position that the code computes.

    `curves` (M, P): one row a mode, each the error at P positions for one standard uncertainty; rows are
    independent. `limits` (L, P): the error with the number at each of its limits. `free_shape` says that the
    limit may have any sign at any place. `lags` marks play, whose parts move together. All in m or rad.
    """

    link: str
    quantity: str
    meaning: str
    persistence: Persistence
    cured_by: str
    curves: Array
    limits: Array
    dof: float = float("inf")
    free_shape: bool = False
    lags: bool = False

    @property
    def standard_uncertainty(self) -> Array:
        """Root of the sum of squares of the modes, shape (P,). [m or rad]"""
        return np.asarray(np.sqrt(np.sum(self.curves**2, axis=0)))

    @property
    def worst(self) -> Array:
        """Largest error at any of its limits, shape (P,). [m or rad]"""
        return np.asarray(np.max(np.abs(self.limits), axis=0))

    def halved(self) -> "Contribution":
        """The same contribution at half its size."""
        return replace(self, curves=self.curves / 2.0, limits=self.limits / 2.0)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ErrorMap:
    """Error of the code's line over positions, for any realised chain of one axis. [m or rad]"""

    axis: Axis
    line: CodeLine
    positions: Array

    def error(self, chain: Chain, *, side: Numeric = 0, at: int | None = None) -> Array:
        """Computed less true position, without rounding, shape (P,). [m or rad]"""
        codes = chain.unrounded().forward(self.positions, side=side, at=at)
        return np.asarray(self.line.forward(codes)) - self.positions

    def nudged(self, nudges: Sequence[Nudge]) -> Array:
        """Errors with one number at a value each and every other at its mean, shape (N, P). [m or rad]

        The N chains are run at once, one virtual build each.
        """
        columns = _columns(self.axis, nudges)
        chain = realise(self.axis, lambda number: columns.get(number.key, number.variate.mean))
        errors = self.error(chain, side=self.side_of_use)
        return np.broadcast_to(errors, (len(nudges), len(self.positions)))

    @property
    def bias(self) -> Array:
        """Error with every number at its mean, in the middle of the sides of use, shape (P,). [m or rad]"""
        return self.error(realise(self.axis, at_mean), side=self.side_of_use)

    @property
    def side_of_use(self) -> int:
        """Middle of the sides from which the axis is read, less the side on which its zero was set. [1]"""
        return int(Play(self.axis.motion.settles) is Play.ONE_SIDED) - self.axis.zero_side


def _columns(axis: Axis, nudges: Sequence[Nudge]) -> dict[str, Array]:
    """Every nudged number over N builds, at its mean but where it is nudged, (N, 1) or (N, 1, 7)."""
    columns: dict[str, Array] = {}
    means = {number.key: np.asarray(number.variate.mean, dtype=float) for number in axis.numbers}
    for row, (key, value) in enumerate(nudges):
        mean = means[key]
        if key not in columns:
            columns[key] = np.tile(mean, (len(nudges), 1, *np.ones(mean.ndim, dtype=int)))
        columns[key][row] = value
    return columns


def short_name(number: Number) -> str:
    """A number's meaning up to its first comma: ``play of the coupling``."""
    return number.meaning.partition(",")[0]


def _nudges(number: Number) -> list[Nudge]:
    """A number down and up by each of its modes in turn, then at its limits."""
    values = [value for pair in number.variate.nudges for value in pair]
    return [(number.key, value) for value in (*values, *number.variate.limits)]


def _number_contribution(number: Number, errors: Array, bias: Array) -> Contribution:
    """What one number does, from the errors of its `_nudges` (N, P)."""
    moved, limits = errors[: 2 * len(number.variate.nudges)], errors[2 * len(number.variate.nudges) :]
    return Contribution(
        link=number.room,
        quantity=number.name,
        meaning=short_name(number),
        persistence=number.variate.persistence,
        cured_by=number.cured_by,
        curves=(moved[1::2] - moved[::2]) / 2.0,
        limits=limits - bias,
        dof=number.variate.dof,
        free_shape=isinstance(number.variate, UnknownShape | UnknownWaves),
    )


def _rounding(errors: ErrorMap) -> Contribution:
    """Quantisation: rectangular, one count wide, its own contribution."""
    step = np.full(errors.positions.shape, abs(errors.line.slope))
    return Contribution(
        link="converter",
        quantity="quantisation",
        meaning="rounding to a whole code",
        persistence=Persistence.READING,
        cured_by="more bits, or averaging a noisy reading",
        curves=(step / np.sqrt(12.0))[None, :],
        limits=(step / 2.0)[None, :],
    )


def _half_lag(errors: ErrorMap, chain: Chain, index: int) -> Array:
    """Half the difference that the side of approach makes, through one link alone."""
    both = np.broadcast_to(errors.error(chain, side=_SIDES, at=index), (2, len(errors.positions)))
    return np.asarray(both[0] - both[1]) / 2.0


def _play(errors: ErrorMap, chain: Chain, index: int, play: Play) -> Contribution | None:
    """Half the free motion of the part at a place of the chain, and how well its size is known."""
    part, numbers = errors.axis.numbered[index]
    sizes = [number for number in numbers if number.cured_by == ONE_SIDED]
    if not sizes or play is Play.ONE_SIDED or not nonzero(chain.links[index].lag):
        return None
    half = _half_lag(errors, chain, index)

    def lag(number: Number, value: Any) -> Array:
        return _half_lag(errors, realise(errors.axis, nudged(number.key, value)), index)

    loose = [number for number in sizes if not number.variate.is_exact]
    unsure = [(lag(n, high) - lag(n, low)) / 2.0 for n in loose for low, high in n.variate.nudges]
    beyond = sum((np.abs(lag(n, n.variate.limits[1]) - half) for n in loose), np.zeros_like(half))
    return Contribution(
        link=part.room,
        quantity=sizes[0].name,
        meaning=short_name(sizes[0]),
        persistence=Persistence.MOTION,
        cured_by=ONE_SIDED,
        curves=np.array([half, *unsure]) / _PLAY_DIVISOR[play],
        limits=(np.abs(half) + beyond)[None, :],
        lags=True,
    )


def contributions(errors: ErrorMap, play: Play, *, bias: Array | None = None) -> tuple[Contribution, ...]:
    """Every contribution to the error of one reading, nothing calibrated yet.

    Parameters
    ----------
    errors : ErrorMap
        The axis, its line and the positions to look at. [m or rad]
    play : Play
        How the axis comes to rest before it is read.
    bias : array, (P,), optional
        The bias of `errors`, where it is known already. [m or rad]

    Returns
    -------
    tuple of Contribution
        In the order of the chain; numbers without a spread are left out.

    References
    ----------
    gum, gum-quantisation
    """
    found, chain = [], realise(errors.axis, at_mean)
    bias = errors.error(chain) if bias is None else bias
    loose = filter(_is_nudged, errors.axis.numbers)
    moved = iter(errors.nudged([nudge for number in loose for nudge in _nudges(number)]))
    for index, (_, numbers) in enumerate(errors.axis.numbered):
        for number in filter(_is_nudged, numbers):
            rows = np.array([next(moved) for _ in _nudges(number)])
            found.append(_number_contribution(number, rows, bias))
        lagging = _play(errors, chain, index, play)
        if lagging is not None:
            found.append(lagging)
    return (*found, _rounding(errors))


def _is_nudged(number: Number) -> bool:
    """A number that has a spread and is no free motion, whose effect depends on the side."""
    return not number.variate.is_exact and number.cured_by != ONE_SIDED
