"""What the controller computes: a line, and a small table of corrections where the line is not enough."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RangeError
from anglewright.links.protocol import Array, Port, Signal, State
from anglewright.steps import Step

MOST_NODES = 65  # of a table of corrections: 64 pieces, 260 bytes in a controller [1]
CLOSES = 1e-9  # of a period: how nearly the nodes of a table that comes round must fill it [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Corrections:
    """What is added to a line: values at evenly spaced codes, and straight pieces between them.

    Parameters
    ----------
    first : float
        Code of the first node. [count]
    step : float
        From each node to the next. [count]
    values : array, (K,)
        Correction at each node, 2 to 65 of them. [m or rad]
    period : float or None
        After so many codes the table comes round: the first node follows on the last, and K steps are one
        period. None where the end values hold beyond the ends. [count]

    Raises
    ------
    RangeError
        Too few or too many nodes, a number that is not finite, or nodes that do not fill the period.
    """

    first: float
    step: float
    values: Array
    period: float | None = None

    def __post_init__(self) -> None:
        """Keep the values from being changed, then refuse a table that is none."""
        values = np.array(self.values, dtype=float)
        values.flags.writeable = False
        object.__setattr__(self, "values", values)
        problem = next(_table_problems(self), None)
        if problem is not None:
            raise RangeError(problem)

    def __eq__(self, other: object) -> bool:
        """Equal where every number is."""
        return isinstance(other, Corrections) and self._numbers == other._numbers

    def __hash__(self) -> int:
        """By every number."""
        return hash(self._numbers)

    @property
    def _numbers(self) -> tuple[float | None, ...]:
        return (self.first, self.step, self.period, *self.values.tolist())

    @property
    def nodes(self) -> Array:
        """Codes of the nodes, rising; one that comes round ends with its first node once more. [count]"""
        return np.asarray(self.first + self.step * np.arange(len(self.heights)), dtype=np.float64)

    @property
    def heights(self) -> Array:
        """Corrections at `nodes`. [m or rad]"""
        return self.values if self.period is None else np.append(self.values, self.values[0])

    @property
    def slopes(self) -> Array:
        """Slope of each piece between two nodes. [m or rad per count]"""
        return np.asarray(np.diff(self.heights) / self.step)

    def at(self, code: Numeric) -> Numeric:
        """Correction of a code. [m or rad]"""
        found = np.interp(self._in_turn(code), self.nodes, self.heights)
        return found if np.ndim(found) else float(found)

    def slope_at(self, code: Numeric) -> Numeric:
        """Slope at a code, at a node that of the next piece; 0 beyond the ends. [m or rad per count]"""
        piece = np.searchsorted(self.nodes, self._in_turn(code), side="right")
        found = np.array([0.0, *self.slopes, 0.0])[piece]
        return found if np.ndim(found) else float(found)

    def piece(self, code: float) -> tuple[float, float, float]:
        """Node before a code [count], the correction there and at the next; beyond the ends the same."""
        place = float(np.asarray(self._in_turn(code)))
        nodes, heights = self.nodes, self.heights
        if not nodes[0] <= place < nodes[-1]:
            end = 0 if place < nodes[0] else -1
            return float(nodes[end]) + (code - place), float(heights[end]), float(heights[end])
        left = int(np.searchsorted(nodes, place, side="right")) - 1
        return float(nodes[left]) + (code - place), float(heights[left]), float(heights[left + 1])

    def times(self, factor: float) -> "Corrections":
        """The same table in another unit: every value times a factor. [1]"""
        return Corrections(first=self.first, step=self.step, values=self.values * factor, period=self.period)

    def _in_turn(self, code: Numeric) -> Numeric:
        """The code within the one period that the nodes cover. [count]"""
        return code if self.period is None else self.first + np.mod(code - self.first, self.period)


def _table_problems(table: Corrections) -> Iterator[Problem]:
    """Why numbers are no table of corrections."""
    where, again = "table of corrections", "Calibrate again."
    count, period = np.size(table.values), table.period
    if np.ndim(table.values) != 1 or not 2 <= count <= MOST_NODES:
        yield Problem(where, f"its number of nodes is {count}", f"2 to {MOST_NODES} are wanted", again)
    elif not (np.isfinite(table.values).all() and math.isfinite(table.first) and table.step > 0.0):
        found = "a number in it is missing or not finite, or its nodes do not rise"
        yield Problem(where, found, "", again)
    elif not math.isfinite(table.step) or (period is not None and not _closes(table, period)):
        found = f"{count} steps of {table.step:.9g} counts do not make up its period of {period:.9g} counts"
        yield Problem(where, found, "", again)


def _closes(table: Corrections, period: float) -> bool:
    return abs(len(table.values) * table.step - period) <= CLOSES * abs(period)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CodeLine:
    """Position of a code: offset + slope * code, and corrections where there are any. [m or rad]

    `offset` is the position of the line at code 0; `rotary` says in which unit it explains itself.

    Raises
    ------
    RangeError
        With the corrections the curve turns back, so that a position would belong to several codes.
    """

    takes: ClassVar[Signal] = Signal.CODE
    gives: ClassVar[Signal] = Signal.POSITION
    lag: ClassVar[float] = 0.0
    offset: float
    slope: float
    rotary: bool = True
    corrections: Corrections | None = None

    def __post_init__(self) -> None:
        """Refuse a curve that turns back."""
        if self.corrections is None:
            return
        turned = np.flatnonzero(self.sense * self._piece_slopes(self.corrections) <= 0.0)
        if len(turned):
            low, high = self.corrections.nodes[[turned[0], turned[0] + 1]]
            found = f"from code {low:.6g} to {high:.6g} the curve stands still or turns back"
            limit = "so that one position would have several codes"
            remedy = "Calibrate again: take more readings, or a straight line."
            raise RangeError(Problem("table of corrections", found, limit, remedy))

    @property
    def port(self) -> Port:
        """Nothing follows."""
        return Port()

    @property
    def sense(self) -> int:
        """Sign of the slope."""
        return 1 if self.slope > 0 else -1

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Position of a code. [m or rad]"""
        straight = self.offset + self.slope * u
        return straight if self.corrections is None else straight + self.corrections.at(u)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a position, not rounded. [count]"""
        if self.corrections is None:
            return (y - self.offset) / self.slope
        code = self._code_on(self.corrections, y)
        return code if np.ndim(code) else float(code)

    def slope_at(self, code: Numeric) -> Numeric:
        """Slope of the curve at a code. [m or rad per count]"""
        return self.slope if self.corrections is None else self.slope + self.corrections.slope_at(code)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the positions. [m or rad]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The line itself and the correction, in degrees or millimetres."""
        size, unit = (math.pi / 180.0, "deg") if self.rotary else (1e-3, "mm")
        straight = (self.offset + self.slope * u) / size
        step = Step(
            symbol="q",
            meaning="position that the controller computes",
            formula="offset + slope * n",
            numbers={"offset": self.offset / size, "slope": self.slope / size, "n": u},
            result=straight,
            unit=unit,
            source="derived",
        )
        if self.corrections is None:
            return (step,)
        node, left, right = self.corrections.piece(u)
        corrected = Step(
            symbol="q",
            meaning="the same with the correction of its table, on the straight piece between two nodes",
            formula="line + left + (right - left) * (n - node) / step",
            numbers={
                "line": straight,
                "left": left / size,
                "right": right / size,
                "n": u,
                "node": node,
                "step": self.corrections.step,
            },
            result=float(self.forward(u)) / size,
            unit=unit,
            source="derived",
        )
        return (step, corrected)

    def _piece_slopes(self, table: Corrections) -> Array:
        """Slopes of the curve on the pieces of its table. [m or rad per count]"""
        return np.asarray(self.slope + table.slopes)

    def _code_on(self, table: Corrections, y: Numeric) -> Array:
        """Code of a position on the curve: its piece is found, and the piece is straight. [count]"""
        nodes, slopes = table.nodes, [self.slope, *self._piece_slopes(table), self.slope]
        places = self.offset + self.slope * nodes + table.heights
        turns: Numeric = 0.0
        if table.period is not None:
            turns = np.floor((y - places[0]) / (self.slope * table.period))
            y = y - turns * self.slope * table.period
        after = np.searchsorted(self.sense * places, self.sense * np.asarray(y), side="right")
        before = np.maximum(after - 1, 0)
        code = nodes[before] + (y - places[before]) / np.array(slopes)[after]
        return np.asarray(code if table.period is None else code + turns * table.period)
