"""What a sensor with its coupling, wiring and converter leaves after the planned calibration.

Behind a drive of constant ratio nothing of this depends on the drive but the angle through which the shaft
turns. So it is worked out once a sensor, for a row of such angles, by the same contributions as the budget's,
and looked up for every drive.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from anglewright.budget.contributions import Contribution, ErrorMap, Play, contributions
from anglewright.calibration.lines import fit_lines
from anglewright.links.code import CodeLine
from anglewright.links.gears import DirectPart
from anglewright.links.motion import MotionPart
from anglewright.links.protocol import Array, Part
from anglewright.quantities.spread import Persistence, Spread
from anglewright.rig import Axis, at_mean, realise
from anglewright.selection.needs import Need, Places

ANGLES = 33  # shaft angles in a row of them, closer together where they are small [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SensorCurves:
    """Errors of a sensor at its shaft after the planned calibration, one row a shaft angle of the motion.

    `turned` (F,) are the angles. [rad] `bias`, `lag` (half the free motion) (F, P) in rad, `variance` and
    `loose` (that of the free motion's size) (F, P) in rad2. `slope` (F,): least codes per turn. [count/rad]
    """

    turned: Array
    bias: Array
    variance: Array
    lag: Array
    loose: Array
    slope: Array

    def rows(self, turned: Array) -> tuple[Places, Array]:
        """Row below each shaft angle, and the share of the next one; nan beyond the last. [1]"""
        place = np.clip(np.searchsorted(self.turned, turned, side="right") - 1, 0, len(self.turned) - 2)
        low, high = self.turned[place], self.turned[place + 1]
        share = (turned - low) / (high - low)
        return place, np.where(turned > self.turned[-1] * (1.0 + 1e-9), np.nan, share)


def between(table: Array, place: Places, share: Array) -> Array:
    """Rows of a table (F, ...) read between two of them, (D, ...). [unit of the table]"""
    weight = share.reshape(share.shape + (1,) * (table.ndim - 1))
    return np.asarray(table[place] + weight * (table[place + 1] - table[place]))


def bench_axis(axis: Axis, parts: Sequence[Part]) -> Axis:
    """The axis with other parts behind a direct drive, positions being angles of the sensor's shaft."""
    exact = Spread(nominal=0.0)
    motion = MotionPart(from_=exact, to=exact, settles=axis.motion.settles, clamp=exact)
    return replace(axis, motion=motion, parts=(DirectPart(), *parts))


def angles_up_to(most: float) -> Array:
    """A row of shaft angles, closer together where they are small, (F,). [rad]"""
    return np.asarray(most * np.linspace(0.0, 1.0, ANGLES + 1)[1:] ** 2)


def sensor_curves(need: Need, parts: Sequence[Part], *, turned: Array) -> SensorCurves:
    r"""What is left of the errors of a sensor, for a row of shaft angles.

    Parameters
    ----------
    need : Need
        The axis, with the plan of its calibration.
    parts : sequence of Part
        Coupling, mount, sensor, wiring and converter, the mount's reading that of the middle of the stops.
    turned : array, (F,)
        Shaft angles of the motion, at least two, rising. [rad]

    Returns
    -------
    SensorCurves
        Bias, variance and free motion at the shaft. [rad]

    Notes
    -----
    Numbers of the build are seen by the fit and leave :math:`(I - P) e`; those of a condition come twice,
    as they are in use and as they were on the day of the fit; reading noise comes once in use and once,
    averaged, in the line.

    References
    ----------
    gum, gum-h3
    """
    shares = np.concatenate([need.places, need.planned])
    turns, axis = np.outer(turned, shares), bench_axis(need.axis, parts)
    errors = ErrorMap(axis=axis, line=CodeLine(offset=0.0, slope=1.0), positions=turns.ravel())
    codes = np.asarray(realise(axis, at_mean).unrounded().forward(turns.ravel())).reshape(turns.shape)
    looked = len(need.places)
    offset, slope = fit_lines(codes[:, looked:], turns[:, looked:])
    error = offset[:, None] + slope[:, None] * codes - turns
    left = _Left(need=need, shape=turns.shape, slope=slope[:, None])
    found, none = contributions(errors, Play.TWO_SIDED), np.zeros((len(turned), looked))
    return SensorCurves(
        turned=turned,
        bias=need.correction.remainder(error[:, :looked], error[:, looked:]),
        variance=sum((left.variance(part) for part in found if not part.lags), none),
        lag=np.abs(sum((left.curves(part)[0][0] for part in found if part.lags), none)),
        loose=sum((left.loose(part) for part in found if part.lags), none),
        slope=np.min(np.abs(np.diff(codes[:, :looked]) / np.diff(turns[:, :looked])), axis=1),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Left:
    """Takes off each contribution what the planned line takes; `slope` (F, 1) turns codes into rad."""

    need: Need
    shape: tuple[int, ...]
    slope: Array

    def curves(self, part: Contribution) -> tuple[Array, Array]:
        """Modes over the places looked at, (M, F, P), and over the planned ones, (M, F, K). [rad]"""
        looked = len(self.need.places)
        curves = self.slope * part.curves.reshape(-1, *self.shape)
        return curves[..., :looked], curves[..., looked:]

    def loose(self, part: Contribution) -> Array:
        """Variance of half a free motion whose size is not known exactly, (F, P). [rad2]"""
        return np.asarray(np.sum(self.curves(part)[0][1:] ** 2, axis=0))

    def variance(self, part: Contribution) -> Array:
        """Variance of one contribution after the planned calibration, (F, P). [rad2]"""
        curves, seen = self.curves(part)
        return np.asarray(np.sum(left_over(self.need, curves, seen, persistence=part.persistence), axis=0))


def left_over(need: Need, curves: Array, seen: Array, *, persistence: Persistence) -> Array:
    """Squares of what the planned calibration leaves of error curves and brings in by them.

    Parameters
    ----------
    need : Need
        The axis with its plan.
    curves, seen : array, (..., P) and (..., K)
        The curves over the places looked at and over the planned ones. [rad or m]
    persistence : Persistence
        How long their cause stays what it is.

    Returns
    -------
    array, (..., P)
        Variance. [rad2 or m2]

    References
    ----------
    gum-h3
    """
    correction = need.correction
    if persistence is Persistence.BUILD:
        return np.asarray(correction.remainder(curves, seen) ** 2)
    if persistence is Persistence.CONDITION:
        return np.asarray(curves**2 + (seen @ correction.weights.T) ** 2)
    if persistence is Persistence.READING:
        mean = np.mean(curves, axis=-1, keepdims=True)
        return np.asarray(curves**2 + (mean * correction.noise_gain()) ** 2 / need.reads)
    return np.asarray(curves**2)
