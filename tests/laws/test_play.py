"""Laws of the play operator, for paths drawn at random."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.play import follow_play, lagged

paths = st.lists(st.floats(-50.0, 50.0), min_size=2, max_size=60).map(np.array)
halves = st.floats(0.0, 10.0)


@given(paths, halves, halves)
def test_two_plays_in_a_row_act_as_one_of_their_sum(path, first, second):
    # Known property of the play operator: a cascade of plays is the play of the summed widths.
    inner, _ = follow_play(path, None, half=first)
    outer, _ = follow_play(inner, None, half=second)
    together, _ = follow_play(path, None, half=first + second)
    assert np.allclose(outer, together, rtol=0.0, atol=1e-9)


@given(paths, halves)
def test_the_far_side_is_never_more_than_half_the_play_away(path, half):
    far, _ = follow_play(path, None, half=half)
    assert np.all(np.abs(far - path) <= half + 1e-12)


@given(paths, halves)
def test_the_far_side_moves_only_the_way_it_is_pushed_and_no_further(path, half):
    far, _ = follow_play(path, None, half=half)
    moved, pushed = np.diff(far), np.diff(path)
    assert np.all(moved * pushed >= 0.0)
    assert np.all(np.abs(moved) <= np.abs(pushed) + 1e-12)


@given(paths)
def test_without_play_the_far_side_is_the_near_side(path):
    assert np.array_equal(follow_play(path, None, half=0.0)[0], path)


@given(paths, halves, st.floats(-20.0, 20.0))
def test_a_shifted_path_gives_a_shifted_path(path, half, shift):
    plain, shifted = (follow_play(each, None, half=half)[0] for each in (path, path + shift))
    assert np.allclose(shifted, plain + shift, rtol=0.0, atol=1e-9)


@given(paths, halves)
def test_turned_round_it_lags_the_other_way(path, half):
    assert np.allclose(follow_play(-path, None, half=half)[0], -follow_play(path, None, half=half)[0])


@given(paths, halves, st.integers(1, 5))
def test_moving_on_in_smaller_steps_changes_nothing(path, half, parts):
    fine = np.concatenate([np.linspace(a, b, parts, endpoint=False) for a, b in pairwise(path)] + [path[-1:]])
    coarse = follow_play(path, None, half=half)[0]
    assert np.allclose(follow_play(fine, None, half=half)[0][::parts], coarse, rtol=0.0, atol=1e-9)


@given(st.floats(-50.0, 50.0), halves, st.sampled_from([-1, 1]))
def test_after_a_long_approach_it_rests_half_the_play_behind(place, half, side):
    path = np.linspace(place - side * (2.0 * half + 1.0), place, 30)
    far, _ = follow_play(path, None, half=half)
    assert far[-1] == pytest.approx(lagged(place, half=half, side=side), abs=1e-9)


def test_virtual_builds_move_each_with_its_own_play():
    path, halves_of_builds = np.array([0.0, 10.0, 8.0, -5.0]), np.array([[0.0], [1.5], [4.0]])
    table, state = follow_play(path, None, half=halves_of_builds)
    # by hand: up to 10 leaves 10, 8.5, 6; back to 8 leaves 8, 8.5, 6; down to -5 leaves -5, -3.5, -1
    assert table.tolist() == [[0.0, 10.0, 8.0, -5.0], [0.0, 8.5, 8.5, -3.5], [0.0, 6.0, 6.0, -1.0]]
    assert state.tolist() == [-5.0, -3.5, -1.0]
