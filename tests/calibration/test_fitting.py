"""What a fit says of its points: the scatter of one, what the curve cannot follow, marks that err for good.

Every bench is arithmetic of this file, and what must come out is known beforehand.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from anglewright.calibration.fitting import CurveFit, Known, fit_curve
from anglewright.calibration.models.bent import Harmonics, Polynomial
from anglewright.calibration.models.fitted import Model
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.calibration.models.table import table_at
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReferenceUncertainty

PER_COUNT = 1.0 / 2000.0  # rad a count of the straight benches here
FRESH = 0.002  # standard deviation of a reference [rad]


def straight_bench(rng: np.random.Generator, ways: Sequence[int]) -> list[CalibrationPoint]:
    """Nine places of a straight sensor without noise, the reference read anew at each visit."""
    places = np.linspace(0.0, 1.5, 9)
    return [
        CalibrationPoint(reference=float(q + FRESH * rng.standard_normal()), raw=q / PER_COUNT, approach=way)
        for way in ways
        for q in places[::way]
    ]


def fitted(points: Sequence[CalibrationPoint], *models: Model, **uncertainty: float) -> CurveFit:
    reference = ReferenceUncertainty(**uncertainty)
    offers = [lambda codes, model=model: model for model in models or (Line(),)]
    return fit_curve(points, offers=offers, known=Known(reference=reference, noise=0.3))


@pytest.mark.parametrize("ways", [(1, -1, 1, -1), (1, 1, 1, -1), (1, 1, 1, 1, 1, -1)])
def test_a_straight_sensor_is_seldom_said_to_bend_however_often_each_side_was_taken(
    ways: tuple[int, ...],
) -> None:
    rng = np.random.default_rng(len(ways))
    said = [fitted(straight_bench(rng, ways), per_point=FRESH).error.lack.structure > 0.0 for _ in range(200)]
    # a curve is found wanting where chance alone would with 10 %: 34 of 200 are passed once in a thousand
    assert sum(said) <= 34


def test_places_that_are_not_met_exactly_again_do_not_pass_for_scatter() -> None:
    # up and down within 15 % of a step of each other on a bow of 10 deg: 0.5 deg between them is the curve
    rng = np.random.default_rng(1)
    steps = np.linspace(400.0, 3700.0, 9)
    codes = np.concatenate([steps, steps[::-1]]) + 0.15 * 412.5 * rng.uniform(-1.0, 1.0, 18)
    bow = np.radians(-37.5 + codes * 170.0 / 4096.0 + 10.0 * ((2.0 * codes - 4100.0) / 3300.0) ** 2)
    points = [
        CalibrationPoint(
            reference=float(q), raw=float(np.rint(n)), readings=4, raw_sd=0.6, approach=1 - 2 * (k > 8)
        )
        for k, (q, n) in enumerate(zip(bow, codes, strict=True))
    ]
    fit = fitted(points, Polynomial(degree=2, span=(400.0, 3700.0)), per_point=math.radians(0.02))
    # by the plan: 0.02 deg of the reference and 0.42 counts of the mean of four, 0.0175 deg
    assert math.degrees(math.sqrt(fit.scatter.variance)) == pytest.approx(0.0266, abs=0.006)


@pytest.mark.parametrize("visits", [1, 3])
def test_marks_that_err_for_good_are_not_averaged_away(visits: int) -> None:
    held, trials, u = 0, 300, 0.01
    for seed in range(trials):
        rng = np.random.default_rng(seed)
        marks = np.linspace(0.0, 1.5, 3 if visits > 1 else 6)
        stand = marks + u * rng.standard_normal(len(marks))
        order = [k for _ in range(visits) for way in (1, -1) for k in range(len(marks))[::way]]
        points = [
            CalibrationPoint(
                reference=float(marks[k]),
                raw=float(np.rint(stand[k] / PER_COUNT + 0.8 * rng.standard_normal())),
                approach=1 if place % (2 * len(marks)) < len(marks) else -1,
            )
            for place, k in enumerate(order)
        ]
        fit = fitted(points, per_place=u)
        q = rng.uniform(0.0, 1.5)
        read = float(np.rint(q / PER_COUNT + 0.8 * rng.standard_normal()))
        away = abs(float(fit.fitted.predict(np.array([read]))[0]) - q)
        held += away <= fit.error.at(read).half_width_95
    # 95 %, 3.3 standard deviations of a count below
    assert held / trials >= 0.95 - 3.3 * math.sqrt(0.95 * 0.05 / trials)


def test_a_table_with_few_places_knows_how_little_its_trial_tells() -> None:
    rng = np.random.default_rng(4)
    codes = np.linspace(400.0, 3700.0, 5)
    wave = codes * 7e-4 + 0.02 * np.sin(codes / 300.0)
    points = [
        CalibrationPoint(
            reference=float(q + 0.0005 * rng.standard_normal()), raw=n, readings=4, raw_sd=1.5, approach=way
        )
        for way in (1, -1)
        for q, n in list(zip(wave, codes, strict=True))[::way]
    ]
    error = fitted(points, table_at(codes), per_point=0.0005).error.at(2000.0)
    assert error.structure > 0.0
    # five places, of which a trend takes two: Student's factor for 3 degrees is 3.18 and not 1.96
    assert error.half_width_95 / error.standard_uncertainty == pytest.approx(3.18, abs=0.15)


def test_waves_are_found_on_a_slope_that_is_not_the_one_of_the_rig_file() -> None:
    # 1 % off and 2 deg once a turn over three turns: neither a line nor the known slope with waves follows
    slope, rng = 2.0 * math.pi / 4096.0, np.random.default_rng(1)
    codes = np.linspace(0.0, 3.0 * 4096.0, 25)
    true = 1.01 * slope * codes + math.radians(2.0) * np.cos(2.0 * np.pi * codes / 4096.0)
    points = [
        CalibrationPoint(
            reference=float(q + 0.0005 * rng.standard_normal()), raw=n, readings=4, raw_sd=0.8, approach=way
        )
        for way in (1, -1)
        for q, n in list(zip(true, codes, strict=True))[::way]
    ]
    offered = (
        Line(),
        FixedSlope(slope=slope),
        Harmonics(turn=4096.0, slope=slope),
        Harmonics(turn=4096.0, name="harmonics, free slope"),
    )
    fit = fitted(points, *offered, per_point=0.0005)
    assert fit.choice.chosen.model.name == "harmonics, free slope"
    assert fit.fitted.values[1] == pytest.approx(1.01 * slope, rel=1e-4)
