"""A bent converter, channels that remember, a gap in the track, a late reading, louder noise."""

import numpy as np
import pytest

from anglewright.simulation.faults.pins import bent


@pytest.mark.parametrize(
    ("volts", "code"), [(3.286, 4095), (2.462, 2811), (1.641, 1814), (0.819, 823), (0.1, 0)]
)
def test_a_bent_converter_reads_what_was_reported(volts, code):
    # field notes: a divider measured with a meter, and what a 12-bit converter read of it
    assert 4095.0 * float(bent(np.array([volts / 3.3]))[0]) == pytest.approx(code, abs=1.5)


def test_a_line_through_the_lower_points_of_a_bent_converter_misses_the_top_by_288(shoulder, log):
    # field notes: 1210.0 counts a volt, zero at 0.140 V, and the top 288 counts off that line
    volts = np.array([0.819, 1.641, 2.462])
    slope, offset = np.polyfit(volts, 4095.0 * bent(volts / 3.3), 1)
    assert (slope, -offset / slope) == pytest.approx((1210.0, 0.140), rel=0.005)
    assert 4095.0 - (slope * 3.286 + offset) == pytest.approx(288.0, abs=2.0)
    rig = shoulder(variant="no-pull")
    sound, faulty = log(rig).sweep, log(rig, "bent-converter").sweep
    expected = 4096.0 * bent(sound.raw / 4096.0)
    assert np.abs(faulty.raw - expected).max() <= 3.0
    assert np.abs(faulty.raw - sound.raw).max() > 150.0


def test_a_converter_that_remembers_follows_the_channel_before(shoulder, log):
    sound, faulty = (
        log(shoulder(), *plant, motion="hold", seconds="10 s").sweep for plant in ([], ["crosstalk=2%"])
    )
    neighbour = faulty.columns["neighbour_raw"]
    slope = np.polyfit(neighbour - sound.raw, faulty.raw - sound.raw, 1)[0]
    assert slope == pytest.approx(0.02, abs=0.001)


def test_open_channels_behind_a_grounded_one_form_a_ramp(shoulder, log):
    # field notes, 10 bits: 0 on the grounded one, then about 90, 170, 210, 250 towards 250 to 300
    sweep = log(
        shoulder("shoulder.converter.bits=10"), "channel-memory=33%", motion="hold", seconds="10 s"
    ).sweep
    seen = [float(np.mean(sweep.columns[f"raw_{place}"])) for place in (1, 2, 3, 4)]
    assert np.all(sweep.raw == 0.0)
    assert np.all(np.abs(np.array(seen) - [90.0, 170.0, 210.0, 250.0]) < 25.0)
    assert np.all(np.diff(seen) > 0.0)


def test_a_gap_of_5_deg_is_1_4_per_cent_of_a_turn(shoulder, log):
    # 5 / 360 of a track that goes nearly all round; within it the reading is anything
    stops = 'shoulder.stops={ low="-50 deg", high="150 deg" }'
    rig = shoulder("shoulder.sensor.electrical_travel=360 deg", stops, variant="no-pull")
    given = {"at": "47.5 deg", "amplitude": "90 deg", "rate": "1 kHz"}
    sound, faulty = log(rig, **given).sweep, log(rig, "dead-gap=5deg", **given).sweep
    hit = np.abs(faulty.raw - sound.raw) > 2.0
    assert np.mean(hit) == pytest.approx(5.0 / 360.0, abs=0.003)
    assert sound.raw[hit].min() >= np.floor(4096.0 * (1.0 - 5.0 / 360.0)) - 15.0
    assert np.ptp(faulty.raw[hit]) > 2000.0


@pytest.mark.parametrize("kind", ["word", "output"])
def test_a_late_reading_is_that_of_a_moment_ago(turning, log, kind):
    sound, faulty = log(turning(kind)).sweep, log(turning(kind), "delay=50 ms").sweep
    assert np.abs(faulty.raw[5:] - sound.raw[:-5]).max() <= 1.0  # five rows of 10 ms


def test_noise_is_so_many_times_what_it_was(shoulder, log):
    rig = shoulder("shoulder.converter.noise=2 LSB rms")
    sizes = [
        np.std(log(rig, *plant, motion="hold", seconds="100 s").sweep.raw) for plant in ([], ["noise=5"])
    ]
    # a rounded normal has the variance of the normal and 1 / 12 more
    assert sizes[0] == pytest.approx(np.sqrt(4.0 + 1.0 / 12.0), rel=0.03)
    assert sizes[1] == pytest.approx(np.sqrt(100.0 + 1.0 / 12.0), rel=0.03)
