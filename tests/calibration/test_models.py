"""Each model gets back what was planted, and its slopes are those of its curve."""

from collections.abc import Callable

import numpy as np
import pytest

from anglewright.calibration.models.bent import Harmonics, Polynomial
from anglewright.calibration.models.fitted import Model
from anglewright.calibration.models.loaded import LoadedDivider, wiper_place
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.calibration.models.straightened import Straightened
from anglewright.calibration.models.table import MonotoneTable, table_at

CODES = np.linspace(300.0, 3800.0, 15)
BENT = np.array([300.0, 1000.0, 2000.0, 3000.0, 3800.0])
PLANTED: dict[str, tuple[Model, list[float]]] = {
    "line": (Line(), [-0.6, 7e-4]),
    "fixed slope": (FixedSlope(slope=7e-4), [-0.6]),
    "polynomial 3": (Polynomial(degree=3, span=(300.0, 3800.0)), [0.9, 1.2, 0.02, -0.01]),
    "harmonics": (Harmonics(turn=3000.0), [-0.6, 7e-4, 0.01, -0.02, 0.003, 0.004]),
    "harmonics, slope known": (Harmonics(turn=3000.0, slope=7e-4), [-0.6, 0.01, -0.02, 0.003, 0.004]),
    "loaded divider": (LoadedDivider(low=0.0, high=4096.0), [-0.6, 3.0, 0.4]),
    "loaded by a pull-up": (LoadedDivider(low=0.0, high=4096.0, to_feed=True), [-0.6, 3.0, 0.4]),
    "straightened": (
        Straightened(base=Line(), codes=BENT, even=BENT + np.array([0, 40, 60, 40, 0])),
        [-0.6, 7e-4],
    ),
    "table": (MonotoneTable(nodes=CODES[::2]), [-0.4, 0.1, 0.4, 0.9, 1.3, 1.6, 1.9, 2.3]),
}


@pytest.fixture(name="planted", params=PLANTED)
def fixture_planted(request: pytest.FixtureRequest) -> tuple[Model, np.ndarray]:
    """A model and its planted parameters."""
    model, values = PLANTED[request.param]
    return model, np.array(values)


def test_a_model_gets_back_what_was_planted(planted: tuple[Model, np.ndarray]) -> None:
    model, values = planted
    codes = CODES[::2] if isinstance(model, MonotoneTable) else CODES
    found = model.fit(codes, model.predict(values, codes), weights=np.ones(len(codes)))
    assert found.values == pytest.approx(values, rel=1e-6, abs=1e-8)
    assert found.residuals == pytest.approx(0.0, abs=1e-8)
    assert len(found.values) == len(model.names)


@pytest.mark.parametrize("name", PLANTED)
def test_the_jacobian_is_the_change_of_the_curve(name: str) -> None:
    model, planted = PLANTED[name]
    values = np.array(planted)
    at = np.linspace(400.0, 3700.0, 7)
    act = model.jacobian(values, at)
    for place in range(len(values)):
        step = np.zeros(len(values))
        step[place] = 1e-6
        change = (model.predict(values + step, at) - model.predict(values - step, at)) / 2e-6
        assert act[:, place] == pytest.approx(change, rel=1e-5, abs=1e-6)


def test_the_stated_spread_is_that_of_many_fits(planted: tuple[Model, np.ndarray]) -> None:
    model, values = planted
    codes = np.repeat(CODES, 2)
    rng = np.random.default_rng(4)
    true, at = model.predict(values, codes), np.linspace(500.0, 3600.0, 5)
    fits = [
        model.fit(codes, true + 1e-4 * rng.standard_normal(len(codes)), weights=np.ones(len(codes)))
        for _ in range(400)
    ]
    seen = np.std([fit.predict(at) for fit in fits], axis=0)
    stated = 1e-4 * fits[0].gain(at)
    # a standard deviation of 400 values strays by 3.5 %
    assert stated == pytest.approx(seen, rel=0.15)


@pytest.mark.parametrize("model", [Line(), Polynomial(degree=2, span=(300.0, 3800.0))])
def test_what_a_model_misses_is_what_leaving_each_point_out_gives(model: Model) -> None:
    rng = np.random.default_rng(8)
    y = 0.2 + 7e-4 * CODES + 1e-8 * CODES**2 + 0.01 * rng.standard_normal(len(CODES))
    missed = model.missed(CODES, y, weights=np.ones(len(CODES)))
    for point in range(len(CODES)):
        rest = np.arange(len(CODES)) != point
        known = model.fit(CODES[rest], y[rest], weights=np.ones(len(CODES) - 1))
        assert missed[point] == pytest.approx(
            (y[point] - known.predict(CODES[point : point + 1]))[0], rel=1e-6
        )


def test_an_even_table_has_the_weights_of_the_cubic_in_the_middle_of_a_piece() -> None:
    # by hand: a cubic between two nodes with the central slopes (q2 - q0) / 2 h and (q3 - q1) / 2 h is in its
    # middle (q1 + q2) / 2 + h (s1 - s2) / 8 = (-q0 + 9 q1 + 9 q2 - q3) / 16
    nodes = np.arange(0.0, 700.0, 100.0)
    act = MonotoneTable(nodes=nodes).jacobian(0.001 * nodes, np.array([250.0, 300.0]))
    assert act[0] == pytest.approx(np.array([0, -1, 9, 9, -1, 0, 0]) / 16.0, abs=1e-4)
    assert act[1] == pytest.approx(np.array([0, 0, 0, 1, 0, 0, 0]), abs=1e-9)


def test_a_table_that_leaves_out_each_fifth_node_misses_what_it_misses_one_by_one() -> None:
    rng = np.random.default_rng(9)
    codes = np.linspace(300.0, 3800.0, 17)
    y, ones = 0.2 + 7e-4 * codes + 0.01 * rng.standard_normal(17), np.ones(17)
    missed = MonotoneTable(nodes=codes).missed(codes, y, weights=ones)
    for k in range(17):
        rest = np.arange(17) != k
        alone = MonotoneTable(nodes=codes[rest]).fit(codes[rest], y[rest], weights=ones[rest])
        assert missed[k] == pytest.approx(y[k] - alone.predict(codes[k : k + 1])[0], abs=1e-12)


def test_a_table_never_turns_back() -> None:
    rng = np.random.default_rng(2)
    y = 7e-4 * CODES + 0.3 * rng.standard_normal(len(CODES))  # wilder than its steps
    fit = table_at(CODES).fit(CODES, y, weights=np.ones(len(CODES)))
    between = fit.predict(np.linspace(300.0, 3800.0, 999))
    assert (np.diff(between) >= -1e-12).all()


def test_a_falling_table_falls() -> None:
    y = 2.0 - 7e-4 * CODES
    fit = table_at(CODES).fit(CODES, y, weights=np.ones(len(CODES)))
    assert fit.predict(CODES) == pytest.approx(y)


@pytest.mark.parametrize("share", [0.1, 0.4, 0.7])
@pytest.mark.parametrize("load", [1e-6, 0.1, 1.0, 5.0])
def test_the_place_of_a_loaded_wiper_solves_the_divider(share: float, load: float) -> None:
    # the divider written out: a track of 1 with the place x, its lower part beside a load of 1 / load
    place = float(wiper_place(np.array(share), load))
    lower = 1.0 / (1.0 / place + load)
    assert lower / (lower + 1.0 - place) == pytest.approx(share, rel=1e-9)


def test_60_per_cent_of_a_10k_track_into_10k_is_placed_where_it_stands() -> None:
    # 6 kohm beside 10 kohm are 3.75 kohm, over 4 kohm: 48.387 % of the feed, by hand
    assert float(wiper_place(np.array(3.75 / 7.75), 1.0)) == pytest.approx(0.6)


@pytest.fixture(name="rivals")
def fixture_rivals() -> Callable[[], list[Model]]:
    """Models with names."""
    return lambda: [model for model, _ in PLANTED.values()]


def test_names_are_those_of_a_plan(rivals: Callable[[], list[Model]]) -> None:
    from anglewright.rig import MODELS

    assert {model.name for model in rivals()} <= set(MODELS)
