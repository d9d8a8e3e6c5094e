"""Laws of the family of shapes that stands for a stated linearity."""

import numpy as np
import pytest
from scipy.optimize import linprog

from anglewright.shapes import UnknownShape, bent, family, shape_error

TRAVEL = np.linspace(0.0, 1.0, 401)


def best_line(y):
    """Line of least largest departure by linear programming, and that departure: an independent route."""
    ones = np.ones_like(TRAVEL)
    above = np.stack([ones, TRAVEL, ones], axis=1)  # line + size >= y
    below = np.stack([-ones, -TRAVEL, ones], axis=1)  # size - line >= -y
    found = linprog(
        [0.0, 0.0, 1.0],
        A_ub=-np.concatenate([above, below]),
        b_ub=np.concatenate([-y, y]),
        bounds=[(None, None), (None, None), (0.0, None)],
    )
    assert found.success
    return found.x


def test_every_member_has_a_linearity_of_one_about_zero(long):
    members = family() if long else family()[::8]
    for member in members:
        offset, slope, size = best_line(shape_error(member, TRAVEL))
        # the ends of a search on a grid of 401 places and of 129 differ by a few thousandths
        assert size == pytest.approx(1.0, abs=5e-3)
        assert offset == pytest.approx(0.0, abs=1e-2)
        assert slope == pytest.approx(0.0, abs=1e-2)


def test_members_have_one_to_three_waves():
    # a Chebyshev series of degree 6 crosses any line at most six times
    for member in family()[::8]:
        signs = np.sign(shape_error(member, TRAVEL))
        crossings = np.count_nonzero(np.diff(signs[signs != 0.0]))
        assert 1 <= crossings <= 6


def test_powers_give_the_sum_of_the_polynomials():
    rng = np.random.default_rng(3)
    for coefficients in rng.standard_normal((20, 7)):
        expected = np.polynomial.chebyshev.chebval(2.0 * TRAVEL - 1.0, coefficients)
        assert np.allclose(shape_error(coefficients, TRAVEL), expected, rtol=0.0, atol=1e-13)


def test_nudges_give_the_standard_deviation_of_the_draws_at_every_place(long):
    shape, count = UnknownShape(limit=0.02), 200_000 if long else 40_000
    modes = np.array(
        [
            (shape_error(high, TRAVEL[::20]) - shape_error(low, TRAVEL[::20])) / 2.0
            for low, high in shape.nudges
        ]
    )
    drawn = shape_error(shape.draw(np.random.default_rng(5), (count, 1)), TRAVEL[::20])
    assert drawn.shape == (count, 21)
    # 40 000 draws know a standard deviation to about 0.5 %
    assert np.allclose(np.sqrt(np.sum(modes**2, axis=0)), drawn.std(axis=0), rtol=0.02)
    assert np.abs(drawn.mean(axis=0)).max() < 5.0 * drawn.std(axis=0).max() / np.sqrt(count)


def test_no_draw_leaves_its_limit_about_the_best_line():
    shape = UnknownShape(limit=0.02)
    drawn = shape_error(shape.draw(np.random.default_rng(6), (2000, 1)), TRAVEL)
    assert np.abs(drawn).max() <= 0.02 * (1.0 + 5e-3)


def test_the_size_is_uniform_up_to_the_limit():
    # the largest departure of a draw is its size: mean half the limit, sd limit / sqrt(12)
    drawn = shape_error(UnknownShape(limit=1.0).draw(np.random.default_rng(7), (20_000, 1)), TRAVEL[::4])
    sizes = np.abs(drawn).max(axis=1)
    assert sizes.mean() == pytest.approx(0.5, abs=0.01)
    assert sizes.std() == pytest.approx(1.0 / np.sqrt(12.0), abs=0.01)


def test_a_limit_of_zero_is_exact_and_draws_nothing_but_zero():
    shape = UnknownShape(limit=0.0)
    assert shape.is_exact
    assert not np.any(shape.draw(np.random.default_rng(8), (5, 1)))
    assert not UnknownShape(limit=0.01).is_exact


def test_the_limits_shift_the_whole_track():
    low, high = UnknownShape(limit=0.01).limits
    assert np.allclose(shape_error(high, TRAVEL), 0.01)
    assert np.allclose(shape_error(low, TRAVEL), -0.01)


def test_the_family_cannot_be_changed_by_accident():
    with pytest.raises(ValueError, match="read-only"):
        family()[0, 0] = 5.0


def test_a_bent_track_is_the_travel_and_its_departure_together():
    rng = np.random.default_rng(11)
    for coefficients in 0.02 * rng.standard_normal((20, 7)):
        expected = TRAVEL + np.polynomial.chebyshev.chebval(2.0 * TRAVEL - 1.0, coefficients)
        assert np.allclose(bent(coefficients, 2.0 * TRAVEL - 1.0), expected, rtol=0.0, atol=1e-14)


def test_many_tracks_at_once_are_each_as_if_alone():
    tracks = UnknownShape(limit=0.02).draw(np.random.default_rng(12), (5, 1))
    together = shape_error(tracks, TRAVEL)
    for track, row in zip(tracks[:, 0], together, strict=True):
        assert np.allclose(shape_error(track, TRAVEL), row, rtol=0.0, atol=1e-16)
