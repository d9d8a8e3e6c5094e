"""How fast choices are weighed: 100 000 of them, against first-order budgets of the same axis one by one.

Prints a table: choices a second, time a choice, time of a budget, and the ratio of the two beside 1/200. The
catalogue is random, from a seed. Setting up (what each sensor leaves over a row of shaft angles, what each
drive's numbers are) is timed apart and counted in as well. Times are those of the processor; each is the best
of several runs.
"""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from anglewright.budget.totals import budget_axis
from anglewright.catalogue.fitting import fitted
from anglewright.links.gears import GearsPart
from anglewright.quantities.spread import Spread
from anglewright.rig import Axis
from anglewright.rigfile.reading import read_rig
from anglewright.selection.drives import Drives, drives_of
from anglewright.selection.figures import SensorFigures, figures_of
from anglewright.selection.judging import Judged, judge
from anglewright.selection.needs import Need, need_of
from anglewright.selection.offers import DriveOffer, Price, SensorOffer, Shaft
from anglewright.selection.ranking import kept
from anglewright.shapes import UnknownShape

ROOT = Path(__file__).resolve().parent.parent
SENSORS, DRIVES = 200, 500
GOAL = 1.0 / 200.0
RUNS = 5


def best_of(work: Callable[[], Any], runs: int = RUNS) -> float:
    """Shortest time of several runs. [s]"""
    times = []
    for _ in range(runs):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def random_sensors(axis: Axis, rng: np.random.Generator) -> list[SensorOffer]:
    """Potentiometers like that of the axis, with tracks, linearities and prices of their own."""
    part: Any = axis.part("sensor")
    found = []
    for number in range(SENSORS):
        travel = np.radians(rng.uniform(250.0, 3600.0))
        spread = Spread(nominal=travel, below=0.02 * travel, above=0.02 * travel)
        shape = UnknownShape(limit=float(rng.uniform(0.001, 0.05)))
        cost = float(rng.uniform(2.0, 200.0))
        offer = SensorOffer(
            name=f"sensor {number}",
            part=replace(part, travel_rad=spread, shape=shape),
            tables={"sensor": {}},
            price=Price(low=cost, high=cost, year=2025),
            shaft=Shaft(diameter_m=6e-3, form="round", bush=""),
            connector="",
        )
        found.append(fitted(offer, axis))
    return found


def random_drives(axis: Axis, rng: np.random.Generator) -> list[DriveOffer]:
    """Pairs of gears of random teeth and prices."""
    part = axis.part("drive")
    assert isinstance(part, GearsPart)
    found = []
    for first, second in rng.integers(12, 121, size=(DRIVES, 2)).tolist():
        cost = float(rng.uniform(4.0, 30.0))
        price = Price(low=cost, high=cost, year=2025)
        gears = replace(part, teeth=(first, second))
        found.append(DriveOffer(name=gears.describe(), part=gears, table={}, price=price))
    return found


def set_up(
    need: Need, sensors: list[SensorOffer], offers: list[DriveOffer]
) -> tuple[list[SensorFigures], Drives]:
    """What is worked out once a sensor and once a drive."""
    drives = drives_of(need, offers)
    return [figures_of(need, each, drives) for each in sensors], drives


def weighed(need: Need, figures: list[SensorFigures], drives: Drives) -> tuple[Judged, int]:
    """Every choice held against the need, and the kept ones put in order."""
    judged = judge(need, figures, drives)
    return judged, len(kept(judged))


def main() -> None:
    """Measure and print."""
    axis = read_rig(ROOT / "examples" / "rover" / "rig.toml").axis("shoulder")
    rng, need = np.random.default_rng(1), need_of(axis)
    sensors, offers = random_sensors(axis, rng), random_drives(axis, rng)
    figures, drives = set_up(need, sensors, offers)
    count = len(weighed(need, figures, drives)[0].sensor)
    setting = best_of(lambda: set_up(need, sensors, offers), runs=2)
    weighing = best_of(lambda: weighed(need, figures, drives))
    budget = best_of(lambda: budget_axis(axis), runs=20)
    print(f"{count} choices: {SENSORS} sensors at {DRIVES} drives; first-order budget {1e3 * budget:.3g} ms")
    print(f"{'':28}{'choices/s':>12}{'us/choice':>12}{'of a budget':>14}{'goal':>10}")
    for name, seconds in (("weighing and ranking", weighing), ("with setting up", weighing + setting)):
        share = seconds / count / budget
        print(f"{name:28}{count / seconds:12.0f}{1e6 * seconds / count:12.3f}{share:14.6f}{GOAL:10.6f}")


if __name__ == "__main__":
    main()
