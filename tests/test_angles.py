"""Shortest ways and turns: against numpy's unwrap, and the cases that go wrong in the field."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.angles import TURN, nearest_turn, shortest

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
