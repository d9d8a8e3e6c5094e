"""The nearest fit, against an answer of approximation theory."""

import numpy as np
import pytest

from anglewright.links.protocol import Array
from anglewright.testsheet.fitting import Target, nearest_fit
from anglewright.testsheet.unknowns import Unknown

X = np.linspace(0.0, 1.0, 201)


def target(measured: Array, *, period: float = np.inf, firm: bool = False) -> Target:
    ones = np.ones_like(measured)
    return Target(measured=measured, allowed=ones, period=period * ones, firm=np.full(len(measured), firm))


def line(places: Array) -> Array:
    """Slope from -2 to 2 and height from -1 to 1, in this order."""
    return 2.0 * places[:, :1] * X + places[:, 1:2]


def test_the_best_line_to_a_parabola_departs_by_an_eighth() -> None:
    """x^2 on [0, 1]: x - 1/8, error 1/8 (Real Analysis with Real Applications, section 10.6)."""
    fit = nearest_fit(line, target(X**2 / 0.05), unknowns=2)  # 1/0.05 of it, so that 1 is not met at once
    assert not fit.fits
    steep = nearest_fit(lambda places: line(places) / 0.05, target(X**2 / 0.05), unknowns=2)
    assert steep.miss == pytest.approx(0.125 / 0.05, rel=5e-3)
    assert 2.0 * steep.unknowns[0] == pytest.approx(1.0, abs=0.02)
    assert steep.unknowns[1] == pytest.approx(-0.125, abs=0.01)


def test_unknowns_stay_within_their_limits() -> None:
    fit = nearest_fit(line, target(100.0 * X), unknowns=2)
    assert np.max(np.abs(fit.unknowns)) <= 1.0
    assert fit.miss > 50.0


def test_codes_that_come_round_are_held_the_short_way() -> None:
    fit = nearest_fit(
        lambda places: 4095.5 + 0.0 * places, target(np.array([0.0]), period=4096.0), unknowns=1
    )
    assert fit.miss == pytest.approx(0.5)


def test_a_floating_pin_fits_anything_that_is_not_held() -> None:
    def floats(places: Array) -> Array:
        return np.nan * places

    assert nearest_fit(floats, target(np.array([7.0])), unknowns=1).fits
    assert not nearest_fit(floats, target(np.array([7.0]), firm=True), unknowns=1).fits


def test_an_unknown_is_spaced_by_its_ratio_where_it_is_asked_to_be() -> None:
    far = Unknown(key="own pull", low=10e3, high=1000e3, by_ratio=True)
    assert far.at(np.array([-1.0, 0.0, 1.0])) == pytest.approx([10e3, 100e3, 1000e3])
