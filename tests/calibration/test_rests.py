"""Rests are found where the axis held still, and nowhere else."""

import numpy as np
import pytest

from anglewright.calibration.rests import find_rests, rest_places

SIZE = 24.0  # codes per degree


def recorded(places, *, hold=60, move=25, noise=0.03, seed=1, settle=0.0, creep=0.0):
    """Holds at places and smooth moves between them: reference [deg], codes, first row of each hold."""
    rng = np.random.default_rng(seed)
    way, begins = [], []
    for before, place in zip([places[0], *places[:-1]], places, strict=True):
        turn = (1.0 - np.cos(np.linspace(0.0, np.pi, move + 2)[1:-1])) / 2.0
        way += (before + (place - before) * turn).tolist() if begins else []
        begins.append(len(way))
        way += (place + creep * np.arange(hold)).tolist()
    true = np.array(way)
    codes = SIZE * true
    for begin, lag in zip(begins[1:], np.diff(places), strict=True):
        codes[begin : begin + hold] -= settle * SIZE * np.sign(lag) * np.exp(-np.arange(hold) / 6.0)
    return (
        true + noise * rng.standard_normal(len(true)),
        np.rint(codes + 1.5 * rng.standard_normal(len(true))),
        begins,
    )


def test_every_hold_is_found_inside_its_own_rows_with_its_side():
    places = [0.0, 20.0, 40.0, 60.0, 40.0, 20.0, 0.0]
    reference, codes, begins = recorded(places)
    rests = find_rests(reference, codes)
    assert [rest.side for rest in rests] == [0, 1, 1, 1, -1, -1, -1]
    for rest, begin in zip(rests, begins, strict=True):
        assert begin - 3 <= rest.first < rest.end <= begin + 63  # the ends of a smooth move are within noise
        assert rest.end - rest.first >= 50
    assert rest_places(rests, reference) == 4


def test_the_mean_of_a_rest_is_free_of_the_motion_and_of_settling():
    places = [0.0, 20.0, 40.0, 60.0, 80.0]
    reference, codes, _ = recorded(places, settle=2.0, hold=120)
    rests = find_rests(reference, codes)
    assert len(rests) == 5
    means = [np.mean(codes[rest.first : rest.end]) / SIZE for rest in rests]
    # a mean of 60 readings: 1.5 codes / sqrt(60) = 0.008 deg; what is left of settling: below its noise
    assert means == pytest.approx(places, abs=0.05)


def test_an_overshoot_that_is_taken_back_counts_as_coming_down():
    reference, codes, _ = recorded([0.0, 20.0, 40.0, 44.0, 60.0], hold=60)
    way = np.concatenate(
        [reference, np.linspace(60.0, 66.0, 20), np.linspace(66.0, 62.0, 20), np.full(60, 62.0)]
    )
    raw = np.concatenate([codes, np.rint(SIZE * way[len(codes) :])])
    assert find_rests(way, raw)[-1].side == -1


@pytest.mark.parametrize("noise", [0.0, 0.03])
def test_a_slow_sweep_has_no_rests(noise):
    rng = np.random.default_rng(3)
    way = np.linspace(0.0, 90.0, 3000)
    assert find_rests(way + noise * rng.standard_normal(3000), np.rint(SIZE * way)) == ()


def test_a_recording_that_never_moves_has_no_rests():
    rng = np.random.default_rng(4)
    assert find_rests(10.0 + 0.01 * rng.standard_normal(500), np.full(500, 240.0)) == ()


def test_a_hold_must_last_a_quarter_of_a_second():
    # 20 rows at 1 kHz are 0.02 s; 400 rows are 0.4 s
    for hold, count in ((20, 0), (400, 3)):
        reference, codes, _ = recorded([0.0, 30.0, 60.0], hold=hold, move=300)
        found = find_rests(reference, codes, time_s=np.arange(len(reference)) / 1000.0)
        assert len(found) == count


def test_a_reading_that_comes_round_stands_still_all_the_same():
    reference, codes, _ = recorded([0.0, 20.0, 40.0, 60.0])
    period = 1024.0
    wrapped = np.mod(codes - 480.0, period)  # the second hold stands on the wrap: 20 deg are 480 codes
    assert np.ptp(wrapped[90:130]) > 900.0
    assert len(find_rests(reference, wrapped, period=period)) == 4
