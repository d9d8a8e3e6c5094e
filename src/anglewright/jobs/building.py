"""Virtual builds beside the first-order budget: run, shown, and compared with it."""

from collections.abc import Mapping
from dataclasses import dataclass

from anglewright.budget.builds import ENOUGH, BuildsBudget, StateBuilds, virtual_builds
from anglewright.budget.codeline import built_with
from anglewright.budget.states import State
from anglewright.budget.totals import AxisBudget
from anglewright.budget.trials import HowMany
from anglewright.budget.trust import Trust, trust_first_order
from anglewright.jobs.shown import Json, Table
from anglewright.links.code import CodeLine
from anglewright.quantities.showing import show
from anglewright.rig import Axis

UNTIL_STILL = -1
"""As many builds as it takes for two digits to stand still."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Built:
    """Virtual builds of one axis, and whether first order agrees with them in each state."""

    builds: BuildsBudget
    trust: tuple[Trust, ...]

    def trusted(self, state: State) -> Trust:
        """The comparison in one state."""
        return next(
            each for each, found in zip(self.trust, self.builds.states, strict=True) if found.state is state
        )

    def as_json(self, first: AxisBudget, state: State) -> Json:
        """The keys of a budget that change once virtual builds were run."""
        found, trust, size = self.builds, self.trusted(state), first.axis.unit.size
        return {
            "interval_by": found.interval_by,
            "worst_at": found.of(state).worst_at / size,
            "first_order_trusted": {"yes": trust.yes, "because": trust.because},
            "builds": {"n": found.n, "seed": found.seed, "adaptive": found.adaptive},
            "states": {
                each.state.value: _state_json(each, first.of(each.state).worst_case, size)
                for each in found.states
            },
        }

    def table(self, words: Mapping[State, str]) -> Table:
        """What the builds say of each state, and whether first order agrees."""
        axis, pairs = self.builds.axis, tuple(zip(self.builds.states, self.trust, strict=True))
        rows = tuple(_row(axis, words[each.state], each, trust) for each, trust in pairs)
        names = ("state", "bias", "u", "95 %", "worst tenth", "worst at", "meets", "first order")
        said = " ".join(f"{words[each.state].capitalize()}: {trust.because}" for each, trust in pairs)
        return Table(
            title=f"{axis.name}: {self.builds.n} virtual builds, seed {self.builds.seed}",
            columns=names,
            rows=rows,
            right=names[1:6],
            note=f"Worst tenth: one machine in ten is off by more than this somewhere. {said}",
        )


def built(first: AxisBudget, *, builds: int, seed: int, line: CodeLine | None = None) -> Built:
    """Run virtual builds of an axis and hold its first-order budget against them.

    Parameters
    ----------
    first : AxisBudget
        The first-order budget. [m or rad]
    builds : int
        Number of builds, or `UNTIL_STILL`. [1]
    seed : int
        Everything random comes from it. [1]
    line : CodeLine, optional
        Constants of the code to be judged beside the other states. [m or rad, m/count or rad/count]

    Returns
    -------
    Built
        Builds and comparison.

    References
    ----------
    jcgm101
    """
    how_many = ENOUGH if builds == UNTIL_STILL else HowMany(most=builds)
    found = virtual_builds(first.axis, how_many=how_many, seed=seed)
    if line is not None:
        found = built_with(found, line)
    trust = tuple(trust_first_order(first.axis, first.of(each.state), each) for each in found.states)
    return Built(builds=found, trust=trust)


def _state_json(found: StateBuilds, worst_case: float, size: float) -> Json:
    """One state as the builds have it, in units of `size`; the worst case stays that of the limits."""
    worst = found.worst
    return {
        "bias": float(found.bias[worst]) / size,
        "standard_uncertainty": float(found.standard_uncertainty[worst]) / size,
        "half_width_95": found.half_width_95 / size,
        "worst_case": worst_case / size,
        "worst_at": found.worst_at / size,
        "worst_tenth": found.worst_tenth / size,
        "meets": found.meets,
    }


def _row(axis: Axis, name: str, found: StateBuilds, trust: Trust) -> tuple[str, ...]:
    unit, worst = axis.unit, found.worst
    return (
        name,
        show(float(found.bias[worst]), unit, digits=3),
        show(float(found.standard_uncertainty[worst]), unit, digits=3),
        f"±{show(found.half_width_95, unit, digits=3)}",
        f"±{show(found.worst_tenth, unit, digits=3)}",
        show(found.worst_at, unit, digits=4),
        "yes" if found.meets else "no",
        "agrees" if trust.yes else "misleads",
    )
