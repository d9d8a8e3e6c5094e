"""Job: how a number came about, step by step, with symbols, numbers put in, units and sources."""

from dataclasses import dataclass, replace

import numpy as np

from anglewright.budget.totals import Share, StateBudget
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.student import coverage_factor
from anglewright.jobs.expecting import place_named
from anglewright.jobs.findingtable import step_json
from anglewright.jobs.lines import LineInUse, line_in_use
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.rig import Axis, Rig, at_nominal, realise
from anglewright.sources import cite
from anglewright.steps import Step

NO_BIAS = 1e-9  # of the half-width: a smaller bias is none [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class AxisExplanation:
    """The steps of one axis at one position. [m or rad]"""

    axis: Axis
    position: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ExplainResult(Shown):
    """Steps of one or several axes."""

    explanations: tuple[AxisExplanation, ...]

    @property
    def headline(self) -> str:
        """Which positions are explained."""
        places = ", ".join(
            f"{each.axis.name} at {show(each.position, each.axis.unit)}" for each in self.explanations
        )
        return f"Step by step: {places}."

    def tables(self) -> tuple[Table, ...]:
        """One table of steps an axis."""
        return tuple(_table(each) for each in self.explanations)

    def as_json(self) -> Json:
        """Steps with their numbers."""
        return {
            "axes": [
                {
                    "axis": each.axis.name,
                    "position": each.axis.unit.from_si(each.position),
                    "unit": each.axis.unit.name,
                    "steps": [step_json(step) for step in each.steps],
                }
                for each in self.explanations
            ]
        }


def explain(
    rig: Rig,
    *,
    axis: str | None = None,
    position: str | None = None,
    state: str | None = None,
    record: str | None = None,
) -> ExplainResult:
    """How position becomes code, code becomes position, and the interval came about.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    position : str, optional
        A position with its unit, or the name of a mark; the middle of the range otherwise.
    state, record : str, optional
        Which line to explain; the record in use otherwise, else the data sheet.

    Returns
    -------
    ExplainResult
        Steps in the order of the chain, with sources.

    Raises
    ------
    UsageError
        No such axis, mark, state or record, or a position beyond the stops.
    DataError
        A calibration record is damaged.
    """
    found = []
    for each in chosen_axes(rig, axis):
        middle = (each.motion.low + each.motion.high) / 2.0
        q = middle if position is None else place_named(each, position)[0]
        in_use = line_in_use(rig, each, state=state, record=record)
        found.append(AxisExplanation(axis=each, position=q, steps=steps_at(in_use, q)))
    return ExplainResult(explanations=tuple(found))


def steps_at(in_use: LineInUse, q: float) -> tuple[Step, ...]:
    """Steps from a position [m or rad] to a code, back to a position, and to its interval."""
    axis = in_use.axis
    chain = realise(axis, at_nominal)
    steps, value = [], q
    for part, link in zip(axis.chain_parts, chain.links, strict=True):
        steps += [replace(step, link=part.room) for step in link.explain(value)]
        value = float(np.mean(link.forward(value)))
    steps += [replace(step, link="code") for step in in_use.line.explain(value)]
    if in_use.record is None:
        return (*steps, *interval_steps(in_use.budget, axis))
    return (*steps, _measured(in_use.record, axis))


def _measured(record: CalibrationRecord, axis: Axis) -> Step:
    """The half-width that a calibration found, in the axis's unit."""
    half = axis.unit.difference_from_si(record.half_width_95)
    return Step(
        symbol="U",
        meaning=f"half-width at 95 % of one reading, measured by calibration {record.name}",
        formula="U_cal",
        numbers={"U_cal": half},
        result=half,
        unit=axis.unit.name,
        source="gum",
        link="code",
    )


def share_step(row: Share, budget: StateBudget, axis: Axis) -> Step:
    """How one contribution's share of the variance came about, in the axis's unit."""
    size = axis.unit.size
    u, total = row.standard_uncertainty / size, float(budget.standard_uncertainty[budget.worst]) / size
    numbers = {"u": u, "u_c": total}
    formula, meaning = "100 * u ** 2 / u_c ** 2", "share of the variance"
    if row.lags_with:
        numbers = {"u": u, "r": row.half / size, "r_all": row.lags_with / size, "u_c": total}
        formula = "100 * (u ** 2 + r * (r_all - r)) / u_c ** 2"
        meaning = "share of the variance; plays lag together: r, half of this one, r_all of all"
    return Step(
        symbol="share",
        meaning=f"{meaning}; u: {row.meaning} moved by one standard uncertainty through the chain",
        formula=formula,
        numbers=numbers,
        result=100.0 * row.share,
        unit="%",
        source="gum",
        link=row.link,
    )


def interval_steps(budget: StateBudget, axis: Axis) -> tuple[Step, ...]:
    """Standard uncertainty, coverage factor and half-width at the worst place, in the axis's unit."""
    size, unit = axis.unit.size, axis.unit.name
    u = float(budget.standard_uncertainty[budget.worst]) / size
    bias = float(budget.bias[budget.worst]) / size
    if abs(bias) < NO_BIAS * budget.half_width_95 / size:
        bias = 0.0  # what the arithmetic of the computer leaves
    names = [f"u_{index + 1}" for index in range(len(budget.shares))]
    variances = {name: row.share * u**2 for name, row in zip(names, budget.shares, strict=True)}
    what = "; ".join(f"{name}: {row.meaning}" for name, row in zip(names, budget.shares, strict=True))
    total = Step(
        symbol="u_c",
        meaning=f"standard uncertainty from the variances of: {what}",
        formula=f"sqrt({' + '.join(names)})" if names else "0",
        numbers=variances,
        result=u,
        unit=unit,
        source="gum",
        link="code",
    )
    factor = coverage_factor(float("inf"))
    half = Step(
        symbol="U",
        meaning="half-width at 95 %: the known bias and the interval together",
        formula="abs(bias) + k * u_c",
        numbers={"bias": bias, "k": (budget.half_width_95 / size - abs(bias)) / u if u else factor, "u_c": u},
        result=budget.half_width_95 / size,
        unit=unit,
        source="gum",
        link="code",
    )
    return (total, half)


def _table(each: AxisExplanation) -> Table:
    rows = tuple(
        (
            step.link,
            step.meaning,
            f"{step.symbol} = {step.formula}",
            f"{step.put_in} = {step.result:.6g} {step.unit}".rstrip(),
            cite(step.source),
        )
        for step in each.steps
    )
    names = ("link", "meaning", "formula", "numbers put in", "source")
    return Table(title=f"{each.axis.name} at {show(each.position, each.axis.unit)}", columns=names, rows=rows)
