"""The valid band against arithmetic written here, in codes."""

import math

import pytest

from anglewright.budget.band import Band, step_size, valid_band

PER_DEGREE = 4096.0 * 2.0 / 340.0


def mean_code(degrees):
    """Mean code of a busy reading of the nominal shoulder without pull."""
    return 4096.0 * (0.5 + 2.0 * (degrees - 47.5) / 340.0) - 0.5


def reach(degrees, *, half_play):
    """All that a healthy shoulder may add to the mean code at a stop."""
    turn = 2.0 * abs(degrees - 47.5)
    travel = 4096.0 * turn * (1.0 / 335.0 - 1.0 / 340.0)
    clamping = (0.05 + 1.5) * PER_DEGREE
    linearity = 0.01 * 4096.0
    lag = (half_play + math.degrees(0.1 / 48.0)) * PER_DEGREE
    return travel + clamping + linearity + lag + 3.0 * 1.5


@pytest.mark.parametrize(("play", "half_play"), [("3 deg", 0.75), ("3 deg ± 1 deg", 1.0), ("0 deg", 0.0)])
def test_the_band_spans_the_stops_with_every_spread_at_its_limit(shoulder, play, half_play):
    band = valid_band(shoulder("no-pull", f"shoulder.coupling.play={play}"))
    assert band.low_code == math.floor(mean_code(-28.0) - reach(-28.0, half_play=half_play))
    assert band.high_code == math.ceil(mean_code(123.0) + reach(123.0, half_play=half_play))


def test_a_falling_output_has_the_mirrored_band(shoulder):
    rises = valid_band(shoulder("no-pull"))
    falls = valid_band(shoulder("no-pull", "shoulder.mount.output=falls"))
    assert falls.low_code == pytest.approx(4095 - rises.high_code, abs=1)
    assert falls.high_code == pytest.approx(4095 - rises.low_code, abs=1)


def test_a_band_stops_short_of_the_end_codes_which_mean_at_or_beyond(shoulder):
    band = valid_band(shoulder("no-pull", "shoulder.mount.within=60 deg"))
    assert (band.low_code, band.high_code) == (1, 4094)


def test_both_ends_of_a_band_are_valid():
    band = Band(low_code=100, high_code=200)
    assert [band.holds(code) for code in (99, 100, 150, 200, 201)] == [False, True, True, True, False]


def test_a_reading_moves_in_counts_or_in_the_turns_of_wire_where_they_are_coarser(shoulder):
    # 100 turns of wire over 4096 codes; a film has none, and 100 000 turns are finer than a count
    found = [
        step_size(shoulder("no-pull", *change), math.radians(47.5))
        for change in ([], ["shoulder.sensor.windings=100"], ["shoulder.sensor.windings=100000"])
    ]
    assert found == pytest.approx([1.0, 40.96, 1.0], rel=1e-9)
