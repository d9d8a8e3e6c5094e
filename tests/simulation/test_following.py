"""The chain of a bench is followed in time: memory of play, lag of the filter, faults each at its place."""

import numpy as np
import pytest

from anglewright.rig import at_nominal, realise
from anglewright.simulation.faults.protocol import Planted, Site
from anglewright.simulation.faults.register import all_faults
from anglewright.simulation.following import BEFORE, Plot, follow

COUNTS_PER_DEG = 4096.0 * 2.0 / 340.0  # of the exact shoulder at the joint, without pull


def test_without_faults_it_is_the_chain_itself(shoulder):
    axis = shoulder("shoulder.coupling.play=3 deg").axis("shoulder")
    chain = realise(axis, at_nominal)
    t = np.arange(2000) * 1e-3
    q = 0.8 + 0.5 * np.sin(7.0 * t) * np.cos(3.0 * t)
    plot = Plot(axis=axis, links=chain.links, planted=(), seed=1, end_s=2.0)
    codes = chain.links[-1].forward(follow(plot, t=t, q=q))
    assert np.array_equal(codes, chain.follow(q, t)[0])


def test_a_fault_that_begins_after_the_end_changes_nothing(shoulder):
    axis = shoulder().axis("shoulder")
    chain, t = realise(axis, at_nominal), np.arange(500) * 1e-3
    q = 0.8 + 0.3 * np.sin(9.0 * t)
    late = tuple(
        Planted(fault=all_faults()[name], size=0.1, since_s=9.0)
        for name in ("slip", "body-turn", "open-wiper", "eccentric", "sag", "swapped")
    )
    plots = [Plot(axis=axis, links=chain.links, planted=p, seed=1, end_s=10.0) for p in ((), late)]
    one, other = (follow(plot, t=t, q=q) for plot in plots)
    assert np.array_equal(one, other)


def test_play_is_remembered_along_the_path(shoulder, log):
    # 3 deg at the shaft are 1.5 at the joint: after a turn-back the reading waits for that long
    rig = shoulder(variant="no-pull")
    given = {"motion": "sine", "at": "40 deg", "amplitude": "30 deg", "frequency": "0.25 Hz"}
    sweep = log(rig, "play=3deg", **given).sweep
    free = log(rig, **given).sweep
    lag = (free.raw - sweep.raw) / COUNTS_PER_DEG
    side = np.array(sweep.approach)
    settled = np.abs(np.cos(np.pi / 2.0 * sweep.time_s)) > 0.5
    assert lag[settled & (side > 0)][20:] == pytest.approx(0.75, abs=0.06)
    assert lag[settled & (side < 0)] == pytest.approx(-0.75, abs=0.06)
    still = np.diff(sweep.raw) == 0.0
    assert np.ptp(sweep.reference[1:][still & (side[1:] < 0)][:5]) < np.radians(1.5)


def test_the_filter_lags_by_its_time_constant_at_speed(shoulder, log):
    # 10 uF behind 1 kohm and the track: 10 ms to 35 ms; speed times R C, here at the joint
    wiring = 'shoulder.wiring={ feed="3.3 V", series="1 kohm", capacitor="10 uF" }'
    rig, bare = shoulder(wiring, variant="no-pull"), shoulder(variant="no-pull")
    given = {"at": "47.5 deg", "amplitude": "20 deg", "frequency": "0.25 Hz", "rate": "200 Hz"}
    slow, fast = log(rig, **given).sweep, log(bare, **given).sweep
    share = fast.raw / 4096.0
    tau = 10e-6 * (10e3 * share * (1.0 - share) + 1e3)
    lag = (fast.raw - slow.raw) / COUNTS_PER_DEG
    rising = (np.array(fast.approach) > 0) & (np.mod(fast.time_s, 4.0) > 0.5)
    assert np.mean(lag[rising]) == pytest.approx(np.mean(20.0 * tau[rising]), rel=0.06)


def test_every_room_before_which_something_can_be_taken_hold_of_is_in_the_chain(shoulder):
    rooms = {part.room for part in shoulder().axis("shoulder").chain_parts}
    assert set(BEFORE) <= rooms
    assert set(BEFORE.values()) < set(Site)


def test_a_place_in_the_chain_makes_the_difference(shoulder, log):
    # the slip comes in behind the play, so that the play shows as before and the shift is all of the slip
    rig = shoulder("shoulder.coupling.play=3 deg", variant="no-pull")
    before, after = log(rig).sweep, log(rig, "slip=5deg@10s").sweep
    on = after.time_s > 10.05
    assert np.abs((after.raw - before.raw)[on] - 5.0 * 4096.0 / 340.0).max() <= 1.0
