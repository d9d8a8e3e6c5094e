"""Rows that stand twice or not at all, and references that cannot be trusted."""

import numpy as np
import pytest


def test_duplicates_repeat_a_share_of_the_rows_whole(shoulder, log):
    sweep = log(shoulder(), "duplicates=12%", seconds="100 s").sweep
    twice = np.diff(sweep.time_s) == 0.0
    assert len(sweep.raw) == pytest.approx(1.12 * 10001, rel=0.01)
    assert np.array_equal(sweep.raw[1:][twice], sweep.raw[:-1][twice])
    assert len(sweep.approach) == len(sweep.reference) == len(sweep.truth.times) == len(sweep.raw)


def test_dropped_rows_leave_gaps(shoulder, log):
    sweep = log(shoulder(), "dropped=5%", seconds="100 s").sweep
    steps = np.round(np.diff(sweep.time_s) / 0.01)
    assert len(sweep.raw) == pytest.approx(0.95 * 10001, rel=0.01)
    assert set(steps) >= {1.0, 2.0}
    assert sweep.time_s[0] == 0.0


def test_the_truth_has_the_place_of_each_row_that_was_written(shoulder, log):
    result = log(shoulder(), "dropped=20%", "duplicates=20%")
    truth = result.as_json()["truth"]
    assert len(truth["positions"]) == len(truth["times_s"]) == len(result.sweep.raw)
    assert np.array(truth["positions"]) == pytest.approx(np.degrees(result.sweep.reference), abs=1e-6)
    assert np.array(truth["times_s"]) == pytest.approx(result.sweep.time_s, abs=1e-6)


def test_an_unsigned_reference_is_a_v(shoulder, log):
    sound, faulty = log(shoulder()).sweep, log(shoulder(), "unsigned-reference").sweep
    assert np.array_equal(faulty.reference, np.abs(sound.reference))
    assert np.array_equal(faulty.raw, sound.raw)
    assert sound.reference.min() < -0.3 < 0.0 <= faulty.reference.min()


def test_a_reference_read_by_hand_is_off_by_up_to_its_size(shoulder, log):
    off = np.degrees(
        log(shoulder(), "hand-read-reference=4deg").sweep.reference - log(shoulder()).sweep.reference
    )
    assert 3.9 < np.abs(off).max() <= 4.0
    assert np.std(off) == pytest.approx(4.0 / np.sqrt(3.0), rel=0.05)  # evenly between -4 and 4
