"""Errors that come round with the sensor, once and twice in a turn, with how well their heights are known."""

import math
from dataclasses import dataclass

import numpy as np

from anglewright.calibration.fitting import CurveFit
from anglewright.calibration.models.bent import Harmonics
from anglewright.calibration.models.fitted import Fitted
from anglewright.calibration.scatter import lack_of_fit
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.turning import pair_limit
from anglewright.links.protocol import Array

ORDERS = (1, 2)
"""Waves in a turn that are looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """An error that comes round `order` times in a turn of the sensor.

    `height` is its largest departure and `u` the standard uncertainty of that, with `dof` degrees of freedom;
    `seen` says whether it stands out of the scatter. [rad or m, 1]
    """

    order: int
    height: float
    u: float
    dof: float
    seen: bool

    @property
    def u_95(self) -> float:
        """Uncertainty of the height at 95 %. [rad or m]"""
        return coverage_factor(self.dof) * self.u


def turn_waves(fit: CurveFit) -> tuple[Wave, ...]:
    r"""Waves once and twice in a turn of the sensor, whichever curve is used.

    Parameters
    ----------
    fit : CurveFit
        A curve through points, chosen with waves among the models on trial. [rad or m]

    Returns
    -------
    tuple of Wave
        Once, then twice; none where waves were not on trial, or the points too few to try them. [rad or m]

    Notes
    -----
    A pair :math:`(a, b)` of cosine and sine with covariance :math:`C` stands out where
    :math:`(a, b) C^{-1} (a, b)^T / 2` passes the F limit of two chances in a thousand. The height
    :math:`A = \sqrt{a^2 + b^2}` has :math:`u_A^2 = (a, b) C (a, b)^T / A^2`.

    References
    ----------
    gum
    practice
    """
    model = next(
        (each.model for each in fit.choice.candidates if _tried_waves(each.model, each.missed)), None
    )
    if model is None:
        return ()
    fitted, covariance, dof = _of_model(fit, model.fit(fit.raw, fit.even, weights=np.ones(len(fit.raw))))
    return tuple(_wave(order, fitted, covariance, dof) for order in ORDERS)


def _tried_waves(model: object, missed: Array) -> bool:
    return isinstance(model, Harmonics) and len(missed) > 0


def _of_model(fit: CurveFit, fitted: Fitted) -> tuple[Fitted, Array, float]:
    """Waves fitted to the points, their covariance, and its degrees of freedom. [rad or m, squared; 1]"""
    if isinstance(fit.fitted.model, Harmonics):
        return fit.fitted, fit.error.covariance, fit.error.lack.dof
    rest = fit.even - fitted.predict(fit.raw)
    lack = lack_of_fit(rest, found=fit.found, count=fitted.count, known=fit.scatter)
    return fitted, np.asarray(lack.point_variance * fitted.spread), lack.dof


def _wave(order: int, fitted: Fitted, covariance: Array, dof: float) -> Wave:
    names = fitted.model.names
    at = [names.index(f"a{order}"), names.index(f"b{order}")]
    pair, spread = fitted.values[at], covariance[np.ix_(at, at)]
    height = math.hypot(*pair.tolist())
    variance = float(pair @ spread @ pair) / height**2 if height > 0.0 else float(np.trace(spread)) / 2.0
    ratio = float(pair @ np.linalg.pinv(spread) @ pair) / 2.0
    seen = bool(ratio > pair_limit(dof)) if variance > 0.0 else height > 0.0
    return Wave(order=order, height=height, u=math.sqrt(variance), dof=dof, seen=seen)
