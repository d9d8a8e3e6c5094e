"""What a column may be by its values: range, common divisor, whether it follows another."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import Problem, UsageError, nearest
from anglewright.quantities.units import UNITS, Kind, Unit
from anglewright.tables.header import Header
from anglewright.tables.sides import SIDES, WORDS
from anglewright.tables.text import Grid
from anglewright.tables.wishes import OPTION, Wishes

Array = NDArray[np.float64]
_BEYOND = 0.25  # of the axis's range by which readings of the reference may exceed it [1]
_LEAST = 0.1  # of the axis's range that readings of the reference cover at least [1]
_FOLLOWS, _APART = 0.95, 0.8  # correlation that shows that a column follows another, and that it does not [1]
_MOST_ROWS = 4000  # of the sample that are looked at [1]
_FILLED = 0.3  # share of a column's cells that must be numbers [1]
_COMMON: dict[Kind, tuple[str, ...]] = {
    Kind.ANGLE: ("deg", "rad", "turn"),
    Kind.LENGTH: ("mm", "m", "cm", "in"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the axis expects of a sheet: its unit, what the controller shows, and the ranges of both.

    `low` and `high` bound the motion [m or rad], `raw_low` and `raw_high` the raw reading, in the units of
    `raw_meaning`; None where nothing is known. `marks` are positions as cells in the unit, by their names.
    """

    unit: Unit
    raw_meaning: str
    low: float | None = None
    high: float | None = None
    raw_low: float | None = None
    raw_high: float | None = None
    marks: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """A column of numbers as the sample shows it; nan where a row has none."""

    index: int
    name: str
    values: Array

    @property
    def known(self) -> Array:
        """The numbers alone. [unit of the column]"""
        return self.values[np.isfinite(self.values)]

    @property
    def whole(self) -> bool:
        """Whether all are whole numbers."""
        return bool(np.all(self.known == np.rint(self.known)))

    @property
    def rises(self) -> bool:
        """Whether the numbers rise from row to row, hardly ever standing still."""
        steps = np.diff(self.known)
        return len(steps) > 1 and bool(np.all(steps >= 0.0)) and bool(np.mean(steps > 0.0) > 0.5)

    @property
    def divisor(self) -> int:
        """Greatest common divisor of whole numbers, 0 where they are not whole. [1]

        The smallest step between neighbours is not the resolution; what divides all values is.
        """
        if not self.whole or len(self.known) == 0 or float(np.max(np.abs(self.known))) > 2**53:
            return 0
        return math.gcd(*(int(value) for value in np.unique(self.known)))

    def describe(self) -> str:
        """The range in words: ``whole numbers from 407 to 3674``."""
        kind = "whole numbers" if self.whole else "numbers"
        text = f"{kind} from {np.min(self.known):.6g} to {np.max(self.known):.6g}"
        return f"{text}, all multiples of {self.divisor}" if self.divisor > 1 else text


def columns_in(grid: Grid, header: Header) -> tuple[Column, ...]:
    """The columns of the sample that hold numbers."""
    rows = grid.rows[header.first : header.first + _MOST_ROWS]
    found = []
    for index, form in enumerate(header.forms):
        name = header.names[index] if index < len(header.names) else str(index + 1)
        values = form.values([row.cell(index) for row in rows])
        if np.count_nonzero(np.isfinite(values)) >= max(1.0, _FILLED * len(rows)):
            found.append(Column(index=index, name=name, values=values))
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sampled:
    """What the choice of columns rests on: the sample, its header, its numbers, what is wanted and asked."""

    grid: Grid
    header: Header
    numeric: tuple[Column, ...]
    wanted: Wanted
    wishes: Wishes

    def name(self, index: int) -> str:
        """Name of a column, or its number where it has none."""
        return self.header.names[index] if index < len(self.header.names) else str(index + 1)

    def describe(self, index: int) -> str:
        """The numbers of a column in words."""
        return next((each.describe() for each in self.numeric if each.index == index), "no numbers")

    def wished(self, text: str, role: str) -> int:
        """A column by its name or its number from 1.

        Raises
        ------
        UsageError
            There is no such column.
        """
        names = [name.strip().lower() for name in self.header.names]
        if text.lower() in names:
            return names.index(text.lower())
        if text.isdecimal() and 1 <= int(text) <= len(self.header.forms):
            return int(text) - 1
        found = f"{self.grid.name} has no column '{text}'"
        raise UsageError(Problem(f"{OPTION} {role}", found, "", nearest(text, self.header.names)))

    def holds_sides(self, column: int) -> bool:
        """Whether a column holds nothing but sides of approach, and words for them."""
        cells = {row.cell(column).lower() for row in self.grid.rows[self.header.first :]}
        return cells <= set(SIDES) and bool(cells & WORDS)


def sampled_of(grid: Grid, header: Header, *, wanted: Wanted, wishes: Wishes) -> Sampled:
    """The sample with its columns of numbers."""
    return Sampled(grid=grid, header=header, numeric=columns_in(grid, header), wanted=wanted, wishes=wishes)


def plausible_units(column: Column, wanted: Wanted) -> tuple[Unit, ...]:
    """Units in which the column would be positions of the axis; that of the axis first."""
    names = (wanted.unit.name, *_COMMON.get(wanted.unit.kind, ()))
    units = [UNITS[name] for name in dict.fromkeys(names)]
    return tuple(unit for unit in units if _covers(column.known, unit, wanted))


def _covers(values: Array, unit: Unit, wanted: Wanted) -> bool:
    """Whether values in a unit stay near the range of the axis and cover some of it."""
    if wanted.low is None or wanted.high is None or len(values) == 0:
        return True
    span = wanted.high - wanted.low
    low, high = unit.to_si(float(np.min(values))), unit.to_si(float(np.max(values)))
    inside = low >= wanted.low - _BEYOND * span and high <= wanted.high + _BEYOND * span
    return inside and high - low >= _LEAST * span


def may_be_raw(column: Column, wanted: Wanted) -> bool:
    """Whether the column could be what the controller shows."""
    if wanted.raw_meaning == "counts" and not column.whole:
        return False
    values = column.known
    low = -math.inf if wanted.raw_low is None else wanted.raw_low
    high = math.inf if wanted.raw_high is None else wanted.raw_high
    return bool(np.min(values) >= low and np.max(values) <= high and np.ptp(values) > 0.0)


def following(
    pairs: list[tuple[Column, Column]],
) -> tuple[tuple[Column, Column], float] | None:
    """The one pair of which one column follows the other, and how well; None where several do, or none."""
    scores = sorted(((_correlation(*pair), k) for k, pair in enumerate(pairs)), reverse=True)
    if scores[0][0] < _FOLLOWS or (len(scores) > 1 and scores[1][0] > _APART):
        return None
    return pairs[scores[0][1]], scores[0][0]


def _correlation(first: Column, second: Column) -> float:
    """Size of the correlation of two columns over the rows that hold both. [1]"""
    both = np.isfinite(first.values) & np.isfinite(second.values)
    one, other = first.values[both], second.values[both]
    if len(one) < 3 or np.ptp(one) == 0.0 or np.ptp(other) == 0.0:
        return 0.0
    found = np.corrcoef(one / np.max(np.abs(one)), other / np.max(np.abs(other)))[0, 1]
    return abs(float(found)) if math.isfinite(found) else 0.0
