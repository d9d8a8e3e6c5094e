"""Errors that come round with the sensor, as a finding: how high, how sure, what most likely makes them."""

import math
from collections.abc import Sequence

from anglewright.angles import TURN
from anglewright.calibration.models.bent import Harmonics
from anglewright.calibration.result import Calibration
from anglewright.calibration.waves import Wave, turn_waves
from anglewright.findings import Finding, Severity
from anglewright.jobs.appraising import Said, finding_in_unit
from anglewright.quantities.showing import show
from anglewright.rig import Axis

WAVES_WORTH_A_WORD = 0.05  # of the permissible error: a lower wave is none (common practice, no source) [1]
HIGH = 0.5  # of the permissible error, from which a wave is a caution (common practice, no source) [1]
SAME_TURN = 0.02  # by which turns of sensor and axis may differ and still go together [1]

SHOWN_BEFORE = {"once-per-turn": 1, "twice-per-turn": 2}
"""Findings of the points alone that this one takes the place of, each with its waves in a turn."""

_TIMES = {1: "once", 2: "twice"}
_CAUSES = {
    1: "the magnet or disc sits off its centre",
    2: "the magnet is tilted, too near or too far, or a joint of the drive stands at an angle",
}
_STATUS = "Check the sensor's field status first, where it has one."
_WOBBLE = (
    "To tell the reference's wobble, turn the reference on its shaft by a quarter and take the points again: "
    "the wave goes with it."
)


def harmonics_findings(
    axis: Axis, calibration: Calibration, *, before: Sequence[Finding] = ()
) -> list[Finding]:
    """Waves once and twice in a turn of the sensor, where they are in the model or stand out of the scatter.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit and permissible error.
    calibration : Calibration
        The calibration. [rad or m]
    before : sequence of Finding
        What the points alone showed: its word on the data sheet is kept.

    Returns
    -------
    list of Finding
        One at the most, a caution where a wave is higher than half the permissible error.

    References
    ----------
    practice
    """
    waves, fit = turn_waves(calibration.fit), calibration.fit
    used = isinstance(fit.fitted.model, Harmonics)
    named = {order: each for each in before if (order := SHOWN_BEFORE.get(each.key))}
    least = 0.0 if used else WAVES_WORTH_A_WORD * axis.permissible
    seen = [each for each in waves if each.seen and each.height > least]
    orders = sorted({each.order for each in seen} | set(named))
    if not waves or not (orders or (used and fit.choice.wanted)):
        return []
    highest = max(each.height for each in waves)
    beyond = any(each.severity is Severity.CAUTION for each in named.values())
    high = any(each.height > HIGH * axis.permissible for each in seen)
    said = Said(
        key="harmonics",
        text=f"The error comes round with the sensor: {_sizes(waves, axis)} (95 %). "
        f"{_what_is_left(calibration.model, used=used, orders=orders)}{_beyond(axis, named)}",
        remedy=_remedy(axis, calibration, orders),
    )
    severity = Severity.CAUTION if beyond or high else Severity.NOTE
    return [finding_in_unit(axis, said, severity=severity, measured=highest, limit=HIGH * axis.permissible)]


def _sizes(waves: Sequence[Wave], axis: Axis) -> str:
    """The height of each wave with its uncertainty."""
    return ", ".join(
        f"{_TIMES[each.order]} per turn {show(each.height, axis.unit, digits=2)}"
        f" ± {show(each.u_95, axis.unit, digits=2)} high"
        for each in waves
    )


def _what_is_left(model: str, *, used: bool, orders: Sequence[int]) -> str:
    if not orders:
        return "Neither stands out of the scatter: a simpler model would do."
    if used:
        return "The model takes that out, for as long as nothing is moved."
    return f"The model in use, {model}, knows no waves."


def _beyond(axis: Axis, named: dict[int, Finding]) -> str:
    """What the data sheet allows, where a wave is surely higher."""
    limits = {each.limit for each in named.values() if each.severity is Severity.CAUTION and each.limit}
    return "".join(f" Its data sheet allows {limit:.2g} {axis.unit.name}." for limit in sorted(limits))


def _remedy(axis: Axis, calibration: Calibration, orders: Sequence[int]) -> str:
    """Likely causes of each wave, and how to tell one that two parts can make."""
    if not orders:
        return 'Write model = "best" in the plan, and the points choose.'
    wobbles = [order for order in orders if _once_round_the_axis(axis, calibration, order)]
    causes = [
        f"{_TIMES[order].capitalize()} per turn: {_CAUSES[order]}"
        f"{', or the reference itself wobbles' if order in wobbles else ''}."
        for order in orders
    ]
    return " ".join([_STATUS, *causes, *([_WOBBLE] if wobbles else [])])


def _once_round_the_axis(axis: Axis, calibration: Calibration, order: int) -> bool:
    """Whether so many waves a turn of the sensor are one a turn of the axis, as a reference's wobble is."""
    tried = (each.model for each in calibration.fit.choice.candidates)
    turn = next(model.turn for model in tried if isinstance(model, Harmonics))
    axis_turns = turn * abs(calibration.slope) / TURN
    return axis.motion.rotary and math.isclose(order, axis_turns, rel_tol=SAME_TURN)
