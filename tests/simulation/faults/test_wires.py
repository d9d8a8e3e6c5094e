"""Opens and shorts end at their levels, a floating pin creeps and hums, a pull-up costs 3 to 7 %."""

import numpy as np
import pytest

from anglewright.errors import UsageError
from anglewright.links.wiring import WireFault
from anglewright.rig import at_nominal, realise

# Ladder of the rover's shoulder: track 10 kohm, 1 kohm in series, 100 kohm from pin to ground, 100 nF, 3.3 V.
TRACK, SERIES, PULL, FARAD = 10e3, 1e3, 100e3, 100e-9


def at_rest(log, rig, *plant, at="47.5 deg", seconds="6 s"):
    return log(rig, *plant, motion="hold", at=at, seconds=seconds).sweep


@pytest.mark.parametrize(
    ("name", "share"),
    [
        # by hand, the wiper in the middle: what is left of the ladder between feed, pin and ground
        ("open-feed", 0.0),
        ("open-ground", PULL / (PULL + SERIES + 0.5 * TRACK)),
        ("open-wiper", 0.0),
        ("short-to-ground", 0.0),
        ("short-to-feed", PULL / (PULL + SERIES)),
    ],
)
def test_a_broken_or_shorted_wire_ends_at_its_level(shoulder, log, name, share):
    sweep = at_rest(log, shoulder(), f"{name}@2s")
    assert sweep.raw[sweep.time_s > 4.0] == pytest.approx(min(np.floor(4096.0 * share), 4095.0), abs=1.0)
    assert np.ptp(sweep.raw[sweep.time_s < 2.0]) == 0.0
    assert sweep.raw[0] != sweep.raw[-1]


@pytest.mark.parametrize("fault", WireFault)
@pytest.mark.parametrize("at", ["-10 deg", "47.5 deg", "100 deg"])
def test_the_levels_are_those_that_the_valid_band_is_held_against(shoulder, log, fault, at):
    names = {
        WireFault.OPEN_FEED: "open-feed",
        WireFault.OPEN_GROUND: "open-ground",
        WireFault.OPEN_WIPER: "open-wiper",
        WireFault.WIPER_TO_GROUND: "short-to-ground",
        WireFault.WIPER_TO_FEED: "short-to-feed",
    }
    rig = shoulder()
    wiring = realise(rig.axis("shoulder"), at_nominal).links[-2]
    share = 0.5 + (float(at.split()[0]) - 47.5) * 2.0 / 340.0
    level = float(wiring.at_pin(share, fault=fault).volts)
    sweep = at_rest(log, rig, f"{names[fault]}@2s", at=at)
    assert sweep.raw[-1] == pytest.approx(min(np.floor(4096.0 * level / 3.3), 4095.0), abs=1.0)


def test_the_pin_slides_through_legal_readings_while_the_wiper_opens(shoulder, log):
    # a pull of 100 kohm with 100 nF: 10 ms to 1/e, so tens of milliseconds until it is out of the band
    sweep = log(
        shoulder(), "open-wiper@1s", motion="hold", at="47.5 deg", seconds="1.1 s", rate="1 kHz"
    ).sweep
    after = sweep.raw[sweep.time_s >= 1.0]
    expected = after[0] * np.exp(-np.arange(len(after)) * 1e-3 / (PULL * FARAD))
    assert np.abs(after - expected).max() <= 1.5
    assert np.count_nonzero((after > 500.0) & (after < 2000.0)) >= 10


def test_an_open_wiper_that_nothing_holds_creeps_to_rest_and_hums(shoulder, log):
    # 10 Mohm of leakage with 100 nF are 1 s; the rest does not depend on where the axis stands
    ends = []
    for at in ("0 deg", "100 deg"):
        sweep = log(
            shoulder(variant="no-pull"),
            "open-wiper@1s",
            motion="hold",
            at=at,
            seconds="11 s",
            rate="1 kHz",
        ).sweep
        ends.append(sweep.raw[sweep.time_s > 10.0])
    assert np.mean(ends[0]) == pytest.approx(np.mean(ends[1]), abs=2.0)
    spectrum = np.abs(np.fft.rfft(ends[0] - ends[0].mean()))
    assert np.argmax(spectrum) * 1000.0 / len(ends[0]) == pytest.approx(50.0, abs=1.5)


@pytest.mark.parametrize("rest", [0.5, 1.5])
def test_a_floating_pin_creeps_to_the_rest_that_was_asked_for(shoulder, log, rest):
    sweep = at_rest(log, shoulder(), f"floating={rest}V@1s", seconds="11 s")
    one_tau = sweep.raw[(sweep.time_s > 1.9) & (sweep.time_s < 2.1)].mean()
    start, end = sweep.raw[0], 4096.0 * rest / 3.3
    assert sweep.raw[sweep.time_s > 9.0].mean() == pytest.approx(end, abs=8.0)
    assert one_tau == pytest.approx(end + (start - end) / np.e, abs=0.02 * 4096.0)


@pytest.mark.parametrize(("ohms", "worst"), [(20e3, 6.67256), (50e3, 2.83732)])
def test_a_pull_up_left_on_costs_three_to_seven_per_cent(shoulder, log, ohms, worst):
    # table of the loaded potentiometer, largest error at a track over load of 0.5 and of 0.2, in per cent;
    # a load to the feed mirrors it, so the reading is too high
    rig = shoulder("shoulder.wiring.series=0 ohm", variant="no-pull")
    sound, faulty = log(rig).sweep, log(rig, f"pull-up={ohms} ohm").sweep
    error = 100.0 * (faulty.raw - sound.raw) / 4096.0
    assert error.max() == pytest.approx(worst, abs=0.05)
    assert error.min() >= 0.0
    assert 2.8 < error.max() < 7.0


def test_60_per_cent_of_a_track_into_220_ohm_leaves_51_of_1023(shoulder, log):
    # 6 kohm beside 220 ohm are 212 ohm, below 4 kohm at 5 V: 0.252 V, 51.6 of 1024, rounded down
    rig = shoulder(
        'shoulder.wiring={ feed="5 V", series="0 ohm", capacitor="100 nF" }', "shoulder.converter.bits=10"
    )
    at = f"{47.5 + 0.1 * 170.0} deg"  # 60 % of 340 deg of shaft
    sweep = at_rest(log, rig, "load=220 ohm", at=at, seconds="1 s")
    assert sweep.raw[-1] == np.floor(1024.0 * 0.252 / 5.0)


def test_a_plug_put_in_backwards_mirrors_the_reading(shoulder, log):
    rig = shoulder(variant="no-pull")
    sound, faulty = log(rig).sweep, log(rig, "swapped").sweep
    assert np.abs(sound.raw + faulty.raw - 4095.0).max() <= 1.0


@pytest.mark.parametrize("name", ["open-feed", "open-ground", "open-wiper"])
def test_a_driven_output_without_a_wire_gives_nothing(turning, log, name):
    sweep = log(turning("output"), f"{name}@1s", motion="hold", at="90 deg", seconds="11 s").sweep
    other = log(turning("output"), f"{name}@1s", motion="hold", at="270 deg", seconds="11 s").sweep
    assert sweep.raw[0] != other.raw[0]
    late = sweep.time_s > 10.0
    assert sweep.raw[late].mean() == pytest.approx(other.raw[late].mean(), abs=4.0)


@pytest.mark.parametrize(("name", "code"), [("short-to-ground", 0.0), ("short-to-feed", 4095.0)])
def test_a_driven_output_that_is_shorted_lies_on_the_rail(turning, log, name, code):
    sweep = log(turning("output"), f"{name}@1s", motion="hold", at="90 deg", seconds="2 s").sweep
    assert sweep.raw[-1] == code


def test_two_wires_break_one_after_the_other(shoulder, log):
    sweep = at_rest(log, shoulder(), "open-ground@2s", "open-wiper@4s")
    levels = [sweep.raw[np.searchsorted(sweep.time_s, t)] for t in (1.9, 3.9, 5.9)]
    assert levels[1] > levels[0] > levels[2]


def test_wires_that_are_not_there_cannot_break(turning, log):
    with pytest.raises(UsageError) as caught:
        log(turning("word"), "open-wiper")
    assert str(caught.value) == (
        "--plant open-wiper: it cannot happen to pan, its wiring has no such wire. "
        "Leave it out, or take an axis that it can happen to."
    )
