"""Constants that a team already has in its code: read, judged over the range, their likely mistake named."""

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from anglewright.budget.totals import StateBudget
from anglewright.errors import Problem, QuantityError, UsageError
from anglewright.jobs.shown import Json, Table
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm

if TYPE_CHECKING:
    from anglewright.links.code import CodeLine

OPTION = "--code-line"
PLACES = 9  # of the bias that a table shows, both ends of the range included [1]
RAW_WORDS = {
    RawForm.COUNTS: "count",
    RawForm.VOLTS: "V",
    RawForm.FRACTION: "whole scale",
    RawForm.TURNS: "turn",
}
"""One unit of what the controller shows, in words."""

_PER = {
    RawForm.COUNTS: ("count", "counts", "code", "LSB", "lsb"),
    RawForm.VOLTS: ("V", "volt"),
    RawForm.FRACTION: ("1",),
    RawForm.TURNS: ("turn", "rev"),
}
_BARE = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Judgement:
    """A line in the code of one axis: its constants in SI per unit of raw, its budget, its likely mistake."""

    axis: Axis
    slope: float
    offset: float
    line: "CodeLine"
    budget: StateBudget
    mistake: str

    @property
    def sentence(self) -> str:
        """Where the line is most off, and what is likely wrong with it."""
        unit, bias = self.axis.unit, self.budget.bias
        worst = int(np.argmax(np.abs(bias)))
        off, at = float(bias[worst]), show(float(self.budget.positions[worst]), unit)
        side = "high" if off > 0.0 else "low"
        said = (
            f"The constants read {show(abs(off), unit, digits=3)} too {side} at {at}, where they are worst."
        )
        return f"{said} {self.mistake}".strip()

    def as_json(self) -> Json:
        """The constants, the signed bias over the range, its worst place, the likely mistake."""
        unit, found = self.axis.unit, self.budget
        worst = int(np.argmax(np.abs(found.bias)))
        return {
            "slope": unit.difference_from_si(self.slope),
            "offset": unit.from_si(self.offset),
            "unit": unit.name,
            "per": RAW_WORDS[self.axis.raw],
            "bias": [
                {"position": unit.from_si(q), "bias": unit.difference_from_si(bias)}
                for q, bias in zip(found.positions.tolist(), found.bias.tolist(), strict=True)
            ],
            "worst_bias": unit.difference_from_si(float(found.bias[worst])),
            "worst_bias_at": unit.from_si(float(found.positions[worst])),
            "likely_mistake": self.mistake or None,
        }

    def table(self) -> Table:
        """The signed bias and the half-width at a few places over the range."""
        unit, found = self.axis.unit, self.budget
        at = np.linspace(found.positions[0], found.positions[-1], PLACES).tolist()
        rows = tuple(
            (
                show(q, unit),
                show(float(np.interp(q, found.positions, found.bias)), unit, digits=3),
                f"±{show(found.half_width_at(q), unit, digits=3)}",
            )
            for q in at
        )
        constants = f"{show(self.slope, unit, digits=6)} a {RAW_WORDS[self.axis.raw]}"
        return Table(
            title=f"{self.axis.name}: {constants}, {show(self.offset, unit, digits=6)} at 0",
            columns=("position", "bias", "95 %"),
            rows=rows,
            right=("position", "bias", "95 %"),
            note="bias: computed less true position, on a machine whose numbers are all in their middle.",
        )


def judge(axis: Axis, text: str) -> Judgement:
    """Judge the constants of a line in the code.

    Parameters
    ----------
    axis : Axis
        The axis whose position the code computes.
    text : str
        Slope and offset, parted by a comma or a semicolon: ``0.0439, -65.2`` in the unit of the axis, or
        with units, ``0.0439 deg, -65.2 deg``. The slope is for one unit of what the controller shows.

    Returns
    -------
    Judgement
        Its budget, and what is likely wrong. [m or rad]

    Raises
    ------
    UsageError
        The text is not a slope and an offset.
    RigError
        The budget cannot be computed.

    References
    ----------
    gum, practice
    """
    from anglewright.budget.codeline import judged, line_in_code
    from anglewright.budget.mistakes import likely_mistake

    slope, offset = constants(axis, text)
    line = line_in_code(axis, slope=slope, offset=offset)
    budget = judged(axis, line)
    return Judgement(
        axis=axis,
        slope=slope,
        offset=offset,
        line=line,
        budget=budget,
        mistake=likely_mistake(axis, line, budget),
    )


def constants(axis: Axis, text: str) -> tuple[float, float]:
    """Slope and offset as they were typed.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit and for what its controller shows.
    text : str
        The two constants.

    Returns
    -------
    float, float
        Slope for one unit of raw, and offset. [m or rad]

    Raises
    ------
    UsageError
        There are not two, or one of them is not a number of the axis.
    """
    parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
    unit = axis.unit.name
    if len(parts) != 2 or not all(parts):
        remedy = f'Write slope and offset, as in {OPTION} "0.0415 {unit}, -37.5 {unit}".'
        raise UsageError(Problem(OPTION, f"'{text}' is not two constants", "", remedy))
    slope = _constant(axis, _without_raw(axis, parts[0]), "slope")
    if slope == 0.0:
        found = "the slope is 0, so every reading would give the same position"
        raise UsageError(
            Problem(OPTION, found, "", "Give the position that one unit of the reading stands for.")
        )
    return slope, _constant(axis, parts[1], "offset")


def _without_raw(axis: Axis, text: str) -> str:
    """The slope without the unit of the raw reading that may follow it, ``0.0415 deg/count``."""
    number, stroke, per = text.partition("/")
    if not stroke:
        return text
    if per.strip() not in _PER[axis.raw]:
        found = f"the slope is for one '{per.strip()}'"
        limit = f"the controller shows {axis.raw.value} (converter.raw)"
        raise UsageError(Problem(OPTION, found, limit, f"Give it for one {RAW_WORDS[axis.raw]}."))
    return number.strip()


def _constant(axis: Axis, text: str, what: str) -> float:
    """One constant; without a unit it is in that of the axis. [m or rad]"""
    plain = text.replace("\u2212", "-")
    try:
        found = read_quantity(
            f"{plain} {axis.unit.name}" if _BARE.fullmatch(plain) else text, kinds=axis.unit.kind
        )
    except QuantityError as fault:
        raise UsageError([problem.within(f"{OPTION}, {what}") for problem in fault.problems]) from None
    if found.below or found.above or found.rms:
        said = Problem(
            f"{OPTION}, {what}", f"'{text}' has a tolerance", "a constant in code has none", "Leave it out."
        )
        raise UsageError(said)
    return found.value
