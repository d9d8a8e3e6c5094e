"""Pairs of gears, nonius windows and rates of counting against published numbers and counting by hand."""

import math

import numpy as np
import pytest

from anglewright.angles import first_turns, pair_limit
from anglewright.links.counter import edge_rate

CASES = 6000
KEPT_FOR_LATER = 7.0 / 8.0  # of the window, what the data sheets leave to the user
# Teeth of both gears, and after how many they repeat: least common multiples, by hand
PAIRS = [(17, 16, 272), (24, 18, 72)]


def told_wrong(first, second, *, size, seed):
    """Share of 6000 places at which the teeth come out wrong: both errors at full size, signs at random."""
    rng = np.random.default_rng(seed)
    teeth = rng.uniform(0.0, math.lcm(first, second), CASES)
    error = size * math.gcd(first, second) * 180.0 / (first + second)
    read = [
        np.radians((360.0 * teeth / own + error * rng.choice([-1.0, 1.0], CASES)) % 360.0)
        for own in (first, second)
    ]
    turns = first_turns(read[0], read[1], first=first, second=second)
    passed = first * (turns + read[0] / (2.0 * np.pi))
    # the first sensor's own error stays; a wrong turn is off by at least one tooth of the common divisor
    period = math.lcm(first, second)
    off = np.abs((passed - teeth + period / 2.0) % period - period / 2.0)
    return float(np.mean(off > 1.0001 * first * error / 360.0))


@pytest.mark.parametrize(("first", "second", "repeats"), PAIRS)
def test_every_tooth_of_the_range_is_told_apart(first, second, repeats):
    teeth = np.arange(repeats) + 0.3
    turns = first_turns(
        2.0 * np.pi * (teeth % first) / first,
        2.0 * np.pi * (teeth % second) / second,
        first=first,
        second=second,
    )
    assert np.array_equal(turns, teeth // first)  # counted by hand
    assert len(set(turns.tolist())) == repeats // first


# limits worked out by exact arithmetic: 180/33 and 6 * 180/42 deg
@pytest.mark.parametrize(("first", "second", "limit_deg"), [(17, 16, 5.4545), (24, 18, 25.714)])
def test_the_limit_of_equal_errors(first, second, limit_deg):
    assert math.degrees(pair_limit(first, second)) == pytest.approx(limit_deg, abs=5e-4)


@pytest.mark.parametrize(("first", "second", "repeats"), PAIRS)
def test_none_is_wrong_just_below_the_limit_and_half_just_above(first, second, repeats):
    assert math.lcm(first, second) == repeats
    assert told_wrong(first, second, size=0.98, seed=5) == 0.0
    # opposite signs come up in half the cases, and only they exceed the limit: a fair coin
    assert told_wrong(first, second, size=1.03, seed=6) == pytest.approx(0.5, abs=0.03)


def test_errors_of_one_sign_help_each_other_out():
    # 17 e - 16 e is far below 180 deg where both err alike, however large
    turns = first_turns(
        np.radians((360.0 * 100 / 17 + 9.0) % 360.0),
        np.radians((360.0 * 100 / 16 + 9.0) % 360.0),
        first=17,
        second=16,
    )
    assert turns == 5.0


# Electrical windows of nonius tracks: data sheets of the iC-MU series, tables 50 and 68 (published): periods
# of the master and nonius track, and the tolerance of the phase, which is 7/8 of 360 deg / (2 P).
@pytest.mark.parametrize(
    ("periods", "window_deg"),
    [
        ((16, 15), 9.84),
        ((32, 31), 4.92),
        ((64, 63), 2.46),
        ((128, 120), 9.84),
        ((512, 496), 4.92),
        ((2048, 2016), 2.46),
    ],
)
def test_nonius_windows_of_data_sheets(periods, window_deg):
    # a track of P periods is a gear of so many teeth that it turns P times in one turn of the driving gear
    teeth = [math.lcm(*periods) // count for count in periods]
    alone = math.degrees(pair_limit(*teeth)) * sum(teeth) / max(teeth)  # one sensor errs, the other does not
    assert KEPT_FOR_LATER * alone == pytest.approx(window_deg, abs=0.006)


def test_a_thousand_lines_at_three_thousand_turns_a_minute():
    # f = lines * rpm / 60, plain arithmetic: 1024 at 3000 rpm are 51.2 kHz a track, 204.8 thousand edges
    assert edge_rate(3000.0 / 60.0, lines=1024, decode=1) == pytest.approx(51.2e3)
    assert edge_rate(3000.0 / 60.0, lines=1024) == pytest.approx(204.8e3)


def test_one_tick_in_a_millisecond_is_fifteen_turns_a_minute_of_four_thousand_counts():
    # step of the frequency method, 60 / (CPR T), a worked example of Electrical Engineering Stack Exchange
    assert edge_rate(15.0 / 60.0, lines=1000) * 1e-3 == pytest.approx(1.0)
