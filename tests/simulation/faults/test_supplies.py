"""A shared feed sags with the motor's current, another feed clips, an output drifts with its temperature."""

import numpy as np
import pytest


def test_the_reading_falls_by_so_many_degrees_an_ampere(shoulder, log):
    # field notes: -43 deg/A seen. 1 ohm drops 1 V of 3.3 V an ampere, and the share of it that the wiper
    # taps is that share of the 340 deg of track
    rig = shoulder(variant="no-pull")
    given = {"motion": "sine", "amplitude": "20 deg", "frequency": "0.5 Hz", "at": "47.5 deg"}
    sound, faulty = log(rig, **given).sweep, log(rig, "sag=0.8 ohm", **given).sweep
    current = faulty.columns["current_a"]
    assert np.ptp(current) > 0.5
    degrees = (faulty.raw - sound.raw) * 340.0 / 4096.0
    share = sound.raw / 4096.0
    slope = np.sum(degrees * share * current) / np.sum((share * current) ** 2)
    assert slope == pytest.approx(-0.8 / 3.3 * 340.0, rel=0.02)  # -82 deg/A at the top, -41 in the middle


def test_the_current_is_written_beside_the_reading(shoulder, tmp_path):
    from anglewright.jobs.running import Run
    from anglewright.jobs.simulating import simulate

    out = tmp_path / "log.csv"
    simulate(shoulder(), None, plant=["sag"], out=out, run=Run(motion="hold", seconds="1 s"))
    rows = out.read_text(encoding="utf-8").splitlines()
    assert rows[1] == "time_s,reference_deg,raw,approach,current_a"
    assert rows[2].endswith(",,0.2")  # at rest, and from neither side


def test_a_feed_above_the_reference_clips_at_66_per_cent_of_the_travel(shoulder, log):
    # field notes: 3.3 / 5 = 0.66, in degrees of shaft 0.66 x 340
    rig = shoulder(variant="no-pull")
    sweep = log(rig, "other-feed=5V").sweep
    shaft = 170.0 + 2.0 * (np.degrees(sweep.truth.positions) - 47.5)
    assert np.all(sweep.raw[shaft > 0.66 * 340.0 + 0.5] == 4095.0)
    assert np.all(sweep.raw[shaft < 0.66 * 340.0 - 0.5] < 4095.0)


def test_a_feed_below_the_reference_tops_out_at_675_of_1023(shoulder, log):
    # field notes: 3.3 / 5 x 1023 = 675, here at the upper end of the track
    wiring = 'shoulder.wiring={ feed="5 V", series="0 ohm", capacitor="100 nF" }'
    stops = 'shoulder.stops={ low="-40 deg", high="140 deg" }'
    rig = shoulder(wiring, stops, "shoulder.converter.bits=10", variant="no-pull")
    sweep = log(rig, "other-feed=3.3V", motion="hold", at="134 deg", seconds="1 s").sweep
    assert sweep.raw.max() == 675.0


def test_an_output_drifts_with_its_temperature(shoulder, log):
    rig = shoulder(variant="no-pull")
    given = {"motion": "hold", "at": "100 deg", "seconds": "60 s"}
    sound, faulty = log(rig, **given).sweep, log(rig, "drift=400 ppm/K", **given).sweep
    warm = faulty.columns["temperature_degc"]
    assert (warm[0], warm[-1]) == pytest.approx((20.0, 20.0 + 25.0 * (1.0 - np.exp(-3.0))), abs=1e-9)
    expected = sound.raw[0] * 400e-6 * (warm - 20.0)
    assert np.abs(faulty.raw - sound.raw - expected).max() <= 1.0
