"""A fitted curve as the controller computes it: a line, with corrections where that is too little."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from anglewright.calibration.line import fit_line
from anglewright.calibration.models.bent import Harmonics
from anglewright.calibration.models.fitted import Fitted
from anglewright.calibration.models.straight import FixedSlope, Line
from anglewright.calibration.pairing import Place, place_means
from anglewright.links.code import MOST_NODES, Corrections
from anglewright.links.protocol import Array

FEWEST_PIECES = 8  # of a table of corrections [1]
CLOSE = 0.02  # of a half-width: how far the table may lie off the curve [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HandedCurve:
    """Line and table that stand for a curve. Positions in [rad or m], codes in [count].

    `covariance` is that of offset and slope; `off` how far the table lies off the curve at most; `domain` the
    codes that the points cover, half a usual step more at either end.
    """

    offset: float
    slope: float
    covariance: Array
    corrections: Corrections | None
    off: float
    domain: tuple[float, float]


def handed_curve(
    fitted: Fitted, raw: Array, *, covariance: Array, found: Sequence[Place], half_width: float
) -> HandedCurve:
    """The line and the table of a fitted curve.

    Parameters
    ----------
    fitted : Fitted
        The curve. [count, rad or m]
    raw : array, (n,)
        Readings of the points. [count]
    covariance : array, (p, p)
        Of the parameters of the curve. [rad or m, squared]
    found : sequence of Place
        The places of the points. [1]
    half_width : float
        Half-width of one reading: the table may lie off the curve by a fiftieth of it. [rad or m]

    Returns
    -------
    HandedCurve
        A straight model is its own line. Any other gets the line of least squares through it, and corrections
        at 9 codes or more, 65 at most; waves get their own line, and corrections that come round. [rad or m]

    References
    ----------
    derived
    """
    domain = covered(raw, found)
    model = fitted.model
    if isinstance(model, Line | FixedSlope):
        slope = model.slope if isinstance(model, FixedSlope) else float(fitted.values[1])
        whole = np.zeros((2, 2))
        whole[: len(covariance), : len(covariance)] = covariance
        whole.flags.writeable = False
        return HandedCurve(
            offset=float(fitted.values[0]),
            slope=slope,
            covariance=whole,
            corrections=None,
            off=0.0,
            domain=domain,
        )
    return _bent(fitted, covariance, domain=domain, half_width=half_width)


def covered(raw: Array, found: Sequence[Place]) -> tuple[float, float]:
    """Codes that the points cover, half a usual step between places more at either end. [count]"""
    codes = np.sort(place_means(found, raw))
    more = float(np.median(np.diff(codes))) / 2.0
    return float(codes[0] - more), float(codes[-1] + more)


def _bent(
    fitted: Fitted, covariance: Array, *, domain: tuple[float, float], half_width: float
) -> HandedCurve:
    codes: Array = domain[0] + (domain[1] - domain[0]) * np.linspace(0.0, 1.0, 8 * MOST_NODES)
    offset, slope = _carrier(fitted, codes)
    turn = fitted.model.turn if isinstance(fitted.model, Harmonics) else None
    pieces = FEWEST_PIECES
    while True:
        table = _table(fitted, offset, slope, domain=domain, pieces=pieces, turn=turn)
        off = float(np.max(np.abs(offset + slope * codes + table.at(codes) - fitted.predict(codes))))
        if off <= CLOSE * half_width or 2 * pieces >= MOST_NODES:
            break
        pieces *= 2
    return HandedCurve(
        offset=offset,
        slope=slope,
        covariance=_of_line(fitted, covariance, codes),
        corrections=table,
        off=off,
        domain=domain,
    )


def _carrier(fitted: Fitted, codes: Array) -> tuple[float, float]:
    """Offset and slope of the line under a curve: of waves their own, so that what is left comes round."""
    if isinstance(fitted.model, Harmonics):
        own = fitted.model.slope
        return float(fitted.values[0]), float(fitted.values[1]) if own is None else own
    line = fit_line(codes, fitted.predict(codes))
    return line.offset, line.slope


def _table(
    fitted: Fitted,
    offset: float,
    slope: float,
    *,
    domain: tuple[float, float],
    pieces: int,
    turn: float | None,
) -> Corrections:
    """Corrections at evenly spaced codes over the domain, or over one turn, where they come round."""
    step = (domain[1] - domain[0] if turn is None else turn) / pieces
    codes: Array = np.asarray(domain[0] + step * np.arange(pieces + (turn is None)), dtype=np.float64)
    return Corrections(
        first=domain[0], step=step, values=fitted.predict(codes) - (offset + slope * codes), period=turn
    )


def _of_line(fitted: Fitted, covariance: Array, codes: Array) -> Array:
    """Covariance of the line of least squares through a curve whose parameters are so well known."""
    design = np.stack([np.ones_like(codes), codes], axis=1)
    project = np.linalg.pinv(design) @ fitted.model.jacobian(fitted.values, codes)
    found = project @ covariance @ project.T
    found.flags.writeable = False
    return np.asarray(found)
