"""The planned model on a machine whose every number is in its middle: its curve, what it takes off errors."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.budget.corrections import Correction, plan_positions
from anglewright.budget.refusals import hold_moving
from anglewright.calibration.choice import LEAST_DOF, enough
from anglewright.calibration.models.fitted import Fitted, Model
from anglewright.calibration.models.straight import Line
from anglewright.errors import DataError, Problem, RigError
from anglewright.links.protocol import Array
from anglewright.rig import BEST, Axis, at_mean, realise

LINE = "line"
STRAIGHT = (BEST, LINE)
"""Planned models that the budget counts as a straight line: "best" follows at least as well."""

_WAVES_INSTEAD = "for a sensor that shows its turn, or an axis without ends, is followed by waves"
_TAKES: Mapping[str, str] = {
    "fixed slope": "for it takes counts per turn and a drive that are known exactly",
    "harmonics": "for it takes a sensor without a track that turns three quarters of a turn or more",
    "loaded divider": "for it takes a resistive track",
    "straightened": "for it takes a converter with a table in the rig file",
}
"""Why a model cannot be true of an axis; of free curves `_WAVES_INSTEAD`."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PlannedCurve:
    """The planned model through the planned places (K,) and their mean codes (K,). [m or rad, count]"""

    fitted: Fitted
    places: Array
    codes: Array

    def forward(self, codes: Array) -> Array:
        """Position of each code. [m or rad]"""
        return self.fitted.predict(codes)

    def slope_at(self, codes: Array) -> Array:
        """Slope at each code. [m or rad per count]"""
        return self.fitted.slope(codes)

    def correction(self, codes: Array) -> Correction:
        r"""What fitting the model takes off an error curve that is looked at where the mean codes are these.

        Parameters
        ----------
        codes : array, (P,)
            Mean codes of the positions looked at. [count]

        Returns
        -------
        Correction
            The least-squares projector of the model. [1]

        Notes
        -----
        :math:`P = g(q)^T (G^T G)^{-1} G^T`, the columns :math:`g` being what a change of each parameter does
        to the position: the model itself where it is linear, else its tangent at the mean chain.

        References
        ----------
        gum-h3
        """
        design, at = self._columns(self.codes), self._columns(codes)
        size = np.linalg.norm(design, axis=0)
        return Correction(places=self.places, weights=(at / size) @ np.linalg.pinv(design / size))

    def _columns(self, codes: Array) -> Array:
        return self.fitted.model.jacobian(self.fitted.values, codes)


def mean_codes(axis: Axis, places: Array) -> Array:
    """Codes, not rounded, of a machine whose every number is in its middle.

    Parameters
    ----------
    axis : Axis
        The axis.
    places : array, (K,)
        Where it stands. [m or rad]

    Returns
    -------
    array, (K,)
        Mean codes. [count]

    Raises
    ------
    RigError
        A code is no number, or the code is the same everywhere; the part is named.
    """
    chain = realise(axis, at_mean).unrounded()
    traced = [np.broadcast_to(values, places.shape) for values in chain.trace(places)]
    hold_moving(axis, places, traced)
    return traced[-1]


def planned_curve(axis: Axis) -> PlannedCurve | None:
    """The curve that the plan would find on a machine whose every number is in its middle.

    Parameters
    ----------
    axis : Axis
        The axis with its plan.

    Returns
    -------
    PlannedCurve or None
        None where the budget counts on a straight line: the plan says so, or leaves the model to the points,
        or names one that `plan_problem` refuses.

    References
    ----------
    gum-h3
    """
    found = _planned(axis)
    return found if isinstance(found, PlannedCurve) else None


def counted_model(axis: Axis) -> str:
    """Name of the model that the budget counts on: of the plan, or a line where the points are to choose."""
    return LINE if axis.plan.model in STRAIGHT else axis.plan.model


def plan_problem(axis: Axis) -> Problem | None:
    """Why the planned model cannot be.

    Parameters
    ----------
    axis : Axis
        The axis with its plan.

    Returns
    -------
    Problem or None
        What is wrong with the plan, and what to plan instead; None where nothing is.

    References
    ----------
    practice
    """
    if axis.plan.model in STRAIGHT:
        return _too_few(axis, Line())
    try:
        found = _planned(axis)
    except RigError as fault:
        return fault.problems[0]
    return found if isinstance(found, Problem) else None


def _planned(axis: Axis) -> PlannedCurve | Problem | None:
    if axis.plan.model in STRAIGHT:
        return None
    from anglewright.calibration.offers import model_named  # a plan of a line needs no other models

    places = plan_positions(axis)
    codes, offer = mean_codes(axis, places), model_named(axis, axis.plan.model)
    if offer is None:
        return _unsuitable(axis, np.sort(codes))
    model = offer(np.sort(codes))
    few = _too_few(axis, model)
    if few is not None:
        return few
    try:
        fitted = model.fit(codes, places, weights=np.ones_like(places))
    except (DataError, np.linalg.LinAlgError):
        told = f"the planned places do not tell the parameters of the planned model '{model.name}' apart"
        return _problem(axis, told, "", "Plan a simpler model, and look at where the sensor is clamped.")
    return PlannedCurve(fitted=fitted, places=places, codes=codes)


def _too_few(axis: Axis, model: Model) -> Problem | None:
    plan = axis.plan
    points = plan.points * (2 if plan.both_sides else 1)
    if enough(model, points=points, positions=plan.points):
        return None
    count = len(model.names)
    named = "even a line" if plan.model == BEST else f"the planned model '{plan.model}'"
    found = (
        f"{named} has {count} parameter{'s' * (count > 1)}, and the plan takes {points} points at "
        f"{plan.points} positions"
    )
    limit = f"and {count + LEAST_DOF} points at {max(count + 1, 3)} positions are the least"
    if model.through_places:
        limit = f"and {count + LEAST_DOF} points are the least"
    remedy = "Plan more positions, both sides, or a simpler model."
    return _problem(axis, found, limit, remedy)


def _unsuitable(axis: Axis, codes: Array) -> Problem:
    from anglewright.calibration.offers import models_for

    name = axis.plan.model
    suit = ", ".join([BEST, *(offer(codes).name for offer in models_for(axis))])
    found = f"the planned model '{name}' cannot be true of this axis"
    return _problem(axis, found, _TAKES.get(name, _WAVES_INSTEAD), f"Plan one of these: {suit}.")


def _problem(axis: Axis, found: str, limit: str, remedy: str) -> Problem:
    return Problem(f"axis '{axis.name}'", found, limit, remedy)
