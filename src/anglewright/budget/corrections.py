"""What zeroing and calibrating take off an error curve, to first order."""

from dataclasses import dataclass

import numpy as np

from anglewright.links.protocol import Array
from anglewright.rig import Axis


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Correction:
    """What zeroing or calibrating does to an error curve: takes off a mixture of its values at a few places.

    ``corrected = curve - weights @ at_places``: `weights` (P, K), K places whose errors are seen.
    """

    places: Array
    weights: Array

    def remainder(self, curve: Array, at_places: Array) -> Array:
        """What is left of an error curve, shape (..., P). [m or rad]"""
        return np.asarray(curve - at_places @ self.weights.T)

    def noise_gain(self) -> Array:
        """Root of the sum of squared weights: fresh noise of one place to the result, shape (P,). [1]"""
        return np.asarray(np.sqrt(np.sum(self.weights**2, axis=1)))

    def reach(self) -> Array:
        """Sum of the sizes of the weights, shape (P,). [1]"""
        return np.asarray(np.sum(np.abs(self.weights), axis=1))


def zeroing(axis: Axis, positions: Array) -> Correction:
    """The offset is set at one mark."""
    at = axis.mark(axis.plan.zero_at).at.nominal
    return Correction(places=np.array([at]), weights=np.ones((len(positions), 1)))


def line_fit(axis: Axis, positions: Array) -> Correction:
    r"""Offset and slope are fitted to the planned points.

    Parameters
    ----------
    axis : Axis
        The axis with its plan.
    positions : array, (P,)
        Where the error is looked at. [m or rad]

    Returns
    -------
    Correction
        The least-squares projector of a straight line. [1]

    Notes
    -----
    :math:`e' = (I - P) e` with :math:`P = g(q)^T (G^T G)^{-1} G^T`, :math:`g = (1, q)`.

    References
    ----------
    gum-h3
    """
    places = plan_positions(axis)
    middle, half = np.mean(places), np.ptp(places) / 2.0
    design = np.stack([np.ones_like(places), (places - middle) / half], axis=1)
    at = np.stack([np.ones_like(positions), (positions - middle) / half], axis=1)
    return Correction(places=places, weights=at @ np.linalg.pinv(design))


def plan_positions(axis: Axis) -> Array:
    """The positions of the calibration plan, evenly over the range, both ends included. [m or rad]"""
    return axis.positions(axis.plan.points)
