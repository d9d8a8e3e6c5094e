"""What to do now, after a calibration: the most urgent first, in the words of the bench."""

from collections.abc import Collection, Iterator, Sequence

from anglewright.budget.totals import StateBudget
from anglewright.calibration.result import Calibration
from anglewright.calibration.verdict import Verdict
from anglewright.findings import Finding, Severity
from anglewright.jobs.appraising import BesideBudget, beside_budget
from anglewright.jobs.suspected import CHECK_KEYS
from anglewright.quantities.showing import show
from anglewright.rig import Axis

WORTH_ANOTHER = 0.1  # of the permissible error that a model misses by, from which another is proposed [1]
MOST_STEPS, MOST_FIRST = 4, 2  # that are listed, and of those before it is handed over [1]


def next_steps(
    axis: Axis,
    calibration: Calibration,
    findings: Sequence[Finding],
    *,
    planned: StateBudget,
    kept: str,
) -> tuple[str, ...]:
    """What to do now, the most urgent first.

    Parameters
    ----------
    axis : Axis
        The axis.
    calibration : Calibration
        The calibration. [rad or m]
    findings : sequence of Finding
        What it showed.
    planned : StateBudget
        What the budget foresaw. [rad or m]
    kept : str
        Whether it was kept: begins with ``no`` where it was not.

    Returns
    -------
    tuple of str
        Sentences, four at the most.
    """
    told = {finding.key for finding in findings if finding.severity is not Severity.NOTE}
    compared = beside_budget(calibration, foreseen=planned.half_width_95)
    twice = ("worse-than-budget",) if compared.most in told else ()
    urgent = [_of(each) for each in findings if each.key in told and each.key not in twice]
    if calibration.verdict is Verdict.MEETS:
        steps = [*urgent[:MOST_FIRST], *_onward(axis, kept, begun=bool(urgent))]
    else:
        # a fault of the points makes every other number doubtful: first it is mended
        better = (
            ()
            if told & set(CHECK_KEYS)
            else _better(axis, calibration, planned, compared=compared, told=told)
        )
        steps = [*[*urgent, *better][: MOST_STEPS - 1], _AGAIN]
    return tuple(dict.fromkeys(steps))


_AGAIN = "Then calibrate again, before the code gets these numbers."


def _of(finding: Finding) -> str:
    """The first sentence of a remedy; the rest stands with its finding."""
    first = finding.remedy.split(". ")[0].rstrip(".")
    return f"{first} ({finding.key})."


def _onward(axis: Axis, kept: str, *, begun: bool) -> Iterator[str]:
    """What follows a calibration that is good enough."""
    start = "Then" if begun else "It is good enough:"
    if kept.startswith("no"):
        yield f"{start} run the same without --dry-run, and it is kept and used from then on."
        return
    yield f"{start} hand it over with anglewright handover RIG {axis.name} --out DIR."
    yield f"Before each day of use prove it with a few fresh points: anglewright verify RIG {axis.name} FILE."


def _better(
    axis: Axis,
    calibration: Calibration,
    planned: StateBudget,
    *,
    compared: BesideBudget,
    told: Collection[str],
) -> Iterator[str]:
    """What takes most of the error away, by the points and by the budget, beside what is told."""
    if calibration.verdict is Verdict.CANNOT_TELL:
        yield "Whether it is good enough cannot be told yet: do what the reason says."
        return
    if compared.most not in told:
        yield f"Most of the error is {compared.most}: {compared.do}."
    yield from _rival(axis, calibration)
    if planned.cures and planned.cures[0].half_width_95 < calibration.half_width_95:
        cure = planned.cures[0]
        left = show(cure.half_width_95, axis.unit, digits=2)
        yield f"By the budget this helps most: {cure.change}; it would leave ±{left}."


def _rival(axis: Axis, calibration: Calibration) -> Iterator[str]:
    """The model that the points prefer to the one that was asked for."""
    choice = calibration.fit.choice
    if choice.rival is not None and choice.chosen.error > WORTH_ANOTHER * axis.permissible:
        misses, now = (show(each.error, axis.unit, digits=2) for each in (choice.rival, choice.chosen))
        yield (
            f"The points prefer {choice.rival.model.name}, which misses a place left out by {misses}, to the "
            f"{choice.chosen.model.name} that was asked for ({now}): take it with --model best."
        )
