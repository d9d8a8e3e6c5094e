"""Trials: the same numbers whoever works on them, ends that are right, and their own error stated."""

import math

import numpy as np
import pytest

from anglewright.budget.histograms import BINS, bins_over, histogram_of, merged
from anglewright.budget.trials import HowMany, run_trials
from anglewright.errors import RangeError


def three(rng, n):
    """A normal, an exponential and a lumpy quantity."""
    return np.stack([rng.standard_normal(n), rng.exponential(2.0, n), rng.integers(0, 4, n)], axis=1)


def same(first, second):
    rows = ("mean", "standard_uncertainty", "low", "high", "unsure", "coarse")
    return first.n == second.n and all(
        getattr(first, row).tobytes() == getattr(second, row).tobytes() for row in rows
    )


def test_the_same_seed_gives_the_same_bytes_for_any_number_of_threads():
    alone = run_trials(three, HowMany(most=55_000), seed=7)
    for threads in (1, 2, 3):
        assert same(alone, run_trials(three, HowMany(most=55_000), seed=7, threads=threads))
    assert not same(alone, run_trials(three, HowMany(most=55_000), seed=8))


def test_adaptive_trials_end_at_the_same_number_for_any_number_of_threads():
    def wide(rng, n):
        return 3.0 * rng.standard_normal((n, 2))

    # two digits of 3.0 leave 0.05; ends scatter by 2.67 u / sqrt(n), twice of it is within 0.05 from 100 000
    alone = run_trials(wide, HowMany(digits=2, joint=True), seed=7)
    assert alone.still
    assert 20_000 < alone.n < 400_000
    assert same(alone, run_trials(wide, HowMany(digits=2, joint=True), seed=7, threads=3))


def test_ends_of_a_normal_and_an_exponential_quantity():
    found = run_trials(three, HowMany(most=200_000), seed=11)
    # normal: 1.959964; exponential of mean 2: -2 ln 0.975 and -2 ln 0.025
    expected_low, expected_high = [-1.959964, -2.0 * math.log(0.975)], [1.959964, -2.0 * math.log(0.025)]
    assert found.mean[:2] == pytest.approx([0.0, 2.0], abs=0.02)
    assert found.standard_uncertainty[:2] == pytest.approx([1.0, 2.0], rel=0.02)
    for k in range(2):
        assert found.low[k] == pytest.approx(expected_low[k], abs=5.0 * found.unsure[2, k])
        assert found.high[k] == pytest.approx(expected_high[k], abs=5.0 * found.unsure[3, k])


def test_the_stated_scatter_is_that_between_seeds():
    runs = [run_trials(three, HowMany(most=60_000), seed=seed) for seed in range(40)]
    for row, name in enumerate(("mean", "standard_uncertainty", "low", "high")):
        seen = np.std([getattr(run, name)[:2] for run in runs], axis=0, ddof=1)
        stated = np.sqrt(np.mean([run.unsure[row, :2] ** 2 for run in runs], axis=0))
        assert stated == pytest.approx(seen, rel=0.5)  # 40 runs know it to 11 %, so this is 4 of those


def test_the_shortest_interval_of_an_exponential_begins_at_zero():
    found = run_trials(three, HowMany(most=200_000), seed=11)
    low, high = found.shortest(0.95)[1]
    # the density falls from the start: 0 to -2 ln 0.05 = 5.991
    assert low == pytest.approx(0.0, abs=0.02)
    assert high == pytest.approx(-2.0 * math.log(0.05), abs=0.1)


def test_the_shortest_and_the_symmetric_interval_of_a_normal_quantity_are_the_same():
    found = run_trials(three, HowMany(most=200_000), seed=11)
    assert found.shortest(0.95)[0] == pytest.approx([found.low[0], found.high[0]], abs=0.1)


def test_lumps_are_found_to_a_bin():
    found = run_trials(three, HowMany(most=20_000), seed=2)
    # 0, 1, 2, 3 with a quarter each: 2.5 % lie in the lump at 0, 97.5 % in that at 3
    assert found.low[2] == pytest.approx(0.0, abs=found.coarse[2])
    assert found.high[2] == pytest.approx(3.0, abs=found.coarse[2])


def test_quantiles_agree_with_sorting_all_trials():
    values = three(np.random.default_rng(5), 30_000)
    bins = bins_over(values[:10_000])
    both = merged(histogram_of(values[:10_000], bins), histogram_of(values[10_000:], bins))
    shares = np.array([0.01, 0.025, 0.3, 0.5, 0.975, 0.99])
    sorted_ends = np.quantile(values, shares, axis=0).T  # numpy sorts
    assert both.quantiles(shares)[:2] == pytest.approx(sorted_ends[:2], abs=2.0 * bins.width[1])
    assert both.counts.sum(axis=1).tolist() == [30_000] * 3


def test_values_far_outside_the_first_block_are_counted_and_bounded():
    bins = bins_over(np.array([[0.0], [1.0]]))
    found = histogram_of(np.array([[-50.0], [0.5], [0.5], [80.0]]), bins)
    assert found.counts.shape == (1, BINS)
    assert found.counts.sum() == 4
    assert found.quantiles(np.array([0.0, 1.0]))[0].tolist() == [-50.0, 80.0]


def test_a_quantity_that_never_changes_has_no_width():
    found = run_trials(lambda rng, n: np.full((n, 1), 3.0), HowMany(most=20_000), seed=1)
    assert found.mean[0] == 3.0
    assert found.standard_uncertainty[0] == 0.0
    assert [found.low[0], found.high[0]] == pytest.approx([3.0, 3.0], abs=1e-9)
    assert run_trials(lambda rng, n: np.full((n, 1), 3.0), HowMany(digits=2), seed=1).still


def test_a_single_block_cannot_say_how_sure_it_is():
    found = run_trials(three, HowMany(most=500), seed=1)
    assert found.n == 500
    assert np.isnan(found.unsure).all()


def test_blocks_grow_where_the_probability_is_close_to_one():
    # 7.9.4: at least 100 / (1 - p) trials, and at least 10 000
    assert HowMany(probability=0.95).block == 10_000
    assert HowMany(probability=0.999).block == 100_000


@pytest.mark.parametrize("wrong", [{"most": 0}, {"digits": 0}, {"probability": 1.0}, {"probability": 0.0}])
def test_what_cannot_be_done_is_refused(wrong):
    with pytest.raises(RangeError, match="Ask for at least one trial and one digit"):
        HowMany(**wrong)
