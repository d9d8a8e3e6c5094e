"""Job: how wrong will each axis be, from the data sheet, zeroed, and calibrated by its plan?"""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from anglewright.budget.advice import Advice, advise
from anglewright.budget.changes import Setup
from anglewright.budget.planned import LINE, counted_model, plan_problem
from anglewright.budget.states import State
from anglewright.budget.totals import AxisBudget, StateBudget, budget_axis
from anglewright.errors import RigError
from anglewright.jobs.advising import advice_json, advice_sentence, advice_table
from anglewright.jobs.opening import chosen_axes, state_named, the_axis
from anglewright.jobs.shown import Json, Shown, Table, one_or_all
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis, Rig

if TYPE_CHECKING:
    from anglewright.jobs.building import Built
    from anglewright.jobs.judging import Judgement
    from anglewright.links.code import CodeLine

LEAST_SHARE, NO_SHARE = 0.0005, 1e-6  # of the variance: a figure is worth showing; a row is [1]
WORDS = {
    State.DATASHEET: "data sheet alone",
    State.ZEROED: "zeroed",
    State.CALIBRATED: "calibrated",
    State.CODE_LINE: "constants in the code",
}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BudgetResult(Shown):
    """The budgets of one or several axes; `state` is the one whose contributions are listed.

    `advice` holds for each axis what to change, None where its need is met. With constants of the code under
    `judgement` the verdict is theirs, else that of `state`.
    """

    budgets: tuple[AxisBudget, ...]
    state: State
    single: bool
    built: "tuple[Built, ...]" = ()
    advice: tuple[Advice | None, ...] = ()
    judgement: "Judgement | None" = None

    @property
    def verdict(self) -> State:
        """The state that is held against the need."""
        return self.state if self.judgement is None else State.CODE_LINE

    @property
    def headline(self) -> str:
        """Each axis against its need."""
        return " ".join(
            headline_of(budget, self.verdict, built_axis=found)
            for budget, found in zip(self.budgets, self.built or [None] * len(self.budgets), strict=True)
        )

    @property
    def summary(self) -> str:
        """What is wrong with the constants in the code, and the cheapest way of each axis to its need."""
        said = [self.judgement.sentence] if self.judgement else []
        pairs = zip(self.budgets, self.advice, strict=True)
        said += [advice_sentence(budget.axis, advice) for budget, advice in pairs if advice]
        return "\n".join(sentence for sentence in said if sentence)

    @property
    def exit_code(self) -> int:
        """1 where an axis does not meet its need. [1]"""
        return 0 if all(_meets(self.budgets, self.built, self.verdict)) else 1

    def tables(self) -> tuple[Table, ...]:
        """States, contributions, cures and changes of each axis."""
        found = []
        for budget, advice in zip(self.budgets, self.advice, strict=True):
            found += [
                _states_table(budget),
                _shares_table(budget, self.state),
                _cures_table(budget, self.state),
            ]
            found += [advice_table(budget.axis, advice)] if advice and advice.options else []
        found += [self.judgement.table()] if self.judgement else []
        return (*found, *(each.table(WORDS) for each in self.built))

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        rows = {budget.axis.name: _json(budget, self.state) for budget in self.budgets}
        for budget, advice in zip(self.budgets, self.advice, strict=True):
            rows[budget.axis.name] |= advice_json(budget.axis, advice)
        for budget, found in zip(self.budgets, self.built, strict=False):
            rows[budget.axis.name] |= found.as_json(budget, self.state)
        if self.judgement:
            rows[self.judgement.axis.name]["code_line"] = self.judgement.as_json()
        return one_or_all(rows, single=self.single)


def _meets(budgets: tuple[AxisBudget, ...], built: "tuple[Built, ...]", state: State) -> list[bool]:
    """Whether each axis meets its need in a state: by virtual builds where they were run."""
    if built:
        return [found.builds.of(state).meets for found in built]
    return [budget.of(state).meets for budget in budgets]


def budget_of(
    rig: Rig,
    *,
    axis: str | None = None,
    state: str | None = None,
    builds: int = 0,
    seed: int = 1,
    code_line: str | None = None,
) -> BudgetResult:
    """The uncertainty budget of an axis, or of all: first order, and on request by virtual builds.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    state : str, optional
        Whose contributions are listed: ``datasheet``, ``zeroed`` or ``calibrated``; where none is named that
        of the constants in the code, else ``calibrated``.
    builds : int
        Number of virtual builds; 0 for none, -1 for as many as it takes. [1]
    seed : int
        Everything random in the virtual builds comes from it. [1]
    code_line : str, optional
        Slope and offset that the code of one axis already has, ``0.0415, -37.5``; they are judged.

    Returns
    -------
    BudgetResult
        Half-widths in three states or four, contributions, cures, changes and their cost.

    Raises
    ------
    UsageError
        There is no axis or state of that name, or the constants cannot be read.
    RigError
        A budget cannot be computed: a number is missing, which is named, or the planned model cannot be.

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

    Constants that turn the wrong way:

    >>> print(budget_of(rig, axis="shoulder", code_line="-0.0415, 132.5").judgement.mistake)
    The slope is that of the data sheet with its sign reversed: ...
    """
    if code_line is None:
        judgement, budgets = None, tuple(budget_axis(each) for each in _planned(chosen_axes(rig, axis)))
    else:
        (planned,) = _planned((the_axis(rig, axis),))
        judgement = _judged(planned, code_line)
        first = budget_axis(judgement.axis)
        budgets = (replace(first, states=(*first.states, judgement.budget)),)
    unnamed = State.CODE_LINE if judgement else State.CALIBRATED
    listed = unnamed if state is None else state_named(state)
    built = _built(budgets, judgement, builds=builds, seed=seed)
    met = _meets(budgets, built, unnamed if judgement else listed)
    line = judgement.line if judgement else None
    verdict = unnamed if judgement else listed
    advice = tuple(
        None if fine else _advice(budget, verdict, line) for budget, fine in zip(budgets, met, strict=True)
    )
    return BudgetResult(
        budgets=budgets,
        state=listed,
        single=axis is not None,
        built=built,
        advice=advice,
        judgement=judgement,
    )


def _planned(axes: tuple[Axis, ...]) -> tuple[Axis, ...]:
    """Axes whose planned models can be.

    Raises
    ------
    RigError
        A model cannot be; each is named.
    """
    problems = [problem for axis in axes if (problem := plan_problem(axis)) is not None]
    if problems:
        raise RigError(problems)
    return axes


def _advice(budget: AxisBudget, state: State, line: "CodeLine | None") -> Advice:
    now = budget.of(state).half_width_95
    return advise(Setup(axis=budget.axis, state=state, line=line), now=now)


def _judged(axis: Axis, text: str) -> "Judgement":
    from anglewright.jobs.judging import judge

    return judge(axis, text)


def _built(
    budgets: tuple[AxisBudget, ...], judgement: "Judgement | None", *, builds: int, seed: int
) -> "tuple[Built, ...]":
    """Virtual builds of each axis, none where none are asked for."""
    if not builds:
        return ()
    from anglewright.jobs.building import built

    line = judgement.line if judgement else None
    return tuple(built(budget, builds=builds, seed=seed, line=line) for budget in budgets)


def headline_of(budget: AxisBudget, state: State, *, built_axis: "Built | None" = None) -> str:
    """Whether an axis meets its need, in a sentence, with what holds it back where it does not."""
    axis, first = budget.axis, budget.of(state)
    found = built_axis.builds.of(state) if built_axis else first
    unit = axis.unit
    start = f"{axis.name}, {WORDS[state]}: good to ±{show(found.half_width_95, unit, digits=2)}"
    if found.meets:
        return f"{start}, within the ±{show(axis.permissible, unit, digits=3)} it needs."
    return f"{start}; it should be ±{show(axis.permissible, unit, digits=3)}.{_held_back(first, unit)}"


def _held_back(found: StateBudget, unit: Unit) -> str:
    """What makes most of a half-width: a known bias, else the largest contribution."""
    bias = float(found.bias[found.worst])
    if abs(bias) > found.half_width_95 / 2.0:
        return f" Most of it is a known bias, {show(bias, unit, digits=3)} at {show(found.worst_at, unit)}."
    if not found.shares:
        return ""
    return f" Held back first by the {found.shares[0].meaning} ({found.shares[0].link})."


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
        "calibrated_by": counted_model(budget.axis),
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
        "halving": [
            {
                "change": cure.change,
                "half_width_95": unit.difference_from_si(cure.half_width_95),
                "meets": cure.meets,
            }
            for cure in found.cures
        ],
    }


def _state_said(axis: Axis, state: State) -> str:
    """A state in words, with the planned model where that is a curve."""
    curved = state is State.CALIBRATED and counted_model(axis) != LINE
    return f"{WORDS[state]}, {counted_model(axis)}" if curved else WORDS[state]


def _states_table(budget: AxisBudget) -> Table:
    unit = budget.axis.unit
    rows = tuple(
        (
            _state_said(budget.axis, state.state),
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
