"""Play out of up and down, against a bench of plain arithmetic with play planted in it."""

import math
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest

from anglewright.calibration.play import PlayEstimate, estimate_play
from anglewright.calibration.points import CalibrationPoint, calibration_points
from anglewright.links.protocol import CodeRange
from anglewright.quantities.units import Unit

Draw = Callable[[np.random.Generator], Callable[[Any], Any]]


_TWELVE = CodeRange.of_bits(12)


@pytest.fixture(name="seeds")
def fixture_seeds(long: bool) -> range:
    return range(4000 if long else 600)


@pytest.fixture(params=["bent_by_polynomial", "bent_by_sine"])
def bent(request: pytest.FixtureRequest) -> Draw:
    draw: Draw = request.getfixturevalue(request.param)
    return draw


def _trials(
    seeds: range, bent: Draw, make_bench: type, unit: Unit, planted_up_to: float
) -> Iterator[tuple[float, PlayEstimate]]:
    """Planted total play at the joint in rad, and its estimate."""
    for seed in seeds:
        rng = np.random.default_rng(seed)
        shaft = rng.uniform(0.0, planted_up_to)
        log = make_bench(play_deg=shaft, bend=bent(rng)).sweep(rng)
        points = calibration_points(log, unit=unit, codes=_TWELVE)
        yield math.radians(shaft / 2), estimate_play(points)


@pytest.mark.slow
def test_the_stated_interval_holds_the_planted_play_in_95_of_100(
    seeds: range, bent: Draw, make_bench: type, deg: Unit
) -> None:
    trials = list(_trials(seeds, bent, make_bench, deg, 6.0))
    share = sum(play.low <= planted <= play.high for planted, play in trials) / len(trials)
    chance = 3.3 * math.sqrt(0.95 * 0.05 / len(trials))  # binomial, one test in a thousand
    assert 0.95 - chance <= share <= 0.95 + chance + 0.005  # a wave too short for nine positions widens it


@pytest.mark.slow
def test_no_play_is_almost_never_reported_as_play(
    seeds: range, bent: Draw, make_bench: type, deg: Unit
) -> None:
    trials = list(_trials(seeds, bent, make_bench, deg, 0.0))
    expected = 0.001 * len(trials)  # a 99.9 % lower limit
    assert sum(play.seen for _, play in trials) <= expected + 3.3 * math.sqrt(expected) + 1
    assert all(play.low == 0.0 or play.low < 0.01 for _, play in trials)


@pytest.mark.slow
def test_the_value_is_right_on_the_average(seeds: range, bent: Draw, make_bench: type, deg: Unit) -> None:
    errors = [play.value - planted for planted, play in _trials(seeds, bent, make_bench, deg, 6.0)]
    # scatter by own arithmetic: reference sqrt(2) 0.058 deg, reading sqrt(2) 0.75 LSB of 0.0415 deg, 9 pairs
    scatter = math.radians(math.sqrt((2 * 0.0577**2 + 2 * (0.75 * 0.0415) ** 2) / 9))
    assert abs(np.mean(errors)) < 4 * scatter / math.sqrt(len(errors)) + 0.03 * scatter
    assert np.std(errors) == pytest.approx(scatter, rel=0.15)


@pytest.mark.parametrize("direction", [1.0, -1.0])
def test_play_has_the_same_sign_whichever_way_the_sensor_turns(
    make_bench: type, deg: Unit, direction: float
) -> None:
    log = make_bench(play_deg=3.0, direction=direction).sweep(np.random.default_rng(5))
    play = estimate_play(calibration_points(log, unit=deg, codes=_TWELVE))
    assert play.seen
    assert math.degrees(play.value) == pytest.approx(1.5, abs=0.12)  # planted; four standard uncertainties


def test_the_local_slope_matters(make_bench: type, deg: Unit) -> None:
    # two whole waves of 1 % on a quiet bench: the slope differs by 12 % from place to place
    bench = make_bench(
        play_deg=6.0, bend=lambda x: 0.01 * np.sin(4.0 * np.pi * x), noise_lsb=0.5, fresh_deg=0.0
    )
    log = bench.sweep(np.random.default_rng(1), readings=64)
    points = calibration_points(log, unit=deg, codes=_TWELVE)
    play = estimate_play(points)
    raw, reference = np.array([(point.raw, point.reference) for point in points]).T
    slope = np.polyfit(raw, reference, 1)[0]
    one_slope_for_all = np.std(slope * (raw[:8:-1] - raw[:9]), ddof=1) / 3.0
    assert play.standard_uncertainty < one_slope_for_all / 2
    assert play.low < math.radians(3.0) < play.high


def test_three_runs_give_three_times_the_pairs(make_bench: type, deg: Unit) -> None:
    log = make_bench(play_deg=3.0).sweep(np.random.default_rng(2), runs=3)
    assert estimate_play(calibration_points(log, unit=deg, codes=_TWELVE)).dof == 26


def test_one_side_alone_cannot_tell(make_bench: type, deg: Unit) -> None:
    log = make_bench(play_deg=3.0).sweep(np.random.default_rng(2), sides="u")
    play = estimate_play(calibration_points(log, unit=deg, codes=_TWELVE))
    assert (play.value, play.low, play.high, play.seen, play.half) == (None, None, None, False, 0.0)
    assert play.why == "all positions were reached from one side; take them going up and coming down"


def _by_hand(sweep: list[tuple[float, float, int]]) -> PlayEstimate:
    return estimate_play([CalibrationPoint(reference=q, raw=n, approach=side) for q, n, side in sweep])


def test_an_unknown_side_cannot_tell() -> None:
    play = _by_hand([(0.0, 0.0, 0), (1.0, 10.0, 0)])
    assert play.why == "the side from which the positions were reached is not known"


def test_one_pair_cannot_tell() -> None:
    play = _by_hand([(0.0, 0.0, 1), (1.0, 10.0, 1), (1.0, 11.0, -1)])
    assert play.why == "fewer than two positions were reached from both sides"


def test_readings_that_turn_back_cannot_tell() -> None:
    way = [(0.0, 0.0), (1.0, 10.0), (2.0, 5.0)]
    play = _by_hand([*[(q, n, 1) for q, n in way], *[(q, n, -1) for q, n in way[::-1]]])
    assert play.why == "the readings do not keep rising, or falling, with the position"


def test_readings_that_lead_point_at_the_approach_column() -> None:
    way = [(0.0, 100.0), (1.0, 1100.0), (2.0, 2100.0), (3.0, 3100.0)]
    play = _by_hand([*[(q, n + 20, 1) for q, n in way], *[(q, n - 20, -1) for q, n in way[::-1]]])
    assert (play.value, play.seen) == (0.0, False)
    assert (
        play.why == "the readings lead instead of lagging: check that the approach column is not turned round"
    )


def test_identical_readings_both_ways_are_known_no_better_than_a_count() -> None:
    way = [(0.0, 100.0), (1.0, 1100.0), (2.0, 2100.0), (3.0, 3100.0)]
    play = _by_hand([*[(q, n, 1) for q, n in way], *[(q, n, -1) for q, n in way[::-1]]])
    # two readings rounded to a count of 0.001: sqrt(2/12) of it, over sqrt(4 pairs)
    assert play.standard_uncertainty == pytest.approx(0.001 * math.sqrt(1 / 6) / 2)
    assert (play.value, play.seen, play.why) == (
        0.0,
        False,
        "it does not stand out of the scatter of the readings",
    )
    assert play.high > 0.0005
