"""Whether a line that is in use still gives the right positions: fresh points, and a stated rule."""

import math
from collections.abc import Sequence
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
        Expanded uncertainty of the error. [rad or m]
    pooled : bool
        True for a mean over several places. [1]
    """

    at: float
    side: int
    readings: int
    error: float
    uncertainty_95: float
    pooled: bool = False

    @property
    def most(self) -> float:
        """The largest error that may be there. [rad or m]"""
        return abs(self.error) + self.uncertainty_95

    @property
    def least(self) -> float:
        """The smallest error that must be there. [rad or m]"""
        return abs(self.error) - self.uncertainty_95

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
    def worst(self) -> Checked:
        """What decides: where the error is most surely beyond, else where it may be the largest."""
        if self.outcome is Outcome.FAIL:
            return max((*self.checked, *self.pooled), key=lambda each: each.least)
        return max(self.checked, key=lambda each: each.most)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Standard uncertainties behind an error: of the reference, and of one reading with its degrees."""

    reference: ReferenceUncertainty
    noise: float
    noise_dof: float
    count: float


def verify_points(
    points: Sequence[CalibrationPoint],
    errors: Array,
    *,
    permissible: float,
    reference: ReferenceUncertainty,
    count: float,
    least_noise: float = 0.0,
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
    least_noise : float
        Standard deviation of one reading that is known beforehand. [count]

    Returns
    -------
    Verification
        Each place and side, and the means. [rad or m]

    Notes
    -----
    Passed is what is proved: :math:`|e| + U \le` the permissible error, at every place and side; failed
    where :math:`|e| - U` is beyond it at one of them, or on the mean over all or over a side. Else the
    points cannot tell. The guard band is thus the whole expanded uncertainty on either side of the limit.
    :math:`U = k u` at 95 %; in :math:`u` are the reference, the mean of the readings, and once more the
    noise of one reading, because the controller goes by one. A mean over places has that last part not. No
    play is in :math:`U`: going up and coming down are held against the limit apart. Between the places
    nothing is proved.

    References
    ----------
    jcgm106, iso14253, gum-g
    """
    noise, dof = pooled_noise(points)
    known = noise > least_noise and dof > 0
    doubt = Doubt(
        reference=reference,
        noise=max(noise, least_noise),
        noise_dof=float(dof) if known else math.inf,
        count=count,
    )
    found = places(points)
    rows = [(side, own) for place in found for side, own in _sides(place)]
    checked = tuple(_checked(points, errors, side, own, doubt) for side, own in rows)
    return Verification(
        checked=checked, pooled=tuple(_pools(points, errors, rows, doubt)), permissible=permissible
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
    readings = sum(points[k].readings for k in own)
    one = noise_of_mean(doubt.noise, readings=1)
    noise = doubt.count * math.hypot(noise_of_mean(doubt.noise, readings=readings), one)
    u_95 = _expanded(_of_reference(doubt.reference, at, len(own)), noise, doubt)
    error = _without_dust(float(np.mean(errors[list(own)])), doubt)
    return Checked(at=at, side=side, readings=readings, error=error, uncertainty_95=u_95)


def _of_reference(reference: ReferenceUncertainty, at: float, settings: int) -> float:
    """What the reference leaves after so many settings; its lasting part never averages out. [rad or m]"""
    return math.hypot(reference.per_point / math.sqrt(settings), reference.lasting_at(at))


def _without_dust(error: float, doubt: Doubt) -> float:
    """An error without what the arithmetic of a computer leaves of none. [rad or m]"""
    return 0.0 if abs(error) < DUST * doubt.count else error


def _expanded(reference: float, noise: float, doubt: Doubt) -> float:
    return expanded([(noise, doubt.noise_dof), (reference, math.inf)])


def _pools(
    points: Sequence[CalibrationPoint],
    errors: Array,
    rows: Sequence[tuple[int, tuple[int, ...]]],
    doubt: Doubt,
) -> list[Checked]:
    """Mean over all places and sides, and over those of each side where there are both."""
    sides = sorted({side for side, _ in rows if side}, reverse=True)
    pools = [(BOTH, rows)]
    if len(sides) > 1:
        pools += [(side, [row for row in rows if row[0] == side]) for side in sides]
    return [_pooled(points, errors, side, own, doubt) for side, own in pools]


def _pooled(
    points: Sequence[CalibrationPoint],
    errors: Array,
    side: int,
    rows: Sequence[tuple[int, tuple[int, ...]]],
    doubt: Doubt,
) -> Checked:
    own = [k for _, members in rows for k in members]
    at = float(np.mean([points[k].reference for k in own]))
    readings = sum(points[k].readings for k in own)
    noise = doubt.count * noise_of_mean(doubt.noise, readings=readings)
    mean = float(np.mean([np.mean(errors[list(members)]) for _, members in rows]))
    return Checked(
        at=at,
        side=side,
        readings=readings,
        error=_without_dust(mean, doubt),
        uncertainty_95=_expanded(_of_reference(doubt.reference, at, len(own)), noise, doubt),
        pooled=True,
    )
