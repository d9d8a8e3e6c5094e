"""Faults of the user's own program give the wrong numbers that were reported."""

import numpy as np
import pytest

from anglewright.errors import UsageError
from anglewright.simulation.faults.programs import divided, overflowed


def test_255_times_a_reading_overflows_first_at_129():
    # field notes: 129 x 255 = 32 895 > 32 767; widened first, 1023 maps to 254
    raw = np.arange(1024.0)
    found = overflowed(raw, factor=255.0, divisor=1024.0)
    right = np.floor(raw * 255.0 / 1024.0)
    assert np.flatnonzero(found != right)[0] == 129
    assert found[129] == np.trunc((129 * 255 - 65536) / 1024)
    assert right[1023] == 254.0


def test_a_value_scaled_to_50000_wraps_first_at_671():
    # field notes: 32 767 / 50 000 x 1023 = 670.4, and the wrap is one of exactly 65 536
    raw = np.arange(1024.0)
    product = np.floor(raw * 50000.0 / 1023.0)
    held = overflowed(product, factor=1.0, divisor=1.0)
    assert np.flatnonzero(held != product)[0] == 671
    assert held[671] - product[671] == -65536.0


def test_an_integer_division_leaves_minus_90_and_0():
    # field notes: -90.00 at reading 0 and exactly 0.00 at 9, 16 and 1023
    assert list(divided(np.array([0.0, 9.0, 16.0, 1023.0]), half=512.0)) == [-90.0, 0.0, 0.0, 0.0]


def test_the_number_of_the_pin_gives_2_whatever_the_reading(shoulder, log):
    # field notes: 14 x 179 / 1023 = 2.4, cut to 2
    sweep = log(shoulder("shoulder.converter.bits=10"), "pin-number=14").sweep
    assert set(sweep.raw) == {2.0}


@pytest.mark.parametrize(
    ("factor", "value"), [("2", 2.0), ("4", 4.0), ("15/16", 0.9375), ("4095/4096", 4095 / 4096)]
)
def test_a_wrong_factor_is_that_factor(turning, log, factor, value):
    sound, faulty = log(turning("lines")).sweep.raw, log(turning("lines"), f"wrong-counts={factor}").sweep.raw
    assert faulty == pytest.approx(value * sound, abs=1e-9)


def test_4095_in_place_of_4096_loses_0_088_deg_a_turn(turning, log):
    # field notes: 0.088 deg a turn, 8.8 deg after 100 turns
    raw = log(turning("lines"), "wrong-counts=4095/4096", frequency="0.05 Hz").sweep.raw
    assert (4096.0 - np.ptp(raw)) * 360.0 / 4096.0 == pytest.approx(0.088, abs=0.001)


def test_a_rounded_factor_makes_a_turn_of_360_448(turning, log):
    # field notes: 0.022 for 0.02197, so the period is 2^14 x 0.022 = 360.448
    raw = log(turning("word"), "rounded-scale=0.022", "mount.reading=0", frequency="0.05 Hz").sweep.raw
    assert np.ptp(raw) == pytest.approx(360.448, abs=0.8)  # two rows of the sweep, 0.36 deg each


def test_an_overflow_in_a_log_flips_the_sign_while_the_code_rises(shoulder, log):
    rig = shoulder("shoulder.converter.bits=10")
    sound, faulty = log(rig).sweep.raw, log(rig, "integer-overflow=255").sweep.raw
    assert np.all(faulty[(sound > 103) & (sound < 129)] > 0.0)
    assert np.all(faulty[(sound >= 129) & (sound < 250)] < 0.0)


@pytest.mark.parametrize("name", ["rounded-scale", "integer-overflow", "integer-division", "pin-number"])
def test_a_program_that_counts_wrong_needs_counts(shoulder, log, name):
    with pytest.raises(UsageError, match="its controller shows volts, not counts"):
        log(shoulder("shoulder.converter.raw=volts"), name)
