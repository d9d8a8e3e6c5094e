"""Laws of what comes round with a shaft: waves of unknown phase, and an eccentric track."""

import numpy as np
import pytest

from anglewright.harmonics import (
    COEFFICIENTS,
    MOST_WAVES,
    UnknownWaves,
    angle_behind,
    eccentric_error,
    rising_inverse,
    waves_error,
)

ANGLES = np.radians(np.arange(0.0, 360.0, 5.0))
FINE = np.radians(np.arange(0.0, 360.0, 0.01))

# Diameter in mm, eccentricity in um, error in arcsec: printed by a maker of optical scales (MicroE, answers
# to frequent questions: 412.5 arcsec mm per um, times eccentricity over diameter).
PUBLISHED = (
    (100, 10, 41),
    (100, 25, 103),
    (100, 100, 412),
    (50, 10, 83),
    (50, 25, 206),
    (25, 10, 165),
    (25, 5, 83),
)


def test_waves_are_the_sum_of_their_cosines_and_sines():
    rng = np.random.default_rng(1)
    for coefficients in rng.standard_normal((20, COEFFICIENTS)):
        expected = coefficients[0] + sum(
            coefficients[2 * k - 1] * np.cos(k * ANGLES) + coefficients[2 * k] * np.sin(k * ANGLES)
            for k in range(1, MOST_WAVES + 1)
        )
        assert np.allclose(waves_error(coefficients, ANGLES), expected, rtol=0.0, atol=1e-13)
        alone = [waves_error(coefficients, float(angle)) for angle in ANGLES]
        assert np.allclose(alone, expected, rtol=0.0, atol=1e-13)


def test_builds_and_angles_make_a_table():
    rows = np.random.default_rng(2).standard_normal((4, 1, COEFFICIENTS))
    table = waves_error(rows, ANGLES)
    assert table.shape == (4, len(ANGLES))
    for row, coefficients in zip(table, rows[:, 0], strict=True):
        assert np.allclose(row, waves_error(coefficients, ANGLES), rtol=0.0, atol=1e-14)


@pytest.mark.parametrize(("diameter_mm", "off_um", "arcsec"), PUBLISHED)
def test_an_eccentric_track_errs_as_published(diameter_mm, off_um, arcsec):
    ratio = off_um * 1e-3 / (diameter_mm / 2.0)
    peak = np.degrees(np.max(eccentric_error(FINE, cosine=ratio, sine=0.0))) * 3600.0
    assert peak == pytest.approx(arcsec, abs=0.6)  # the shortcut is printed to a whole arcsec


@pytest.mark.parametrize("ratio", [0.001, 0.01, 0.1, 0.4])
@pytest.mark.parametrize("towards", [0.0, 1.0, 2.5])
def test_its_peak_is_the_arcsine_and_its_harmonics_are_those_of_geometry(ratio, towards):
    error = eccentric_error(FINE, cosine=ratio * np.cos(towards), sine=ratio * np.sin(towards))
    assert np.max(np.abs(error)) == pytest.approx(np.arcsin(ratio), rel=1e-6)
    # 1 + p e^(-i theta): the angle of the sum has harmonics (e/r)^n / n (derived)
    spectrum = 2.0 * np.abs(np.fft.rfft(error)) / len(error)
    assert spectrum[1] == pytest.approx(ratio, rel=1e-9)
    assert spectrum[2] == pytest.approx(ratio**2 / 2.0, rel=1e-9)


def test_two_heads_half_a_turn_apart_leave_the_even_orders():
    one = eccentric_error(FINE, cosine=0.1, sine=0.05)
    other = eccentric_error(FINE + np.pi, cosine=0.1, sine=0.05)
    spectrum = 2.0 * np.abs(np.fft.rfft((one + other) / 2.0)) / len(FINE)
    assert spectrum[1::2][:5] == pytest.approx(np.zeros(5), abs=1e-12)
    assert spectrum[2] == pytest.approx((0.1**2 + 0.05**2) / 2.0, rel=1e-9)


@pytest.mark.parametrize("orders", [(1,), (2,), (1, 2, 3, 4)])
@pytest.mark.parametrize("sure", [True, False])
def test_nudges_give_the_standard_deviation_of_the_draws_at_every_angle(orders, sure, long):
    family, count = UnknownWaves(limit=0.02, orders=orders, sure=sure), 200_000 if long else 40_000
    modes = np.array(
        [(waves_error(high, ANGLES) - waves_error(low, ANGLES)) / 2.0 for low, high in family.nudges]
    )
    drawn = waves_error(family.draw(np.random.default_rng(5), (count, 1)), ANGLES[::8])
    # of a height known for certain the value at any angle is U-shaped, limit / sqrt 2 (JCGM 100, 4.4.5, from
    # memory); a height drawn evenly from 0 to the limit takes another sqrt 3
    expected = 0.02 / np.sqrt(2.0 if sure else 6.0)
    assert np.sqrt(np.sum(modes**2, axis=0)) == pytest.approx(np.full(len(ANGLES), expected), rel=1e-12)
    assert family.standard_uncertainty == pytest.approx(expected, rel=1e-12)
    assert drawn.std(axis=0) == pytest.approx(np.full(drawn.shape[1], expected), rel=0.02)
    assert np.abs(drawn.mean(axis=0)).max() < 5.0 * expected / np.sqrt(count)


def test_nudges_give_the_covariance_of_the_draws_between_any_two_angles(long):
    family, count = UnknownWaves(limit=1.0), 200_000 if long else 40_000
    modes = np.array([waves_error(high, ANGLES[:12]) for _, high in family.nudges])
    drawn = waves_error(family.draw(np.random.default_rng(6), (count, 1)), ANGLES[:12])
    assert np.allclose(modes.T @ modes, np.cov(drawn.T), atol=5.0 * 0.17 / np.sqrt(count))


def test_the_largest_departure_is_the_size_and_the_size_is_uniform():
    drawn = waves_error(UnknownWaves(limit=1.0).draw(np.random.default_rng(7), (5_000, 1)), FINE[::50])
    sizes = np.abs(drawn).max(axis=1)
    assert sizes.max() <= 1.0
    assert sizes.mean() == pytest.approx(0.5, abs=0.02)
    assert sizes.std() == pytest.approx(1.0 / np.sqrt(12.0), abs=0.01)


def test_every_number_of_waves_comes_as_often_as_the_other():
    drawn = UnknownWaves(limit=1.0).draw(np.random.default_rng(8), (8_000,))
    heights = np.hypot(drawn[:, 1::2], drawn[:, 2::2])
    assert np.all(np.count_nonzero(heights, axis=1) == 1)
    # 8000 throws of four: 2000 of each, known to 39
    assert np.all(np.abs(np.count_nonzero(heights, axis=0) - 2000) < 200)


def test_a_height_known_for_certain_is_drawn_as_it_is():
    drawn = UnknownWaves(limit=0.3, orders=(2,), sure=True).draw(np.random.default_rng(9), (50, 1))
    assert np.hypot(drawn[..., 3], drawn[..., 4]) == pytest.approx(np.full((50, 1), 0.3), rel=1e-14)
    assert not np.any(np.delete(drawn, [3, 4], axis=-1))


def test_one_draw_has_no_axis_of_its_own():
    assert UnknownWaves(limit=0.3).draw(np.random.default_rng(9), ()).shape == (COEFFICIENTS,)


def test_a_limit_of_zero_is_exact_and_draws_nothing_but_zero():
    family = UnknownWaves(limit=0.0)
    assert family.is_exact
    assert not np.any(family.draw(np.random.default_rng(8), (5, 1)))
    assert not UnknownWaves(limit=0.01).is_exact


def test_the_limits_shift_the_whole_turn():
    low, high = UnknownWaves(limit=0.01).limits
    assert np.allclose(waves_error(high, ANGLES), 0.01)
    assert np.allclose(waves_error(low, ANGLES), -0.01)


def test_the_shaft_behind_a_reading_is_found_again():
    rows = UnknownWaves(limit=0.2).draw(np.random.default_rng(10), (30, 1))
    read = ANGLES + waves_error(rows, ANGLES)
    assert np.allclose(angle_behind(read, rows), ANGLES, rtol=0.0, atol=1e-12)


def test_an_inverse_of_what_is_not_a_number_is_none():
    found = rising_inverse(np.array([0.5, np.nan]), lambda u: u + 0.1 * np.sin(u), reach=0.2)
    assert np.isnan(found).tolist() == [False, True]
    assert found[0] + 0.1 * np.sin(found[0]) == pytest.approx(0.5, abs=1e-15)
