"""When first order misleads, the sentence says so and why."""

import numpy as np
import pytest

from anglewright.budget.builds import virtual_builds
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.budget.trials import HowMany
from anglewright.budget.trust import trust_first_order, wrapped_share

QUIET = (
    "shoulder.coupling.play=0 deg",
    "shoulder.drive.backlash=0 mm",
    "shoulder.sensor.linearity=0 %",
    "shoulder.converter.noise=1 LSB rms",
)


def trust(axis, state):
    found = virtual_builds(axis, how_many=HowMany(most=60_000), seed=2, states=(state,))
    return trust_first_order(axis, budget_axis(axis).of(state), found.states[0])


def test_noise_alone_is_trusted(shoulder):
    axis = shoulder(
        "no-pull",
        *QUIET,
        "shoulder.converter.noise=40 LSB rms",
        "shoulder.mount.within=0 deg",
        "shoulder.sensor.electrical_travel=340 deg",
    )
    found = trust(axis, State.DATASHEET)
    assert found.yes
    assert found.difference <= found.tolerance
    assert found.because.endswith("are let pass.")


def test_play_goes_no_further_than_half_of_itself(shoulder):
    # a reading is off by half the play on either side: u = half, and 1.96 u is twice too much of it
    found = trust(shoulder("no-pull", "shoulder.sensor.linearity=0.1 %"), State.CALIBRATED)
    assert not found.yes
    assert "; it is too wide: play makes " in found.because
    assert found.because.endswith("never further, so no factor of a normal law belongs on it.")


def test_one_dominant_rectangular_part_is_named(shoulder):
    axis = shoulder(
        "no-pull", *QUIET, "shoulder.mount.within=10 deg", "shoulder.sensor.electrical_travel=340 deg"
    )
    found = trust(axis, State.DATASHEET)
    assert not found.yes
    # a rectangular law reaches sqrt 3 u = 0.95 of its limit at 95 %, and first order says 1.96 u
    assert "the clamping error, " in found.because
    assert found.because.endswith("is not spread by a normal law.")


WIDE = (*QUIET, "shoulder.mount.within=60 deg")
"""Clamped within 60 deg of a shaft that has 35 deg of track left at either end."""


def test_a_reading_that_stands_still_is_named(shoulder):
    # the converter ends at 3 V of 3.3 V: beyond 91 % of the track the code stands still
    axis = shoulder("no-pull", *QUIET, "shoulder.mount.within=15 deg", "shoulder.converter.reference=3 V")
    found = trust(axis, State.DATASHEET)
    assert not found.yes
    assert "there the reading stands still at an end of the sensor or the converter in " in found.because


def test_a_reading_that_wraps_is_named(shoulder):
    # an endless track past its end begins again at the other
    found = trust(shoulder("no-pull", *WIDE, "shoulder.sensor.mechanical_travel=endless"), State.DATASHEET)
    assert not found.yes
    assert ": the reading wraps round inside the range in " in found.because


@pytest.mark.parametrize(
    ("codes", "share"),
    [
        ([[10, 2000, 4000], [3000, 4000, 900]], 0.5),  # the second one wraps
        ([[10, 2000, 4000], [4000, 2000, 10]], 0.0),
        ([[4090, 5, 100], [100, 5, 4090]], 1.0),
    ],
)
def test_a_wrap_is_a_jump_of_more_than_half_the_scale(codes, share):
    assert wrapped_share(np.array(codes, dtype=float), count=4096) == share
