"""How fast a model is fitted and chosen: 1000 points, against one library fit of the loaded divider.

Prints a table: time of the whole choice (line, loaded divider, polynomials, table) with the fit to all
points, time of one `scipy.optimize.least_squares` of the loaded divider to the same points, and the ratio of
the two beside 100. The points are drawn from a seed. Times are those of the processor; each is the best of
several runs, taken in turns.
"""

import math
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from anglewright.calibration.choice import Offer
from anglewright.calibration.fitting import Known, fit_curve
from anglewright.calibration.models.bent import Polynomial
from anglewright.calibration.models.loaded import LoadedDivider
from anglewright.calibration.models.straight import Line
from anglewright.calibration.models.table import table_at
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReferenceUncertainty

POINTS, GOAL, RUNS = 1000, 100.0, 5
CODES = 4096.0
OFFERS: tuple[Offer, ...] = (
    lambda x: Line(),
    lambda x: LoadedDivider(low=0.0, high=CODES),
    *(lambda x, degree=degree: Polynomial(degree=degree, span=(x[0], x[-1])) for degree in (2, 3, 4)),
    table_at,
)


def bench(rng: np.random.Generator) -> list[CalibrationPoint]:
    """Points of a divider whose load is a fifth of its track: 500 places, up and down."""
    codes = np.linspace(300.0, 3800.0, POINTS // 2)
    codes = np.concatenate([codes, codes[::-1]])
    places = np.linspace(0.0, 1.0, 20_001)
    true = 3.0 * np.interp(codes / CODES, places / (1.0 + 0.2 * places * (1.0 - places)), places)
    raw = codes + 1.5 * rng.standard_normal(POINTS)
    sides = np.repeat([1, -1], POINTS // 2)
    return [
        CalibrationPoint(reference=float(q), raw=float(n), approach=int(side))
        for q, n, side in zip(true, raw, sides, strict=True)
    ]


def library_fit(raw: np.ndarray, position: np.ndarray) -> np.ndarray:
    """Offset, span and load by the library, the divider solved for the place as anyone would write it."""

    def departures(values: np.ndarray) -> np.ndarray:
        offset, span, load = values
        share = raw / CODES
        tail = 1.0 - share * load
        place = 2.0 * share / (tail + np.sqrt(tail**2 + 4.0 * share**2 * load))
        return np.asarray(offset + span * place - position)

    return np.asarray(least_squares(departures, [0.0, 3.0, 0.1]).x)


def timed(work: Callable[[], Any]) -> float:
    """Time of one run. [s]"""
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    """Print the table."""
    points = bench(np.random.default_rng(1))
    raw = np.array([point.raw for point in points])
    position = np.array([point.reference for point in points])
    known = Known(reference=ReferenceUncertainty(per_point=math.radians(0.05)))
    ours, library = [], []
    for _ in range(RUNS):
        library.append(timed(lambda: library_fit(raw, position)))
        ours.append(timed(lambda: fit_curve(points, offers=OFFERS, known=known)))
    chosen = fit_curve(points, offers=OFFERS, known=known).choice.chosen.model.name
    ratio = min(ours) / min(library)
    print(f"fit and choice, {POINTS} points   {1e3 * min(ours):8.1f} ms   chosen: {chosen}")
    print(f"one library fit of the divider {1e3 * min(library):8.1f} ms")
    print(f"ratio                          {ratio:8.1f}      goal: at most {GOAL:g}")


if __name__ == "__main__":
    main()
