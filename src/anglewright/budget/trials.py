"""Propagation of distributions by many trials: seeded, in blocks, as many as the answer takes.

Each block of trials has a seed of its own, spawned from the one that the caller gives, and blocks are put
together in their order: the numbers do not depend on how many threads work on them.
"""

import math
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import count, islice
from typing import TypeAlias

import numpy as np

from anglewright.budget.histograms import Bins, Histogram, bins_over, histogram_of, merged
from anglewright.errors import Problem, RangeError
from anglewright.links.protocol import Array

Draw: TypeAlias = Callable[[np.random.Generator, int], Array]
"""So many trials of M quantities, shape (n, M), all randomness from the generator."""

BLOCK = 10_000  # trials of one block, the least that the standard allows [1]
_TWICE = 2.0  # standard deviations of the averages that must fit into the tolerance [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class HowMany:
    """When to stop: after `most` trials, or as soon as `digits` digits of u stand still. [1]

    With `digits` None all trials are made. With `joint` the quantities share one tolerance, that of the
    largest uncertainty among them: the place where it is largest is what counts.
    """

    most: int = 1_000_000
    digits: int | None = None
    probability: float = 0.95
    joint: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be done."""
        if self.most < 1 or not 0.0 < self.probability < 1.0 or (self.digits is not None and self.digits < 1):
            found = f"{self.most} trials, {self.digits} digits and a probability of {self.probability:g}"
            remedy = "Ask for at least one trial and one digit, and a probability between 0 and 1."
            raise RangeError(Problem("trials", found, "", remedy))

    @property
    def block(self) -> int:
        """Trials of one block: 10 000, or more where the probability is close to one. [1]"""
        return max(BLOCK, math.ceil(100.0 / (1.0 - self.probability)))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Trials:
    """What many trials say of M quantities.

    Parameters
    ----------
    n : int
        Number of trials. [1]
    mean, standard_uncertainty : array, (M,)
        Of all trials together. [unit of each]
    low, high : array, (M,)
        Ends of the probabilistically symmetric interval. [unit of each]
    unsure : array, (4, M)
        Standard deviations of the four rows above, from the scatter between blocks; nan for a single block.
        [unit of each]
    coarse : array, (M,)
        Width of a bin of the histogram: the ends are no finer than that where trials stand in lumps, and far
        finer where they are spread smoothly. [unit of each]
    still : bool
        Whether the digits asked for stood still before the trials ran out; True where none were asked for.
    histogram : Histogram
        Of all trials. [unit of each]
    """

    n: int
    mean: Array
    standard_uncertainty: Array
    low: Array
    high: Array
    unsure: Array
    coarse: Array
    still: bool
    histogram: Histogram

    def shortest(self, probability: float) -> Array:
        """The shortest interval of each quantity, shape (M, 2). [unit of each]"""
        return self.histogram.shortest(probability)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Block:
    """Sums of one block about a fixed origin, its own four results, its histogram."""

    n: int
    total: Array
    squares: Array
    results: Array
    histogram: Histogram


def numerical_tolerance(u: float, *, digits: int) -> float:
    r"""Largest error that leaves a standard uncertainty right to so many digits.

    Parameters
    ----------
    u : float
        Standard uncertainty. [any unit]
    digits : int
        Significant digits that count. [1]

    Returns
    -------
    float
        Half a unit of the last of them; 0 for an uncertainty of 0. [unit of u]

    Notes
    -----
    :math:`u = c \times 10^l` with `c` a whole number of that many digits; :math:`\delta = 10^l / 2`
    (7.9.2).

    References
    ----------
    jcgm101

    Examples
    --------
    Two digits of 0.00035 g are 35 units of 0.00001 g, and half of one is 0.000005 g:

    >>> round(numerical_tolerance(0.00035, digits=2), 9)
    5e-06
    """
    if u == 0.0:
        return 0.0
    power = int(f"{u:.{digits - 1}e}".partition("e")[2])
    return 0.5 * 10.0 ** (power - digits + 1)


def run_trials(draw: Draw, how_many: HowMany, *, seed: int, threads: int = 1) -> Trials:
    r"""Let chance decide: what quantities do when everything they depend on is drawn at random.

    Parameters
    ----------
    draw : callable
        So many trials of all quantities, from a generator. [unit of each]
    how_many : HowMany
        When to stop. [1]
    seed : int
        Everything random comes from it: same seed, same numbers. [1]
    threads : int
        How many blocks are worked on at once; the numbers do not depend on it. [1]

    Returns
    -------
    Trials
        Mean, standard uncertainty, interval, and how sure they are.

    Notes
    -----
    Blocks of 10 000 trials (7.9.4): each gives a mean, a standard uncertainty and the ends of its interval;
    the trials stop when twice the standard deviation of each of the four averages is within the numerical
    tolerance. The results themselves are taken from all trials together (7.6, 7.7). The ends come from a
    histogram whose bins are fixed by the first block, linear within a bin.

    References
    ----------
    jcgm101

    Examples
    --------
    Two tolerances of one degree each: 95 % of the machines stay within 1.55 deg, not within the 1.60 deg
    that a normal law would give:

    >>> two = lambda rng, n: rng.uniform(-1.0, 1.0, (n, 2)).sum(axis=1, keepdims=True)
    >>> found = run_trials(two, HowMany(most=100_000), seed=1)
    >>> round(float(found.high[0]), 2), found.n
    (1.55, 100000)
    """
    _keep_memory()
    sizes = _sizes(how_many)
    first = draw(generator(seed, 0), next(sizes))
    origin, bins = first.mean(axis=0), bins_over(first)

    def block(numbered: tuple[int, int]) -> _Block:
        number, n = numbered
        return _summed(draw(generator(seed, number), n), origin, bins, how_many.probability)

    total, still = _summed(first, origin, bins, how_many.probability), how_many.digits is None
    results = [total.results]
    for found in _in_order(block, zip(count(1), sizes, strict=False), threads):
        results.append(found.results)
        total = _added(total, found)
        if how_many.digits is not None and _stands_still(results, total, how_many):
            still = True
            break
    return _concluded(total, _scatter(results), origin, how_many=how_many, still=still)


def _keep_memory() -> None:
    """Take 24 MB and let them go: an allocator that learns from it keeps what the blocks free for the next.

    That of glibc does; else it hands the pages of every array back to the system and asks for them again,
    which takes as long as the sums themselves. Nothing is written there, so that nothing is really taken.
    """
    np.empty(3_000_000)


def generator(seed: int, number: int) -> np.random.Generator:
    """The generator of one block of trials: a child of the seed, as if they were spawned in a row."""
    return np.random.Generator(np.random.SFC64(np.random.SeedSequence(seed, spawn_key=(number,))))


def _sizes(how_many: HowMany) -> Iterator[int]:
    """Trials of each block in turn; the last one may be shorter."""
    whole, rest = divmod(how_many.most, how_many.block)
    yield from [how_many.block] * whole
    if rest:
        yield rest


def _in_order(
    block: Callable[[tuple[int, int]], _Block], jobs: Iterator[tuple[int, int]], threads: int
) -> Iterator[_Block]:
    """Blocks in their order, a few at once."""
    if threads == 1:
        yield from map(block, jobs)
        return
    with ThreadPoolExecutor(threads) as pool:
        while batch := list(islice(jobs, threads)):
            yield from pool.map(block, batch)


def _summed(values: Array, origin: Array, bins: Bins, probability: float) -> _Block:
    """One block as sums, its own mean, u and ends of the interval."""
    values = np.asarray(values, dtype=float)
    histogram = histogram_of(values, bins)
    low, high = histogram.symmetric(probability).T
    values = values - origin
    n, total, squares = len(values), values.sum(axis=0), np.einsum("ij,ij->j", values, values)
    mean = total / n
    u = np.sqrt(np.maximum(squares / n - mean**2, 0.0))
    return _Block(
        n=n, total=total, squares=squares, results=np.stack([mean, u, low, high]), histogram=histogram
    )


def _added(first: _Block, second: _Block) -> _Block:
    return _Block(
        n=first.n + second.n,
        total=first.total + second.total,
        squares=first.squares + second.squares,
        results=first.results,
        histogram=merged(first.histogram, second.histogram),
    )


def _deviation(total: _Block) -> Array:
    """Standard deviation of all trials. [unit of each]"""
    spread = total.squares - total.total**2 / total.n
    return np.asarray(np.sqrt(np.maximum(spread, 0.0) / max(total.n - 1, 1)))


def _scatter(results: list[Array]) -> Array:
    """Standard deviation of the average of each of the four results over the blocks, shape (4, M)."""
    if len(results) < 2:
        return np.full_like(results[0], math.nan)
    return np.asarray(np.std(results, axis=0, ddof=1) / math.sqrt(len(results)))


def _stands_still(results: list[Array], total: _Block, how_many: HowMany) -> bool:
    """Whether the digits asked for would stay as they are."""
    u, digits = _deviation(total), how_many.digits
    assert digits is not None
    sizes = np.full_like(u, u.max()) if how_many.joint else u
    tolerance = np.array([numerical_tolerance(float(size), digits=digits) for size in sizes])
    return bool(np.all(_TWICE * _scatter(results) <= tolerance))


def _concluded(total: _Block, unsure: Array, origin: Array, *, how_many: HowMany, still: bool) -> Trials:
    low, high = total.histogram.symmetric(how_many.probability).T
    return Trials(
        n=total.n,
        mean=origin + total.total / total.n,
        standard_uncertainty=_deviation(total),
        low=low,
        high=high,
        unsure=unsure,
        coarse=total.histogram.bins.width,
        still=still,
        histogram=total.histogram,
    )
