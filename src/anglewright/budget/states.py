"""Three states of an axis: from the data sheet alone, zeroed at a mark, calibrated by its plan."""

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from anglewright.budget.contributions import Contribution, ErrorMap, Play, contributions
from anglewright.budget.corrections import Correction, line_fit, plan_positions, zeroing
from anglewright.budget.planned import PlannedCurve, mean_codes, planned_curve
from anglewright.calibration.lines import fit_lines
from anglewright.links.code import CodeLine
from anglewright.links.protocol import Array
from anglewright.quantities.spread import Persistence, Spread
from anglewright.rig import Axis, at_mean, datasheet_line, realise

CORRECTING = " while correcting"
"""Ends the name of a quantity that acts a second time, on the day that the line was set."""


class State(Enum):
    """What the code's line rests on; `CODE_LINE` is a line that a team already has in its code."""

    DATASHEET = "datasheet"
    ZEROED = "zeroed"
    CALIBRATED = "calibrated"
    CODE_LINE = "code_line"


STATES = (State.DATASHEET, State.ZEROED, State.CALIBRATED)
"""The states that every axis has."""


def _constant(spread: Spread, size: Array, *, reach: Array, quantity: str, meaning: str) -> Contribution:
    """A contribution whose curve is known without the chain; `reach` is that of its limit."""
    curve = spread.standard_uncertainty * size
    return Contribution(
        link="reference",
        quantity=quantity,
        meaning=meaning,
        persistence=Persistence.CONDITION,
        cured_by="a better reference",
        curves=curve[None, :],
        limits=np.abs(spread.limits[1] * reach)[None, :],
        dof=spread.dof,
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StateErrors:
    """Bias (P,) and contributions of one state, over the same positions. [m or rad]"""

    state: State
    bias: Array
    parts: tuple[Contribution, ...]


def _corrected(part: Contribution, seen: Contribution, correction: Correction) -> Contribution:
    """A build number after its error was seen at the places and taken out."""
    if part.persistence is not Persistence.BUILD:
        return part
    left = correction.remainder(part.curves, seen.curves)
    if part.free_shape:
        limits = (part.worst + correction.reach() * np.max(seen.worst))[None, :]
    else:
        limits = correction.remainder(part.limits, seen.limits)
    return replace(part, curves=left, limits=limits)


def _fresh(part: Contribution, correction: Correction, reads: int) -> Contribution:
    """Noise that entered the zero or the fit, averaged over so many fresh values at each place."""
    return replace(
        part,
        quantity=part.quantity + CORRECTING,
        meaning=f"{part.meaning}, in the readings that set the line",
        persistence=Persistence.CONDITION,
        cured_by="more points" if _at_rest(part) else "more readings per point",
        curves=np.mean(part.curves, axis=1)[:, None] * correction.noise_gain() / np.sqrt(reads),
        limits=(np.mean(part.worst) * correction.reach())[None, :],
    )


def _at_rest(part: Contribution) -> bool:
    """What is another after each motion, play apart: all readings of one rest share it."""
    return part.persistence is Persistence.MOTION and not part.lags


def _then(seen: Contribution, correction: Correction) -> Contribution:
    """A condition as it was while the line was set: another value than in use, and kept in the line."""
    return replace(
        seen,
        quantity=seen.quantity + CORRECTING,
        meaning=f"{seen.meaning}, on the day that the line was set",
        curves=seen.curves @ correction.weights.T,
        limits=seen.limits @ correction.weights.T,
    )


def _reference(axis: Axis, correction: Correction, positions: Array) -> tuple[Contribution, ...]:
    """Errors of the reference: fresh at each point, shared by all, and of its scale."""
    reference, flat = axis.plan.reference, np.ones_like(positions)
    gain = correction.noise_gain() / np.sqrt(2.0 if axis.plan.both_sides else 1.0)
    rows = (
        (reference.per_point, gain, correction.reach(), "per_point", "fresh at each point"),
        (reference.shared, flat, flat, "shared", "the same at all points"),
        (reference.scale, positions, positions, "scale", "growing with the position"),
    )
    return tuple(
        _constant(spread, size, reach=reach, quantity=name, meaning=f"error of the reference, {meaning}")
        for spread, size, reach, name, meaning in rows
        if not spread.is_exact
    )


def _at_mark(axis: Axis, positions: Array) -> tuple[Contribution, ...]:
    """How well the axis stands at the mark where it is zeroed."""
    mark = axis.mark(axis.plan.zero_at)
    if mark.at.is_exact:
        return ()
    flat, meaning = np.ones_like(positions), f"place of the mark '{axis.plan.zero_at}' at the zeroing"
    part = _constant(replace(mark.at, nominal=0.0), flat, reach=flat, quantity="zero", meaning=meaning)
    return (replace(part, link="motion", cured_by="a better mark"),)


def state_errors(axis: Axis, positions: Array, *, line: CodeLine | None = None) -> tuple[StateErrors, ...]:
    """Bias and contributions of all three states.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and plan.
    positions : array, (P,)
        Where the error is looked at. [m or rad]
    line : CodeLine, optional
        The line of the data sheet, where it is known already. [m or rad]

    Returns
    -------
    tuple of StateErrors
        Data sheet, zeroed, calibrated.

    Notes
    -----
    Numbers of the build are corrected; those of the condition, the reading and the motion are not. What
    the correction itself brings in (noise of its readings, conditions of its day, the mark, the reference)
    is added.

    References
    ----------
    gum, gum-h3
    """
    zero, fit = zeroing(axis, positions), line_fit(axis, positions)
    everywhere = np.concatenate([positions, zero.places, fit.places])
    errors = ErrorMap(axis=axis, line=line or datasheet_line(axis), positions=everywhere)
    play = Play(axis.motion.settles)
    first, last = len(positions), len(positions) + len(zero.places)
    bias = errors.bias
    seen = [_seen(errors, bias, zeroed=zeroed) for zeroed in (True, False)]
    curves = _Curves(
        positions=positions,
        bias=bias,
        seen_bias=np.concatenate([seen[0][:last], seen[1][last:]]),
        parts=contributions(errors, play, bias=bias),
    )
    planned = replace(errors, line=planned_line(axis))
    return (
        StateErrors(state=State.DATASHEET, bias=curves.bias[:first], parts=curves.over(slice(0, first))),
        _after(State.ZEROED, axis, zero, curves=curves, seen=slice(first, last)),
        _calibrated(planned, fit, curves=curves.by_line(errors, planned.line), first=last),
    )


def errors_in(axis: Axis, positions: Array, *, state: State) -> StateErrors:
    """Bias and contributions of one state alone, in a fraction of the time that all three take.

    Parameters
    ----------
    axis : Axis
        The axis with its parts and plan.
    positions : array, (P,)
        Where the error is looked at. [m or rad]
    state : State
        Data sheet, zeroed or calibrated.

    Returns
    -------
    StateErrors
        As among `state_errors`. [m or rad]

    References
    ----------
    gum, gum-h3
    """
    if state is State.DATASHEET:
        return errors_by(axis, positions, line=datasheet_line(axis), state=state)
    zeroed = state is State.ZEROED
    correction = zeroing(axis, positions) if zeroed else line_fit(axis, positions)
    line = datasheet_line(axis) if zeroed else planned_line(axis)
    errors = ErrorMap(axis=axis, line=line, positions=np.concatenate([positions, correction.places]))
    bias = errors.bias
    curves = _Curves(
        positions=positions,
        bias=bias,
        seen_bias=_seen(errors, bias, zeroed=zeroed),
        parts=contributions(errors, Play(axis.motion.settles), bias=bias),
    )
    first = len(positions)
    if zeroed:
        return _after(state, axis, correction, curves=curves, seen=slice(first, None))
    return _calibrated(errors, correction, curves=curves, first=first)


def _calibrated(errors: ErrorMap, line: Correction, *, curves: "_Curves", first: int) -> StateErrors:
    """The calibrated state, by the planned line or by the planned curve; `first` is its first planned place.

    `errors` and `curves` are those of the planned line; a curve only reads the same codes otherwise.
    """
    axis, seen = errors.axis, slice(first, None)
    curve = planned_curve(axis)
    if curve is None:
        return _after(State.CALIBRATED, axis, line, curves=curves, seen=seen)
    correction = curve.correction(mean_codes(axis, curves.positions))
    return _after(State.CALIBRATED, axis, correction, curves=curves.by_curve(errors, curve), seen=seen)


def errors_by(axis: Axis, positions: Array, *, line: CodeLine, state: State) -> StateErrors:
    """Bias and contributions where the code holds a line that nothing was corrected in.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    positions : array, (P,)
        Where the error is looked at. [m or rad]
    line : CodeLine
        The line of the code. [m or rad, m/count or rad/count]
    state : State
        What to call it.

    Returns
    -------
    StateErrors
        Every number as the data sheet leaves it; on an endless axis the bias the shortest way round.
        [m or rad]

    References
    ----------
    gum
    """
    errors = ErrorMap(axis=axis, line=line, positions=positions)
    bias = errors.bias
    parts = contributions(errors, Play(axis.motion.settles), bias=bias)
    return StateErrors(state=state, bias=np.asarray(axis.apart(bias)), parts=parts)


def _seen(errors: ErrorMap, bias: Array, *, zeroed: bool) -> Array:
    """The error that a correction sees: from the plan's sides, less the side on which the zero was set.

    An axis that always comes to rest from one side is zeroed from it too. A plan of both sides puts its
    line in the middle of the play all the same, and leaves half of it as a bias.
    """
    axis = errors.axis
    used = int(Play(axis.motion.settles) is Play.ONE_SIDED)
    side = used if zeroed and used else (0 if axis.plan.both_sides else 1)
    if side == used:
        return bias
    return errors.error(realise(axis, at_mean), side=side - axis.zero_side)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Curves:
    """Error curves over the positions and, behind them, over the places of both corrections.

    The chain is run once for all three states; another line of the code only scales what it did.
    """

    positions: Array
    bias: Array
    seen_bias: Array
    parts: tuple[Contribution, ...]

    def over(self, places: slice) -> tuple[Contribution, ...]:
        """The contributions over some of the places."""
        return tuple(
            replace(part, curves=part.curves[:, places], limits=part.limits[:, places]) for part in self.parts
        )

    def by_line(self, errors: ErrorMap, line: CodeLine) -> "_Curves":
        """The same codes read by another line."""
        ratio = line.slope / errors.line.slope

        def moved(error: Array) -> Array:
            codes = np.asarray(errors.line.backward(error + errors.positions))
            return np.asarray(line.forward(codes)) - errors.positions

        parts = tuple(
            replace(part, curves=part.curves * ratio, limits=part.limits * ratio) for part in self.parts
        )
        return _Curves(
            positions=self.positions, bias=moved(self.bias), seen_bias=moved(self.seen_bias), parts=parts
        )

    def by_curve(self, errors: ErrorMap, curve: PlannedCurve) -> "_Curves":
        """The same codes read by a curve, each error as large as the curve is steep where it happens."""

        def codes(error: Array) -> Array:
            return np.asarray(errors.line.backward(error + errors.positions))

        ratio = curve.slope_at(codes(self.bias)) / errors.line.slope
        parts = tuple(
            replace(part, curves=part.curves * ratio, limits=part.limits * ratio) for part in self.parts
        )
        bias, seen_bias = (
            curve.forward(codes(error)) - errors.positions for error in (self.bias, self.seen_bias)
        )
        return _Curves(positions=self.positions, bias=bias, seen_bias=seen_bias, parts=parts)


def _after(state: State, axis: Axis, correction: Correction, *, curves: _Curves, seen: slice) -> StateErrors:
    """One state after its correction: what is left, and what the correction itself brings in."""
    raw, positions = curves.over(slice(0, len(curves.positions))), curves.positions
    looks = curves.over(seen)
    parts = [_corrected(part, look, correction) for part, look in zip(raw, looks, strict=True)]
    parts += [_then(look, correction) for look in looks if look.persistence is Persistence.CONDITION]
    reads = axis.plan.readings * (2 if state is State.CALIBRATED and axis.plan.both_sides else 1)
    parts += [_fresh(part, correction, reads) for part in raw if part.persistence is Persistence.READING]
    parts += [_fresh(part, correction, 1) for part in raw if _at_rest(part)]
    extra = _at_mark(axis, positions) if state is State.ZEROED else _reference(axis, correction, positions)
    bias = correction.remainder(curves.bias[: len(positions)], curves.seen_bias[seen])
    return StateErrors(state=state, bias=bias, parts=(*parts, *extra))


def planned_line(axis: Axis) -> CodeLine:
    """The line that the plan would find on a machine whose every number is in its middle. [m or rad]

    Raises
    ------
    RigError
        There is none: a code is no number, or the code is the same everywhere; the part is named.
    """
    places = plan_positions(axis)
    (offset,), (slope,) = fit_lines(mean_codes(axis, places)[None], places[None])
    return CodeLine(offset=float(offset), slope=float(slope), rotary=axis.motion.rotary)
