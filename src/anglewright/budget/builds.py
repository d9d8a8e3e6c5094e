"""Virtual builds: a machine built a hundred thousand times by chance, and how wrong its readings are."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.budget.machines import (
    Machines,
    calibrated_lines,
    calibrated_positions,
    machines_of,
    read_once,
    zero_shift,
)
from anglewright.budget.planned import PlannedCurve, planned_curve
from anglewright.budget.states import State
from anglewright.budget.trials import HowMany, Trials, run_trials
from anglewright.circuits import Numeric
from anglewright.links.code import CodeLine
from anglewright.links.protocol import Array
from anglewright.rig import Axis, datasheet_line

POSITIONS = 25  # looked at over the range, both ends included [1]
ALL_STATES = (State.DATASHEET, State.ZEROED, State.CALIBRATED)
ENOUGH = HowMany(most=1_000_000, digits=2, joint=True)
_CELLS = 125_000  # builds times positions worked on at once: enough to drown what each batch costs [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StateBuilds:
    """Errors of one reading in one state, over many builds and at several positions; all in m or rad.

    Parameters
    ----------
    state : State
        What the code's line rests on.
    positions : array, (P,)
        Where the machines were read. [m or rad]
    bias, standard_uncertainty : array, (P,)
        Mean and standard deviation of the error over the builds. [m or rad]
    low, high : array, (P,)
        Ends of the probabilistically symmetric 95 % interval of the error. [m or rad]
    unsure : array, (P,)
        Standard deviation of the half-width that comes from the number of builds. [m or rad]
    worst_tenth : float
        One machine in ten is wrong by this or more somewhere on its range. [m or rad]
    largest : float
        The largest error that any build showed anywhere. [m or rad]
    permissible : float
        What the axis needs. [m or rad]
    """

    state: State
    positions: Array
    bias: Array
    standard_uncertainty: Array
    low: Array
    high: Array
    unsure: Array
    worst_tenth: float
    largest: float
    permissible: float

    @property
    def half_width(self) -> Array:
        """The larger end of the interval without its sign: bias and interval together, (P,). [m or rad]"""
        return np.asarray(np.maximum(np.abs(self.low), np.abs(self.high)))

    @property
    def worst(self) -> int:
        """Number of the position with the largest half-width. [1]"""
        return int(np.argmax(self.half_width))

    @property
    def worst_at(self) -> float:
        """The position with the largest half-width. [m or rad]"""
        return float(self.positions[self.worst])

    @property
    def half_width_95(self) -> float:
        """Half-width at the worst place. [m or rad]"""
        return float(self.half_width[self.worst])

    @property
    def meets(self) -> bool:
        """True where the need is met over the whole range."""
        return self.half_width_95 <= self.permissible

    def half_width_at(self, q: float) -> float:
        """Half-width at a position, between the places looked at. [m or rad]"""
        return float(np.interp(q, self.positions, self.half_width))

    def interval_at(self, q: float) -> tuple[float, float]:
        """Ends of the 95 % interval of the error at a position, signs kept. [m or rad]"""
        low, high = (float(np.interp(q, self.positions, end)) for end in (self.low, self.high))
        return low, high


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BuildsBudget:
    """All states that were asked for, from the same builds; `seed` gives them again.

    `still` tells whether the digits asked for stood still before the builds ran out. `n` counts builds. [1]
    """

    interval_by: ClassVar[str] = "virtual builds"
    axis: Axis
    n: int
    seed: int
    adaptive: bool
    still: bool
    states: tuple[StateBuilds, ...]

    def of(self, state: State) -> StateBuilds:
        """One state."""
        return next(found for found in self.states if found.state is state)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Workshop:
    """What is built and read: an axis, the line of its data sheet, the positions and states to look at.

    `curve` is the planned one, None where the plan is a straight line.
    """

    axis: Axis
    line: CodeLine
    positions: Array
    states: tuple[State, ...]
    curve: PlannedCurve | None = None

    def errors(self, rng: np.random.Generator, count: int) -> Array:
        """Errors of so many builds, (count, S (P + 1)): by state each place, then the largest. [m or rad]"""
        places = len(self.positions)
        table = np.empty((len(self.states) * (places + 1), count)).T
        together = max(1, _CELLS // places)
        for start in range(0, count, together):
            rows = table[start : start + together]
            machines = machines_of(self.axis, self.line, rng, count=len(rows))
            codes = read_once(machines, self.positions)
            for index, state in enumerate(self.states):
                first = index * (places + 1)
                errors, largest = rows[:, first : first + places], rows[:, first + places]
                self._read(machines, codes, state=state, errors=errors)
                if self.axis.motion.endless:
                    errors[:] = self.axis.apart(errors)
                np.maximum(errors.max(axis=1), -errors.min(axis=1), out=largest)
        return table

    def _read(self, machines: Machines, codes: Array, *, state: State, errors: Array) -> None:
        """Put what the codes are read as, less the true positions, into `errors` (B, P). [m or rad]"""
        if state is State.CALIBRATED and self.curve is not None:
            np.subtract(calibrated_positions(machines, self.curve, codes), self.positions, out=errors)
            return
        offset, slope = _LINES[state](machines)
        np.multiply(codes, slope, out=errors)
        errors += offset - self.positions

    def state(self, trials: Trials, index: int) -> StateBuilds:
        """One state out of the columns of all. [m or rad]"""
        first = index * (len(self.positions) + 1)
        last = first + len(self.positions)
        columns = slice(first, last)
        ends = np.stack([trials.low[columns], trials.high[columns]])
        outer = np.argmax(np.abs(ends), axis=0)
        return StateBuilds(
            state=self.states[index],
            positions=self.positions,
            bias=trials.mean[columns],
            standard_uncertainty=trials.standard_uncertainty[columns],
            low=ends[0],
            high=ends[1],
            unsure=np.take_along_axis(trials.unsure[2:, columns], outer[None], axis=0)[0],
            worst_tenth=float(trials.histogram.quantiles(np.array([0.9]))[last, 0]),
            largest=float(trials.histogram.most[last]),
            permissible=self.axis.permissible,
        )


def virtual_builds(
    axis: Axis,
    *,
    positions: int = POSITIONS,
    how_many: HowMany = ENOUGH,
    seed: int,
    threads: int = 1,
    states: tuple[State, ...] = ALL_STATES,
) -> BuildsBudget:
    """How wrong one reading is, over many builds of the same axis.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and plan.
    positions : int
        How many places to look at, both ends of the range included. [1]
    how_many : HowMany
        A fixed number of builds, or as many as it takes for some digits to stand still. [1]
    seed : int
        Everything random comes from it: same seed, same numbers. [1]
    threads : int
        How many blocks are worked on at once; the numbers do not depend on it. [1]
    states : tuple of State
        Which states to look at.

    Returns
    -------
    BuildsBudget
        Bias, standard uncertainty and interval by state and position. [m or rad]

    Raises
    ------
    RigError
        A build cannot be calibrated, because it reads the same everywhere.

    Notes
    -----
    Each build draws every number that lasts as long as the machine. It is zeroed and calibrated on other
    days than it is used: conditions are drawn anew for each, noise for each reading, and all codes are whole.
    In use it is read once at each place, from a side of its own. The error is the computed less the true
    position. The stated half-width is the larger end of the probabilistically symmetric interval (7.7)
    without its sign.

    References
    ----------
    jcgm101

    Examples
    --------
    95 % of all shoulders, calibrated by their plan, read within 3.1 deg, because of the pull at the pin:

    >>> from pathlib import Path
    >>> from anglewright.rigfile.reading import read_rig
    >>> shoulder = read_rig(Path("examples/rover/rig.toml")).axis("shoulder")
    >>> found = virtual_builds(shoulder, how_many=HowMany(most=20_000), seed=1)
    >>> print(f"{np.degrees(found.of(State.CALIBRATED).half_width_95):.1f}")
    3.1
    """
    shop = Workshop(
        axis=axis,
        line=datasheet_line(axis),
        positions=axis.positions(positions),
        states=states,
        curve=planned_curve(axis),
    )
    trials = run_trials(shop.errors, how_many, seed=seed, threads=threads)
    found = tuple(shop.state(trials, index) for index in range(len(states)))
    return BuildsBudget(
        axis=axis,
        n=trials.n,
        seed=seed,
        adaptive=how_many.digits is not None,
        still=trials.still,
        states=found,
    )


def _by_datasheet(machines: Machines) -> tuple[Numeric, Numeric]:
    return machines.line.offset, machines.line.slope


def _zeroed(machines: Machines) -> tuple[Numeric, Numeric]:
    return machines.line.offset - zero_shift(machines), machines.line.slope


_LINES: Mapping[State, Callable[[Machines], tuple[Numeric, Numeric]]] = {
    State.DATASHEET: _by_datasheet,
    State.ZEROED: _zeroed,
    State.CALIBRATED: calibrated_lines,
}
