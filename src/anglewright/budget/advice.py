"""Which change meets the need for the least money: each one made, the budget worked out again."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from anglewright.budget.changes import CHANGES, Change, Setup
from anglewright.budget.states import State, errors_by, errors_in
from anglewright.budget.totals import POSITIONS, widest

MOST_AT_ONCE = 3  # changes that are looked at together [1]
LEAST_GAIN = 0.01  # of the half-width: less than that is no reason for a change [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One change or several together, and the half-width after them. [m or rad]"""

    changes: tuple[Change, ...]
    half_width_95: float
    meets: bool

    @property
    def money(self) -> tuple[float, float]:
        """Band of units of money, all changes together. [1]"""
        return sum(each.money[0] for each in self.changes), sum(each.money[1] for each in self.changes)

    @property
    def cost(self) -> float:
        """Middle of the band. [1]"""
        return sum(each.cost for each in self.changes)

    @property
    def minutes(self) -> float:
        """Time at the bench, all changes together. [min]"""
        return sum(each.minutes for each in self.changes)

    @property
    def text(self) -> str:
        """What is done."""
        return "; and ".join(each.text for each in self.changes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What usual changes would leave of the half-width `now`. [m or rad]

    `options` holds each useful change alone, by cost; `cheapest` the first one, or two or three at once, that
    meets the need, None where none does; `together` all of them at once, None where there are none.
    """

    now: float
    permissible: float
    options: tuple[Option, ...]
    cheapest: Option | None
    together: Option | None


def half_width_of(setup: Setup) -> float:
    """Half-width of a setup at its worst place, to first order. [m or rad]

    Parameters
    ----------
    setup : Setup
        The axis, its state, and the line of its code where that is judged.

    Returns
    -------
    float
        Bias and interval together. [m or rad]

    References
    ----------
    gum
    """
    axis, positions = setup.axis, setup.axis.positions(POSITIONS)
    if setup.state is State.CODE_LINE and setup.line is not None:
        return widest(errors_by(axis, positions, line=setup.line, state=setup.state))
    return widest(errors_in(axis, positions, state=setup.state))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Tries:
    """Half-widths of one setup after changes, each worked out once; keys are the changes in their order."""

    setup: Setup
    known: dict[tuple[Change, ...], float]

    def after(self, changes: Iterable[Change]) -> Option:
        """The half-width after changes; those that find nothing to change are left out of it."""
        made, kept = self.setup, list[Change]()
        for change in changes:
            after = change.made(made)
            if after is not None:
                made, kept = after, [*kept, change]
        key = tuple(kept)
        if key not in self.known:
            self.known[key] = half_width_of(made)
        left = self.known[key]
        return Option(changes=key, half_width_95=left, meets=left <= self.setup.axis.permissible)


def advise(setup: Setup, *, now: float | None = None) -> Advice:
    """What each usual change would leave, and the cheapest that meets the need.

    Parameters
    ----------
    setup : Setup
        The axis, its state, and the line of its code where that is judged.
    now : float, optional
        Half-width of the setup, where it is known already. [m or rad]

    Returns
    -------
    Advice
        Changes by cost, each with the half-width after it. [m or rad]

    Notes
    -----
    Each change is made to the parts or the plan and the first-order budget is worked out anew. Where no
    single change meets the need and all together do, two and three at once are tried by their cost.

    References
    ----------
    gum, practice
    """
    now = half_width_of(setup) if now is None else now
    tries = _Tries(setup=setup, known={(): now})
    singles = [tries.after((change,)) for change in CHANGES]
    useful = [each for each in singles if each.half_width_95 < (1.0 - LEAST_GAIN) * now]
    alone = [change for option in useful for change in option.changes]
    steady = setup.state is State.CALIBRATED  # else what does nothing yet may help once it is calibrated
    together = _all_of(tries, [change for change in CHANGES if change in alone or not steady])
    options = tuple(sorted(useful, key=_by_cost))
    cheapest = next((each for each in options if each.meets), None)
    if cheapest is None and together.meets:
        helping = {*together.changes, *alone}
        cheapest = _cheapest_few(tries, [change for change in CHANGES if change in helping])
    return Advice(
        now=now,
        permissible=setup.axis.permissible,
        options=options,
        cheapest=cheapest,
        together=together if together.changes else None,
    )


def _by_cost(option: Option) -> tuple[float, float]:
    return option.cost, option.minutes


def _all_of(tries: _Tries, changes: Iterable[Change]) -> Option:
    """One change after the other, each kept where it helps beside those before it."""
    best = tries.after(())
    for change in changes:
        found = tries.after((*best.changes, change))
        if found.half_width_95 < (1.0 - LEAST_GAIN) * best.half_width_95:
            best = found
    return best


def _cheapest_few(tries: _Tries, helping: list[Change]) -> Option | None:
    """The cheapest two or three together that meet the need."""
    needed = {change for change in helping if not _meets_without(tries, helping, change)}
    few = [each for count in range(2, MOST_AT_ONCE + 1) for each in combinations(helping, count)]
    for several in sorted(filter(needed.issubset, few), key=_cost_of_all):
        found = tries.after(several)
        if found.meets and len(found.changes) == len(several):
            return found
    return None


def _meets_without(tries: _Tries, helping: list[Change], left_out: Change) -> bool:
    """Whether all changes but one meet the need; where they do not, no few of them will."""
    return tries.after(change for change in helping if change is not left_out).meets


def _cost_of_all(changes: tuple[Change, ...]) -> tuple[float, float]:
    return sum(each.cost for each in changes), sum(each.minutes for each in changes)
