"""Shortest ways and turns: against numpy's unwrap, and the cases that go wrong in the field."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from anglewright.angles import TURN, circular_mean, nearest_turn, resultant, shortest

degrees = st.floats(min_value=-1e4, max_value=1e4)


@pytest.mark.parametrize(
    ("difference", "way"),
    # worked by hand: a compass heading of 10 held against 359, both ways; exactly half a turn goes back
    [(10 - 359, 11.0), (359 - 10, -11.0), (45 - 90, -45.0), (180, -180.0), (-180, -180.0), (720, 0.0)],
)
def test_the_shortest_way_round_is_taken(difference: float, way: float) -> None:
    assert shortest(difference, period=360.0) == pytest.approx(way, abs=1e-12)


@given(degrees, degrees)
def test_the_shortest_way_leads_to_the_same_angle(hold: float, current: float) -> None:
    way = shortest(hold - current, period=360.0)
    assert -180.0 <= way < 180.0
    turns = (hold - current - way) / 360.0
    assert turns == pytest.approx(np.rint(turns), abs=1e-9)


def test_readings_are_put_into_the_turn_where_numpy_unwraps_them() -> None:
    # numpy.unwrap with period 4096: 4000 4090 10 100 become 4000 4090 4106 4196
    codes = np.array([4000.0, 4090.0, 10.0, 100.0])
    expected = np.unwrap(codes, period=4096)
    assert nearest_turn(codes, expected + 900.0, period=4096).tolist() == expected.tolist()


def test_an_array_gives_what_each_of_its_elements_gives() -> None:
    many = np.linspace(-7.0, 7.0, 29)
    assert np.asarray(shortest(many)).tolist() == [shortest(float(one)) for one in many]
    assert np.isnan(shortest(np.nan))
    assert shortest(TURN) == 0.0


# CHECKS 10; the second and third set and their results from the books named there, from memory
@pytest.mark.parametrize(
    ("values", "mean", "length"),
    [
        ([355, 5, 15], 5.0, None),
        ([45, 55, 81, 96, 110, 117, 132, 154], 99.0, 0.82522),
        ([43, 45, 52, 61, 75, 88, 88, 279, 357], 51.0, 0.711),
    ],
)
def test_circular_mean_and_resultant_are_those_of_the_books(values, mean, length):
    assert circular_mean(values, period=360.0) == pytest.approx(mean, abs=0.5)
    if length is not None:
        assert resultant(values, period=360.0) == pytest.approx(length, abs=5e-4)


def test_circular_statistics_agree_with_scipy():
    values = np.random.default_rng(5).uniform(-700.0, 700.0, 40)
    assert circular_mean(values, period=360.0) == pytest.approx(stats.circmean(values, high=360.0))
    assert 1.0 - resultant(values, period=360.0) == pytest.approx(stats.circvar(values, high=360.0))
