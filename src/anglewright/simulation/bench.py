"""A run of one secret machine: moved along a path, read beside a reference, with faults planted."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from anglewright.links.protocol import Array, Number, Signal
from anglewright.quantities.spread import Persistence
from anglewright.rig import Axis, Pick, at_nominal, raw_of_code, realise
from anglewright.simulation.faults.protocol import Planted, Site
from anglewright.simulation.following import Plot, follow
from anglewright.simulation.paths import Path, plan_path

Moments: TypeAlias = tuple[Array, Array]
"""Times [s] and true positions [m or rad]."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Truth:
    """What the bench kept secret: every number as realised, the play in all, the reference's errors, faults.

    `numbers` in SI units, the unknown shape as its coefficients; play, shared error and positions in m
    or rad. `positions` (L,) has one place for each look at the reference, `times` (R,) [s] the true time of
    each row that was written, and `rows` (R,) the look that belongs to it.
    """

    seed: int
    planted: Mapping[str, float]
    numbers: Mapping[str, Any]
    play_total: float
    reference_shared: float
    reference_scale: float
    positions: Array
    faults: tuple[Planted, ...] = ()
    end_s: float = 0.0
    times: Array = field(default_factory=lambda: np.zeros(0))
    rows: NDArray[np.intp] = field(default_factory=lambda: np.zeros(0, dtype=np.intp))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BenchSweep:
    """Readings of a bench, one row each, in the order in which they were written, with the truth behind them.

    `time_s` (R,) [s]; `reference` (R,) [m or rad]; `raw` (R,) as the controller shows it; `approach`
    (R,) [1]; `columns` further ones by name, (R,) each.
    """

    time_s: Array
    reference: Array
    raw: Array
    approach: tuple[int, ...]
    truth: Truth
    columns: Mapping[str, Array] = field(default_factory=dict)


def secret_machine(axis: Axis, rng: "np.random.Generator", planted: Mapping[str, float]) -> dict[str, Any]:
    """One value for every number that lasts longer than a reading; planted ones as given. [SI]"""
    numbers = {}
    for number in axis.numbers:
        drawn = number.variate.draw(rng, ())
        if number.variate.persistence is not Persistence.READING:
            numbers[number.key] = planted.get(number.key, drawn)
    return numbers


def _pick(
    plot: Plot, numbers: Mapping[str, Any], rng: "np.random.Generator", when: Mapping[str, Moments]
) -> Pick:
    """Secret numbers, and fresh ones of noise: one for each moment at which a room of the chain is seen."""

    def pick(number: Number) -> Any:
        if not _is_fresh(number):
            return numbers[number.key]
        t, q = when[number.room]
        return plot.acted(Site.NOISE, number.variate.draw(rng, (len(t),)), t=t, q=q)

    return pick


def _play_total(axis: Axis, numbers: Mapping[str, Any]) -> float:
    """Free motion of all links together, at the axis, total. [m or rad]"""
    once = (np.zeros(1), np.zeros(1))
    sound = Plot(axis=axis, links=(), planted=(), seed=0, end_s=0.0)
    when = {part.room: once for part in axis.chain_parts}
    chain = realise(axis, _pick(sound, numbers, np.random.default_rng(0), when))
    middle, total, slope, step = sum((axis.motion.low, axis.motion.high)) / 2.0, 0.0, 1.0, 1e-4
    high, low = middle + step, middle - step
    for link in chain.links:
        slope = abs(high - low) / (2.0 * step)
        total += 2.0 * float(np.mean(link.lag)) / slope if np.any(link.lag) else 0.0
        high, low = float(np.mean(link.forward(high))), float(np.mean(link.forward(low)))
    return total


def _codes(
    plot: Plot, path: Path, numbers: Mapping[str, Any], rng: "np.random.Generator"
) -> tuple[Array, Plot]:
    """Code of each row, shape (R,), and the plot with the machine that gave them.

    A voltage is converted read by read, each with its own noise; words and pulses come all along the path.
    """
    last = plot.axis.parts[-1].room
    by_read = realise(plot.axis, at_nominal).links[-1].takes is Signal.VOLTAGE
    seen = _seen(plot.axis, path, reads=plot.reads, by_read=by_read)
    when = {part.room: (path.t, path.q) for part in plot.axis.chain_parts}
    if by_read:
        when |= {last: (path.t[seen], path.q[seen])}
    plot = replace(plot, links=realise(plot.axis, _pick(plot, numbers, rng, when)).links)
    signal, converter = follow(plot, t=path.t, q=path.q), plot.links[-1]
    codes = converter.forward(signal[seen]) if by_read else converter.follow(signal, path.t, None)[0][seen]
    codes = np.asarray(codes).reshape(len(path.index), plot.reads)
    codes = codes if plot.reads > 1 else codes[:, 0]
    return plot.acted(Site.CODE, codes, t=path.stamp, q=path.q[path.index]), plot


def _seen(axis: Axis, path: Path, *, reads: int, by_read: bool) -> NDArray[np.intp]:
    """Sample behind each read of each row, (R * reads,).

    Where noise comes in before the converter, rows of one rest take samples of their own, from its end back.
    """
    back = np.zeros(len(path.index), dtype=np.intp)
    if not by_read or any(_is_fresh(each) and each.room != axis.parts[-1].room for each in axis.numbers):
        _, which, counts = np.unique(path.index, return_inverse=True, return_counts=True)
        back = np.cumsum(counts)[which] - 1 - np.arange(len(which))
    before = (path.index - back * reads)[:, None] - np.arange(reads)[::-1]
    return np.asarray(np.maximum(before, 0).reshape(-1))


def _is_fresh(number: Number) -> bool:
    return number.variate.persistence is Persistence.READING


def _shown(axis: Axis, path: Path, rng: "np.random.Generator") -> tuple[Array, float, float]:
    """What the reference shows for each look, with its shared error [m or rad] and its error of scale. [1]"""
    reference = axis.plan.reference
    shared, scale = float(reference.shared.draw(rng, ())), float(reference.scale.draw(rng, ()))
    true = _looked_at(path)
    return true * (1.0 + scale) + shared + reference.per_point.draw(rng, true.shape), shared, scale


def _looked_at(path: Path) -> Array:
    """True position at each look. [m or rad]"""
    _, first = np.unique(path.look, return_index=True)
    return path.q[path.index[first]]


def bench_sweep(
    axis: Axis,
    *,
    seed: int,
    planted: Mapping[str, float] | None = None,
    faults: tuple[Planted, ...] = (),
    path: Path | None = None,
) -> BenchSweep:
    """A seeded run of an axis, read beside the plan's reference: a sweep over the plan, or along a path.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and plan.
    seed : int
        Everything random comes from it: same seed, same readings. [1]
    planted : mapping of str to float, optional
        Numbers that the secret machine takes instead of drawing them, by key: ``coupling.play``. [SI]
    faults : tuple of Planted
        Faults, each acting at its own place of the chain or of the log.
    path : Path, optional
        How the axis moves, and when a row is written; the plan's places where none is given.

    Returns
    -------
    BenchSweep
        Readings and the truth.
    """
    path = plan_path(axis) if path is None else path
    rng = np.random.default_rng(seed)
    numbers = secret_machine(axis, rng, planted or {})
    ordered = tuple(sorted(faults, key=lambda each: not each.fault.reads))
    plot = Plot(axis=axis, links=(), planted=ordered, seed=seed, end_s=path.end_s)
    codes, plot = _codes(plot, path, numbers, rng)
    shown, shared, scale = _shown(axis, path, rng)
    truth = Truth(
        seed=seed,
        planted=dict(planted or {}),
        numbers=numbers,
        play_total=_play_total(axis, numbers),
        reference_shared=shared,
        reference_scale=scale,
        positions=_looked_at(path),
        faults=faults,
        end_s=path.end_s,
    )
    return _written(plot, path, codes, shown=shown, truth=truth)


def _written(plot: Plot, path: Path, codes: Array, *, shown: Array, truth: Truth) -> BenchSweep:
    """The rows as the log has them."""
    t, q = path.stamp, path.q[path.index]
    stamps = plot.acted(Site.TIME, t, t=t, q=q)
    raw = plot.acted(Site.RAW, np.asarray(raw_of_code(plot.axis, codes)), t=t, q=q)
    reference = plot.acted(Site.REFERENCE, shown[path.look], t=t, q=q)
    columns = plot.columns(t=t, q=q)
    rows = plot.rows(t=t, q=q)
    return BenchSweep(
        time_s=stamps[rows],
        reference=reference[rows],
        raw=raw[rows],
        approach=tuple(path.approach[row] for row in rows),
        truth=replace(truth, times=t[rows], rows=path.look[rows]),
        columns={name: column[rows] for name, column in columns.items()},
    )
