"""The whole ladder against a circuit simulator: cable, pulls, divider, the controller's own pull, leakage.

And copper against the tables of wire gauges.
"""

import numpy as np
import pytest

from anglewright.circuits import OPEN
from anglewright.links.harness import ohm_per_metre
from anglewright.links.wiring import Wiring

COUNT = 300


def decade(rng, low, high):
    """A number drawn evenly over decades."""
    return float(10 ** rng.uniform(low, high))


def drawn(rng):
    """A wiring with all that can be in it, some of it left out at random, and a place of the wiper."""

    def perhaps(value, else_value):
        return value if rng.integers(3) else else_value

    wiring = Wiring(
        track_ohm=decade(rng, 3, 5),
        feed_v=float(rng.uniform(1.8, 12.0)),
        series_ohm=decade(rng, 1, 4),
        capacitor_f=1e-7,
        pull_down_ohm=decade(rng, 3, 6),
        pull_up_ohm=decade(rng, 3, 6),
        pull_at_pin=bool(rng.integers(2)),
        pull_own_ohm=perhaps(decade(rng, 4, 5), OPEN),
        pull_own_v=float(rng.uniform(1.8, 5.0)),
        wiper_ohm=perhaps(decade(rng, 0, 3), 0.0),
        lead_wiper_ohm=perhaps(decade(rng, -2, 2), 0.0),
        lead_feed_ohm=perhaps(decade(rng, -2, 2), 0.0),
        lead_ground_ohm=perhaps(decade(rng, -2, 2), 0.0),
        ground_offset_v=perhaps(float(rng.uniform(-0.3, 0.3)), 0.0),
        upper_ohm=perhaps(decade(rng, 2, 5), 0.0),
        lower_ohm=perhaps(decade(rng, 3, 5), OPEN),
        leakage_a=perhaps(float(rng.uniform(-1e-5, 1e-5)), 0.0),
    )
    return wiring, float(rng.uniform(0.01, 0.99))


def netlist(wiring, share, k):
    """The circuit as elements between nodes of one number; the simulator has its own wire for each ohm."""
    at = f"p{k}" if wiring.pull_at_pin else f"l{k}"
    resistors = {
        f"rf{k} top{k} t{k}": wiring.lead_feed_ohm,
        f"ra{k} t{k} w{k}": wiring.track_ohm * (1.0 - share),
        f"rb{k} w{k} g{k}": wiring.track_ohm * share,
        f"rg{k} g{k} e{k}": wiring.lead_ground_ohm,
        f"rc{k} w{k} c{k}": wiring.wiper_ohm,
        f"rw{k} c{k} l{k}": wiring.lead_wiper_ohm,
        f"rs{k} l{k} m{k}": wiring.series_ohm,
        f"ru{k} m{k} p{k}": wiring.upper_ohm,
        f"rl{k} p{k} 0": wiring.lower_ohm,
        f"rd{k} {at} 0": wiring.pull_down_ohm,
        f"rp{k} {at} top{k}": wiring.pull_up_ohm,
        f"ro{k} p{k} o{k}": wiring.pull_own_ohm,
    }
    # a wire without resistance is a source of 0 V: the simulator would replace a resistor of nothing
    lines = [
        f"{name} {ohms!r}" if ohms else f"v{name} dc 0" for name, ohms in resistors.items() if ohms < OPEN
    ]
    return "\n".join(
        [
            *lines,
            f"vs{k} top{k} 0 dc {wiring.feed_v!r}",
            f"ve{k} e{k} 0 dc {wiring.ground_offset_v!r}",
            f"vo{k} o{k} 0 dc {wiring.pull_own_v!r}",
            f"il{k} 0 p{k} dc {wiring.leakage_a!r}",
        ]
    )


def test_ladders_with_everything_agree_with_a_circuit_simulator(at_rest):
    # reference: ngspice, operating point
    rng = np.random.default_rng(300)
    ladders = [drawn(rng) for _ in range(COUNT)]
    assert sum(wiring.furnished for wiring, _ in ladders) > 0.9 * COUNT
    elements = "\n".join(netlist(wiring, share, k) for k, (wiring, share) in enumerate(ladders))
    pins, wipers = np.split(at_rest(elements, [f"{node}{k}" for node in "pc" for k in range(COUNT)]), 2)
    for (wiring, share), pin, wiper in zip(ladders, pins, wipers, strict=True):
        assert wiring.forward(share) == pytest.approx(pin, rel=1e-9)
        assert wiring.at_wiper(share) == pytest.approx(wiper, rel=1e-9)


# ohm per kilometre at 20 degC, tables of ASTM B258 and of NBS handbook 100, from memory; there in ohm per
# 1000 ft: 10.15, 16.14, 25.67, 40.81, 64.90, 103.2
GAUGES = [(20, 33.31), (22, 52.96), (24, 84.22), (26, 133.9), (28, 212.9), (30, 338.6)]


@pytest.mark.parametrize(("gauge", "ohm_per_km"), GAUGES)
def test_copper_is_that_of_the_tables(gauge, ohm_per_km):
    assert 1e3 * ohm_per_metre(gauge) == pytest.approx(ohm_per_km, rel=2e-3)
