"""The loaded divider: what a pull resistor or an input bends, with its one physical number."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.calibration.least_squares import fit_linear
from anglewright.calibration.models.fitted import Fitted, missed_by_leverage
from anglewright.circuits import Numeric
from anglewright.links.protocol import Array

LEAST_LOAD, MOST_LOAD = -0.4, 10.0  # track over load within which it is looked for [1]
NEAR = 1e-10  # how exactly the load is found [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedDivider:
    """``position = offset + span x`` with the place x of the wiper on a track that is loaded.

    Parameters
    ----------
    low, high : float
        Codes with the wiper at the grounded and at the fed end. [count]
    to_feed : bool
        True where the load goes to the feed (a pull-up), False where it goes to ground.
    """

    low: float
    high: float
    to_feed: bool = False
    name: str = "loaded divider"
    names: tuple[str, ...] = ("offset", "span", "load")
    through_places: ClassVar[bool] = False

    def fit(self, x: Array, y: Array, *, weights: Array) -> Fitted:
        r"""The curve of least squares. [count, rad or m, 1]

        Notes
        -----
        For a given load the rest is a straight line, so that one number is searched for: the load with the
        least sum of squares, by Brent's method.

        References
        ----------
        derived
        """
        from scipy.optimize import minimize_scalar

        def squares(load: float) -> float:
            found = fit_linear(self._design(load, x), y, weights=weights)
            return float(np.sum(weights * np.square(found.residuals)))

        best = minimize_scalar(
            squares, bounds=(LEAST_LOAD, MOST_LOAD), method="bounded", options={"xatol": NEAR}
        )
        load = float(best.x)
        found = fit_linear(self._design(load, x), y, weights=weights)
        values = np.array([*found.values, load])
        act = np.sqrt(weights)[:, None] * self.jacobian(values, x)
        q, r = np.linalg.qr(act)
        inverse = np.linalg.inv(r)
        return Fitted(
            model=self,
            values=values,
            spread=inverse @ inverse.T,
            residuals=found.residuals,
            leverage=np.sum(q * q, axis=1),
        )

    def missed(self, x: Array, y: Array, *, weights: Array) -> Array:
        """How far each point lies off the curve that was fitted without it. [count, rad or m, 1]"""
        return missed_by_leverage(self.fit(x, y, weights=weights))

    def predict(self, values: Array, x: Array) -> Array:
        """Position of each code. [rad or m]"""
        return np.asarray(values[0] + values[1] * self.place(float(values[2]), x))

    def jacobian(self, values: Array, x: Array) -> Array:
        """Columns of offset, span, and load; that of the load by a difference. [rad or m]"""
        load = float(values[2])
        return np.column_stack([self._design(load, x), values[1] * self.place_by_load(load, x)])

    def place(self, load: Numeric, x: Array) -> Array:
        """Place of the wiper at each code, for one load or for one a row, (B, 1). [1]"""
        share = (x - self.low) / (self.high - self.low)
        return np.asarray(1.0 - wiper_place(1.0 - share, load) if self.to_feed else wiper_place(share, load))

    def place_by_load(self, load: Numeric, x: Array) -> Array:
        """What one more of load does to the place, by a difference. [1]"""
        step = 1e-6
        return (self.place(load + step, x) - self.place(load - step, x)) / (2.0 * step)

    def _design(self, load: float, x: Array) -> Array:
        return np.stack([np.ones_like(x), self.place(load, x)], axis=1)


def wiper_place(share: Array, load: Numeric) -> Array:
    r"""Place of the wiper whose voltage is a share of the feed, with a load to ground.

    Parameters
    ----------
    share : array
        Voltage of the wiper over that of the feed. [1]
    load : float or array
        Resistance of the track over that of the load; 0 without one. [1]

    Returns
    -------
    array
        Place on the track, 0 at ground and 1 at the feed. [1]

    Notes
    -----
    The divider gives :math:`y = x / (1 + k x (1 - x))`; solved for x without loss of digits at small k,
    :math:`x = 2y / (1 - yk + \sqrt{(1 - yk)^2 + 4 y^2 k})`.

    References
    ----------
    derived

    Examples
    --------
    The middle of a track loaded with its own resistance reads 40 %:

    >>> round(float(wiper_place(np.array(0.4), 1.0)), 12)
    0.5
    """
    tail = 1.0 - share * load
    root = np.sqrt(np.maximum(tail**2 + 4.0 * share**2 * load, 0.0))
    return np.asarray(2.0 * share / (tail + root))
