"""The wiring against a circuit simulator and against the table of the loaded potentiometer."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from anglewright.circuits import OPEN
from anglewright.links.wiring import Wiring

DIVIDERS, TRANSIENTS = 300, 30

BARE = Wiring(
    track_ohm=10e3,
    feed_v=1.0,
    series_ohm=0.0,
    capacitor_f=0.0,
    pull_down_ohm=OPEN,
    pull_up_ohm=OPEN,
    pull_at_pin=False,
)


def drawn(rng):
    """A wiring and a wiper drawn at random: pulls at either end, a series resistor, a capacitor."""
    pulls = [(1, 0), (0, 1), (1, 1), (1, 1)][rng.integers(4)]
    down, up = (float(10 ** rng.uniform(3, 6)) if there else OPEN for there in pulls)
    wiring = Wiring(
        track_ohm=float(10 ** rng.uniform(3, 5)),
        feed_v=float(rng.uniform(1.8, 12.0)),
        series_ohm=float(10 ** rng.uniform(1, 4)),
        capacitor_f=float(10 ** rng.uniform(-8.5, -6.5)),
        pull_down_ohm=down,
        pull_up_ohm=up,
        pull_at_pin=bool(rng.integers(2)),
    )
    return wiring, float(rng.uniform(0.01, 0.99))


def netlist(wiring, share, number):
    """The circuit as elements between nodes: top, w(iper), p(in) of one number."""
    at = f"p{number}" if wiring.pull_at_pin else f"w{number}"
    lines = [
        f"vs{number} top{number} 0 dc {wiring.feed_v!r}",
        f"ra{number} top{number} w{number} {wiring.track_ohm * (1.0 - share)!r}",
        f"rb{number} w{number} 0 {wiring.track_ohm * share!r}",
        f"rs{number} w{number} p{number} {wiring.series_ohm!r}",
    ]
    if np.isfinite(wiring.pull_down_ohm):
        lines.append(f"rd{number} {at} 0 {wiring.pull_down_ohm!r}")
    if np.isfinite(wiring.pull_up_ohm):
        lines.append(f"ru{number} {at} top{number} {wiring.pull_up_ohm!r}")
    return "\n".join(lines)


def test_three_hundred_dividers_agree_with_a_circuit_simulator(at_rest):
    # reference: ngspice, operating point
    rng = np.random.default_rng(300)
    drawn_ones = [drawn(rng) for _ in range(DIVIDERS)]
    elements = "\n".join(netlist(wiring, share, number) for number, (wiring, share) in enumerate(drawn_ones))
    nodes = [f"{node}{number}" for node in "pw" for number in range(DIVIDERS)]
    pins, wipers = np.split(at_rest(elements, nodes), 2)
    for (wiring, share), pin, wiper in zip(drawn_ones, pins, wipers, strict=True):
        assert wiring.forward(share) == pytest.approx(pin, rel=1e-9)
        assert wiring.at_wiper(share) == pytest.approx(wiper, rel=1e-9)
        assert wiring.backward(pin) == pytest.approx(share, abs=1e-8)


@pytest.mark.parametrize("seed", range(TRANSIENTS))
def test_a_step_of_the_wiper_settles_as_in_a_circuit_simulator(seed, at_rest, in_time):
    # reference: ngspice, transient from the charge of the place before; agreement to 0.1 % of the step
    wiring, start = drawn(np.random.default_rng(seed))
    end = 1.0 - start if abs(start - 0.5) > 0.2 else start / 3.0
    (before,) = at_rest(netlist(wiring, start, 0), ["p0"])
    (after,) = at_rest(netlist(wiring, end, 0), ["p0"])
    tau = float(wiring.at_pin(end).ohms) * wiring.capacitor_f
    elements = netlist(wiring, end, 0) + f"\nc0 p0 0 {wiring.capacitor_f!r} ic={float(before)!r}"
    times, volts = in_time(elements, "p0", step_s=tau / 200.0, end_s=6.0 * tau)
    assert len(times) > 500
    assert times[0] > 0.0  # it leaves out the start itself
    shares = np.concatenate([[start], np.full(len(times), end)])
    path = wiring.follow(shares, np.concatenate([[0.0], times]), None)[0][1:]
    assert np.abs(volts[-1] - after) < 0.01 * abs(after - before)  # the simulator did settle
    assert np.abs(path - volts).max() < 1e-3 * abs(after - before)


# Exact maximum of x - x / (1 + k x (1 - x)), by search and by the cubic root of its derivative; k is the
# track over the load. Independent derivation; the rule 4 k / 27 of the handbooks is its limit for small k.
LARGEST = [
    (0.001, 0.66669, 0.01481),
    (0.01, 0.66691, 0.14782),
    (0.02, 0.66716, 0.29499),
    (0.05, 0.66789, 0.73261),
    (0.1, 0.66911, 1.44933),
    (0.2, 0.67150, 2.83732),
    (0.5, 0.67836, 6.67256),
    (1.0, 0.68889, 12.15851),
    (2.0, 0.70711, 20.71068),
]


def largest(wiring):
    """Place and size of the largest departure of a wiring from the straight line. [1]"""
    found = minimize_scalar(
        lambda x: wiring.forward(float(x)) - x, bounds=(0.3, 1.0), method="bounded", options={"xatol": 1e-10}
    )
    return found.x, -found.fun


@pytest.mark.parametrize(("k", "place", "percent"), LARGEST)
def test_the_largest_loss_of_a_loaded_potentiometer_is_that_of_the_table(k, place, percent):
    x, loss = largest(replace(BARE, pull_down_ohm=BARE.track_ohm / k))
    assert x == pytest.approx(place, abs=6e-6)
    assert 100.0 * loss == pytest.approx(percent, abs=6e-6)


def test_a_load_of_half_the_track_has_an_exact_answer():
    # k = 2: x = 1 / sqrt 2, loss (sqrt 2 - 1) / 2
    x, loss = largest(replace(BARE, pull_down_ohm=5e3))
    assert x == pytest.approx(1.0 / np.sqrt(2.0), abs=1e-6)
    assert loss == pytest.approx((np.sqrt(2.0) - 1.0) / 2.0, rel=1e-12)


def test_a_load_as_large_as_the_track_leaves_two_fifths_at_mid_travel():
    assert replace(BARE, pull_down_ohm=10e3).forward(0.5) == pytest.approx(0.4, rel=1e-15)


@pytest.mark.parametrize(("load_ohm", "percent"), [(200e3, 0.75), (1e6, 0.15), (20e3, 7.5)])
def test_a_published_page_of_bounds_holds(load_ohm, percent):
    # rclab, page on loading of potentiometers in analogue computers: 10 kohm into 200 k, 1 M, 20 k
    _, loss = largest(replace(BARE, pull_down_ohm=load_ohm))
    assert 0.88 * percent < 100.0 * loss < percent


@pytest.mark.parametrize("k", [0.05, 0.5])
def test_a_pull_up_costs_the_same_high(k):
    wiring = replace(BARE, pull_up_ohm=BARE.track_ohm / k)
    x = np.linspace(0.0, 1.0, 1001)
    percent = next(percent for each, _, percent in LARGEST if each == k)
    assert 100.0 * np.max(wiring.forward(x) - x) == pytest.approx(percent, abs=1e-4)


def test_the_source_resistance_is_largest_in_the_middle():
    # R_T x (1 - x): 10 kohm looks like 2.5 kohm at mid travel
    x = np.linspace(0.0, 1.0, 101)
    assert BARE.at_pin(0.5).ohms == pytest.approx(2500.0, rel=1e-15)
    assert np.allclose(BARE.at_pin(x).ohms, 10e3 * x * (1.0 - x), rtol=1e-12, atol=1e-9)
