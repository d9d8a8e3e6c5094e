"""Laws of a delay: the path of before, whatever the pieces in which it is handed in."""

import numpy as np
import pytest

from anglewright.delay import follow_delay

T = np.cumsum(np.random.default_rng(1).uniform(0.5e-3, 2e-3, 200))


def slow(t):
    return np.sin(5.0 * t)


def test_a_straight_path_lags_by_speed_times_delay():
    path, _ = follow_delay(3.0 * T, T, None, delay_s=0.02)
    late = T - T[0] > 0.02
    assert np.allclose(path[late], 3.0 * (T[late] - 0.02), rtol=0.0, atol=1e-12)
    assert np.all(path[~late] == 3.0 * T[0])


def test_without_delay_it_is_the_path_itself():
    path, state = follow_delay(slow(T), T, None, delay_s=0.0)
    assert np.array_equal(path, slow(T))
    assert state.shape == (1, 2)


@pytest.mark.parametrize("held", [False, True])
@pytest.mark.parametrize("delay_s", [0.0, 1e-4, 0.013, 5.0])
def test_pieces_of_any_length_give_the_whole(delay_s, held):
    whole, _ = follow_delay(slow(T), T, None, delay_s=delay_s, held=held)
    state, pieces = None, []
    for first, last in ((0, 1), (1, 2), (2, 40), (40, 43), (43, 200)):
        piece, state = follow_delay(slow(T[first:last]), T[first:last], state, delay_s=delay_s, held=held)
        pieces.append(piece)
    assert np.allclose(np.concatenate(pieces), whole, rtol=0.0, atol=1e-14)


def test_held_values_are_only_such_as_were_seen():
    wrapping = np.mod(30.0 * T, 1.0)
    path, _ = follow_delay(wrapping, T, None, delay_s=0.0033, held=True)
    assert set(path) <= set(wrapping)
    assert len(set(path)) > 100


def test_the_memory_is_no_longer_than_the_delay_asks_for():
    _, state = follow_delay(slow(T), T, None, delay_s=0.01)
    assert np.all(state[1:, 0] > T[-1] - 0.01)
    assert state[0, 0] <= T[-1] - 0.01


def test_builds_with_delays_of_their_own_move_as_each_of_them_alone():
    delays, rows = np.array([[0.0], [0.004], [0.02]]), np.stack([slow(T), 2.0 * T, slow(2.0 * T)])
    table, state = follow_delay(rows[:, :90], T[:90], None, delay_s=delays)
    rest, _ = follow_delay(rows[:, 90:], T[90:], state, delay_s=delays)
    for each in range(3):
        alone, _ = follow_delay(rows[each], T, None, delay_s=float(delays[each, 0]))
        assert np.allclose(np.concatenate([table[each], rest[each]]), alone, rtol=0.0, atol=1e-14)


def test_one_path_with_several_delays_makes_a_table():
    table, _ = follow_delay(slow(T), T, None, delay_s=np.array([[0.0], [0.01]]))
    assert table.shape == (2, len(T))
    assert np.array_equal(table[0], slow(T))
