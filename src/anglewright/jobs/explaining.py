"""Job: how a number came about, step by step, with symbols, numbers put in, units and sources."""

from collections.abc import Iterator
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
    record: CalibrationRecord | None = None


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
        """One table of steps an axis, and one of the parameters of a model that was fitted."""
        return tuple(table for each in self.explanations for table in _tables(each))

    def as_json(self) -> Json:
        """Steps with their numbers."""
        return {
            "axes": [
                {
                    "axis": each.axis.name,
                    "position": each.axis.unit.from_si(each.position),
                    "unit": each.axis.unit.name,
                    "steps": [step_json(step) for step in each.steps],
                    **_model_json(each.record),
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
        middle = each.motion.middle
        q = middle if position is None else place_named(each, position)[0]
        in_use = line_in_use(rig, each, state=state, record=record)
        steps = steps_at(in_use, q)
        found.append(AxisExplanation(axis=each, position=q, steps=steps, record=in_use.record))
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
    return (*steps, _measured(in_use, in_use.record, value))


_OUTSIDE = "; d: counts outside the calibrated codes, u_s: u of the slope, g: slope of the corrections there"


def _measured(in_use: LineInUse, record: CalibrationRecord, code: float) -> Step:
    """The half-width that a calibration found there, wider outside its codes, in the axis's unit."""
    unit = in_use.axis.unit
    half = unit.difference_from_si(record.half_width_inside(code))
    formula, numbers, where = "U_cal", {"U_cal": half}, ""
    far, slope_u, end = record.widening(code, period=in_use.period)
    if far:
        formula, where = "U_cal + d * (2 * u_s + g)", _OUTSIDE
        numbers |= {"d": far, "u_s": slope_u / unit.size, "g": end / unit.size}
    return Step(
        symbol="U",
        meaning=f"half-width at 95 % of one reading, measured by calibration {record.name}{where}",
        formula=formula,
        numbers=numbers,
        result=unit.difference_from_si(in_use.half_width_of(record, code)),
        unit=unit.name,
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


def _tables(each: AxisExplanation) -> Iterator[Table]:
    """The steps, and the parameters of the model where a record has them."""
    yield _steps_table(each)
    if each.record and each.record.parameters:
        rows = tuple(
            (one.name, f"{one.value:.6g}", f"{one.standard_uncertainty:.2g}", one.unit)
            for one in each.record.parameters
        )
        title = f"{each.axis.name}: {each.record.model} of calibration {each.record.name}"
        names = ("parameter", "value", "standard uncertainty", "unit")
        note = ""
        if each.record.corrections is not None:
            note = "The code computes it as a line with a table of corrections."
        yield Table(title=title, columns=names, rows=rows, right=names[1:3], note=note)


def _model_json(record: CalibrationRecord | None) -> Json:
    """The model that was fitted and its parameters, null and empty where there is no record."""
    parameters = record.parameters if record else ()
    return {
        "model": record.model if record else None,
        "parameters": {
            each.name: {
                "value": each.value,
                "standard_uncertainty": each.standard_uncertainty,
                "unit": each.unit,
            }
            for each in parameters
        },
    }


def _steps_table(each: AxisExplanation) -> Table:
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
