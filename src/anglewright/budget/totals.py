"""From contributions to one interval: sums, coverage factor, worst place, shares, what to cure first."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from anglewright.budget.contributions import Contribution
from anglewright.budget.refusals import hold_finite
from anglewright.budget.states import State, StateErrors, state_errors
from anglewright.calibration.student import coverage_factor, effective_dof
from anglewright.links.code import CodeLine
from anglewright.links.protocol import Array
from anglewright.rig import Axis, datasheet_line

BIAS_MATTERS = 0.05  # share of the half-width from which a bias is worth a word [1]
DUST = 1e-12  # share of the half-width below which a bias is what the arithmetic of the computer leaves [1]
POSITIONS = 109  # looked at over the range, both ends included [1]


def combined_variance(parts: Iterable[Contribution]) -> Array:
    """Variance over the positions: squares add, but parts of play move together and add first.

    Parameters
    ----------
    parts : iterable of Contribution
        Of one state, over the same positions.

    Returns
    -------
    array, (P,)
        Variance. [m2 or rad2]

    Notes
    -----
    Two plays in a row act as one play of their sum, so their halves are fully correlated.

    References
    ----------
    gum, play-operator
    """
    parts = tuple(parts)
    lagging = [part for part in parts if part.lags]
    together = sum((part.curves[0] for part in lagging), np.float64(0.0))
    loose = [np.sum(part.curves[1:] ** 2, axis=0) for part in lagging]
    single = [part.standard_uncertainty**2 for part in parts if not part.lags]
    return np.asarray(sum([*single, *loose], np.float64(0.0)) + together**2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One line of the budget at the worst place. [m or rad]; shares of variance sum to 1. [1]

    `limit` is the largest error with the number at its limits, normal ones at three standard deviations.
    `half` is half the play of a line that lags, `lags_with` that of all lines that lag together; else 0.
    """

    link: str
    quantity: str
    meaning: str
    persistence: str
    cured_by: str
    standard_uncertainty: float
    limit: float
    share: float
    half: float = 0.0
    lags_with: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """What one change would leave of the half-width. [m or rad]"""

    change: str
    half_width_95: float
    meets: bool


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StateBudget:
    """One state, over the range and at its worst place; lengths and angles in m or rad.

    `bias`, `standard_uncertainty` and `half_width` are curves over `positions`, shape (P,).
    """

    state: State
    positions: Array
    bias: Array
    standard_uncertainty: Array
    half_width: Array
    worst_case: float
    worst: int
    permissible: float
    shares: tuple[Share, ...]
    cures: tuple[Cure, ...]

    @property
    def worst_at(self) -> float:
        """Position of the worst place. [m or rad]"""
        return float(self.positions[self.worst])

    @property
    def half_width_95(self) -> float:
        """Bias and interval together at the worst place. [m or rad]"""
        return float(self.half_width[self.worst])

    @property
    def meets(self) -> bool:
        """True where the need is met over the whole range."""
        return self.half_width_95 <= self.permissible

    def half_width_at(self, q: float) -> float:
        """Bias and interval together at a position, between the places looked at. [m or rad]"""
        return float(np.interp(q, self.positions, self.half_width))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class AxisBudget:
    """All states of one axis; `line` is that of its data sheet."""

    axis: Axis
    line: CodeLine
    states: tuple[StateBudget, ...]

    def of(self, state: State) -> StateBudget:
        """One state."""
        return next(budget for budget in self.states if budget.state is state)

    @property
    def resolution(self) -> float:
        """Change of position that one code of the data-sheet line stands for. [m or rad]"""
        return abs(self.line.slope)


def _shares(parts: tuple[Contribution, ...], place: int, variance: float) -> tuple[Share, ...]:
    together = sum(float(part.curves[0, place]) for part in parts if part.lags)
    rows = []
    for part in parts:
        u = float(part.standard_uncertainty[place])
        own = u**2
        if part.lags:
            half = float(part.curves[0, place])
            own = half * together + u**2 - half**2
        rows.append(
            Share(
                link=part.link,
                quantity=part.quantity,
                meaning=part.meaning,
                persistence=part.persistence.value,
                cured_by=part.cured_by,
                standard_uncertainty=u,
                limit=float(part.worst[place]),
                share=own / variance if variance else 0.0,
                half=abs(float(part.curves[0, place])) if part.lags else 0.0,
                lags_with=abs(together) if part.lags else 0.0,
            )
        )
    return tuple(sorted(rows, key=lambda row: -row.share))


def _factor(parts: tuple[Contribution, ...], variance: Array) -> Array | float:
    """Coverage factor at 95 %, from the effective degrees of freedom at each place. [1]"""
    known = [(part.standard_uncertainty, part.dof) for part in parts if not math.isinf(part.dof)]
    if not known:
        return coverage_factor(math.inf)
    rest = np.sqrt(np.maximum(variance - sum(u**2 for u, _ in known), 0.0))
    places = range(len(variance))
    pairs = ([*((float(u[k]), dof) for u, dof in known), (float(rest[k]), math.inf)] for k in places)
    return np.array([coverage_factor(effective_dof(each)) for each in pairs])


def _half_width(errors: StateErrors, parts: tuple[Contribution, ...]) -> tuple[Array, Array]:
    """Standard uncertainty and half-width over the positions."""
    variance = np.broadcast_to(combined_variance(parts), errors.bias.shape)
    u = np.sqrt(variance)
    return u, np.abs(errors.bias) + _factor(parts, variance) * u


def widest(errors: StateErrors) -> float:
    """Half-width of a state at its worst place. [m or rad]

    Parameters
    ----------
    errors : StateErrors
        Bias and contributions over the range. [m or rad]

    Returns
    -------
    float
        Bias and interval together. [m or rad]

    References
    ----------
    gum
    """
    return float(np.max(_half_width(errors, errors.parts)[1]))


def _cures(errors: StateErrors, permissible: float, most: int = 6) -> tuple[Cure, ...]:
    """What halving each contribution would leave; the most useful first."""
    cures = []
    for part, left in zip(errors.parts, _halvings(errors), strict=True):
        cures.append(Cure(change=f"halve the {part.meaning}", half_width_95=left, meets=left <= permissible))
    if any(part.lags for part in errors.parts):
        left = float(_half_width(errors, tuple(part for part in errors.parts if not part.lags))[1].max())
        change = "no play: preload it, or always come from the same side, in calibrating too"
        cures.append(Cure(change=change, half_width_95=left, meets=left <= permissible))
    _, half_width = _half_width(errors, errors.parts)
    left = float(np.max(half_width - np.abs(errors.bias)))
    if float(half_width.max()) - left > BIAS_MATTERS * left:
        change = "take out the known bias: less loading of the track, or a model that follows it"
        cures.append(Cure(change=change, half_width_95=left, meets=left <= permissible))
    return tuple(sorted(cures, key=lambda cure: cure.half_width_95)[:most])


def _halvings(errors: StateErrors) -> list[float]:
    """Half-width with each contribution in turn at half its size. [m or rad]"""
    parts, bias = errors.parts, np.abs(errors.bias)
    whole = combined_variance(parts)
    together = sum((part.curves[0] for part in parts if part.lags), np.float64(0.0))
    left = []
    for index, part in enumerate(parts):
        fewer = whole - 0.75 * part.standard_uncertainty**2
        if part.lags:  # its own half goes with the others before it is squared
            half = part.curves[0]
            fewer = fewer + 0.75 * half**2 + (together - half / 2.0) ** 2 - together**2
        halved = (*parts[:index], part.halved(), *parts[index + 1 :])
        fewer = np.broadcast_to(np.maximum(fewer, 0.0), bias.shape)
        left.append(float(np.max(bias + _factor(halved, fewer) * np.sqrt(fewer))))
    return left


def summed(errors: StateErrors, axis: Axis, positions: Array) -> StateBudget:
    """One state from its bias and contributions.

    Parameters
    ----------
    errors : StateErrors
        Bias and contributions. [m or rad]
    axis : Axis
        The axis, for what it needs.
    positions : array, (P,)
        Where the error was looked at. [m or rad]

    Returns
    -------
    StateBudget
        Curves, worst place, shares, cures. [m or rad]

    Raises
    ------
    RigError
        Something in it is no finite number; it is named, with the place.

    References
    ----------
    gum
    """
    hold_finite(axis, positions, bias=errors.bias, parts=errors.parts)
    u, half_width = _half_width(errors, errors.parts)
    worst = int(np.argmax(half_width))
    limits = sum((part.worst for part in errors.parts), np.zeros_like(errors.bias))
    return StateBudget(
        state=errors.state,
        positions=positions,
        bias=np.where(np.abs(errors.bias) > DUST * half_width, errors.bias, 0.0),
        standard_uncertainty=u,
        half_width=half_width,
        worst_case=float(np.max(np.abs(errors.bias) + limits)),
        worst=worst,
        permissible=axis.permissible,
        shares=_shares(errors.parts, worst, float(u[worst]) ** 2),
        cures=_cures(errors, axis.permissible),
    )


def budget_axis(axis: Axis) -> AxisBudget:
    """The first-order budget of an axis, in three states over its whole range.

    Parameters
    ----------
    axis : Axis
        The axis with its parts, need and plan.

    Returns
    -------
    AxisBudget
        Bias, standard uncertainty and half-width by state. [m or rad]

    Raises
    ------
    RigError
        A number of it cannot be computed; it is named.

    References
    ----------
    gum
    """
    positions, line = axis.positions(POSITIONS), datasheet_line(axis)
    states = tuple(summed(errors, axis, positions) for errors in state_errors(axis, positions, line=line))
    return AxisBudget(axis=axis, line=line, states=states)
