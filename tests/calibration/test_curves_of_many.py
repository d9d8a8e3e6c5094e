"""Curves through the points of many machines at once are the curves of each."""

import numpy as np
import pytest

from anglewright.calibration.curves import read_by_curves
from anglewright.calibration.models.bent import Harmonics, Polynomial
from anglewright.calibration.models.loaded import LoadedDivider, wiper_place
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.calibration.models.straightened import Straightened
from anglewright.calibration.models.table import table_at

USUAL = np.tile(np.linspace(300.0, 3900.0, 9), 2)
TRUTH = np.polynomial.Polynomial([-0.3, 7e-4, 2e-8])
EVEN = np.array([0.0, 2000.0, 4095.0])
MODELS = {
    "line": Line(),
    "fixed slope": FixedSlope(slope=7e-4),
    "straightened": Straightened(base=Line(), codes=EVEN, even=EVEN + np.array([0.0, 40.0, 0.0])),
    "polynomial 4": Polynomial(degree=4, span=(300.0, 3900.0)),
    "waves": Harmonics(turn=4096.0),
    "waves on a known slope": Harmonics(turn=4096.0, slope=7e-4),
}


def rows(rng, count=40):
    """Codes and positions of machines that differ by shifts, scales and noise; codes to be read."""
    x = USUAL * rng.normal(1.0, 0.01, (count, 1)) + rng.normal(0.0, 20.0, (count, 1))
    x += rng.normal(0.0, 2.0, x.shape)
    return x, TRUTH(np.broadcast_to(USUAL, x.shape)) + rng.normal(0.0, 0.01, x.shape), x[:, ::2] + 7.0


@pytest.mark.parametrize("name", MODELS)
def test_each_row_is_the_least_squares_fit_of_its_own_points(name):
    # the other route is the triangularisation that `calibrate` uses, one machine after the other
    x, y, read = rows(np.random.default_rng(3))
    weights = np.ones(len(USUAL))
    usual = MODELS[name].fit(USUAL, TRUTH(USUAL), weights=weights)
    found = read_by_curves(usual, x, y, usual=USUAL, read=read)
    for k in range(len(x)):
        alone = MODELS[name].fit(x[k], y[k], weights=weights)
        assert found[k] == pytest.approx(alone.predict(read[k]), rel=1e-9, abs=1e-11)


def test_codes_of_twenty_four_bits_lose_no_digits():
    scale = 4096.0
    x, y, read = rows(np.random.default_rng(4), count=5)
    model = Polynomial(degree=3, span=(300.0, 3900.0))
    fine = Polynomial(degree=3, span=(300.0 * scale + 9e6, 3900.0 * scale + 9e6))
    coarse, usual = (
        each.fit(at, TRUTH(USUAL), weights=np.ones(len(USUAL)))
        for each, at in ((model, USUAL), (fine, USUAL * scale + 9e6))
    )
    expected = read_by_curves(coarse, x, y, usual=USUAL, read=read)
    found = read_by_curves(usual, x * scale + 9e6, y, usual=USUAL * scale + 9e6, read=read * scale + 9e6)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-11)


@pytest.mark.parametrize("to_feed", [False, True])
def test_each_divider_finds_its_own_load(to_feed):
    # y = x / (1 + k x (1 - x)) forward, written here; no noise, so that each machine is read exactly
    rng, places = np.random.default_rng(5), np.linspace(0.05, 0.95, 9)
    load = rng.uniform(0.02, 0.6, (30, 1))
    place = 1.0 - places if to_feed else places
    share = place / (1.0 + load * place * (1.0 - place))
    codes = 4096.0 * (1.0 - share if to_feed else share)
    model = LoadedDivider(low=0.0, high=4096.0, to_feed=to_feed)
    y = np.broadcast_to(-0.5 + 3.0 * places, codes.shape)
    usual = model.fit(codes[0], y[0], weights=np.ones(9))
    found = read_by_curves(usual, codes, y, usual=codes[0], read=codes)
    assert np.abs(found - y).max() < 1e-9


def test_a_load_beyond_what_is_looked_for_stays_at_its_end():
    share = np.linspace(0.05, 0.95, 9)
    codes, model = 4096.0 * share[None], LoadedDivider(low=0.0, high=4096.0)
    y = wiper_place(share, 30.0)[None]  # a track of thirty times its load
    usual = model.fit(codes[0], wiper_place(share, 5.0), weights=np.ones(9))
    alone = model.fit(codes[0], y[0], weights=np.ones(9))
    found = read_by_curves(usual, codes, y, usual=codes[0], read=codes)
    assert found[0] == pytest.approx(alone.predict(codes[0]), abs=1e-6)


def test_a_table_goes_through_the_means_of_each_row_and_turns_nowhere_between():
    x, y, _ = rows(np.random.default_rng(6))
    y = np.sort(y[:, :9], axis=1)
    y = np.concatenate([y, y], axis=1)
    usual = table_at(USUAL[:9]).fit(USUAL, TRUTH(USUAL), weights=np.ones(len(USUAL)))
    means = (x[:, :9] + x[:, 9:]) / 2.0
    at_nodes = read_by_curves(usual, x, y, usual=USUAL, read=means)
    assert at_nodes == pytest.approx(y[:, :9], abs=1e-12)
    fine = np.broadcast_to(np.linspace(0.0, 4095.0, 300), (len(x), 300))
    assert np.diff(read_by_curves(usual, x, y, usual=USUAL, read=fine), axis=1).min() > -1e-12


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_table_that_is_shifted_and_scaled_is_the_cubic_of_its_own_points(sense):
    rng = np.random.default_rng(7)
    x = USUAL * rng.normal(1.0, 0.05, (20, 1)) + rng.normal(0.0, 50.0, (20, 1))
    y = sense * TRUTH(USUAL) + rng.normal(0.0, 0.1, (20, 1))
    usual = table_at(USUAL[:9]).fit(USUAL, sense * TRUTH(USUAL), weights=np.ones(len(USUAL)))
    read = np.linspace(-100.0, 4200.0, 50) + np.zeros((20, 1))
    found = read_by_curves(usual, x, y, usual=USUAL, read=read)
    for k in range(20):
        alone = table_at(x[k, :9]).fit(x[k], y[k], weights=np.ones(len(USUAL)))
        assert found[k] == pytest.approx(alone.predict(read[k]), abs=1e-9)


def test_two_nodes_that_read_the_same_do_not_throw_a_table_off():
    usual = table_at(USUAL[:9]).fit(USUAL, TRUTH(USUAL), weights=np.ones(len(USUAL)))
    x = np.array([USUAL])
    x[0, [8, 17]] = x[0, 7]  # the last two places at the end of the track
    y = TRUTH(USUAL)[None]
    found = read_by_curves(usual, x, y, usual=USUAL, read=np.linspace(300.0, x.max(), 40)[None])
    assert np.all(np.isfinite(found))
    assert y.min() - 1e-9 <= found.min() <= found.max() <= y.max() + 1e-9
