"""Tracks with a resistance at each end and in the wiper, against a circuit simulator."""

import math
import os

import numpy as np
import pytest

from anglewright.links.potentiometer import Potentiometer
from anglewright.links.protocol import TrackPort
from anglewright.links.wiring import WireFault
from anglewright.rig import at_nominal, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

COUNT = 300 if os.environ.get("ANGLEWRIGHT_LONG") == "1" else 60

RIG = """
[axis.arm]
motion = {{ from = "0 deg", to = "280 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
sensor = {{ track = "{track} ohm", electrical_travel = "300 deg", end_resistance = "{end} ohm", \
wiper_resistance = "{wiper} ohm" }}
wiring = {{ feed = "{feed} V", series = "{series} ohm", pull = {{ down = "{down} ohm", up = "{up} ohm", \
at = "{at}" }}, lead = {{ wiper = "{lead} ohm" }} }}
"""


def drawn(rng):
    """Numbers of a circuit and an angle of the wiper from the middle of its track. [ohm, V, deg]"""
    low = {"track": 3, "end": 0, "wiper": 0, "series": 1, "down": 3, "up": 3, "lead": -2}
    high = {"track": 5, "end": 3, "wiper": 3, "series": 4, "down": 6, "up": 6, "lead": 2}
    numbers = {name: float(10 ** rng.uniform(low[name], high[name])) for name in low}
    at = "pin" if rng.integers(2) else "lead"
    return numbers | {"feed": float(rng.uniform(1.8, 12.0)), "at": at}, float(rng.uniform(-139.0, 139.0))


def netlist(n, degrees, k):
    """The circuit as elements between nodes of one number: ends, both parts of the track, wiper, wires."""
    below = n["track"] * (0.5 + degrees / 300.0)
    at = f"p{k}" if n["at"] == "pin" else f"l{k}"
    return "\n".join(
        [
            f"vs{k} top{k} 0 dc {n['feed']!r}",
            f"re{k} top{k} a{k} {n['end']!r}",
            f"ra{k} a{k} w{k} {n['track'] - below!r}",
            f"rb{k} w{k} b{k} {below!r}",
            f"rf{k} b{k} 0 {n['end']!r}",
            f"rw{k} w{k} s{k} {n['wiper']!r}",
            f"rl{k} s{k} l{k} {n['lead']!r}",
            f"rs{k} l{k} p{k} {n['series']!r}",
            f"rd{k} {at} 0 {n['down']!r}",
            f"ru{k} {at} top{k} {n['up']!r}",
        ]
    )


def chain_of(n):
    """Sensor and wiring of the same circuit, read from a rig file."""
    text = RIG.format(**n)
    axis = build_rig(parse_document(text, source="arm.toml"), source="arm.toml").axis("arm")
    return realise(axis, at_nominal).links[4:6]


def test_ends_and_wiper_agree_with_a_circuit_simulator(at_rest):
    # reference: ngspice, operating point
    rng = np.random.default_rng(301)
    circuits = [drawn(rng) for _ in range(COUNT)]
    for start in range(0, COUNT, 30):
        some = circuits[start : start + 30]
        elements = "\n".join(netlist(numbers, degrees, k) for k, (numbers, degrees) in enumerate(some))
        pins = at_rest(elements, [f"p{k}" for k in range(len(some))])
        terminals = at_rest(elements, [f"s{k}" for k in range(len(some))])
        for (numbers, degrees), pin, terminal in zip(some, pins, terminals, strict=True):
            sensor, wiring = chain_of(numbers)
            share = sensor.forward(math.radians(degrees))
            assert wiring.forward(share) == pytest.approx(pin, rel=1e-9)
            assert wiring.at_wiper(share) == pytest.approx(terminal, rel=1e-9)


def test_an_open_ground_leaves_the_ends_and_the_wiper_in_series(at_rest):
    # reference: ngspice, the lower end of the track unsoldered
    numbers = drawn(np.random.default_rng(302))[0] | {"at": "pin", "end": 40.0, "wiper": 150.0}
    elements = netlist(numbers, 30.0, 0).replace("rf0 b0 0 ", "rf0 b0 nowhere ")
    (pin,) = at_rest(f"{elements}\nrx0 nowhere 0 1e18", ["p0"])
    sensor, wiring = chain_of(numbers)
    share = sensor.forward(math.radians(30.0))
    found = wiring.at_pin(share, fault=WireFault.OPEN_GROUND).volts
    assert found == pytest.approx(pin, rel=1e-9)


def test_the_two_parts_and_the_ends_add_up_to_what_the_port_tells():
    # the two parts as measured from the wiper's terminal: the total and twice the wiper's own resistance
    # (common practice, no source)
    link = Potentiometer(
        track_ohm=10e3,
        travel_rad=math.radians(300.0),
        shape=np.zeros(7),
        reading=0.5,
        end_ohm=30.0,
        wiper_ohm=80.0,
    )
    port = link.port
    assert isinstance(port, TrackPort)
    share = link.forward(0.4)
    lower, upper = (part * port.track_ohm + port.wiper_ohm for part in (share, 1.0 - share))
    assert lower + upper == pytest.approx(10e3 + 2.0 * 30.0 + 2.0 * 80.0, rel=1e-14)
