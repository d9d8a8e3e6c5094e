"""Wiring behind a sensor that drives its output itself, against a circuit simulator."""

import numpy as np
import pytest

from anglewright.circuits import OPEN, SHORT
from anglewright.links.protocol import VoltagePort
from anglewright.links.wiring import Wiring

COUNT = 100


def decade(rng, low, high):
    """A number drawn evenly over decades."""
    return float(10 ** rng.uniform(low, high))


def drawn(rng):
    """A wiring behind a driven output, some of it left out at random, and a share of the output."""

    def perhaps(value, else_value):
        return value if rng.integers(3) else else_value

    output = VoltagePort(
        low=float(rng.uniform(0.0, 0.2)),
        high=float(rng.uniform(0.8, 1.0)),
        source_ohm=perhaps(decade(rng, -1, 3), 0.0),
    )
    wiring = Wiring(
        track_ohm=SHORT,
        output=output,
        supply_a=perhaps(float(rng.uniform(1e-3, 3e-2)), 0.0),
        feed_v=float(rng.uniform(3.0, 12.0)),
        series_ohm=decade(rng, 1, 4),
        capacitor_f=1e-7,
        pull_down_ohm=perhaps(decade(rng, 3, 6), OPEN),
        pull_up_ohm=perhaps(decade(rng, 3, 6), OPEN),
        pull_at_pin=bool(rng.integers(2)),
        lead_wiper_ohm=perhaps(decade(rng, -2, 2), 0.0),
        lead_feed_ohm=perhaps(decade(rng, -2, 1), 0.0),
        lead_ground_ohm=perhaps(decade(rng, -2, 1), 0.0),
        ground_offset_v=perhaps(float(rng.uniform(-0.3, 0.3)), 0.0),
        upper_ohm=perhaps(decade(rng, 2, 5), 0.0),
        lower_ohm=perhaps(decade(rng, 3, 5), OPEN),
        leakage_a=perhaps(float(rng.uniform(-1e-5, 1e-5)), 0.0),
    )
    return wiring, float(rng.uniform(0.01, 0.99))


def netlist(wiring, share, k):
    """The circuit as elements: the sensor draws its current from t(op) to g(round) and drives o(utput)."""
    at = f"p{k}" if wiring.pull_at_pin else f"l{k}"
    output = wiring.output
    level = output.low + (output.high - output.low) * share
    resistors = {
        f"rf{k} top{k} t{k}": wiring.lead_feed_ohm,
        f"rg{k} g{k} e{k}": wiring.lead_ground_ohm,
        f"ro{k} o{k} c{k}": output.source_ohm,
        f"rw{k} c{k} l{k}": wiring.lead_wiper_ohm,
        f"rs{k} l{k} m{k}": wiring.series_ohm,
        f"ru{k} m{k} p{k}": wiring.upper_ohm,
        f"rl{k} p{k} 0": wiring.lower_ohm,
        f"rd{k} {at} 0": wiring.pull_down_ohm,
        f"rp{k} {at} top{k}": wiring.pull_up_ohm,
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
            f"is{k} t{k} g{k} dc {wiring.supply_a!r}",
            f"eg{k} f{k} 0 g{k} 0 1",
            f"eo{k} o{k} f{k} t{k} g{k} {level!r}",
            f"il{k} 0 p{k} dc {wiring.leakage_a!r}",
        ]
    )


def test_driven_outputs_agree_with_a_circuit_simulator(at_rest):
    # reference: ngspice, operating point
    rng = np.random.default_rng(41)
    circuits = [drawn(rng) for _ in range(COUNT)]
    elements = "\n".join(netlist(wiring, share, k) for k, (wiring, share) in enumerate(circuits))
    pins, outputs = np.split(at_rest(elements, [f"{node}{k}" for node in "pc" for k in range(COUNT)]), 2)
    for (wiring, share), pin, output in zip(circuits, pins, outputs, strict=True):
        assert wiring.forward(share) == pytest.approx(pin, rel=1e-9)
        assert wiring.at_wiper(share) == pytest.approx(output, rel=1e-9)
        assert wiring.backward(pin) == pytest.approx(share, abs=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_a_step_of_a_driven_output_settles_as_in_a_circuit_simulator(seed, at_rest, in_time):
    # reference: ngspice, transient from the charge of the level before; agreement to 0.1 % of the step
    wiring, start = drawn(np.random.default_rng(seed))
    end = 1.0 - start if abs(start - 0.5) > 0.2 else start / 3.0
    (before,) = at_rest(netlist(wiring, start, 0), ["p0"])
    tau = float(wiring.at_pin(end).ohms) * wiring.capacitor_f
    elements = netlist(wiring, end, 0) + f"\nc0 p0 0 {wiring.capacitor_f!r} ic={float(before)!r}"
    times, volts = in_time(elements, "p0", step_s=tau / 200.0, end_s=6.0 * tau)
    shares = np.concatenate([[start], np.full(len(times), end)])
    path = wiring.follow(shares, np.concatenate([[0.0], times]), None)[0][1:]
    assert np.abs(path - volts).max() < 1e-3 * abs(wiring.forward(end) - before)
