"""Job: how wrong will each axis be, from the data sheet, zeroed, and calibrated by its plan?"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from anglewright.budget.states import State
from anglewright.budget.totals import AxisBudget, StateBudget, budget_axis
from anglewright.jobs.opening import chosen_axes, state_named
from anglewright.jobs.shown import Json, Shown, Table, one_or_all
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Rig

if TYPE_CHECKING:
    from anglewright.jobs.building import Built

LEAST_SHARE, NO_SHARE = 0.0005, 1e-6  # of the variance: a figure is worth showing; a row is [1]
WORDS = {State.DATASHEET: "data sheet alone", State.ZEROED: "zeroed", State.CALIBRATED: "calibrated"}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BudgetResult(Shown):
    """The budgets of one or several axes; `state` is the one whose contributions are listed."""

    budgets: tuple[AxisBudget, ...]
    state: State
    single: bool
    built: "tuple[Built, ...]" = ()

    @property
    def headline(self) -> str:
        """Each axis against its need."""
        return " ".join(
            headline_of(budget, self.state, built_axis=found)
            for budget, found in zip(self.budgets, self.built or [None] * len(self.budgets), strict=True)
        )

    @property
    def exit_code(self) -> int:
        """1 where an axis does not meet its need in the listed state. [1]"""
        if self.built:
            return 0 if all(found.builds.of(self.state).meets for found in self.built) else 1
        return 0 if all(budget.of(self.state).meets for budget in self.budgets) else 1

    def tables(self) -> tuple[Table, ...]:
        """States, contributions and cures of each axis."""
        found = []
        for budget in self.budgets:
            found += [
                _states_table(budget),
                _shares_table(budget, self.state),
                _cures_table(budget, self.state),
            ]
        return (*found, *(each.table(WORDS) for each in self.built))

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        rows = {budget.axis.name: _json(budget, self.state) for budget in self.budgets}
        for budget, found in zip(self.budgets, self.built, strict=False):
            rows[budget.axis.name] |= found.as_json(budget, self.state)
        return one_or_all(rows, single=self.single)


def budget_of(
    rig: Rig, *, axis: str | None = None, state: str = "calibrated", builds: int = 0, seed: int = 1
) -> BudgetResult:
    """The uncertainty budget of an axis, or of all: first order, and on request by virtual builds.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    state : str
        Whose contributions are listed: ``datasheet``, ``zeroed`` or ``calibrated``.
    builds : int
        Number of virtual builds; 0 for none, -1 for as many as it takes. [1]
    seed : int
        Everything random in the virtual builds comes from it. [1]

    Returns
    -------
    BudgetResult
        Half-widths in three states, contributions, cures.

    Raises
    ------
    UsageError
        There is no axis or state of that name.

    References
    ----------
    gum, jcgm101

    Examples
    --------
    The play of the printed coupling holds the shoulder back:

    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> budget_of(rig, axis="shoulder").as_json()["contributions"][0]["quantity"]
    'play'
    """
    listed = state_named(state)
    budgets = tuple(budget_axis(each) for each in chosen_axes(rig, axis))
    if not builds:
        return BudgetResult(budgets=budgets, state=listed, single=axis is not None)
    from anglewright.jobs.building import built

    found = tuple(built(budget, builds=builds, seed=seed) for budget in budgets)
    return BudgetResult(budgets=budgets, state=listed, single=axis is not None, built=found)


def headline_of(budget: AxisBudget, state: State, *, built_axis: "Built | None" = None) -> str:
    """Whether an axis meets its need, in a sentence, with what holds it back where it does not."""
    axis, first = budget.axis, budget.of(state)
    found = built_axis.builds.of(state) if built_axis else first
    unit = axis.unit
    start = f"{axis.name}, {WORDS[state]}: good to ±{show(found.half_width_95, unit, digits=2)}"
    if found.meets:
        return f"{start}, within the ±{show(axis.permissible, unit, digits=3)} it needs."
    most = (
        f" Held back first by the {first.shares[0].meaning} ({first.shares[0].link})." if first.shares else ""
    )
    return f"{start}; it should be ±{show(axis.permissible, unit, digits=3)}.{most}"


def _state_json(budget: StateBudget, unit: Unit) -> Json:
    worst = budget.worst
    return {
        "bias": unit.difference_from_si(float(budget.bias[worst])),
        "standard_uncertainty": unit.difference_from_si(float(budget.standard_uncertainty[worst])),
        "half_width_95": unit.difference_from_si(budget.half_width_95),
        "worst_case": unit.difference_from_si(budget.worst_case),
        "worst_at": unit.from_si(budget.worst_at),
        "meets": budget.meets,
    }


def _json(budget: AxisBudget, state: State) -> Json:
    unit, found = budget.axis.unit, budget.of(state)
    return {
        "axis": budget.axis.name,
        "unit": unit.name,
        "permissible_error": unit.difference_from_si(budget.axis.permissible),
        "resolution": unit.difference_from_si(budget.resolution),
        "worst_at": unit.from_si(found.worst_at),
        "interval_by": "first order",
        "first_order_trusted": {"yes": None, "because": "no virtual builds were run to compare it with"},
        "builds": {"n": 0, "seed": None, "adaptive": False},
        "state": state.value,
        "states": {each.state.value: _state_json(each, unit) for each in budget.states},
        "contributions": [
            {
                "link": row.link,
                "quantity": row.quantity,
                "meaning": row.meaning,
                "persistence": row.persistence,
                "state": state.value,
                "standard_uncertainty": unit.difference_from_si(row.standard_uncertainty),
                "limit": unit.difference_from_si(row.limit),
                "share": row.share,
                "cured_by": row.cured_by,
            }
            for row in found.shares
        ],
        "next": [
            {
                "change": cure.change,
                "half_width_95": unit.difference_from_si(cure.half_width_95),
                "cost": None,
                "meets": cure.meets,
            }
            for cure in found.cures
        ],
    }


def _states_table(budget: AxisBudget) -> Table:
    unit = budget.axis.unit
    rows = tuple(
        (
            WORDS[state.state],
            show(float(state.bias[state.worst]), unit, digits=3),
            show(float(state.standard_uncertainty[state.worst]), unit, digits=3),
            f"±{show(state.half_width_95, unit, digits=3)}",
            f"±{show(state.worst_case, unit, digits=3)}",
            show(state.worst_at, unit, digits=4),
            "yes" if state.meets else "no",
        )
        for state in budget.states
    )
    names = ("state", "bias", "u", "95 %", "worst case", "worst at", "meets")
    need = f"need ±{show(budget.axis.permissible, unit, digits=3)}"
    count = f"one count {show(budget.resolution, unit, digits=5)}"
    return Table(title=f"{budget.axis.name}: {need}, {count}", columns=names, rows=rows, right=names[1:6])


def _shares_table(budget: AxisBudget, state: State) -> Table:
    unit, found = budget.axis.unit, budget.of(state)
    rows = tuple(
        (
            row.link,
            row.meaning,
            row.persistence,
            show(row.standard_uncertainty, unit, digits=4),
            f"±{show(row.limit, unit, digits=4)}",
            f"{100 * row.share:.1f} %" if row.share >= LEAST_SHARE else "<0.1 %",
            row.cured_by,
        )
        for row in found.shares
        if row.share >= NO_SHARE
    )
    names = ("link", "contribution", "lasts", "u", "at most", "share", "cured by")
    where = show(found.worst_at, unit)
    return Table(
        title=f"{budget.axis.name}, {WORDS[state]}: what the error is made of at {where}",
        columns=names,
        rows=rows,
        right=("u", "at most", "share"),
        note=(
            "u: standard uncertainty at the axis; at most: with the number at its limit. "
            "Plays move together, so they add before they are squared."
        ),
    )


def _cures_table(budget: AxisBudget, state: State) -> Table:
    unit, found = budget.axis.unit, budget.of(state)
    rows = tuple(
        (cure.change, f"±{show(cure.half_width_95, unit, digits=3)}", "yes" if cure.meets else "no")
        for cure in found.cures
    )
    names = ("change", "95 % then", "meets")
    return Table(
        title=f"{budget.axis.name}: what to do first", columns=names, rows=rows, right=("95 % then",)
    )
