"""The interval that `calibrate` states for the play holds the planted play as often as it says.

Through the whole path: a bench is simulated, written to a file, and the file is calibrated.
"""

import math
from pathlib import Path

import numpy as np
import pytest

from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig
from anglewright.jobs.simulating import simulate

SEEDS, SEEDS_LONG = 200, 2000
ZERO_SEEDS = 50  # in each of two forms of the raw reading
LOW, HIGH = 0.93, 0.97  # the share of cases that must be held
TAIL = 3.09  # standard deviations that a binomial count leaves on one side once in 1000


def bounds(seeds: int, *, long: bool) -> tuple[float, float]:
    """The share that is let pass: the band itself in the long form, widened by chance in the short one.

    With 200 cases a true share of 93 % strays by 1.8 % (sqrt(0.93 * 0.07 / 200)); the short form fails
    only where the count would be so extreme once in 1000 runs.
    """
    if long:
        return LOW, HIGH
    stray = [TAIL * math.sqrt(share * (1.0 - share) / seeds) for share in (LOW, HIGH)]
    return LOW - stray[0], HIGH + stray[1]


def test_the_stated_interval_holds_the_planted_play(rover: Path, long: bool) -> None:
    seeds = SEEDS_LONG if long else SEEDS
    rig = open_rig(rover / "rig.toml")
    planted = np.random.default_rng(20260512).uniform(0.0, 6.0, seeds)
    held = 0
    for seed, play in enumerate(planted):
        bench = rover / "bench.csv"
        truth = simulate(rig, "shoulder", seed=seed, plant=[f"play={play:.6f} deg"], out=bench).as_json()[
            "truth"
        ]
        found = calibrate(rig, "shoulder", file=bench, date="2026-05-12", keep=False).as_json()
        low, high = found["play_interval"]
        held += low <= truth["play_total"] <= high
    least, most = bounds(seeds, long=long)
    assert least <= held / seeds <= most, f"{held} of {seeds}"


@pytest.mark.parametrize("raw", ["counts", "volts"])
def test_no_play_is_not_reported_as_play(rover: Path, raw: str) -> None:
    changes = [
        "shoulder.drive.backlash=0 mm",
        "shoulder.coupling.play=0 deg",
        f"shoulder.converter.raw={raw}",
    ]
    rig = open_rig(rover / "rig.toml", changes=changes)
    reported = []
    for seed in range(ZERO_SEEDS):
        bench = rover / "bench.csv"
        truth = simulate(rig, "shoulder", seed=seed, out=bench).as_json()["truth"]
        assert truth["play_total"] == 0.0
        found = calibrate(rig, "shoulder", file=bench, date="2026-05-12", keep=False).as_json()
        if found["play"] is not None:
            reported.append(seed)
        assert found["reasons"]["play"]
    assert reported == []
