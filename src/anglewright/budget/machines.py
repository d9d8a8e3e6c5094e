"""Many machines of one axis at once: built, clamped, zeroed, calibrated and read as their user will do it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import nearest_turn
from anglewright.budget.contributions import Play
from anglewright.budget.corrections import plan_positions
from anglewright.budget.planned import PlannedCurve
from anglewright.calibration.curves import read_by_curves
from anglewright.calibration.lines import fit_lines
from anglewright.chain import Chain
from anglewright.circuits import Numeric, nonzero
from anglewright.errors import Problem, RigError
from anglewright.links.code import CodeLine
from anglewright.links.protocol import Array, Number
from anglewright.quantities.spread import Persistence
from anglewright.rig import Axis, code_period, realise

_RISING, _FALLING = 1.0, -1.0
_SIDES_OF_BYTE = np.where(np.unpackbits(np.arange(256, dtype=np.uint8)[:, None], axis=1), _RISING, _FALLING)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Machines:
    """So many machines, their build numbers drawn once; what else they need comes from `rng`.

    `built` holds the build numbers by key, each (B, 1) or exact. [SI] `line` is that of the data sheet.
    """

    axis: Axis
    line: CodeLine
    count: int
    rng: np.random.Generator
    built: Mapping[str, Any]

    def spread_out(self, values: Array) -> Array:
        """The same values (P,) for every machine, (B, P). [unit of the values]"""
        return np.repeat(values[:, None], self.count, axis=1).T

    def session(self, readings: int) -> Chain:
        """The machines on one day: conditions drawn anew, noise fresh in each of so many readings."""

        def pick(number: Number) -> Any:
            held = self.built.get(number.key)
            if held is not None:
                return held
            fresh = number.variate.persistence is Persistence.READING
            return _by_column(number.variate.draw(self.rng, (readings if fresh else 1, self.count)))

        return realise(self.axis, pick)

    def mean_codes(self, places: Array, sides: Array) -> Array:
        """Codes at places (V,) or (B, V) from sides (V,), mean of the plan's readings, (B, V). [count]"""
        repeats = self.axis.plan.readings
        chain = self.session(len(sides) * repeats)
        first = _first_noisy(self.axis)
        quiet = Chain(chain.links[:first]).forward(places, side=sides)
        held = np.concatenate([np.broadcast_to(quiet, (self.count, len(sides)))] * repeats, axis=1)
        side = np.tile(np.broadcast_to(chain.sides(sides)[first], sides.shape), repeats)
        codes = np.asarray(Chain(chain.links[first:]).forward(held, side=side))
        period = code_period(self.axis, chain.codes, self.line)
        if period is not None:
            expected = np.broadcast_to(np.asarray(self.line.backward(places)), (self.count, len(sides)))
            expected = np.tile(expected, repeats)
            codes = np.asarray(nearest_turn(codes, expected, period=period))
        return np.asarray(sum(np.split(codes, repeats, axis=1)) / repeats)


def machines_of(axis: Axis, line: CodeLine, rng: np.random.Generator, *, count: int) -> Machines:
    """So many machines of an axis, each with build numbers of its own; numbers without a spread stay plain.

    Parameters
    ----------
    axis : Axis
        The axis with its parts.
    line : CodeLine
        The line of its data sheet. [m or rad, m/count or rad/count]
    rng : Generator
        Where all that is random comes from.
    count : int
        How many machines. [1]

    Returns
    -------
    Machines
        Built, not yet zeroed or calibrated. [SI]
    """
    built = {}
    for number in axis.numbers:
        if number.variate.is_exact:
            built[number.key] = number.variate.mean
        elif number.variate.persistence is Persistence.BUILD:
            built[number.key] = _by_column(number.variate.draw(rng, (1, count)))
    return Machines(axis=axis, line=line, count=count, rng=rng, built=built)


def _by_column(drawn: Array) -> Array:
    """Drawn numbers (R, B) or (R, B, 7) as (B, R) or (B, R, 7), the builds next to each other in memory.

    Whatever is worked out from them keeps that order, and runs over a thousand builds at a stroke.
    """
    return np.asfortranarray(drawn.swapaxes(0, 1))


def _first_noisy(axis: Axis) -> int:
    """Place in the chain of the first part that differs from reading to reading, if only the converter."""
    for index, (_, numbers) in enumerate(axis.numbered):
        if any(number.variate.persistence is Persistence.READING for number in numbers):
            return index
    return len(axis.numbered) - 1


def _sides_of_use(machines: Machines, places: int) -> Numeric:
    """From which side each place is reached, shape (B, P), less that on which the zero was set. [1]"""
    play, shape = Play(machines.axis.motion.settles), (places, machines.count)
    zero = machines.axis.zero_side
    if play is Play.ONE_SIDED:
        return _RISING - zero
    if play is Play.DITHERED:
        return _by_column(machines.rng.uniform(_FALLING, _RISING, shape) - zero)
    sides = _either_side(machines.rng, shape)
    return _by_column(sides - zero if zero else sides)


def _either_side(rng: np.random.Generator, shape: tuple[int, int]) -> Array:
    """From above or below at random, eight sides to a byte. [1]"""
    count = shape[0] * shape[1]
    drawn = rng.integers(0, 256, -(-count // 8), dtype=np.uint8)
    return _SIDES_OF_BYTE.take(drawn, axis=0).reshape(-1)[:count].reshape(shape)


def read_once(machines: Machines, positions: Array) -> Array:
    """Codes of one reading at each position, the axis having come to rest as it usually does.

    Parameters
    ----------
    machines : Machines
        The machines.
    positions : array, (P,)
        Where they are read. [m or rad]

    Returns
    -------
    array, (B, P)
        Whole codes. [count]
    """
    chain = machines.session(len(positions))
    lags = any(nonzero(link.lag) for link in chain.links)
    side = _sides_of_use(machines, len(positions)) if lags else 0.0
    places = positions if np.ndim(side) else machines.spread_out(positions)
    return np.asarray(chain.forward(places, side=side))


def zero_shift(machines: Machines) -> Array:
    """What zeroing takes off the data sheet's line, shape (B, 1).

    Parameters
    ----------
    machines : Machines
        The machines; each stands at the mark of its plan, as well as the mark is known.

    Returns
    -------
    array, (B, 1)
        Position that the line gives there, less that of the mark. [m or rad]

    Notes
    -----
    A machine that always comes to rest from one side does so here too; any other is read as its plan
    approaches: from both sides, or rising.
    """
    axis = machines.axis
    mark = axis.mark(axis.plan.zero_at).at
    one_sided = Play(axis.motion.settles) is Play.ONE_SIDED
    sides = _approaches(axis)[:1] if one_sided else _approaches(axis)
    stood = _by_column(mark.draw(machines.rng, (1, machines.count)))
    codes = machines.mean_codes(stood, sides - axis.zero_side).mean(axis=1, keepdims=True)
    return np.asarray(machines.line.forward(codes) - mark.nominal)


def _approaches(axis: Axis) -> Array:
    """The sides of the plan: rising, or rising and falling. [1]"""
    return np.array([_RISING, _FALLING] if axis.plan.both_sides else [_RISING])


def calibrated_lines(machines: Machines) -> tuple[Array, Array]:
    """Each machine's own line, from a calibration by the plan.

    Parameters
    ----------
    machines : Machines
        The machines.

    Returns
    -------
    array, array
        Offsets and slopes, each (B, 1). [m or rad, m/count or rad/count]

    Raises
    ------
    RigError
        A machine reads the same at all planned places.

    Notes
    -----
    The axis stands at the planned places; the reference shows them with its shared and its scale error,
    and at each place and side with a fresh one.
    """
    offsets, slopes = fit_lines(*_bench(machines))
    _hold_told(machines, np.isfinite(slopes))
    return offsets[:, None], slopes[:, None]


def calibrated_positions(machines: Machines, curve: PlannedCurve, codes: Array) -> Array:
    """What each machine's own curve, from a calibration by the plan, makes of its codes.

    Parameters
    ----------
    machines : Machines
        The machines.
    curve : PlannedCurve
        The planned model on a machine whose every number is in its middle. [m or rad, count]
    codes : array, (B, P)
        What they are read at. [count]

    Returns
    -------
    array, (B, P)
        Positions. [m or rad]

    Raises
    ------
    RigError
        A machine reads so nearly the same at the planned places that no curve can be told.

    Notes
    -----
    The bench is that of `calibrated_lines`.
    """
    x, y = _bench(machines)
    _hold_told(machines, np.ptp(x, axis=1) > 0.0)
    usual = np.tile(curve.codes, x.shape[1] // len(curve.codes))
    try:
        found = read_by_curves(curve.fitted, x, y, usual=usual, read=codes)
    except np.linalg.LinAlgError:
        name = f"the parameters of the planned model '{machines.axis.plan.model}'"
        told = f"a virtual build does not tell {name} from one another"
        remedy = "Plan a simpler model, and look at where the sensor is clamped and at its electrical travel."
        raise RigError(Problem(f"axis '{machines.axis.name}'", told, "", remedy)) from None
    return found


def _bench(machines: Machines) -> tuple[Array, Array]:
    """Mean codes at the planned places from the planned sides, and what the reference shows, each (B, V)."""
    axis = machines.axis
    approaches, places = _approaches(axis), plan_positions(axis)
    stood = np.tile(places, len(approaches))
    codes = machines.mean_codes(stood, np.repeat(approaches, len(places)) - axis.zero_side)
    return codes, _shown(machines, stood)


def _hold_told(machines: Machines, told: NDArray[np.bool_]) -> None:
    """Refuse machines (B,) that read the same at all planned places."""
    if np.all(told):
        return
    same = f"{np.count_nonzero(~told)} of {machines.count} virtual builds read the same "
    remedy = "Look at where the sensor is clamped, and at its electrical travel."
    raise RigError(Problem(f"axis '{machines.axis.name}'", f"{same}at all planned places", "", remedy))


def _shown(machines: Machines, stood: Array) -> Array:
    """What the reference shows where the axis stands, shape (B, V). [m or rad]"""
    reference, rng, count = machines.axis.plan.reference, machines.rng, machines.count
    scale, shared = (_by_column(each.draw(rng, (1, count))) for each in (reference.scale, reference.shared))
    return stood * (1.0 + scale) + shared + _by_column(reference.per_point.draw(rng, (len(stood), count)))
