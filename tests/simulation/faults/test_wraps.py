"""Averaging across the wrap is 36 degrees off with nine of ten reads below it; values are caught in it."""

import numpy as np
import pytest

from anglewright.errors import UsageError
from anglewright.simulation.faults.wraps import mean_of_reads


def test_nine_reads_of_ten_below_the_wrap_average_to_1640_counts_too_low():
    # field notes: 14743 where 16383.5 is right, an error of -1640 counts or -36.0 deg of 14 bits
    reads = np.array([[16383.0] * 9 + [0.0]])
    error = float(mean_of_reads(reads)[0]) - 16383.5
    assert error == pytest.approx(-1640.0, abs=1.0)
    assert error * 360.0 / 16384.0 == pytest.approx(-36.0, abs=0.05)
    assert float(mean_of_reads(reads)[0]) / 16384.0 == pytest.approx(0.9, abs=0.001)


@pytest.mark.parametrize(("reads", "mean"), [([350.0, 10.0], 180.0), ([255.0, 1.0], 128.0)])
def test_plain_means_lie_on_the_far_side(reads, mean):
    # field notes: 350 and 10 average to 180, 255 and 1 to 128
    assert float(mean_of_reads(np.array([reads]))[0]) == mean


def test_a_run_has_single_readings_far_off_at_the_wrap_and_sound_ones_elsewhere(turning, log):
    given = {"at": "350 deg", "amplitude": "9.99 deg", "frequency": "1 Hz"}
    rig = turning("word")
    # ten reads of 1 ms straddle the wrap: turn the sensor so that it wraps at 350 deg
    shifted = [f"mount.reading={(190.0 / 360.0):.6f}"]
    sound, faulty = log(rig, *shifted, **given).sweep, log(rig, *shifted, "wrap-average=10", **given).sweep
    away = np.abs(np.mod(faulty.raw - sound.raw + 8192.0, 16384.0) - 8192.0)
    far = away > 200.0
    assert 10 < np.count_nonzero(far) < 0.1 * len(far)
    near = np.minimum(sound.raw, 16384.0 - sound.raw)
    assert near[far].max() < 40.0  # within ten reads of the wrap, at 40 deg/s
    assert not np.any(far[1:] & far[:-1])


def test_the_first_reading_after_a_wrap_is_caught_between_the_ends(turning, log):
    rig, given = turning("word"), {"at": "180 deg", "amplitude": "60 deg", "frequency": "0.5 Hz"}
    sound = log(rig, "mount.reading=0", **given).sweep.raw
    faulty = log(rig, "mount.reading=0", "smear", **given).sweep.raw
    wrapped = np.flatnonzero(np.abs(np.diff(sound)) > 8192.0) + 1
    assert len(wrapped) == 20  # two a period, in ten periods
    assert np.array_equal(np.flatnonzero(faulty != sound), wrapped)
    assert np.ptp(faulty[wrapped]) > 6000.0


@pytest.mark.parametrize("name", ["smear", "wrap-average"])
def test_faults_of_the_wrap_do_not_happen_to_a_potentiometer(shoulder, log, name):
    with pytest.raises(UsageError) as caught:
        log(shoulder(), name)
    assert str(caught.value) == (
        f"--plant {name}: it cannot happen to shoulder, its readings do not wrap. "
        "Leave it out, or take an axis that it can happen to."
    )


def test_a_driven_voltage_wraps_too(turning, log):
    assert len(log(turning("output"), "smear").sweep.raw) == 2001
