"""The whole calibration of a line, on a bench of plain arithmetic."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from anglewright.calibration.line import fit_line
from anglewright.calibration.points import CalibrationPoint, calibration_points
from anglewright.calibration.result import Calibration, Task, calibrate_points
from anglewright.calibration.uncertainty import ReferenceUncertainty, pooled_noise, without_play
from anglewright.calibration.verdict import Requirement, Verdict
from anglewright.errors import DataError
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import Unit

Draw = Callable[[np.random.Generator], Callable[[Any], Any]]
PROTRACTOR = ReferenceUncertainty(
    per_point=math.radians(0.1 / math.sqrt(3)), shared=math.radians(0.1 / math.sqrt(3))
)
MOTION = Requirement(low=math.radians(-20.0), high=math.radians(115.0), permissible_error=math.radians(1.0))


_TWELVE = CodeRange.of_bits(12)


@pytest.fixture(name="calibrate")
def fixture_calibrate(deg: Unit) -> Callable[..., Calibration]:
    """Calibrate the log of a bench against the rover's need, but for what is named."""

    def calibrate(
        log: Any,
        *,
        requirement: Requirement = MOTION,
        reference: ReferenceUncertainty = PROTRACTOR,
        **named: Any,
    ) -> Calibration:
        points = calibration_points(log, unit=deg, codes=_TWELVE)
        task = Task(requirement=requirement, reference=reference, codes=_TWELVE, unit=deg, **named)
        return calibrate_points(points, task=task)

    return calibrate


@pytest.fixture(name="straight")
def fixture_straight(make_bench: type) -> Any:
    """A straight, unloaded sensor without play."""
    return make_bench(loading=0.0)


def test_a_straight_sensor_gets_back_its_line(straight: Any, calibrate: Callable[..., Calibration]) -> None:
    result = calibrate(straight.sweep(np.random.default_rng(11)))
    # by hand: 340 deg / 2 / 4096 a count; code 0 at 47.5 - 85 deg, read half a count high
    assert math.degrees(result.slope) == pytest.approx(340 / 2 / 4096, rel=2e-3)
    assert math.degrees(result.offset) == pytest.approx(47.5 - 85.0, abs=0.2)
    assert (result.n_points, result.n_positions, len(result.residuals)) == (18, 9, 18)
    assert result.verdict is Verdict.MEETS
    assert result.outliers == ()


def test_the_line_is_that_of_fit_line(straight: Any, calibrate: Callable[..., Calibration]) -> None:
    result = calibrate(straight.sweep(np.random.default_rng(3)), reference=ReferenceUncertainty())
    fit = fit_line([point.raw for point in result.points], [point.reference for point in result.points])
    assert (result.offset, result.slope, result.residual_sd) == (fit.offset, fit.slope, fit.residual_sd)
    # the variance of a point is known from its repeats here; the shape of the covariance is that of the line
    variance = result.fit.error.lack.point_variance
    assert result.covariance / variance == pytest.approx(fit.covariance / fit.residual_sd**2, rel=1e-12)


def test_half_the_play_cancels_in_the_line(make_bench: type, calibrate: Callable[..., Calibration]) -> None:
    with_play = make_bench(loading=0.0, play_deg=6.0, noise_lsb=0.0, fresh_deg=0.0, shared_deg=0.0)
    result = calibrate(with_play.sweep(np.random.default_rng(1)))
    assert math.degrees(result.offset + result.slope * 2048.0) == pytest.approx(47.5, abs=0.03)
    one_sided = calibrate(with_play.sweep(np.random.default_rng(1), sides="u"))
    # going up the sensor shows 1.5 deg less than is true, and the line learns that
    assert math.degrees(one_sided.offset + one_sided.slope * 2048.0) == pytest.approx(49.0, abs=0.03)


def test_play_is_taken_out_of_what_the_line_cannot_follow(
    make_bench: type, calibrate: Callable[..., Calibration]
) -> None:
    result = calibrate(make_bench(loading=0.0, play_deg=6.0).sweep(np.random.default_rng(6)))
    rest = without_play(result.points, np.array(result.residuals), result.play)
    # planted: half the play is 1.5 deg at the joint, and the reference scatters by 0.058 deg
    assert np.degrees(np.abs(result.residuals)) == pytest.approx(1.5, abs=0.3)
    assert np.degrees(np.abs(rest)).max() < 0.3
    assert result.outliers == ()


def test_the_lasting_error_of_the_reference_widens_the_covariance(
    straight: Any, calibrate: Callable[..., Calibration]
) -> None:
    log = straight.sweep(np.random.default_rng(3))
    plain = calibrate(log, reference=ReferenceUncertainty())
    shared = calibrate(log, reference=ReferenceUncertainty(shared=0.01))
    assert shared.covariance - plain.covariance == pytest.approx(
        np.array([[1e-4, 0.0], [0.0, 0.0]]), abs=1e-15
    )
    scaled = calibrate(log, reference=ReferenceUncertainty(scale=0.02))
    at = np.array([1.0, 3000.0])
    more = at @ (scaled.covariance - plain.covariance) @ at
    # a scale error of 2 % moves the position by 2 % of itself: by hand
    assert math.sqrt(more) == pytest.approx(0.02 * (plain.offset + 3000.0 * plain.slope), rel=1e-9)


def test_the_parts_of_the_error_add_in_squares(
    make_bench: type, calibrate: Callable[..., Calibration]
) -> None:
    result = calibrate(make_bench(play_deg=3.0).sweep(np.random.default_rng(4)))
    error = result.error
    parts = (error.structure, error.noise, error.fit, error.play, error.reference, error.changes)
    assert error.standard_uncertainty == pytest.approx(math.sqrt(sum(part**2 for part in parts)))
    assert result.half_width_95 == error.half_width_95
    assert error.half_width_95 > 1.96 * error.standard_uncertainty
    # planted: 1.5 LSB rms and rounding, of 0.0415 deg each; play of 1.5 deg at the joint
    assert math.degrees(error.noise) == pytest.approx(math.hypot(1.5, 12**-0.5) * 0.0415, rel=0.3)
    assert math.degrees(error.play) == pytest.approx(0.75, abs=0.06)


def test_the_figures_of_linearity_are_those_of_the_planted_bow(
    make_bench: type, calibrate: Callable[..., Calibration]
) -> None:
    # a bow of 1 % of the travel over the calibrated part, x (1 - x) with x from 0 to 1 there:
    # departs by 1/8 of the coefficient from its best line and by 1/4 from its chord
    low, high = 0.5 - 135.0 / 340.0, 0.5 + 135.0 / 340.0
    share = 0.08

    def bow(travel: np.ndarray) -> np.ndarray:
        x = (travel - low) / (high - low)
        return share * (high - low) * x * (1.0 - x)

    bench = make_bench(loading=0.0, bend=bow, noise_lsb=0.3, fresh_deg=0.0, shared_deg=0.0)
    log = bench.sweep(np.random.default_rng(2), readings=32)
    nominal = (math.radians(47.5 - 85.0 + 0.5 * 340 / 2 / 4096), math.radians(340 / 2 / 4096))
    figures = calibrate(log, nominal=nominal).linearity
    assert figures.independent == pytest.approx(share / 8, rel=0.02)
    assert figures.terminal_based == pytest.approx(share / 4, rel=0.02)
    assert figures.zero_based == pytest.approx(share * (3 - 2 * math.sqrt(2)), rel=0.04)
    assert figures.absolute == pytest.approx(share / 4, rel=0.02)
    assert math.degrees(figures.span) == pytest.approx(135.0)
    assert calibrate(log).linearity.absolute is None


def test_hysteresis_shows_play_and_repeatability_wants_three_runs(
    make_bench: type, calibrate: Callable[..., Calibration]
) -> None:
    bench = make_bench(play_deg=4.0, loading=0.0)
    once = calibrate(bench.sweep(np.random.default_rng(8)))
    assert math.degrees(once.hysteresis_of_averages.value or 0.0) == pytest.approx(2.0, abs=0.35)
    assert once.repeatability.value is None
    thrice = calibrate(bench.sweep(np.random.default_rng(8), runs=3))
    assert thrice.repeatability.value is not None
    assert 0.0 < math.degrees(thrice.repeatability.value) < 0.6
    assert thrice.hysteresis.value >= thrice.hysteresis_of_averages.value


def test_a_slip_of_the_pen_is_shown_and_stays_in_the_fit(
    straight: Any, calibrate: Callable[..., Calibration], deg: Unit
) -> None:
    points = list(calibration_points(straight.sweep(np.random.default_rng(1)), unit=deg, codes=_TWELVE))
    points[4] = replace(points[4], raw=points[4].raw + 120)
    task = Task(requirement=MOTION, reference=PROTRACTOR, codes=_TWELVE, unit=deg)
    result = calibrate_points(points, task=task)
    assert 4 in [found.point for found in result.outliers]
    assert result.n_points == 18


def test_points_at_an_end_code_are_counted(deg: Unit) -> None:
    points = [
        CalibrationPoint(reference=q, raw=n)
        for q, n in [(0.0, 0.0), (0.5, 0.0), (1.0, 2000.0), (1.5, 3000.0), (2.0, 4095.0)]
    ]
    task = Task(requirement=MOTION, reference=PROTRACTOR, codes=_TWELVE, unit=deg)
    result = calibrate_points(points, task=task)
    assert result.clipped == (0, 1, 4)


def test_too_few_points_are_refused_with_the_number_that_it_takes(deg: Unit) -> None:
    points = [CalibrationPoint(reference=0.1 * k, raw=400.0 * k) for k in range(4)]
    task = Task(requirement=MOTION, reference=PROTRACTOR, codes=_TWELVE, unit=deg)
    with pytest.raises(DataError) as refused:
        calibrate_points(points, task=task)
    assert str(refused.value) == (
        "calibration: there are 4 points at 4 positions, and a line takes 5 at 3 or more, so that three tell "
        "how good it is. Take 5 or more, spread over the motion."
    )


@pytest.mark.parametrize(
    ("reference", "raw", "text"),
    [
        (
            [0.0, 1.0, 2.0],
            [7.0, 7.0, 7.0],
            "calibration: all 3 points read 7, so the reading does not follow the axis. "
            "Look for a shaft that does not turn, a wrong column, or a broken lead.",
        ),
        (
            [1.0, 1.0],
            [7.0, 8.0],
            "calibration: 2 readings at 1 position, a line needs two different ones. "
            "Take 5 or more, spread over the motion.",
        ),
    ],
)
def test_what_no_line_goes_through_is_refused(
    reference: list[float], raw: list[float], text: str, deg: Unit
) -> None:
    points = [CalibrationPoint(reference=q, raw=n) for q, n in zip(reference, raw, strict=True)]
    with pytest.raises(DataError) as refused:
        calibrate_points(points, task=Task(requirement=MOTION, reference=PROTRACTOR, codes=_TWELVE, unit=deg))
    assert str(refused.value) == text


def test_noise_is_pooled_over_the_points_that_were_repeated() -> None:
    points = [
        CalibrationPoint(reference=0.0, raw=0.0, readings=3, raw_sd=1.0),
        CalibrationPoint(reference=1.0, raw=9.0, readings=2, raw_sd=3.0),
        CalibrationPoint(reference=2.0, raw=18.0),
    ]
    # (2 * 1 + 1 * 9) / 3: by hand
    assert pooled_noise(points) == (pytest.approx(math.sqrt(11 / 3)), 3)


@pytest.mark.slow
@pytest.mark.parametrize("bent", ["bent_by_polynomial", "bent_by_sine"])
def test_the_half_width_holds_one_reading_anywhere_on_most_rigs(
    bent: str,
    request: pytest.FixtureRequest,
    make_bench: type,
    calibrate: Callable[..., Calibration],
    long: bool,
) -> None:
    draw: Draw = request.getfixturevalue(bent)
    held, seeds = 0, range(4000 if long else 400)
    for seed in seeds:
        rng = np.random.default_rng(seed)
        bench = make_bench(play_deg=rng.uniform(0.0, 6.0), bend=draw(rng), loading=rng.uniform(0.0, 0.14))
        result = calibrate(bench.sweep(rng))
        where, side = rng.uniform(-20.0, 115.0), rng.choice([-1, 1])
        code = float(bench.code(np.array([where]), side, rng)[0])
        held += abs(result.offset + result.slope * code - math.radians(where)) <= result.half_width_95
    assert held >= 0.95 * len(seeds)


@pytest.mark.slow
def test_without_the_shared_error_of_the_reference_the_interval_would_not_hold(
    make_bench: type, calibrate: Callable[..., Calibration], long: bool
) -> None:
    # straight, no play, and all points share one error: the residuals show nothing of it
    bench = make_bench(loading=0.0, fresh_deg=0.0, shared_deg=0.3)
    known = ReferenceUncertainty(shared=math.radians(0.3))
    held, careless, seeds = 0, 0, range(3000 if long else 300)
    for seed in seeds:
        rng = np.random.default_rng(seed)
        log = bench.sweep(rng)
        result, blind = calibrate(log, reference=known), calibrate(log, reference=ReferenceUncertainty())
        where = rng.uniform(-20.0, 115.0)
        code = float(bench.code(np.array([where]), 1, rng)[0])
        miss = abs(result.offset + result.slope * code - math.radians(where))
        held += miss <= result.half_width_95
        careless += miss <= blind.half_width_95
    chance = 3.3 * math.sqrt(0.95 * 0.05 * len(seeds))  # binomial, one test in a thousand
    assert abs(held - 0.95 * len(seeds)) <= chance
    assert careless < 0.6 * len(seeds)


def test_a_place_that_was_reached_from_one_side_keeps_no_half_of_the_play_in_the_linearity(
    deg: Unit,
) -> None:
    # a straight sensor behind 2 deg of play; the top was reached going up alone
    places, lag = np.radians(np.linspace(0.0, 90.0, 10)), math.radians(1.0)
    ways = [(q, 1) for q in places] + [(q, -1) for q in places[-2::-1]]
    points = [
        CalibrationPoint(reference=float(q), raw=float(1000.0 * (q - side * lag)), readings=4, approach=side)
        for q, side in ways
    ]
    task = Task(requirement=MOTION, reference=ReferenceUncertainty(), codes=_TWELVE, unit=deg)
    found = calibrate_points(points, task=task).linearity
    assert found.independent == pytest.approx(0.0, abs=1e-9)
    assert found.terminal_based == pytest.approx(0.0, abs=1e-9)
