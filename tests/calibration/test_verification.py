"""The decision rule of a verification, and the uncertainty it goes by, by arithmetic written out here."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verification import BOTH, Checked, Outcome, Usual, Verification, verify_points

COUNT = 0.01
NO_REFERENCE = ReferenceUncertainty()


def swept(
    errors_up: Sequence[float], errors_down: Sequence[float], *, readings: int = 1, sd: float | None = None
) -> tuple[list[CalibrationPoint], np.ndarray[tuple[int], np.dtype[np.float64]]]:
    """Points at 0, 1, 2, ... up and down again, and what the line read too much at each."""
    up = [(float(q), error, 1) for q, error in enumerate(errors_up)]
    down = [(float(q), error, -1) for q, error in reversed(list(enumerate(errors_down)))]
    points = [
        CalibrationPoint(reference=q, raw=(q + error) / COUNT, readings=readings, raw_sd=sd, approach=side)
        for q, error, side in [*up, *down]
    ]
    return points, np.array([error for _, error, _ in [*up, *down]])


def verified(
    errors_up: Sequence[float],
    errors_down: Sequence[float],
    *,
    permissible: float = 1.0,
    reference: ReferenceUncertainty = NO_REFERENCE,
    noise: float = 0.0,
) -> Verification:
    """A verification of one reading a point."""
    points, errors = swept(errors_up, errors_down)
    return verify_points(
        points, errors, permissible=permissible, reference=reference, count=COUNT, usual=Usual(noise=noise)
    )


# JCGM 106:2012, 8.3, guarded acceptance with a guard band of U: accepted where the value is within the limit
# less U, rejected where it is beyond the limit plus U (ISO 14253-1: conformity proved, nonconformity proved);
# from memory of both. With U = 0.2 and a limit of 1 the three zones end at 0.8 and 1.2.
@pytest.mark.parametrize(
    ("error", "outcome"),
    [
        (0.0, Outcome.PASS),
        (0.7999, Outcome.PASS),
        (-0.7999, Outcome.PASS),
        (0.8001, Outcome.CANNOT_TELL),
        (-1.1999, Outcome.CANNOT_TELL),
        (1.2001, Outcome.FAIL),
        (-1.2001, Outcome.FAIL),
    ],
)
def test_the_zones_of_the_rule(error: float, outcome: Outcome) -> None:
    checked = Checked(at=0.0, side=1, readings=1, error=error, uncertainty_95=0.2)
    assert checked.outcome(1.0) is outcome


def test_the_uncertainty_of_a_place_is_that_of_the_arithmetic() -> None:
    points, errors = swept([0.1] * 5, [0.1] * 5, readings=4, sd=2.0)
    reference = ReferenceUncertainty(per_point=0.03, shared=0.02, scale=0.01)
    found = verify_points(points, errors, permissible=1.0, reference=reference, count=COUNT)
    last = next(each for each in found.checked if each.at == 4.0 and each.side == 1)
    rounding = 1.0 / math.sqrt(12.0)
    of_four, of_one = (math.hypot(2.0 / math.sqrt(n), rounding / math.sqrt(n)) for n in (4, 1))
    noise = COUNT * math.hypot(of_four, of_one)
    lasting = math.sqrt(0.03**2 + 0.02**2 + 0.04**2)  # fresh, shared, 1 % of 4
    u = math.hypot(noise, lasting)
    # 10 points of 4 readings leave 30 degrees of freedom to the noise alone; Welch and Satterthwaite.
    dof = u**4 / (noise**4 / 30.0)
    from scipy.stats import t

    assert last.uncertainty_95 == pytest.approx(t.ppf(0.975, dof) * u, rel=1e-9)
    assert last.readings == 4


def test_noise_that_is_known_beforehand_is_the_least() -> None:
    quiet = verified([0.0] * 3, [0.0] * 3, noise=0.0).checked[0].uncertainty_95
    noisy = verified([0.0] * 3, [0.0] * 3, noise=5.0).checked[0].uncertainty_95
    # One reading, and its noise once more for the one that the controller takes: sqrt 2 of it, times 1.96.
    assert noisy == pytest.approx(1.959964 * math.sqrt(2.0) * COUNT * math.hypot(5.0, 1 / math.sqrt(12.0)))
    assert quiet == pytest.approx(1.959964 * math.sqrt(2.0) * COUNT / math.sqrt(12.0))


def test_one_place_beyond_fails_all_of_it() -> None:
    found = verified([0.1, 0.1, 1.5], [0.1, 0.1, 0.1])
    assert found.outcome is Outcome.FAIL
    assert (found.worst.at, found.worst.side, found.worst.error) == (2.0, 1, 1.5)


def test_a_place_between_keeps_it_from_passing() -> None:
    wide = ReferenceUncertainty(shared=0.1)
    found = verified([0.1, 0.1, 0.9], [0.1, 0.1, 0.1], reference=wide)
    assert found.outcome is Outcome.CANNOT_TELL
    assert found.worst.error == 0.9


def test_the_mean_may_prove_what_no_place_does() -> None:
    # Each place by itself is known to ±0.39 only; eighteen of them on the mean to ±0.1: 1.25 is beyond.
    fresh = ReferenceUncertainty(per_point=0.2)
    found = verified([1.25] * 9, [1.25] * 9, reference=fresh)
    assert {each.outcome(1.0) for each in found.checked} == {Outcome.CANNOT_TELL}
    assert found.outcome is Outcome.FAIL
    assert found.worst.pooled


def test_up_and_down_are_pooled_apart_too() -> None:
    found = verified([0.4] * 3, [-0.4] * 3)
    assert [(each.side, each.error) for each in found.pooled] == [
        (BOTH, pytest.approx(0.0, abs=1e-12)),
        (1, pytest.approx(0.4)),
        (-1, pytest.approx(-0.4)),
    ]


def test_what_all_places_share_never_averages_out() -> None:
    shared = ReferenceUncertainty(shared=0.2)
    found = verified([0.0] * 9, [0.0] * 9, reference=shared)
    assert found.pooled[0].uncertainty_95 == pytest.approx(1.959964 * 0.2, rel=1e-3)


def test_what_each_place_has_of_its_own_averages_over_the_places_alone() -> None:
    marks = ReferenceUncertainty(per_place=0.2, scale=0.1)
    for runs in (1, 5):
        points, errors = swept([0.0] * 3 * runs, [0.0] * 3 * runs)
        visits = [replace(point, reference=float(k % 3)) for k, point in enumerate(points)]
        found = verify_points(visits, errors, permissible=1.0, reference=marks, count=1e-6)
        # Alone a mark keeps its own error, however often it was seen; three of them have it by root 3, while
        # the scale of 10 % keeps its 0.1 at the mean place of 1.
        alone = next(each for each in found.checked if each.at == 0.0)
        assert alone.uncertainty_95 == pytest.approx(1.959964 * 0.2, rel=1e-6)
        mean = 1.959964 * math.hypot(0.2 / math.sqrt(3.0), 0.1)
        assert [each.uncertainty_95 for each in found.pooled] == [pytest.approx(mean, rel=1e-6)] * 3


def test_a_mean_is_worth_what_its_weights_leave() -> None:
    """A place that was seen nine times goes into the mean as one that was seen once does."""
    points = [CalibrationPoint(reference=0.0, raw=0.0, approach=1)] * 9
    points += [CalibrationPoint(reference=4.0, raw=400.0, approach=1)]
    fresh = ReferenceUncertainty(per_point=0.3, scale=0.05)
    found = verify_points(points, np.zeros(10), permissible=1.0, reference=fresh, count=1e-6)
    # (0.3 / 3)² and 0.3², each a quarter; 5 % of the mean place, 2.
    u = math.sqrt((0.1**2 + 0.3**2) / 4.0 + 0.1**2)
    assert found.pooled[0].uncertainty_95 == pytest.approx(1.959964 * u, rel=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("runs", [3, 6])
def test_at_marks_the_uncertainty_holds_the_true_error_however_often_they_are_seen(
    long: bool, runs: int
) -> None:
    """Three marks, each off by an error of its own, seen up and down in several runs, by plain arithmetic."""
    rng, trials = np.random.default_rng(20 + runs), 2000 if long else 300
    marks, u, noise, count = (0.0, 0.75, 1.5), 0.01, 0.8, 1 / 2000
    held = {"alone": 0, "mean": 0}
    for _ in range(trials):
        off, points, errors = u * rng.standard_normal(3), [], []
        for side, order in ((1, (0, 1, 2)), (-1, (2, 1, 0))) * runs:
            for k in order:
                raw = float(np.rint((marks[k] + off[k]) / count + noise * rng.standard_normal()))
                points.append(CalibrationPoint(reference=marks[k], raw=raw, approach=side))
                errors.append(raw * count - marks[k])  # of a line that is right: the true error is nought
        found = verify_points(
            points,
            np.array(errors),
            permissible=1.0,
            reference=ReferenceUncertainty(per_place=u),
            count=count,
            usual=Usual(noise=noise),
        )
        held["alone"] += sum(abs(each.error) <= each.uncertainty_95 for each in found.checked)
        held["mean"] += abs(found.pooled[0].error) <= found.pooled[0].uncertainty_95
    assert 0.93 <= held["alone"] / (6 * trials) <= 0.98
    assert 0.92 <= held["mean"] / trials <= 0.98


def test_a_failure_is_proved_for_all_checks_together() -> None:
    found = verified([0.0] * 3, [0.0] * 3, reference=ReferenceUncertainty(per_point=0.1))
    first = found.checked[0]
    # Three places from two sides, and three means: 9 checks, so 1 - 0.05 / 9 = 0.99444 to one side. The
    # factor of the normal distribution is 2.539 there, against 1.960 at 95 % to both sides.
    assert first.guard / first.uncertainty_95 == pytest.approx(2.539 / 1.960, rel=1e-3)
    alone = verify_points(
        [CalibrationPoint(reference=1.0, raw=100.0)],
        np.zeros(1),
        permissible=1.0,
        reference=ReferenceUncertainty(per_point=0.1),
        count=COUNT,
    ).checked[0]
    assert alone.guard == pytest.approx(alone.uncertainty_95)  # one place and its mean: 1 - 0.025, the same


@pytest.mark.slow
@pytest.mark.parametrize("true", [0.95, 0.99])
def test_a_good_one_seldom_fails_however_many_places_there_are(long: bool, true: float) -> None:
    """Eighteen places of their own fresh error, each a chance to be beyond: 5 % together, not each."""
    rng, trials, failed = np.random.default_rng(30), 2000 if long else 400, 0
    fresh = ReferenceUncertainty(per_point=0.15)
    for _ in range(trials):
        up, down = (true + 0.15 * rng.standard_normal(9) for _ in range(2))
        failed += verified(up.tolist(), down.tolist(), reference=fresh).outcome is Outcome.FAIL
    assert failed / trials < (0.06 if long else 0.07)


def test_a_truly_bad_axis_seldom_passes_and_a_good_one_seldom_fails(long: bool) -> None:
    """An axis at its limit: a wrong pass has 2.5 % at a place, by the guard band; a wrong failure less."""
    rng, trials, passed, failed = np.random.default_rng(8), 4000 if long else 600, 0, 0
    reference = ReferenceUncertainty(shared=0.05)
    for _ in range(trials):
        shift = rng.normal(0.0, 0.05)
        just_bad = verified([1.0 + shift] * 3, [1.0 + shift] * 3, reference=reference)
        passed += just_bad.outcome is Outcome.PASS
        failed += just_bad.outcome is Outcome.FAIL
    assert passed / trials < 0.05
    assert failed / trials < 0.05


def test_what_another_visit_shows_counts_once_more_for_the_reading_in_use() -> None:
    # one setting of each of two places, visits of 0.3: of a place its own visit and that in use, root 2 of it
    points, errors = swept([0.0, 0.0], [0.0, 0.0])
    found = verify_points(
        points,
        errors,
        permissible=1.0,
        reference=NO_REFERENCE,
        count=COUNT,
        usual=Usual(visits=0.3),
    )
    rounding = COUNT / math.sqrt(12.0)
    u = math.hypot(0.3 * math.sqrt(2.0), rounding * math.sqrt(2.0))
    assert found.checked[0].uncertainty_95 == pytest.approx(1.959964 * u, rel=1e-6)
    # the mean of four settings has a quarter of the variance, and no reading in use
    assert found.pooled[0].uncertainty_95 == pytest.approx(1.959964 * math.hypot(0.15, rounding), rel=1e-6)
