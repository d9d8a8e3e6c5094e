"""Whether a line that is in use still gives the right positions: fresh points, and a stated rule."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from anglewright.calibration.pairing import Place, places
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.student import expanded
from anglewright.calibration.uncertainty import ReferenceUncertainty, noise_of_mean, pooled_noise

Array = NDArray[np.float64]

DUST = 1e-6  # of a count: less is no error [1]

WRONGLY = 0.05  # how often all checks together may fail a good axis [1]

Rows = Sequence[tuple[int, tuple[int, ...]]]
"""Sides, and the numbers of the points that were taken from them at one place."""

BOTH = 2
"""Side of a value that is the mean over up and down."""


class Outcome(Enum):
    """The three answers of a verification."""

    PASS = "pass"
    FAIL = "fail"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What the line read too much, and what that is worth.

    Parameters
    ----------
    at : float
        The place, or the middle of the places that were pooled. [rad or m]
    side : int
        +1 going up, -1 coming down, 0 not known, `BOTH` for all. [1]
    readings : int
        How many. [1]
    error : float
        Position by the line less position by the reference. [rad or m]
    uncertainty_95 : float
        Expanded uncertainty U of the error, which a pass keeps away from the limit. [rad or m]
    guard : float
        The same at the level that the number of checks asks for, by which a failure is proved; where it is
        less than U, U is taken. [rad or m]
    pooled : bool
        True for a mean over several places. [1]
    """

    at: float
    side: int
    readings: int
    error: float
    uncertainty_95: float
    guard: float = 0.0
    pooled: bool = False

    @property
    def most(self) -> float:
        """The largest error that may be there. [rad or m]"""
        return abs(self.error) + self.uncertainty_95

    @property
    def least(self) -> float:
        """The smallest error that must be there, however many checks there were. [rad or m]"""
        return abs(self.error) - max(self.guard, self.uncertainty_95)

    def outcome(self, permissible: float) -> Outcome:
        """By the decision rule, against a permissible error. [rad or m]"""
        if self.most <= permissible:
            return Outcome.PASS
        return Outcome.FAIL if self.least > permissible else Outcome.CANNOT_TELL


@dataclass(frozen=True, slots=True, kw_only=True)
class Verification:
    """Every place and side, and the mean over all and over each side."""

    checked: tuple[Checked, ...]
    pooled: tuple[Checked, ...]
    permissible: float

    @property
    def outcome(self) -> Outcome:
        """The answer of the decision rule."""
        found = [each.outcome(self.permissible) for each in (*self.checked, *self.pooled)]
        if Outcome.FAIL in found:
            return Outcome.FAIL
        return Outcome.CANNOT_TELL if Outcome.CANNOT_TELL in found else Outcome.PASS

    @property
    def tilt(self) -> float:
        """Share by which the error grows with the position, where that is most of it; 0 otherwise. [1]

        Most of it: a slope leaves a quarter of the squares about the mean or less, and is worth more than
        half of the permissible error from end to end.
        """
        at = np.array([each.at for each in self.checked])
        error = np.array([each.error for each in self.checked])
        if len(np.unique(at)) < 3:
            return 0.0
        slope, level = np.polyfit(at, error, 1)
        left, whole = (np.sum(np.square(error - base)) for base in (level + slope * at, error.mean()))
        if left > 0.25 * whole or abs(slope) * np.ptp(at) <= self.permissible / 2.0:
            return 0.0
        return float(slope)

    @property
    def worst(self) -> Checked:
        """What decides: where the error is most surely beyond, else where it may be the largest."""
        if self.outcome is Outcome.FAIL:
            return max((*self.checked, *self.pooled), key=lambda each: each.least)
        return max(self.checked, key=lambda each: each.most)


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """What is known beforehand of a reading.

    Parameters
    ----------
    noise : float
        Standard deviation of one reading, at least. [count]
    visits : float
        Standard deviation of what the same place shows at another visit. [rad or m]
    """

    noise: float = 0.0
    visits: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Standard uncertainties behind an error: of the reference, of one reading with its degrees, of a visit.

    `checks` is how many checks are made in all. [1]
    """

    reference: ReferenceUncertainty
    noise: float
    noise_dof: float
    visits: float
    count: float
    checks: int

    def bounds(self, noise: float, *, at: float, fresh: float, own: float) -> tuple[float, float]:
        """U at 95 %, and the guard band of a failure. [rad or m]

        `noise` is that of the readings together [count], `at` the position of the mean [rad or m], `fresh`
        and `own` the squares of the weights, added up, with which settings and places go into it [1].
        """
        known = self.reference
        lasting = math.hypot(known.shared, known.scale * at)
        setting = math.hypot(known.per_point, self.visits)
        left = math.hypot(lasting, setting * math.sqrt(fresh), known.per_place * math.sqrt(own))
        parts = [(self.count * noise, self.noise_dof), (left, math.inf)]
        u_95 = expanded(parts)
        return u_95, max(u_95, expanded(parts, probability=1.0 - 2.0 * WRONGLY / self.checks))


def verify_points(
    points: Sequence[CalibrationPoint],
    errors: Array,
    *,
    permissible: float,
    reference: ReferenceUncertainty,
    count: float,
    usual: Usual = Usual(),
) -> Verification:
    r"""Hold the errors of a line at fresh points against the permissible error.

    Parameters
    ----------
    points : sequence of CalibrationPoint
        Fresh points. [count, rad or m]
    errors : array, (n,)
        Position by the line less position by the reference. [rad or m]
    permissible : float
        Largest error that the use can bear, to either side. [rad or m]
    reference : ReferenceUncertainty
        Standard uncertainties of the reference. [rad or m, 1]
    count : float
        Position of one count. [rad or m]
    usual : Usual
        What is known beforehand of a reading. [count, rad or m]

    Returns
    -------
    Verification
        Each place and side, and the means. [rad or m]

    Notes
    -----
    Passed is what is proved: :math:`|e| + U \le` the permissible error, at every place and side: the guard
    band is the whole expanded uncertainty :math:`U = k u` at 95 %. Failed where :math:`|e| - V` is beyond it
    at one of m checks: the places with their sides, and the means over all and over each side. One of many
    checks is easily beyond by chance, so V is taken to one side at :math:`1 - 0.05 / m` and never below U:
    all checks together fail an axis that is just within its limit in 5 % at most (Bonferroni). Else the
    points cannot tell.

    In :math:`u` are the reference, the mean of the readings, and once more the noise of one reading and what
    another visit shows, because the controller goes by one. A mean over places has that last part not. In it
    what is fresh at a point averages over the settings, what each place has of its own over the places, what
    all share and the scale over none. No play is in :math:`U`: going up and coming down are held against the
    limit apart. Between the places nothing is proved.

    References
    ----------
    jcgm106, iso14253, gum-g
    """
    noise, dof = pooled_noise(points)
    known = noise > usual.noise and dof > 0
    found = places(points)
    rows = [(side, own) for place in found for side, own in _sides(place)]
    pools = _pools(rows)
    doubt = Doubt(
        reference=reference,
        noise=max(noise, usual.noise),
        noise_dof=float(dof) if known else math.inf,
        visits=usual.visits,
        count=count,
        checks=len(rows) + len(pools),
    )
    place_of = {k: number for number, place in enumerate(found) for k in place.members}
    return Verification(
        checked=tuple(_checked(points, errors, side, own, doubt) for side, own in rows),
        pooled=tuple(_pooled(points, errors, pool, place_of, doubt) for pool in pools),
        permissible=permissible,
    )


def _sides(place: Place) -> list[tuple[int, tuple[int, ...]]]:
    """Points of a place by side, as far as there are any."""
    sides = ((1, place.up), (-1, place.down), (0, place.unknown))
    return [(side, own) for side, own in sides if own]


def _checked(
    points: Sequence[CalibrationPoint], errors: Array, side: int, own: tuple[int, ...], doubt: Doubt
) -> Checked:
    """One place and side."""
    at = float(np.mean([points[k].reference for k in own]))
    one = math.hypot(noise_of_mean(doubt.noise, readings=1), doubt.visits / doubt.count)
    noise = math.hypot(_noise(points, [(side, own)], doubt), one)
    u_95, guard = doubt.bounds(noise, at=at, fresh=1.0 / len(own), own=1.0)
    return Checked(
        at=at,
        side=side,
        readings=sum(points[k].readings for k in own),
        error=_without_dust(float(np.mean(errors[list(own)])), doubt),
        uncertainty_95=u_95,
        guard=guard,
    )


def _noise(points: Sequence[CalibrationPoint], rows: Rows, doubt: Doubt) -> float:
    """Standard uncertainty of the mean of the means of rows, each point a mean of its readings. [count]"""
    share = sum(1.0 / (len(own) ** 2 * points[k].readings) for _, own in rows for k in own)
    return noise_of_mean(doubt.noise, readings=max(int(len(rows) ** 2 / share + DUST), 1))


def _without_dust(error: float, doubt: Doubt) -> float:
    """An error without what the arithmetic of a computer leaves of none. [rad or m]"""
    return 0.0 if abs(error) < DUST * doubt.count else error


def _pools(rows: Rows) -> list[tuple[int, Rows]]:
    """All places and sides, and those of each side where there are both."""
    sides = sorted({side for side, _ in rows if side}, reverse=True)
    pools: list[tuple[int, Rows]] = [(BOTH, rows)]
    if len(sides) > 1:
        pools += [(side, [row for row in rows if row[0] == side]) for side in sides]
    return pools


def _pooled(
    points: Sequence[CalibrationPoint],
    errors: Array,
    pool: tuple[int, Rows],
    place_of: Mapping[int, int],
    doubt: Doubt,
) -> Checked:
    """The mean over rows, each row counting alike."""
    side, rows = pool
    at = float(np.mean([np.mean([points[k].reference for k in own]) for _, own in rows]))
    visits = Counter(place_of[own[0]] for _, own in rows).values()
    u_95, guard = doubt.bounds(
        _noise(points, rows, doubt),
        at=at,
        fresh=sum(1.0 / len(own) for _, own in rows) / len(rows) ** 2,
        own=sum(times**2 for times in visits) / len(rows) ** 2,
    )
    mean = float(np.mean([np.mean(errors[list(own)]) for _, own in rows]))
    return Checked(
        at=at,
        side=side,
        readings=sum(points[k].readings for _, own in rows for k in own),
        error=_without_dust(mean, doubt),
        uncertainty_95=u_95,
        guard=guard,
        pooled=True,
    )
