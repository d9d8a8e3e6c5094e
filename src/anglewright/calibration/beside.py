"""The points of a calibration fitted in other ways, to be shown beside the one that is used."""

import math
from dataclasses import dataclass

import numpy as np

from anglewright.calibration.fitting import CurveFit
from anglewright.calibration.inverse import NewReading, predict_inverse
from anglewright.calibration.models.straight import Line
from anglewright.calibration.outliers import SCALE
from anglewright.calibration.york import fit_both
from anglewright.links.protocol import Array

HUBER = 1.345  # standard deviations from which a point counts less [1]
PLACES = 33  # over the points, at which two curves are compared [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Another way to fit: its name and how far its curve lies off the one in use, at most. [rad or m]"""

    name: str
    largest: float


def fitted_otherwise(fit: CurveFit) -> tuple[Beside, ...]:
    """A robust fit of the same model, and the other ways to draw a line where a line is used.

    Parameters
    ----------
    fit : CurveFit
        The curve that is used. [rad or m]

    Returns
    -------
    tuple of Beside
        What the other ways give. A table has no robust form here. [rad or m]

    Notes
    -----
    The robust fit weighs a point down as one over its departure, from 1.345 scaled median absolute deviations
    on: a wild point then pulls no harder than one at that limit.

    References
    ----------
    huber
    york
    draper-smith
    """
    codes = np.linspace(fit.raw.min(), fit.raw.max(), PLACES)
    used = fit.fitted.predict(codes)
    others: dict[str, Array] = {}
    if not fit.fitted.model.through_places:
        others["robust"] = fit.fitted.model.predict(_robust(fit), codes)
    if isinstance(fit.fitted.model, Line):
        others["errors in both variables"] = _both(fit, codes)
        others["reading over position, turned round"] = _turned_round(fit, codes)
    return tuple(
        Beside(name=name, largest=float(np.max(np.abs(curve - used)))) for name, curve in others.items()
    )


def _turned_round(fit: CurveFit, codes: Array) -> Array:
    """Positions by the line of reading over position, through two of them. [rad or m]"""
    even, ends = fit.even, codes[[0, -1]]
    places = [predict_inverse(even, fit.raw, NewReading(value=float(n))).position for n in ends]
    return np.interp(codes, ends, places)


def _robust(fit: CurveFit) -> Array:
    from scipy.optimize import least_squares

    even, model, raw = fit.even, fit.fitted.model, fit.raw
    rest = even - fit.fitted.predict(raw)
    unit = SCALE * float(np.median(np.abs(rest - np.median(rest)))) or float(np.std(rest)) or 1.0
    scale = np.sqrt(np.diag(fit.fitted.spread)) * unit

    def departures(values: Array) -> Array:
        return (even - model.predict(values, raw)) / unit

    def steepness(values: Array) -> Array:
        return -model.jacobian(values, raw) / unit

    found = least_squares(
        departures, fit.fitted.values, jac=steepness, loss="huber", f_scale=HUBER, x_scale=scale
    )
    return np.asarray(found.x)


def _both(fit: CurveFit, codes: Array) -> Array:
    readings = np.sqrt(np.array([point.readings for point in fit.points], dtype=float))
    u_raw = fit.error.noise / readings
    slope = abs(float(fit.fitted.values[1]))
    fresh = math.sqrt(max(fit.scatter.variance - float(np.mean(np.square(slope * u_raw))), 0.0))
    line = fit_both(fit.raw, fit.even, u_x=u_raw, u_y=np.full(len(readings), fresh))
    return np.asarray(line.offset + line.slope * codes)
