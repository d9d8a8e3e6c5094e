"""Lost counts are 15/16 of the truth, a narrow register goes round, a start forgets, a clock is trusted."""

import numpy as np
import pytest

from anglewright.errors import UsageError


def test_one_count_in_sixteen_lost_leaves_3840_of_4096(turning, log):
    # field notes: 0.9375 of true, 4096 counts become 3840 a turn
    given = {"frequency": "0.05 Hz"}  # up in 10 s, down in 10 s
    sound, faulty = (
        log(turning("lines"), **given).sweep.raw,
        log(turning("lines"), "lost-counts", **given).sweep.raw,
    )
    assert np.ptp(sound) == 4096.0
    assert np.ptp(faulty) == 3840.0
    assert faulty[-1] == sound[-1] == sound[0]  # both ways alike


def test_counts_lost_on_the_way_up_do_not_come_back(turning, log):
    sweep = log(turning("lines"), "lost-rising=1%", frequency="0.05 Hz").sweep
    assert sweep.raw[-1] - sweep.raw[0] == pytest.approx(-0.01 * 4096.0, abs=1.0)


def test_after_a_power_cut_the_count_begins_at_zero_and_keeps_its_scale(turning, log):
    sound, faulty = log(turning("lines")).sweep, log(turning("lines"), "power-cut@8s").sweep
    on = faulty.time_s >= 8.0
    assert faulty.raw[on][0] == 0.0
    assert len(np.unique((sound.raw - faulty.raw)[on])) == 1
    assert np.array_equal(sound.raw[~on], faulty.raw[~on])


@pytest.mark.parametrize(("kind", "low", "high"), [("word", 0, 255), ("lines", -128, 127)])
def test_a_count_in_eight_bits_jumps_by_255(turning, log, kind, low, high):
    # field notes: jumps of 255 or 256
    sound, faulty = (
        log(turning(kind), *plant, rate="1 kHz", seconds="3 s", frequency="0.05 Hz").sweep.raw
        for plant in ([], ["counter-wrap=8 bit"])
    )
    assert (faulty.min(), faulty.max()) == (low, high)
    assert np.all(np.mod(sound - faulty, 256.0) == 0.0)
    jumps = np.abs(np.diff(faulty))
    assert set(np.round(jumps[jumps > 100.0] / 256.0)) == {1.0}


def test_a_count_in_16_bits_jumps_by_65536(turning, log):
    swing = {"frequency": "0.1 Hz"}
    rig = turning("lines")
    sweep = log(rig, "mount.reading=790 %", "counter-wrap=16 bit", **swing).sweep
    assert sweep.raw.min() < -32000.0
    assert sweep.raw.max() > 32000.0
    assert np.abs(np.diff(sweep.raw)).max() == pytest.approx(65536.0, abs=50.0)


def test_a_variable_as_wide_as_the_codes_is_no_fault(shoulder, log):
    with pytest.raises(UsageError, match="its codes fit into 12 bits"):
        log(shoulder(), "counter-wrap=16 bit")


def test_a_pulse_taken_by_its_high_time_is_18_deg_off_at_the_end(turning, log):
    # field notes: a clock 5 % off is up to 18 deg at full scale
    rig = turning("pulse")
    sound, faulty = log(rig).sweep.raw, log(rig, "high-time=-5%").sweep.raw
    error = (faulty - sound) * 360.0 / 4096.0
    assert error.min() == pytest.approx(-18.0, abs=0.3)
    assert error[np.argmin(sound)] == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize("name", ["lost-counts", "lost-rising", "power-cut"])
def test_only_counted_lines_get_lost(shoulder, log, name):
    with pytest.raises(UsageError, match="its sensor's lines are not counted"):
        log(shoulder(), name)


def test_only_a_pulse_has_a_high_time(turning, log):
    with pytest.raises(UsageError, match="its sensor sends no pulses"):
        log(turning("word"), "high-time")
