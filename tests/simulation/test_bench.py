"""The simulated bench: repeatable, honest about its truth, and moved as the motions say."""

import math

import numpy as np
import pytest

from anglewright.rig import at_nominal, realise
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig
from anglewright.simulation.bench import bench_sweep
from anglewright.simulation.motions import places_up_and_down, visit

QUIET = (
    "shoulder.converter.noise=0 LSB rms",
    'shoulder.plan.reference={ per_point = "0 deg", shared = "0 deg", scale = "0 %" }',
)


@pytest.fixture
def shoulder(root):
    """The shoulder of a variant of the rover, after some changes."""

    def read(variant, *changes):
        document = load_document(root / "examples" / "rover" / f"{variant}.toml")
        return build_rig(with_changes(document, changes), source=variant).axis("shoulder")

    return read


def arrays(sweep):
    return [each.tobytes() for each in (sweep.time_s, sweep.reference, sweep.raw)]


def test_the_same_seed_gives_the_same_bytes_and_another_one_others(shoulder):
    axis = shoulder("rig")
    one, again, other = (bench_sweep(axis, seed=seed) for seed in (7, 7, 8))
    assert arrays(one) == arrays(again)
    assert one.approach == again.approach
    assert one.truth.play_total == again.truth.play_total
    assert arrays(one)[1:] != arrays(other)[1:]


def test_a_sweep_has_every_place_up_and_down_so_many_times(shoulder):
    sweep = bench_sweep(shoulder("rig"), seed=1)
    assert len(sweep.raw) == len(sweep.reference) == len(sweep.time_s) == 9 * 2 * 4
    assert sweep.approach == (1,) * 36 + (-1,) * 36
    places = np.linspace(-20.0, 115.0, 9)
    assert np.degrees(sweep.truth.positions) == pytest.approx([*places, *places[::-1]], abs=1e-9)
    one_way = bench_sweep(shoulder("rig", "shoulder.plan.approach=one side"), seed=1)
    assert one_way.approach == (1,) * 36


def test_the_clock_goes_on_however_many_readings_are_taken(shoulder):
    for readings in (1, 4, 200):
        sweep = bench_sweep(shoulder("rig", f"shoulder.plan.readings={readings}"), seed=1)
        assert np.all(np.diff(sweep.time_s) > 0.0)


def test_the_reference_shows_the_place_within_its_errors(shoulder):
    # 0.1 deg shared by all, 0.1 deg fresh at each point, 1 % of scale
    axis = shoulder("rig", 'shoulder.plan.reference={ per_point="0.1 deg", shared="0.1 deg", scale="1 %" }')
    for seed in range(20):
        sweep = bench_sweep(axis, seed=seed)
        true, truth = np.degrees(np.repeat(sweep.truth.positions, 4)), sweep.truth
        off = np.degrees(sweep.reference) - true * (1.0 + truth.reference_scale)
        assert abs(math.degrees(truth.reference_shared)) <= 0.1
        assert abs(truth.reference_scale) <= 0.01
        assert np.abs(off - math.degrees(truth.reference_shared)).max() <= 0.1 + 1e-9
        assert np.ptp(off.reshape(18, 4), axis=1).max() < 1e-12  # one look at the reference a place
        assert len(np.unique(np.round(off, 9))) == 18


@pytest.mark.parametrize("play", [0.0, 0.4, 1.5, 6.0])
def test_planted_play_comes_out_at_the_joint(shoulder, play):
    # play over the ratio of 2, plus the backlash 2 j / (m z) with j = 0.1 mm and m z = 48 mm
    for variant in ("rig", "no-pull"):
        sweep = bench_sweep(shoulder(variant), seed=3, planted={"coupling.play": math.radians(play)})
        expected = play / 2.0 + math.degrees(2.0 * 0.1 / 48.0)
        assert math.degrees(sweep.truth.play_total) == pytest.approx(expected, rel=1e-6)
        assert sweep.truth.planted == {"coupling.play": math.radians(play)}


def test_what_is_planted_changes_nothing_else(shoulder):
    axis = shoulder("rig")
    plain = bench_sweep(axis, seed=5).truth
    planted = bench_sweep(axis, seed=5, planted={"sensor.track": 9e3}).truth
    assert planted.numbers["sensor.track"] == 9e3
    for key, value in plain.numbers.items():
        assert key == "sensor.track" or np.array_equal(planted.numbers[key], value)


def test_every_secret_number_lies_within_its_spread(shoulder):
    axis = shoulder("rig")
    limits = {number.key: number.variate.limits for number in axis.numbers}
    for seed in range(10):
        for key, value in bench_sweep(axis, seed=seed).truth.numbers.items():
            low, high = limits[key]
            if np.ndim(value) == 0:
                assert low - 1e-12 <= value <= high + 1e-12


def test_play_opens_a_gap_of_its_size_between_up_and_down(shoulder):
    # counts per degree 4096 * 2 / 340 without pull, nominal travel planted
    axis = shoulder("no-pull", *QUIET, "shoulder.sensor.linearity=0 %")
    travel = math.radians(340.0)
    planted = {"coupling.play": math.radians(3.0), "sensor.electrical_travel": travel}
    sweep = bench_sweep(axis, seed=2, planted=planted)
    up, down = sweep.raw.reshape(2, 9, 4)[:, :, 0]
    gap = down[::-1] - up
    expected = (1.5 + math.degrees(0.2 / 48.0)) * 4096.0 * 2.0 / 340.0
    assert np.abs(gap - expected).max() <= 1.0  # each code is rounded down


def test_the_readings_are_those_of_the_secret_machine_at_rest(shoulder):
    axis = shoulder("rig", *QUIET)
    sweep = bench_sweep(axis, seed=4)
    chain = realise(axis, lambda number: sweep.truth.numbers.get(number.key, 0.0))
    sides = np.array(sweep.approach)[::4]
    expected = chain.forward(sweep.truth.positions, side=sides)
    assert np.abs(sweep.raw[::4] - expected).max() <= 1.0  # the last bit of the settling


def test_noise_scatters_the_readings_of_one_place(shoulder):
    axis = shoulder("rig", "shoulder.plan.readings=400", "shoulder.converter.noise=3 LSB rms")
    groups = bench_sweep(axis, seed=6).raw.reshape(18, 400)
    # sd of a rounded normal: sqrt(3^2 + 1 / 12)
    assert np.sqrt(np.mean(groups.var(axis=1))) == pytest.approx(math.sqrt(9.0 + 1.0 / 12.0), rel=0.03)


def test_the_path_stays_between_the_stops_and_comes_from_the_side_it_says(shoulder):
    axis = shoulder("rig")
    visits = visit(axis, places_up_and_down(axis, both_sides=True))
    assert visits.q.min() > axis.stops.low
    assert visits.q.max() < axis.stops.high
    assert visits.q.min() < axis.motion.low
    assert visits.q.max() > axis.motion.high
    assert np.allclose(np.diff(visits.t), visits.t[1])
    for index, side in zip(visits.index, visits.approach, strict=True):
        here = visits.q[index]
        moving = visits.q[: index + 1][visits.q[: index + 1] != here]
        assert np.sign(here - moving[-1]) == side
        assert np.all(visits.q[index - 50 : index + 1] == here)


def test_the_path_keeps_to_its_speed(shoulder):
    # a quarter of the top speed on average, eased in and out by a cosine: pi / 2 of that at most
    axis = shoulder("rig")
    visits = visit(axis, places_up_and_down(axis, both_sides=True))
    speed = np.abs(np.diff(visits.q)) / visits.t[1]
    assert speed.max() <= 0.25 * math.radians(90.0) * math.pi / 2.0 * (1.0 + 1e-9)
    assert speed.max() <= axis.motion.speed.nominal


def test_an_axis_without_a_speed_moves_all_the_same(shoulder):
    text = 'shoulder.motion={ from = "-20 deg", to = "115 deg" }'
    assert len(bench_sweep(shoulder("rig", text), seed=1).raw) == 72


def slow_codes(q, t, numbers):
    """Codes along a path, sample by sample, in plain arithmetic: two plays, a track, a pull, a capacitor."""
    gear = shaft = None
    level = None
    codes = []
    for k, place in enumerate(q):
        half = numbers["backlash"] / (1e-3 * 48)
        gear = place if gear is None else min(max(gear, place - half), place + half)
        turned, half = 2.0 * gear, numbers["play"] / 2.0
        shaft = turned if shaft is None else min(max(shaft, turned - half), turned + half)
        turn = shaft - 2.0 * numbers["clamp"] + numbers["within"]
        straight = min(max(0.5 + turn / numbers["travel"], 0.0), 1.0)
        bend = np.polynomial.chebyshev.chebval(2.0 * straight - 1.0, numbers["shape"])
        x = min(max(straight + bend, 0.0), 1.0)
        source = numbers["track"] * x * (1.0 - x) + 1e3
        target = 3.3 * x * 100e3 / (100e3 + source)
        tau = 1e-7 * source * 100e3 / (100e3 + source)
        level = target if k == 0 else target + (level - target) * math.exp(-(t[k] - t[k - 1]) / tau)
        codes.append(min(max(math.floor(4096.0 * level / 3.3), 0), 4095))
    return codes


def test_the_path_in_time_agrees_with_a_slow_loop_over_the_samples(shoulder):
    axis = shoulder("rig", *QUIET)
    secret = bench_sweep(axis, seed=12).truth.numbers
    chain = realise(axis, lambda number: secret.get(number.key, 0.0))
    rng = np.random.default_rng(13)
    t = np.cumsum(rng.uniform(1e-5, 1e-3, 600))
    q = 0.83 + 1.1 * np.sin(7.0 * t) * np.cos(31.0 * t)
    codes, _ = chain.follow(q, t)
    names = {
        "backlash": "drive.backlash",
        "play": "coupling.play",
        "clamp": "motion.clamp",
        "within": "mount.within",
        "travel": "sensor.electrical_travel",
        "shape": "sensor.linearity",
        "track": "sensor.track",
    }
    by_hand = slow_codes(q, t, {name: secret[key] for name, key in names.items()})
    assert len(set(by_hand)) > 300
    assert codes.tolist() == by_hand


def test_a_bench_at_nominal_numbers_reads_the_nominal_chain(shoulder):
    axis = shoulder("no-pull", *QUIET)
    planted = {number.key: number.variate.nominal for number in axis.numbers}
    sweep = bench_sweep(axis, seed=1, planted=planted)
    expected = realise(axis, at_nominal).forward(sweep.truth.positions, side=np.array(sweep.approach)[::4])
    assert np.abs(sweep.raw[::4] - expected).max() <= 1.0
