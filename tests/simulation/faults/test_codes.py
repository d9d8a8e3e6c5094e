"""Bits, missing codes, a freeze, spikes, torn bytes and failed reads show in the codes as they should."""

import numpy as np
import pytest

from anglewright.simulation.faults.codes import torn


@pytest.fixture
def both(shoulder, log):
    """Raw readings of a sweep without and with a fault."""

    def run(plant, **given):
        rig = shoulder()
        return log(rig, **given).sweep.raw.astype(int), log(rig, plant, **given).sweep.raw.astype(int)

    return run


@pytest.mark.parametrize("bit", [0, 3, 7])
def test_a_stuck_bit_is_set_and_the_others_are_as_they_were(both, bit):
    sound, faulty = both(f"stuck-bit={bit}")
    assert np.array_equal(faulty, np.where(sound // 2**bit % 2, sound, sound + 2**bit))
    sound, faulty = both(f"lost-bit={bit}")
    assert np.array_equal(faulty, np.where(sound // 2**bit % 2, sound - 2**bit, sound))


def test_missing_codes_never_come(both):
    sound, faulty = both("missing-codes=16")
    assert np.count_nonzero(sound % 16 == 0) > 50
    assert np.count_nonzero(faulty % 16 == 0) == 0
    assert set(np.unique(faulty - sound)) == {0, 1}


def test_a_frozen_reading_is_exactly_the_same_from_its_moment_on(shoulder, log):
    sweep = log(shoulder("shoulder.converter.noise=3 LSB rms"), "frozen@7s").sweep
    assert len(np.unique(sweep.raw[sweep.time_s >= 7.0])) == 1
    assert len(np.unique(sweep.raw[sweep.time_s < 7.0])) > 100


def test_spikes_hit_one_row_in_a_hundred_by_their_size(both):
    sound, faulty = both("spikes=300", seconds="100 s")
    off = faulty - sound
    assert set(np.unique(off)) == {-300, 0, 300}
    assert np.mean(off != 0) == pytest.approx(0.01, abs=0.004)  # 10 000 rows: 0.001 is one sigma


def test_torn_bytes_are_off_by_256_and_only_over_the_end_of_a_byte(both):
    # field notes: jumps of 255 or 256 counts, only when moving across a byte's end
    sound, faulty = both("torn=100%")
    off, crosses = faulty - sound, np.diff(sound // 256, prepend=sound[:1] // 256)
    assert set(np.unique(off)) == {-256, 0, 256}
    assert np.array_equal(off, -256 * crosses)
    jumps = np.abs(np.diff(faulty))[np.abs(np.diff(faulty)) > 100]
    assert np.all(np.abs(jumps - 256) < 10)


def test_a_torn_word_of_12_bits_is_22_5_deg_off():
    # field notes: 22.4 deg, the angle of 255 counts
    codes = np.array([511.0, 512.0])
    assert (codes - torn(codes)) * 360.0 / 4096.0 == pytest.approx([0.0, 22.5])


@pytest.mark.parametrize(("value", "angle"), [(3839, 337.41), (65535, None)])
def test_failed_reads_give_one_number_from_any_angle(both, value, angle):
    sound, faulty = both(f"sentinel={value}", seconds="100 s")
    hit = faulty != sound
    assert set(faulty[hit]) == {value}
    assert np.mean(hit) == pytest.approx(0.01, abs=0.004)
    assert np.ptp(sound[hit]) > 2000
    if angle is not None:
        assert value * 360.0 / 4096 == pytest.approx(angle, abs=0.005)
        assert value == 0x0EFF
