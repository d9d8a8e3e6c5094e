"""A motion without rests becomes places that both ways have in common."""

import numpy as np
import pytest

from anglewright.calibration.pairing import places, runs
from anglewright.calibration.play import estimate_play
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.sweeps import gathered, is_sweep

SIZE, PLAY = 0.0007, 0.03  # of a count, and in all [rad]


def sweep(rows: int, *, play: float = 0.0, reference_sd: float = 0.0) -> list[CalibrationPoint]:
    """Up and down over 2.3 rad at a constant speed, twice; the sensor lags by half the play."""
    rng = np.random.default_rng(rows)
    turns = (4.0 * np.arange(rows) / rows) % 2.0
    true = 2.3 * np.where(turns < 1.0, turns, 2.0 - turns)
    side = np.where(turns < 1.0, 1.0, -1.0)
    raw = np.rint((true - side * play / 2.0) / SIZE + 400.0 + 1.5 * rng.standard_normal(rows))
    reference = true + reference_sd * rng.standard_normal(rows)
    return [CalibrationPoint(reference=float(q), raw=float(n)) for q, n in zip(reference, raw, strict=True)]


@pytest.mark.parametrize("rows", [400, 4001, 30_007])
@pytest.mark.parametrize("reference_sd", [0.0, 0.004])
def test_play_of_a_sweep_is_found_whatever_its_step(rows: int, reference_sd: float) -> None:
    points = gathered(sweep(rows, play=PLAY, reference_sd=reference_sd))
    assert 100 <= len(points) <= 4 * 32
    found = places(points)
    assert sum(bool(place.pairs) for place in found) >= 0.8 * len(found)
    up, down = runs(found, np.array([point.raw for point in points]))
    assert (len(up), len(down)) == (2, 2)
    play = estimate_play(points)
    assert play.seen
    # the ends of the way lose 3 % behind each turning point, so the means stay within noise of the truth
    assert play.value == pytest.approx(PLAY, abs=0.0015)


@pytest.mark.parametrize("rows", [400, 4001])
def test_a_sweep_without_play_shows_none(rows: int) -> None:
    play = estimate_play(gathered(sweep(rows)))
    assert not play.seen
    assert play.high is not None
    assert play.high < 0.0015


def test_the_scatter_within_a_place_is_the_noise_and_not_the_motion() -> None:
    points = gathered(sweep(8000))
    assert np.median([point.raw_sd for point in points]) == pytest.approx(np.hypot(1.5, 0.29), rel=0.05)
    line = np.polyfit([point.raw for point in points], [point.reference for point in points], 1)
    assert line[0] == pytest.approx(SIZE, rel=1e-4)


def test_held_points_are_no_sweep_however_many() -> None:
    held = [CalibrationPoint(reference=q, raw=q) for q in np.tile(np.linspace(0.0, 2.0, 20), 10)]
    assert not is_sweep(held)
    assert is_sweep(sweep(400))
    assert not is_sweep(sweep(400)[:100])
