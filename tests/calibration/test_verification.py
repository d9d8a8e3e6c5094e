"""The decision rule of a verification, and the uncertainty it goes by, by arithmetic written out here."""

import math
from collections.abc import Sequence

import numpy as np
import pytest

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.verification import BOTH, Checked, Outcome, Verification, verify_points

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
        points, errors, permissible=permissible, reference=reference, count=COUNT, least_noise=noise
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


def test_a_truly_bad_axis_seldom_passes_and_a_good_one_seldom_fails(long: bool) -> None:
    """An axis at its limit: a wrong decision has 2.5 % to either side at a place, by the guard band."""
    rng, trials, passed, failed = np.random.default_rng(8), 4000 if long else 600, 0, 0
    reference = ReferenceUncertainty(shared=0.05)
    for _ in range(trials):
        shift = rng.normal(0.0, 0.05)
        just_bad = verified([1.0 + shift] * 3, [1.0 + shift] * 3, reference=reference)
        passed += just_bad.outcome is Outcome.PASS
        failed += just_bad.outcome is Outcome.FAIL
    assert passed / trials < 0.05
    assert failed / trials < 0.05
