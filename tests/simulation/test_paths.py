"""Motions move as their names say, keep to speed and stops, and are logged at their rate."""

import numpy as np
import pytest

from anglewright.errors import UsageError
from anglewright.simulation.paths import MOTIONS, Motion, run_path


@pytest.fixture
def axis(shoulder):
    """The exact shoulder: -20 to 115 deg, stops at -28 and 123 deg, 90 deg/s at most."""
    return shoulder().axis("shoulder")


def degrees(path):
    return np.degrees(path.q)


def speeds(path):
    return np.diff(degrees(path)) / np.diff(path.t)


def swing(kind, **given):
    usual = {"amplitude": np.radians(30.0), "frequency_hz": 0.4, "at": np.radians(40.0), "seconds": 8.0}
    return Motion(kind=kind, **(usual | given))


def test_a_sine_is_one(axis):
    path = run_path(axis, swing("sine"))
    assert degrees(path) == pytest.approx(40.0 + 30.0 * np.sin(0.8 * np.pi * path.t), abs=1e-9)


def test_a_sweep_is_steady_there_and_back(axis):
    path = run_path(axis, swing("sweep"))
    assert (degrees(path).min(), degrees(path).max()) == pytest.approx((10.0, 70.0))
    assert np.abs(speeds(path)) == pytest.approx(48.0, abs=1e-6)  # 60 deg in 1.25 s
    assert np.count_nonzero(np.diff(np.sign(speeds(path)))) == 6  # 6.4 strokes in 8 s


def test_a_trapezoid_gains_speed_for_a_third_and_rests_at_the_ends(axis):
    path = run_path(axis, swing("trapezoid", frequency_hz=0.25))
    fast = np.abs(speeds(path))
    # a stroke of 60 deg in 0.8 of 2 s at one and a half times the mean: 56.25 deg/s
    assert fast.max() == pytest.approx(1.5 * 60.0 / 1.6, rel=1e-6)
    assert np.mean(fast < 1e-9) == pytest.approx(0.2, abs=0.002)
    assert np.mean(fast > 0.999 * fast.max()) == pytest.approx(0.8 / 3.0, abs=0.005)
    gains = np.abs(np.diff(speeds(path)))[fast[1:] > 1.0]
    assert gains.max() == pytest.approx(0.001 * fast.max() / (1.6 / 3.0), rel=0.01)


def test_steps_rest_at_each_place_of_the_plan_up_and_down(axis):
    path = run_path(axis, Motion(kind="steps"))
    places = np.linspace(-20.0, 115.0, 9)
    rests = [
        np.median(piece) for piece in np.split(degrees(path), _ends_of_rests(path)) if np.ptp(piece) < 1e-9
    ]
    assert rests == pytest.approx([*places, *places[-2::-1]], abs=1e-6)


def _ends_of_rests(path):
    still = np.abs(speeds(path)) < 1e-9
    return np.flatnonzero(np.diff(still.astype(int))) + 1


def test_marks_are_visited_in_the_order_of_the_file(axis):
    path = run_path(axis, Motion(kind="marks"))
    assert (degrees(path)[0], degrees(path)[-1]) == pytest.approx((-20.0, 47.5))  # stow, then pin
    assert np.all(np.diff(degrees(path)) >= 0.0)


@pytest.mark.parametrize(("at", "place"), [(None, 47.5), (np.radians(10.0), 10.0)])
def test_a_hold_stays(axis, at, place):
    path = run_path(axis, Motion(kind="hold", at=at, seconds=3.0))
    assert degrees(path) == pytest.approx(place)
    assert path.approach == (0,) * 301  # it has not moved: from neither side


def test_a_file_is_followed(axis):
    track = ((5.0, 6.0, 8.0), (0.0, 1.0, 0.5))
    path = run_path(axis, Motion(kind="file", track=track))
    assert path.end_s == 3.0
    assert path.q == pytest.approx(np.interp(path.t, [0.0, 1.0, 3.0], track[1]))


@pytest.mark.parametrize("kind", [kind for kind in MOTIONS if kind != "file"])
def test_every_motion_keeps_by_itself_to_range_and_a_quarter_of_the_top_speed(axis, kind):
    path = run_path(axis, Motion(kind=kind))
    assert degrees(path).min() >= -20.0 - 1e-9
    assert degrees(path).max() <= 115.0 + 1e-9
    # eased moves between rests reach pi / 2 of it
    assert np.abs(speeds(path)).max() <= 0.25 * 90.0 * np.pi / 2.0 + 1e-6


@pytest.mark.parametrize(("rate", "rows"), [(100.0, 801), (7.0, 57), (1000.0, 8001), (12345.0, 98761)])
def test_rows_come_at_their_rate(axis, rate, rows):
    path = run_path(axis, swing("sine", rate_hz=rate))
    assert len(path.index) == rows
    assert np.diff(path.stamp) == pytest.approx(1.0 / rate)
    assert np.array_equal(path.stamp, path.t[path.index])


def test_the_side_of_approach_is_the_way_the_axis_moved_last(axis):
    path = run_path(axis, swing("sine"))
    way = np.sign(np.cos(0.8 * np.pi * path.stamp))  # of the speed
    sure = np.abs(np.cos(0.8 * np.pi * path.stamp)) > 0.01
    assert path.approach[0] == 0
    assert np.array_equal(np.array(path.approach)[sure][1:], way[sure][1:])


def test_a_rest_keeps_the_side_from_which_it_was_reached(axis):
    path = run_path(axis, Motion(kind="marks"))
    assert set(path.approach[-40:]) == {1}


REFUSED = [
    (
        {"kind": "sine", "frequency_hz": 1.0, "at": None},
        "axis 'shoulder': the motion 'sine' reaches 188 deg/s, it moves at 90 deg/s at most. "
        "Take a frequency of at most 0.477 Hz, or a smaller amplitude.",  # 90 / (2 pi 30)
    ),
    (
        {"kind": "sweep", "amplitude": np.radians(90.0), "frequency_hz": 0.1},
        "axis 'shoulder': the motion 'sweep' leads to -50 deg, its stops are at -28 deg and 123 deg. "
        "Take a smaller amplitude, or another place.",
    ),
    (
        {"kind": "hold", "at": np.radians(130.0), "amplitude": None, "frequency_hz": None},
        "axis 'shoulder': the motion 'hold' leads to 130 deg, its stops are at -28 deg and 123 deg. "
        "Take a smaller amplitude, or another place.",
    ),
    (
        {"kind": "marks", "amplitude": None},
        "--frequency: it plays no part in the motion 'marks'. Leave it out.\n"
        "--at: it plays no part in the motion 'marks'. Leave it out.",
    ),
    ({"kind": "sinus"}, "--motion: there is no motion 'sinus'. Did you mean 'sine'?"),
    (
        {"kind": "sine", "rate_hz": 1e6},
        "simulate: 8 s at 1 MHz are 8000001 rows, a log has 1000000 at most. Take fewer seconds.",
    ),
]


@pytest.mark.parametrize(("given", "said"), REFUSED)
def test_what_an_axis_cannot_do_is_refused_with_a_sentence(axis, given, said):
    with pytest.raises(UsageError) as caught:
        run_path(axis, swing(**given))
    assert str(caught.value) == said


def test_an_axis_without_a_speed_has_no_top_speed(shoulder):
    axis = shoulder('shoulder.motion={ from = "-20 deg", to = "115 deg" }').axis("shoulder")
    assert np.abs(speeds(run_path(axis, swing("sine", frequency_hz=5.0)))).max() > 900.0
