"""Sampling: settling times, source limits and reservoirs of data sheets, and a circuit simulator."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from anglewright.circuits import OPEN, Thevenin, reservoir, sampled, settling_time
from anglewright.links.sampling import Sampler
from anglewright.links.wiring import Wiring

# Texas Instruments, Analog engineer's pocket reference (SLYW038), bits to time constants; its 16 bits are
# misprinted there as 11.04, the value is 16 ln 2
CONSTANTS = [
    (8, 5.5),
    (9, 6.24),
    (10, 6.93),
    (11, 7.62),
    (12, 8.32),
    (13, 9.01),
    (14, 9.70),
    (15, 10.40),
    (16, 11.09),
    (17, 11.78),
    (18, 12.48),
    (20, 13.86),
    (24, 16.64),
    (25, 17.33),
]


@pytest.mark.parametrize(("bits", "constants"), CONSTANTS)
def test_a_whole_code_takes_the_time_constants_of_the_table(bits, constants):
    assert settling_time(bits, ohms=1.0, farad=1.0, codes=1.0) == pytest.approx(constants, abs=0.051)
    assert settling_time(bits - 1, ohms=1.0, farad=1.0) == settling_time(bits, ohms=1.0, farad=1.0, codes=1.0)


WORKED = [
    # user's guide of the MSP430x4xx family, ADC12: (10 kohm + 2 kohm) * 9.011 * 40 pF + 800 ns = 5.125 us
    (12, 12e3, 40e-12, 0.5, 5.125e-6 - 800e-9, 1e-3),
    # Microchip: (n + 1) ln 2 time constants, 9.02 of them for 12 bits
    (12, 1.0, 1.0, 0.5, 9.02, 1.1e-3),
    # published threads: a quarter of a code, 10 kohm and 12 pF; an eighth, 100 kohm and 10 pF
    (12, 10e3, 12e-12, 0.25, 1164.487e-9, 1e-6),
    (6, 10e3, 12e-12, 0.25, 665.421e-9, 1e-6),
    (12, 100e3, 10e-12, 0.125, 10.4e-6, 5e-4),
]


@pytest.mark.parametrize(("bits", "ohms", "farad", "codes", "seconds", "within"), WORKED)
def test_worked_settling_times_come_out(bits, ohms, farad, codes, seconds, within):
    assert settling_time(bits, ohms=ohms, farad=farad, codes=codes) == pytest.approx(seconds, rel=within)


# data sheet of the STM32F103x4/x6, table 47: a quarter of a code, 14 MHz, 8 pF, 1 kohm; cycles to kohm, the
# last one printed as a whole number
LIMITS = [(1.5, 0.4), (7.5, 5.9), (13.5, 11.4), (28.5, 25.2), (41.5, 37.2), (55.5, 50.0)]


@pytest.mark.parametrize(("cycles", "kohm"), LIMITS)
def test_the_largest_source_is_that_of_a_data_sheet(cycles, kohm):
    # solved for the source that leaves 2 ** -14 of the step: a quarter of a code of 12 bits
    def beyond(ohms):
        return sampled(ohms, pin_f=0.0, switch_ohm=1e3, hold_f=8e-12).left(cycles / 14e6) - 2.0**-14

    assert brentq(beyond, 1.0, 1e5) / 1e3 == pytest.approx(kohm, abs=0.5 if kohm == 50.0 else 0.051)


# charge sharing, C >= (2 ** (N + 1) - 1) C_s: 12 bits and 8 pF; 10 bits and the 14 pF of the AVR class
@pytest.mark.parametrize(("bits", "pico", "nano"), [(12, 8.0, 65.5), (10, 14.0, 28.7)])
def test_a_reservoir_keeps_the_dip_at_half_a_code(bits, pico, nano):
    farad = reservoir(bits, farad=pico * 1e-12)
    assert farad / 1e-9 == pytest.approx(nano, abs=0.05)
    dip = sampled(1e4, pin_f=farad, switch_ohm=0.0, hold_f=pico * 1e-12).left(0.0)
    assert dip * 2.0**bits == pytest.approx(0.5, rel=1e-9)


def test_without_a_switch_the_pin_refills_with_its_own_time_constant():
    # closed form: C_s / (C_s + C) at once, then exp(-t / (R (C_s + C)))
    ohms, pin, hold, time = 5e3, 1e-9, 10e-12, 3e-6
    left = sampled(ohms, pin_f=pin, switch_ohm=0.0, hold_f=hold).left(time)
    assert left == pytest.approx(hold / (hold + pin) * math.exp(-time / (ohms * (hold + pin))), rel=1e-12)


def test_a_source_without_resistance_leaves_the_switch_alone():
    left = sampled(0.0, pin_f=1e-9, switch_ohm=2e3, hold_f=10e-12).left(50e-9)
    assert left == pytest.approx(math.exp(-50e-9 / (2e3 * 10e-12)), rel=1e-12)
    assert sampled(0.0, pin_f=1e-9, switch_ohm=0.0, hold_f=10e-12).left(50e-9) == 0.0


def test_an_endless_sample_has_nothing_left_of_the_channel_before():
    assert sampled(1e4, pin_f=1e-7, switch_ohm=1e3, hold_f=8e-12).left(math.inf) == 0.0


def drawn(rng):
    """A source, a capacitor at the pin or none, a switch, a sampling capacitor, and a time for the sample."""

    def decade(low, high):
        return float(10 ** rng.uniform(low, high))

    source, switch, hold = decade(2, 5), decade(2, 4), decade(-11.5, -10.0)
    pin = decade(-12.0, -9.0) if rng.integers(3) else 0.0
    slowest = (source + switch) * hold + source * pin
    return source, pin, switch, hold, float(slowest * rng.uniform(0.3, 4.0))


@pytest.mark.parametrize("seed", range(30))
def test_a_sample_ends_as_in_a_circuit_simulator(seed, in_time):
    # reference: ngspice, transient of both capacitors; agreement to 0.1 % of the step
    rng = np.random.default_rng(seed)
    source, pin, switch, hold, time = drawn(rng)
    volts, before = float(rng.uniform(0.0, 3.3)), float(rng.uniform(0.0, 3.3))
    lines = [
        f"vs s 0 dc {volts!r}",
        f"r1 s p {source!r}",
        f"r2 p h {switch!r}",
        f"ch h 0 {hold!r} ic={before!r}",
    ]
    if pin:
        lines.append(f"cp p 0 {pin!r} ic={volts!r}")
    times, path = in_time("\n".join(lines), "h", step_s=time / 2000.0, end_s=time)
    sampler = Sampler(
        pin=lambda share: Thevenin(3.3 * np.asarray(share), source),
        pin_f=pin,
        hold_f=hold,
        switch_ohm=switch,
        time_s=float(times[-1]),
        before_v=before,
    )
    assert abs(sampler.held(volts) - path[-1]) < 1e-3 * abs(before - volts)
    assert sampler.at_pin(sampler.held(volts)) == pytest.approx(volts, abs=1e-9)


@pytest.mark.parametrize("pin_f", [0.0, 1e-9])
def test_a_sampler_sees_the_source_of_the_place_where_the_wiper_stands(pin_f):
    # at mid travel 100 kohm look like 25 kohm, at a tenth like 9 kohm: R x (1 - x)
    wiring = Wiring(
        track_ohm=100e3,
        feed_v=3.3,
        series_ohm=0.0,
        capacitor_f=pin_f,
        pull_down_ohm=OPEN,
        pull_up_ohm=OPEN,
        pull_at_pin=True,
    )
    sampler = Sampler(
        pin=wiring.at_pin, pin_f=pin_f, hold_f=8e-12, switch_ohm=1e3, time_s=0.54e-6, before_v=0.0
    )
    for share, ohms in ((0.5, 25e3), (0.1, 9e3)):
        left = sampled(ohms, pin_f=pin_f, switch_ohm=1e3, hold_f=8e-12).left(0.54e-6)
        assert 1.0 - sampler.held(3.3 * share) / (3.3 * share) == pytest.approx(left, rel=1e-9)
