"""Virtual builds of the rover's shoulder: how many a second, in how much memory, against which yardsticks.

Yardsticks in the same run: numpy drawing as many random numbers alone (normal ones as such, all others as
plain uniform doubles), and the same chain called build by build with Python floats. Everything runs on one
thread; times are those of the processor, so that other work on the computer counts little, and ratios are
taken between the best of several alternating runs. Ends with 1 where a goal is missed.
"""

import sys
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from anglewright.budget.builds import ALL_STATES, POSITIONS, virtual_builds
from anglewright.budget.machines import calibrated_lines, machines_of, read_once, zero_shift
from anglewright.budget.states import State
from anglewright.budget.trials import HowMany, generator
from anglewright.links.protocol import Number
from anglewright.quantities.spread import Persistence
from anglewright.rig import Axis, datasheet_line, realise
from anglewright.rigfile.reading import read_rig

ROOT = Path(__file__).resolve().parent.parent
MILLION = 1_000_000
MOST_MEMORY_MB = 300.0
ROUNDS, COMPARED = 7, 200_000
ONE_BY_ONE = 40


class Goal(NamedTuple):
    """A ratio, and whether it should be at most or at least so much."""

    name: str
    ratio: float
    goal: float
    at_least: bool = False

    @property
    def kept(self) -> bool:
        """True where the goal is reached."""
        return self.ratio >= self.goal if self.at_least else self.ratio <= self.goal


class Counter:
    """A generator that counts what is drawn from it: normal variates, and all others, sides one by one."""

    def __init__(self) -> None:
        """Begin at none."""
        self.source, self.normal, self.other = generator(0, 0), 0, 0

    def standard_normal(self, shape: tuple[int, ...]) -> Any:
        """Normal variates. [1]"""
        self.normal += int(np.prod(shape))
        return self.source.standard_normal(shape)

    def uniform(self, low: float, high: float, shape: tuple[int, ...]) -> Any:
        """Rectangular variates. [1]"""
        self.other += int(np.prod(shape))
        return self.source.uniform(low, high, shape)

    def integers(self, low: int, high: int, shape: int | tuple[int, ...], dtype: Any = np.int64) -> Any:
        """Whole numbers; a byte stands for eight sides. [1]"""
        self.other += int(np.prod(shape)) * (8 if dtype is np.uint8 else 1)
        return self.source.integers(low, high, shape, dtype=dtype)


def variates(axis: Axis, states: tuple[State, ...]) -> tuple[int, int]:
    """Normal and other variates that one build takes, counted on eight, which fill their bytes. [1]"""
    counter: Any = Counter()
    machines = machines_of(axis, datasheet_line(axis), counter, count=8)
    read_once(machines, axis.positions(POSITIONS))
    if State.ZEROED in states:
        zero_shift(machines)
    if State.CALIBRATED in states:
        calibrated_lines(machines)
    return counter.normal // 8, counter.other // 8


def draw_alone(normal: int, other: int, builds: int) -> None:
    """As many variates, a thousand builds at a time so that they stay in the cache."""
    rng = generator(1, 0)
    for _ in range(builds // 1000):
        rng.standard_normal((1000, normal))
        rng.random((1000, other))


def one_by_one(axis: Axis, builds: int) -> None:
    """The same chain with Python floats: one build after the other, one position after the other."""
    rng, line = generator(2, 0), datasheet_line(axis)
    places = axis.positions(POSITIONS).tolist()
    for _ in range(builds):
        numbers = {number.key: number.variate.draw(rng, ()) for number in axis.numbers}
        for q in places:
            fresh = {number.key: number.variate.draw(rng, ()) for number in axis.numbers if _noisy(number)}
            chain = realise(axis, partial(_of, numbers | fresh))
            line.forward(chain.forward(q, side=float(rng.choice((-1.0, 1.0))))) - q


def _noisy(number: Number) -> bool:
    return number.variate.persistence is Persistence.READING


def _of(numbers: Mapping[str, Any], number: Number) -> Any:
    return numbers[number.key]


def seconds(work: Callable[[], object]) -> float:
    """Processor time of one run. [s]"""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def best(*works: Callable[[], object]) -> list[float]:
    """The best time of each over alternating runs. [s]"""
    runs = [[seconds(work) for work in works] for _ in range(ROUNDS)]
    return [min(times) for times in zip(*runs, strict=True)]


def peak_mb() -> float:
    """Most memory that this process has held so far; nan where the system does not tell. [MB]"""
    try:
        import resource
    except ImportError:
        return float("nan")
    size = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return size / (1e6 if sys.platform == "darwin" else 1e3)


def built(
    axis: Axis, builds: int, *, positions: int = POSITIONS, states: tuple[State, ...] = ALL_STATES
) -> None:
    """So many virtual builds on one thread."""
    virtual_builds(axis, positions=positions, how_many=HowMany(most=builds), seed=1, states=states)


def sizes(axis: Axis) -> None:
    """Three sizes: time grows with builds times positions and no faster."""
    print("All three states")
    for builds, positions in ((MILLION // 4, 25), (MILLION, 25), (MILLION // 4, 100)):
        took = seconds(partial(built, axis, builds, positions=positions))
        each = 1e9 * took / builds / positions
        size = f"{builds:>9,} builds x {positions:3} positions"
        speed = f"{took:6.2f} s, {builds / took:9,.0f} builds/s, {each:4.0f} ns a reading"
        print(f"  {size}: {speed}, peak {peak_mb():.0f} MB")


def goals(axis: Axis) -> list[Goal]:
    """The ratios, measured."""
    found = [Goal("peak memory, MB", peak_mb(), MOST_MEMORY_MB)]
    for states, name, limit in (((State.DATASHEET,), "one state", 4.0), (ALL_STATES, "three states", 10.0)):
        normal, other = variates(axis, states)
        own, drawn = best(
            partial(built, axis, COMPARED, states=states), partial(draw_alone, normal, other, COMPARED)
        )
        own_us, drawn_us = 1e6 * own / COMPARED, 1e6 * drawn / COMPARED
        drew = f"{normal + other} variates a build, drawn in {drawn_us:.2f} us"
        print(f"  {name}: {drew}, built in {own_us:.2f} us")
        found.append(Goal(f"{name} / drawing as many variates alone", own / drawn, limit))
    own, slow = best(
        partial(built, axis, COMPARED, states=(State.DATASHEET,)), partial(one_by_one, axis, ONE_BY_ONE)
    )
    ratio = (slow / ONE_BY_ONE) / (own / COMPARED)
    return [*found, Goal("build by build with Python floats / one state", ratio, 300.0, at_least=True)]


def main() -> int:
    """Print the table; 1 where a goal is missed."""
    axis = read_rig(ROOT / "examples" / "rover" / "rig.toml").axis("shoulder")
    sizes(axis)
    found = goals(axis)
    for goal in found:
        bound, verdict = "at least" if goal.at_least else "at most", "kept" if goal.kept else "missed"
        print(f"  {goal.name}: {goal.ratio:.2f}, goal {bound} {goal.goal:g}: {verdict}")
    return 0 if all(goal.kept for goal in found) else 1


if __name__ == "__main__":
    sys.exit(main())
