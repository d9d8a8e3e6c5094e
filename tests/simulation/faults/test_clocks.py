"""Stamps that jitter, are coarse, arrive in bursts, leap, start anew and roll over."""

import numpy as np
import pytest

from anglewright.simulation.faults.clocks import ROLL_OVER_S


@pytest.fixture
def stamps(shoulder, log):
    """Times of a hold at 100 Hz for 20 s, with what is planted."""

    def run(*plant, **given):
        return log(shoulder(), *plant, motion="hold", **given).sweep.time_s

    return run


def test_a_sound_clock_is_even(stamps):
    assert np.diff(stamps()) == pytest.approx(0.01, abs=1e-9)


def test_a_clock_of_10_ms_stamps_four_rows_of_five_alike(stamps):
    # 479 Hz into 10 ms: 4.79 rows a step, so 79 % are duplicates, as in one of the logs of the field notes
    times = stamps("resolution=10 ms", rate="479 Hz")
    assert np.mod(times / 0.01 + 1e-6, 1.0).max() < 1e-4
    assert np.mean(np.diff(times) == 0.0) == pytest.approx(0.79, abs=0.01)


def test_jitter_is_late_by_its_rms_and_never_goes_back(stamps):
    late = stamps("jitter=1 ms") - stamps()
    assert np.sqrt(np.mean(late**2)) == pytest.approx(1e-3, rel=0.1)
    assert late.min() >= 0.0
    assert np.diff(stamps("jitter=30 ms")).min() >= 0.0


def test_a_burst_gives_326_rows_one_stamp(stamps):
    # field notes: 326 rows in 0.26 s
    times = stamps("burst=0.26 s@5 s", rate="1254 Hz")
    assert np.max(np.unique(times, return_counts=True)[1]) == pytest.approx(326, abs=1)
    assert np.diff(times).min() >= 0.0


def test_a_gap_is_one_step_of_its_length(stamps):
    # field notes: gaps of 38 s, 15.6 s and 26.5 h
    for text, seconds in (("38 s", 38.0), ("26.5 h", 26.5 * 3600.0)):
        steps = np.diff(stamps(f"gap={text}@5 s"))
        assert steps.max() == pytest.approx(seconds + 0.01)
        assert np.count_nonzero(steps > 0.011) == 1


def test_a_clock_that_restarts_begins_at_zero(stamps):
    times = stamps("restart@5 s")
    assert times[500] == pytest.approx(0.0, abs=1e-9)
    assert np.count_nonzero(np.diff(times) < 0.0) == 1
    assert times[-1] == pytest.approx(15.0)


def test_a_counter_of_32_bits_of_microseconds_rolls_over_after_71_6_minutes(stamps):
    assert abs(ROLL_OVER_S / 60.0 - 71.58) < 0.005
    times = stamps("roll-over@5 s")
    assert times[500] == pytest.approx(0.0, abs=1e-9)
    assert times[499] == pytest.approx(4294.967296 - 0.01)
    assert np.diff(times)[499] == pytest.approx(0.01 - 4294.967296)


def test_a_fast_clock_is_fast_by_its_share(stamps):
    assert np.diff(stamps("clock-rate=5%")) == pytest.approx(0.0105)
    assert np.diff(stamps("clock-rate=-10%")) == pytest.approx(0.009)
