"""Faults planted in simulated calibrations are found and named, and sound ones are left in peace.

Four invented axes by plain arithmetic, which call no chain of the project. Each fault is planted at half the
permissible error, or at three times the scatter of a point where that is larger; faults that are large by
nature at their natural size. It must be named in 95 % of 200 seeds (``ANGLEWRIGHT_LONG``; 40 otherwise), and
of 1000 sound calibrations (200) at most 1 % may show anything above a note. The faults are those that people
report of their calibrations: means across the wrap, unsigned levels, slips, rounded factors.
"""

import math
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from anglewright.calibration.checks import suspicions
from anglewright.calibration.play import estimate_play
from anglewright.findings import Severity
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig


def slip(shop, name, seed):
    """The hub slips in the middle third of the way up, or of the way down."""
    run = shop.sound(name, seed)
    n = run.kind.points
    at = int(run.rng.integers(n // 3, n - n // 3 + 1))
    at = 2 * n - at if run.kind.both and run.rng.integers(2) else at
    jump = run.rng.choice([-1.0, 1.0]) * run.kind.planted
    return shop.points(replace(run, shift=np.where(np.arange(len(run.true)) >= at, jump, 0.0)))


ODD = {"joint": 2.0, "lift": 1.5, "head": 1.5, "carriage": 1.0}
"""Size of an odd point that is found in 95 of 100, in the size that is asked for [1]."""


def odd_point(shop, name, seed, *, times=None):
    """One point is off, by half the permissible error on the carriage and by more elsewhere.

    A point has but its twin from the other side to be held against, so that its departure is known to 1.4
    times the scatter of one; and among all points of a sound calibration the largest must pass the limit but
    twice in a thousand times. So of half the permissible error 141 of 200 were found on the joint, 166 on the
    lift and on the head, 193 on the carriage; of three quarters 193, 200, 195 and 197; of the whole 194, 200,
    192 and 200. What is missed is about half of the need, and the robust rule of the outliers shows it as a
    note.
    """
    run = shop.sound(name, seed)
    shift = np.zeros(len(run.true))
    place = run.rng.integers(1, run.kind.points - 2)  # beside the turn it would be a slip and play as well
    size = (times or ODD[name]) * run.kind.planted
    shift[place] = size * run.rng.choice([-1.0, 1.0])
    return shop.points(replace(run, shift=shift))


def boards_by_turns(shop, name, seed):
    """Each row comes from one of two boards, whose zeros differ."""
    run = shop.sound(name, seed)
    rows = run.rows()
    return shop.points(
        run, codes=rows + run.rng.integers(0, 2, rows.shape) * run.kind.planted / run.kind.size
    )


def boards_in_sequence(shop, name, seed):
    """The way down was read by another board, whose scale differs by so much at either end."""
    run = shop.sound(name, seed)
    way = (run.true - (run.kind.low + run.kind.high) / 2.0) / ((run.kind.high - run.kind.low) / 2.0)
    return shop.points(
        replace(run, shift=np.where(np.arange(len(way)) >= run.kind.points, way * run.kind.planted, 0.0))
    )


def swapped(shop, name, seed):
    """Two neighbouring points of one way have each other's readings."""
    run = shop.sound(name, seed)
    rows, k = run.rows(), int(run.rng.integers(0, run.kind.points - 1))
    rows[[k, k + 1]] = rows[[k + 1, k]]
    return shop.points(run, codes=rows)


def unsigned(shop, name, seed):
    """The reference has no sign; where the motion has no zero inside, it is counted from inside."""
    run = shop.sound(name, seed)
    zero = 0.0 if run.kind.low < 0.0 else 0.4 * run.kind.high
    return shop.points(replace(run, reference=np.abs(run.reference - zero)))


def dead_row(shop, name, seed):
    """A point repeats the readings of the one before, on the same way."""
    run = shop.sound(name, seed)
    rows, k = run.rows(), int(run.rng.integers(1, run.kind.points))
    rows[k] = rows[k - 1]
    return shop.points(run, codes=rows)


def wave(order: int):
    """A magnet off its centre, or tilted."""

    def planted(shop, name, seed):
        run = shop.sound(name, seed)
        waves, phase = np.zeros((2, 2)), run.rng.uniform(0.0, 2.0 * math.pi)
        waves[order - 1] = run.kind.planted * math.cos(phase), run.kind.planted * math.sin(phase)
        return shop.points(replace(run, waves=waves.reshape(-1)))

    return planted


def leading(shop, name, seed):
    """The sides of approach are turned round."""
    run = shop.sound(name, seed)
    return shop.points(replace(run, kind=replace(run.kind, play=-run.kind.planted)))


def other_scale(shop, name, seed):
    """A scale that its counts and teeth do not explain."""
    run = shop.sound(name, seed)
    middle, half = (run.kind.low + run.kind.high) / 2.0, (run.kind.high - run.kind.low) / 2.0
    return shop.points(replace(run, shift=(run.true - middle) / half * run.kind.planted))


def rounded_factor(shop, name, seed):
    """Readings of one turn were scaled by a factor with too few digits."""
    run = shop.sound(name, seed)
    turn = np.mod(np.floor(run.rows()), run.kind.period)
    return shop.points(run, codes=turn * (1.0 - run.kind.planted / (2.0 * math.pi)))


def averaged_wrap(shop, name, seed):
    """A point at the wrap was averaged beforehand, nine tenths of its readings below it (F12)."""
    run = shop.sound(name, seed)
    wrap = (0.0 - run.kind.middle) * run.kind.size + (run.kind.low + run.kind.high) / 2.0
    place = int(np.argmin(np.abs(run.true - wrap)))
    true, reference = run.true.copy(), run.reference.copy()
    true[place], reference[place] = wrap, wrap
    run = replace(run, true=true, reference=reference)
    means = np.mod(np.floor(run.rows()), run.kind.period).mean(axis=1)
    means[place] = 0.9 * (run.kind.count - 1.0)
    return shop.points(run, codes=np.repeat(means[:, None], run.kind.readings, axis=1))


def clipped(shop, name, seed):
    """The number was clipped at 80 % of its way where it was scaled (F29)."""
    run = shop.sound(name, seed)
    rows = run.rows()
    return shop.points(run, codes=np.minimum(rows, rows.min() + 0.7 * np.ptp(rows)))


def end_zones(shop, name, seed):
    """The first and the last fifth of the motion do nothing (F30)."""
    run = shop.sound(name, seed)
    rows = run.rows()
    low, high = rows.min() + 0.2 * np.ptp(rows), rows.max() - 0.2 * np.ptp(rows)
    return shop.points(run, codes=np.clip(rows, low, high))


def taper(shop, name, seed):
    """A track of two slopes: a fifth of the output over the first half of the way (F30)."""
    run = shop.sound(name, seed)
    rows = run.rows()
    share = (rows - rows.min()) / np.ptp(rows)
    bent = np.where(share < 0.5, 0.4 * share, 0.2 + 1.6 * (share - 0.5))
    return shop.points(run, codes=rows.min() + bent * np.ptp(rows))


def bent_converter(shop, name, seed):
    """A converter that reads 0 below 0.14 V and goes on steeper above 2.462 of 3.3 V (F07)."""
    run = shop.sound(name, seed)
    volts = run.rows() / run.kind.count * 3.3
    straight = np.minimum(volts, 2.462) - 0.14
    steep = np.maximum(volts - 2.462, 0.0) * (4095.0 - 2811.0) / (3.286 - 2.462)
    return shop.points(run, codes=1210.0 * straight + steep)


def fold(shop, name, seed):
    """A linkage past its dead centre: the last third of the way reads backwards."""
    run = shop.sound(name, seed)
    rows = run.rows()
    top = rows.min() + 0.65 * np.ptp(rows)
    return shop.points(run, codes=np.where(rows > top, 2.0 * top - rows, rows))


def dead_gap(shop, name, seed):
    """The motion ends in the gap of the track, where the open wiper floats at a third of the scale."""
    run = shop.sound(name, seed)
    third = 0.35 * (run.kind.high - run.kind.low) / run.kind.size
    run = replace(run, kind=replace(run.kind, middle=run.kind.count - third))
    rows = run.rows()
    floating = run.kind.count / 3.0 + 5.0 * run.rng.standard_normal(rows.shape)
    return shop.points(run, codes=np.where(rows > run.kind.count, floating, rows))


def reversed_ends(shop, name, seed):
    """The ends of the track, or the sense of the mount, are the other way round."""
    run = shop.sound(name, seed)
    return shop.points(run, codes=run.kind.count - 1.0 - run.rows())


def wrapped(shop, name, seed):
    """The sensor was clamped so that its wrap lies between two points near the middle of the motion."""
    run = shop.sound(name, seed)
    rows = run.rows()
    levels = np.sort(rows.mean(axis=1))
    k = int(np.argmax(np.diff(levels[len(levels) // 3 : 2 * len(levels) // 3]))) + len(levels) // 3
    return shop.points(run, codes=np.mod(rows - (levels[k] + levels[k + 1]) / 2.0, run.kind.count))


ALL = ("joint", "lift", "head", "carriage")
PAIRED = ("joint", "head", "carriage")
STRAIGHT = ("joint", "lift", "carriage")
PLANTED = (
    ("step", slip, ALL),
    ("odd-point", odd_point, ALL),
    ("two-boards", boards_by_turns, ALL),
    ("two-boards", boards_in_sequence, PAIRED),
    ("swapped", swapped, ALL),
    ("unsigned", unsigned, ALL),
    ("dead-rows", dead_row, ALL),
    ("once-per-turn", wave(1), ("head",)),
    ("twice-per-turn", wave(2), ("head",)),
    ("turned-round", leading, PAIRED),
    ("scale", other_scale, ("head", "carriage")),
    ("rounded-scale", rounded_factor, ("head",)),
    ("averaged-wrap", averaged_wrap, ("head",)),
    ("clipped", clipped, STRAIGHT),
    ("end-zones", end_zones, STRAIGHT),
    ("taper", taper, ("joint", "lift")),
    ("bent-top", bent_converter, ("joint", "lift")),
    ("fold", fold, STRAIGHT),
    ("dead-gap", dead_gap, ("joint", "lift")),
    ("backwards", reversed_ends, STRAIGHT),
    ("wrap-inside", wrapped, ("joint", "lift")),
)
CASES = [
    pytest.param(key, plant, name, id=f"{key}-{plant.__name__}-{name}")
    for key, plant, names in PLANTED
    for name in names
]
SEEDS, MISSED = 40, 4  # of 40 at 97 % five or more are missed once in 160 runs: the binomial distribution
LONG_SEEDS, LONG_MISSED = 200, 10


@pytest.mark.parametrize(("key", "plant", "name"), CASES)
def test_a_planted_fault_is_named(key, plant, name, workshop, long):
    seeds, missed = (LONG_SEEDS, LONG_MISSED) if long else (SEEDS, MISSED)
    seen = [plant(workshop, name, seed) for seed in range(seeds)]
    found = [{each.key for each in suspicions(layout, readings=rows)} for layout, rows in seen]
    said = Counter(each for keys in found for each in keys)
    assert said[key] >= seeds - missed, f"{said[key]} of {seeds}: {dict(said)}"


LEAST_AT_HALF = {"joint": 0.5, "lift": 0.65, "head": 0.65, "carriage": 0.85}
"""Share of odd points of half the permissible error that must be found; measured is 0.7, 0.83, 0.83, 0.97."""


@pytest.mark.parametrize("name", ALL)
def test_an_odd_point_of_half_the_need_is_mostly_found(name, workshop, long):
    seeds = LONG_SEEDS if long else SEEDS
    seen = [odd_point(workshop, name, seed, times=1.0) for seed in range(seeds)]
    found = sum(any(s.key == "odd-point" for s in suspicions(each, readings=rows)) for each, rows in seen)
    sys.stdout.write(f"odd point of half the need, {name}: {found} of {seeds}\n")
    assert found >= LEAST_AT_HALF[name] * seeds


@pytest.mark.parametrize("name", ALL)
def test_two_end_positions_alone_are_named(name, workshop):
    layout, rows = workshop.points(ends_alone(workshop.sound(name, 7)))
    assert "two-points" in {each.key for each in suspicions(layout, readings=rows)}


def ends_alone(run):
    """The points at both ends of the motion, each twice."""
    ends = [0, run.kind.points - 1] * 2
    return replace(
        run,
        true=run.true[ends],
        side=run.side[ends],
        reference=run.reference[ends],
        shift=run.shift[ends],
    )


@pytest.mark.parametrize("name", PAIRED)
def test_planted_play_is_seen(name, workshop, long):
    seeds, missed = (LONG_SEEDS, LONG_MISSED) if long else (SEEDS, MISSED)
    runs = [workshop.sound(name, seed) for seed in range(seeds)]
    loose = [replace(run, kind=replace(run.kind, play=run.kind.planted)) for run in runs]
    seen = [estimate_play(workshop.points(run)[0].points) for run in loose]
    assert sum(play.seen for play in seen) >= seeds - missed
    assert np.mean([play.value for play in seen]) == pytest.approx(runs[0].kind.planted, rel=0.1)


def test_sound_calibrations_are_left_in_peace(workshop, long):
    each, alarms = 250 if long else 50, Counter()
    for name in ALL:
        for seed in range(1000, 1000 + each):
            layout, rows = workshop.points(workshop.sound(name, seed))
            found = suspicions(layout, readings=rows)
            alarms.update(s.key for s in found if s.severity is not Severity.NOTE)
    sys.stdout.write(f"{len(ALL) * each} sound calibrations, findings above a note: {dict(alarms)}\n")
    assert alarms.total() <= len(ALL) * each // 100


def told_of(shop, name, seed, rig):
    """What the whole of `calibrate` shows of a sound run, above a note."""
    run = shop.sound(name, seed)
    rows = np.floor(run.rows())
    rows = np.mod(rows, run.kind.period) if run.kind.period else np.clip(rows, 0.0, run.kind.count - 1.0)
    typed = [
        (math.degrees(q), float(n), "up" if side > 0.0 else "down")
        for q, side, codes in zip(run.reference, run.side, rows, strict=True)
        for n in codes
    ]
    result = calibrate(rig, name, typed=typed, date="2026-05-12", keep=False)
    return [each.key for each in result.findings if each.severity is not Severity.NOTE]


def test_the_whole_of_what_is_shown_leaves_sound_calibrations_in_peace(workshop, long):
    """One in ten of the sound sets goes through curve, play, outliers, waves, budget and slope as well."""
    each, alarms = 50 if long else 10, Counter()
    for name in ("joint", "head"):
        rig = open_rig(Path(__file__).with_name("axes.toml"), axis=name)
        for seed in range(1000, 1000 + each):
            alarms.update(told_of(workshop, name, seed, rig))
    sys.stdout.write(f"{2 * each} sound calibrations shown in whole, above a note: {dict(alarms)}\n")
    assert alarms.total() <= 2 * each // 50
