"""Slip, a turned body, a tooth jump, errors that come round with the shaft, a dead band, a wrong sign."""

import numpy as np
import pytest

COUNTS_PER_DEG = 4096.0 / 340.0  # of the exact shoulder's sensor shaft, without pull


def changed(log, rig, *plant, **given):
    """Raw readings with and without what is planted, and their times."""
    sound, faulty = log(rig, **given).sweep, log(rig, *plant, **given).sweep
    return faulty.raw - sound.raw, faulty.time_s


@pytest.fixture
def plain(shoulder):
    """The exact shoulder without a pull: its reading is linear."""
    return shoulder(variant="no-pull")


def test_a_slip_shifts_the_reading_from_its_moment_on_and_leaves_the_slope(plain, log):
    shift, t = changed(log, plain, "slip=5deg@12s")
    assert np.all(shift[t < 12.0] == 0.0)
    after = shift[t > 12.05]
    assert np.abs(after - 5.0 * COUNTS_PER_DEG).max() <= 1.0  # each code is rounded down


def test_a_turned_body_shifts_the_reading_the_other_way(plain, log):
    shift, t = changed(log, plain, "body-turn=3deg@12s")
    assert np.all(shift[t < 12.0] == 0.0)
    assert np.abs(shift[t > 12.05] + 3.0 * COUNTS_PER_DEG).max() <= 1.0


def test_slip_and_turned_body_are_told_apart_in_the_truth(plain, log):
    faults = log(plain, "slip=5deg@12s", "body-turn=3deg@12s").as_json()["truth"]["faults"]
    assert [each["acts_on"] for each in faults] == [
        ["shaft that enters the sensor"],
        ["turn of the sensor in its body"],
    ]
    assert "shaft and coupling is broken" in faults[0]["meaning"]
    assert "body and bracket is broken" in faults[1]["meaning"]


def test_with_an_output_that_falls_slip_and_turned_body_change_their_signs(shoulder, log):
    falling = shoulder("shoulder.mount.output=falls", variant="no-pull")
    for plant, sign in (("slip=5deg@1s", -1.0), ("body-turn=5deg@1s", 1.0)):
        shift, t = changed(log, falling, plant)
        assert np.abs(shift[t > 1.1] - sign * 5.0 * COUNTS_PER_DEG).max() <= 1.0


def test_a_tooth_jump_is_one_tooth_of_the_wheel_on_the_sensors_shaft(plain, log):
    # field note: the step is 360 deg over the teeth of the wheel, 24 here
    for teeth in (1, 2):
        shift, t = changed(log, plain, f"tooth-jump={teeth}@10s")
        assert np.abs(shift[t > 10.05] - teeth * 360.0 / 24.0 * COUNTS_PER_DEG).max() <= 1.0


def test_a_tooth_jump_needs_teeth(turning, log):
    with pytest.raises(Exception, match="its drive has no toothed wheel"):
        log(turning("word"), "tooth-jump")


@pytest.mark.parametrize(("name", "order"), [("eccentric", 1), ("tilted", 2)])
def test_an_error_that_comes_round_is_one_harmonic_of_its_size(turning, log, name, order):
    given = {"motion": "sweep", "seconds": "2 s", "frequency": "0.25 Hz"}
    sound, faulty = (log(turning("word"), *plant, **given).sweep for plant in ([], [f"{name}=1deg"]))
    counts = np.mod(faulty.raw - sound.raw + 8192.0, 16384.0) - 8192.0
    error = counts * 360.0 / 16384.0
    angle = sound.truth.positions[:-1]  # from 0 to one whole turn, evenly: a plain sum is the integral
    for harmonic in (1, 2, 3):
        size = 2.0 * np.abs(np.mean(error[:-1] * np.exp(-1j * harmonic * angle)))
        assert size == pytest.approx(1.0 if harmonic == order else 0.0, abs=0.03)


def test_a_dead_band_holds_the_reading_and_then_lets_it_jump(plain, log):
    # the reading stays while the shaft is within the band, and is never further off than the band
    shift, _ = changed(log, plain, "dead-band=4deg")
    raw = log(plain, "dead-band=4deg").sweep.raw
    assert np.abs(shift).max() <= 4.0 * COUNTS_PER_DEG + 1.0
    jumps = np.abs(np.diff(raw))
    jumps = jumps[jumps > 2.0]  # the filter smears a jump over a millisecond
    assert len(jumps) > 20
    assert np.median(jumps) == pytest.approx(4.0 * COUNTS_PER_DEG, rel=0.2)
    assert np.mean(np.diff(raw) == 0.0) > 0.8


def test_reversed_turns_about_the_clamping(plain, log):
    # clamped where it reads 50 %: the two readings add up to the whole scale, less the two roundings
    sound, faulty = log(plain).sweep, log(plain, "reversed").sweep
    assert np.abs(sound.raw + faulty.raw - 4095.0).max() <= 1.0
