"""A bench sweep of one secret machine: the planned places up and down, read beside an imperfect reference."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from anglewright.chain import Chain
from anglewright.links.protocol import Array, Number
from anglewright.quantities.spread import Persistence
from anglewright.rig import Axis, Pick, raw_of_code, realise
from anglewright.simulation.motions import Visits, places_up_and_down, visit

READING_S = 0.01  # between readings at one place [s]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Truth:
    """What the bench kept secret: every number as realised, the play in all, the reference's errors.

    `numbers` in SI units, the unknown shape as its coefficients; play, shared error and positions in m
    or rad.
    """

    seed: int
    planted: Mapping[str, float]
    numbers: Mapping[str, Any]
    play_total: float
    reference_shared: float
    reference_scale: float
    positions: Array


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BenchSweep:
    """Readings of a bench sweep, one row each, in the order of time, with the truth behind them.

    `time_s` (R,) [s]; `reference` (R,) [m or rad]; `raw` (R,) as the controller shows it; `approach`
    (R,) [1].
    """

    time_s: Array
    reference: Array
    raw: Array
    approach: tuple[int, ...]
    truth: Truth


def secret_machine(axis: Axis, rng: "np.random.Generator", planted: Mapping[str, float]) -> dict[str, Any]:
    """One value for every number that lasts longer than a reading; planted ones as given. [SI]"""
    numbers = {}
    for number in axis.numbers:
        drawn = number.variate.draw(rng, ())
        if number.variate.persistence is not Persistence.READING:
            numbers[number.key] = planted.get(number.key, drawn)
    return numbers


def _with_noise(numbers: Mapping[str, Any], rng: "np.random.Generator", readings: int) -> Pick:
    def pick(number: Number) -> Any:
        fresh = number.variate.persistence is Persistence.READING
        return number.variate.draw(rng, (readings,)) if fresh else numbers[number.key]

    return pick


def _read(axis: Axis, visits: Visits, numbers: Mapping[str, Any], rng: "np.random.Generator") -> Array:
    """Codes at the end of each rest, several readings each, shape (V * readings,)."""
    repeats, readings = axis.plan.readings, len(visits.index) * axis.plan.readings
    chain = realise(axis, _with_noise(numbers, rng, readings))
    volts, _ = Chain(chain.links[:-1]).follow(visits.q, visits.t)
    held = np.repeat(volts[list(visits.index)], repeats)
    return np.asarray(chain.links[-1].forward(held))


def _play_total(axis: Axis, numbers: Mapping[str, Any]) -> float:
    """Free motion of all links together, at the axis, total. [m or rad]"""
    quiet = np.random.default_rng(0)
    chain = realise(axis, _with_noise(numbers, quiet, 1))
    middle, total, slope, step = sum((axis.motion.low, axis.motion.high)) / 2.0, 0.0, 1.0, 1e-4
    high, low = middle + step, middle - step
    for link in chain.links:
        slope = abs(high - low) / (2.0 * step)
        total += 2.0 * float(np.mean(link.lag)) / slope if np.any(link.lag) else 0.0
        high, low = float(np.mean(link.forward(high))), float(np.mean(link.forward(low)))
    return total


def bench_sweep(axis: Axis, *, seed: int, planted: Mapping[str, float] | None = None) -> BenchSweep:
    """A seeded sweep over the plan of an axis, read beside the plan's reference.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and plan.
    seed : int
        Everything random comes from it: same seed, same readings. [1]
    planted : mapping of str to float, optional
        Numbers that the secret machine takes instead of drawing them, by key: ``coupling.play``. [SI]

    Returns
    -------
    BenchSweep
        Readings and the truth.
    """
    planted = planted or {}
    rng = np.random.default_rng(seed)
    numbers = secret_machine(axis, rng, planted)
    visits = visit(axis, places_up_and_down(axis, both_sides=axis.plan.both_sides))
    codes = _read(axis, visits, numbers, rng)
    reference = axis.plan.reference
    shared, scale = float(reference.shared.draw(rng, ())), float(reference.scale.draw(rng, ()))
    true = visits.q[list(visits.index)]
    shown = true * (1.0 + scale) + shared + reference.per_point.draw(rng, true.shape)
    repeats = axis.plan.readings
    late = np.arange(repeats * len(true)) * READING_S  # the axis waits until a place has been read
    truth = Truth(
        seed=seed,
        planted=dict(planted),
        numbers=numbers,
        play_total=_play_total(axis, numbers),
        reference_shared=shared,
        reference_scale=scale,
        positions=true,
    )
    return BenchSweep(
        time_s=np.repeat(visits.t[list(visits.index)], repeats) + late,
        reference=np.repeat(shown, repeats),
        raw=np.asarray(raw_of_code(axis, codes)),
        approach=tuple(int(side) for side in np.repeat(visits.approach, repeats)),
        truth=truth,
    )
