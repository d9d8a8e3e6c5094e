"""The nearest that a hypothesis comes to what was measured, with every unknown within its limits."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from anglewright.links.protocol import Array

Predict: TypeAlias = Callable[[Array], Array]
"""Readings (B, M) of unknowns (B, N), each from -1 to 1."""

FITS = 1.0 + 1e-6  # a miss up to here, in units of what is allowed, is none [1]
_ENOUGH = 0.97  # a miss that need not be made smaller [1]
_ROUNDS, _BEST = 8, 3  # of the search, and of the starts that are followed [1]
_LOST = (1e9, 300.0, 100.0, 40.0, 20.0, 10.0, 5.0, 3.0)  # a miss after so many rounds that is given up [1]
_NEAR = 6.0  # a miss for which the search is begun again beside it [1]
_NUDGE = 0.01  # of an unknown, for a slope [1]
_STARTS = 40  # of each of three kinds, looked at before the search [1]
_FAR = 4.0  # half-widths beyond all that was seen, and no hope is left [1]
_SEED = 20  # of the starts [1]
_NEVER = 1e6  # miss of a pin that floats and was seen to be held [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Target:
    """Measured values, how far a right prediction may lie off, and where codes come round.

    `period` is infinite for what does not come round. A prediction of nan, of a pin that floats, fits
    everything but what is `firm`: that was seen to be held.
    """

    measured: Array
    allowed: Array
    period: Array
    firm: Array

    def off(self, values: Array) -> Array:
        """Measured less predicted, the shortest way round, in units of what is allowed. [1]"""
        off = self.measured - values
        wraps = np.isfinite(self.period)
        period = np.where(wraps, self.period, 1.0)
        round_off = off - period * np.round(off / period)
        off = np.where(wraps, round_off, off)
        floats = np.where(self.firm, _NEVER, 0.0)
        return np.asarray(np.where(np.isnan(off), floats, off / self.allowed))

    def miss(self, values: Array) -> Array:
        """Largest departure of each row. [1]"""
        if not self.measured.size:
            return np.zeros(len(values))
        return np.asarray(np.max(np.abs(self.off(values)), axis=-1))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fit:
    """Unknowns that come nearest, what is read with them, and the largest departure, 1 as allowed. [1]"""

    unknowns: Array
    values: Array
    miss: float

    @property
    def fits(self) -> bool:
        """True where nothing departs by more than is allowed."""
        return self.miss <= FITS


def nearest_fit(predict: Predict, target: Target, *, unknowns: int) -> Fit:
    r"""Unknowns within their limits whose largest departure from what was measured is least.

    Parameters
    ----------
    predict : callable
        What is read for unknowns between -1 and 1.
    target : Target
        What was measured.
    unknowns : int
        How many there are. [1]

    Returns
    -------
    Fit
        The nearest that was found.

    Notes
    -----
    Of a number of seeded starts the best are followed: each round makes the largest departure of the
    linearised readings least, by linear programming within a shrinking neighbourhood. Where every start is
    far from what was measured nothing is followed.

    References
    ----------
    derived
    """
    starts = _starts(unknowns)
    values = predict(starts)
    misses = target.miss(values)
    order = np.argsort(misses, kind="stable")
    best = Fit(unknowns=starts[order[0]], values=values[order[0]], miss=float(misses[order[0]]))
    if best.miss <= _ENOUGH or _hopeless(values, target):
        return best
    for row in order[:_BEST]:
        first = Fit(unknowns=starts[row], values=values[row], miss=float(misses[row]))
        best = min(best, _followed(predict, target, first), key=lambda each: each.miss)
        if best.fits:
            return best
    return _shaken(predict, target, best) if best.miss < _NEAR else best


def _shaken(predict: Predict, target: Target, best: Fit) -> Fit:
    """A fit that came near, begun again beside where it stuck: readings have corners."""
    rng = np.random.default_rng(_SEED)
    for spread in (0.1, 0.1, 0.3, 0.3, 0.6, 0.6):
        moved = np.clip(best.unknowns + rng.normal(0.0, spread, best.unknowns.shape), -1.0, 1.0)
        values = predict(moved[None, :])
        begun = Fit(unknowns=moved, values=values[0], miss=float(target.miss(values)[0]))
        best = min(best, _followed(predict, target, begun), key=lambda each: each.miss)
        if best.fits:
            break
    return best


def _starts(unknowns: int) -> Array:
    """The middle, then places spread over all of the unknowns' limits, among them their corners."""
    rng = np.random.default_rng(_SEED)
    anywhere = rng.uniform(-1.0, 1.0, (_STARTS, unknowns))
    corners = np.sign(rng.uniform(-1.0, 1.0, (_STARTS, unknowns)))
    middle = np.zeros((_STARTS + 1, unknowns))
    for places in (anywhere, corners, middle[1:]):
        places[:, -1] = np.linspace(-1.0, 1.0, _STARTS)  # the fault's own size, evenly
    return np.vstack([middle, anywhere, corners])


def _hopeless(values: Array, target: Target) -> bool:
    """Whether something measured lies far from whatever the starts show."""
    known = ~np.any(np.isnan(values), axis=0) & ~np.isfinite(target.period)
    low, high = np.min(values[:, known], axis=0), np.max(values[:, known], axis=0)
    measured, allowed = target.measured[known], target.allowed[known]
    beyond = np.maximum(low - measured, measured - high)
    return bool(np.any(beyond > _FAR * ((high - low) / 2.0 + allowed)))


def _followed(predict: Predict, target: Target, fit: Fit) -> Fit:
    reach = 0.5
    for count in range(_ROUNDS):
        if fit.miss <= _ENOUGH or reach < 0.01 or fit.miss > _LOST[count]:
            break
        place = _stepped(fit, _slopes(predict, fit), target, reach)
        values = predict(place[None, :])
        miss = float(target.miss(values)[0])
        if miss < fit.miss * (1.0 - 1e-3):
            fit, reach = Fit(unknowns=place, values=values[0], miss=miss), min(2.0 * reach, 2.0)
        else:
            reach /= 4.0
    return fit


def _slopes(predict: Predict, fit: Fit) -> Array:
    """Change of each reading with each unknown, (M, N)."""
    inward = np.where(fit.unknowns > 0.0, -_NUDGE, _NUDGE)
    moved = predict(fit.unknowns + np.diag(inward))
    slopes = (moved - fit.values) / inward[:, None]
    return np.asarray(np.where(np.isfinite(slopes), slopes, 0.0)).T


def _stepped(fit: Fit, slopes: Array, target: Target, reach: float) -> Array:
    """Unknowns after the step that makes the largest linearised departure least."""
    from scipy.optimize import linprog

    off = target.off(fit.values[None, :])[0]
    scaled = slopes / target.allowed[:, None]
    count = len(fit.unknowns)
    rows = np.block([[-scaled, -np.ones((len(off), 1))], [scaled, -np.ones((len(off), 1))]])
    low = np.maximum(-1.0 - fit.unknowns, -reach)
    high = np.minimum(1.0 - fit.unknowns, reach)
    bounds = [*zip(low, high, strict=True), (0.0, None)]
    cost = np.append(np.zeros(count), 1.0)
    found = linprog(cost, A_ub=rows, b_ub=np.concatenate([-off, off]), bounds=bounds, method="highs")
    step = found.x[:count] if found.x is not None else np.zeros(count)
    return np.asarray(np.clip(fit.unknowns + step, -1.0, 1.0))
