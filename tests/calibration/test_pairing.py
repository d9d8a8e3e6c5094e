"""Which points belong to one position."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.calibration.pairing import place_means, places, runs
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.repeatability import hysteresis_by_pairs


def _points(sweep: list[tuple[float, int]]) -> list[CalibrationPoint]:
    return [CalibrationPoint(reference=q, raw=q, approach=side) for q, side in sweep]


def test_three_runs_with_a_wavering_reference_have_three_places() -> None:
    way = [(0.0, 1), (10.2, 1), (19.9, 1), (20.1, -1), (9.9, -1), (-0.1, -1)]
    found = places(_points(way * 3))
    assert [place.up for place in found] == [(0, 6, 12), (1, 7, 13), (2, 8, 14)]
    assert found[0].pairs == ((0, 5), (6, 11), (12, 17))


def test_each_position_taken_from_both_sides_in_turn_is_paired_too() -> None:
    found = places(_points([(q, side) for q in (0.0, 10.0, 20.0) for side in (1, -1)]))
    assert [place.pairs for place in found] == [((0, 1),), ((2, 3),), ((4, 5),)]


def test_up_and_down_count_alike_in_the_mean_of_a_place() -> None:
    found = places(_points([(0.0, 1), (10.0, 1), (10.0, -1), (0.0, -1), (0.0, 1), (10.0, 1)]))
    values = np.array([1.0, 0.0, 0.0, 5.0, 3.0, 0.0])
    assert place_means(found, values).tolist() == [3.5, 0.0]  # (mean of 1 and 3, and 5) / 2: by hand


def test_a_run_that_left_a_position_out_leaves_a_hole() -> None:
    found = places(_points([(0.0, 1), (10.0, 1), (20.0, 1), (20.0, -1), (0.0, -1)]))
    up, down = runs(found, np.arange(5.0))
    assert up.tolist() == [[0.0, 1.0, 2.0]]
    assert np.isnan(down[0]).tolist() == [False, True, False]


def test_a_drift_between_runs_is_no_hysteresis_though_the_first_left_a_position_out() -> None:
    ways = [
        [(0.0, 1), (20.0, 1), (30.0, 1), (30.0, -1), (20.0, -1), (10.0, -1), (0.0, -1)],
        *[[*((q, 1) for q in (0.0, 10.0, 20.0, 30.0)), *((q, -1) for q in (30.0, 20.0, 10.0, 0.0))]] * 2,
    ]
    drift = np.repeat([0.0, 1.0, 2.0], [len(way) for way in ways])
    up, down = runs(places(_points([point for way in ways for point in way])), drift)
    assert np.isnan(up[0]).tolist() == [False, True, False, False]
    assert hysteresis_by_pairs(up, down).value == 0.0


def test_a_round_trip_that_began_in_the_middle_is_one_run_each_way() -> None:
    way = [(10.0, 1), (20.0, 1), (20.0, -1), (10.0, -1), (0.0, -1), (0.0, 1)]
    up, down = runs(places(_points(way)), np.arange(6.0))
    assert up.tolist() == [[5.0, 0.0, 1.0]]
    assert down.tolist() == [[4.0, 3.0, 2.0]]


def test_a_position_that_is_visited_three_times_before_the_next_makes_three_runs() -> None:
    up, down = runs(places(_points([(q, 1) for q in (0.0, 10.0) for _ in range(3)])), np.arange(6.0))
    assert up.tolist() == [[0.0, 3.0], [1.0, 4.0], [2.0, 5.0]]
    assert len(down) == 0


def test_three_ways_up_that_went_back_unseen_are_three_runs() -> None:
    up, _ = runs(places(_points([(q, 1) for _ in range(3) for q in (0.0, 10.0)])), np.arange(6.0))
    assert up.tolist() == [[0.0, 1.0], [2.0, 3.0], [4.0, 5.0]]


def test_a_mean_of_unequal_sides_is_worth_less_than_its_points() -> None:
    # the mean of two means has the variance (1/3 + 1/1) / 4 of a point: as of 3 points
    (place, _) = places(
        _points([(0.0, 1), (9.0, 1), (0.0, 1), (9.0, 1), (0.0, 1), (9.0, 1), (9.0, -1), (0.0, -1)])
    )
    assert (len(place.up), len(place.down)) == (3, 1)
    assert place.worth == pytest.approx(3.0)


@given(st.lists(st.tuples(st.floats(-100, 100), st.sampled_from([-1, 0, 1])), min_size=1, max_size=30))
def test_every_point_has_exactly_one_place(sweep: list[tuple[float, int]]) -> None:
    members = [k for place in places(_points(sweep)) for k in place.members]
    assert sorted(members) == list(range(len(sweep)))
