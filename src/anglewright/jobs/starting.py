"""Job: a rig file from a few answers; everything else is assumed, said so, and easy to change."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.errors import DataError, Problem, RigError
from anglewright.jobs.answers import Answers, Reach, held_reach, turns_said
from anglewright.jobs.assumed import assumed_in
from anglewright.jobs.budgeting import headline_of
from anglewright.jobs.drafting import drafted, swapped_fits
from anglewright.jobs.meaning import clamp_said, drive_said, sensor_turns, use_said
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.rig import Assumption, Axis, Rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig
from anglewright.rigfile.storing import write_whole


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class NewResult(Shown):
    """A new rig file, what the answers mean, what was assumed, and which assumption matters most."""

    rig: Rig
    file: Path
    reach: Reach
    assumptions: tuple[Assumption, ...]
    matters_most: Assumption | None
    share: float

    @property
    def axis(self) -> Axis:
        """The one axis of the new rig."""
        return next(iter(self.rig.axes.values()))

    @property
    def headline(self) -> str:
        """Where the file is, what to expect, and what to find out first."""
        start = f"{self.file} is written. {headline_of(budget_axis(self.axis), State.CALIBRATED)}"
        if self.matters_most is None:
            return start
        most = self.matters_most
        return (
            f"{start} Of what was assumed, {most.key} = {most.value} matters most "
            f"({100 * self.share:.0f} % of the variance): find out the {most.meaning}."
        )

    @property
    def meaning(self) -> tuple[tuple[str, str], ...]:
        """What the answers mean, so that a wrong unit or a ratio turned round is seen."""
        axis = self.axis
        motion = turns_said(self.reach) + (", round and round" if axis.motion.endless else "")
        return (
            ("motion", motion),
            ("drive", f"{axis.part('drive').describe()}: {drive_said(axis)}"),
            ("sensor", f"{axis.part('sensor').describe()}: {use_said(axis)}"),
            ("mark", clamp_said(axis)),
        )

    def tables(self) -> tuple[Table, ...]:
        """What the answers mean, and what was assumed."""
        note = "Is it not so? Write the file anew in another folder, with the other answer."
        if self._ends_meet:
            note += " An axis that turns round and round wants --endless."
        meaning = Table(title="What this means", columns=("", "in words"), rows=self.meaning, note=note)
        rows = tuple((each.key, each.value, each.meaning) for each in self.assumptions)
        note = "Every one stands in the file and says so; where a hash stands before it, take that away too."
        names = ("key", "value", "meaning")
        return (meaning, Table(title="Assumed", columns=names, rows=rows, note=note))

    @property
    def _ends_meet(self) -> bool:
        """Whether the range is a whole turn of an axis that was not said to be endless."""
        return not self.axis.motion.endless and "one whole turn" in turns_said(self.reach)

    def as_json(self) -> Json:
        """File, meaning, assumptions, and the one that matters most."""
        return {
            "file": str(self.file),
            "axis": self.axis.name,
            "meaning": dict(self.meaning),
            "sensor_turns": sensor_turns(self.axis),
            "assumptions": [
                {"key": each.key, "value": each.value, "meaning": each.meaning} for each in self.assumptions
            ],
            "matters_most": None if self.matters_most is None else self.matters_most.key,
            "share": self.share,
        }


def new_rig(folder: str | Path, answers: Answers) -> NewResult:
    """Write a rig file from a few answers.

    Parameters
    ----------
    folder : str or Path
        Folder for ``rig.toml``; made where it is missing.
    answers : Answers
        What moves, from where to where, how exact, which sensor, what turns it.

    Returns
    -------
    NewResult
        The rig, its file, and which assumption matters most.

    Raises
    ------
    UsageError
        An answer cannot be read, or the kind of sensor or drive is not known.
    RigError
        The answers do not make a rig; every problem is named.
    DataError
        There is a rig file already, or the folder cannot be written to.
    """
    file = free_file(folder)
    text = drafted(answers).text
    try:
        rig = build_rig(parse_document(text, source=str(file)), source=str(file))
    except RigError as fault:
        raise _with_swap(fault, answers) from None
    write_whole(file, text, fresh=True)
    axis = next(iter(rig.axes.values()))
    assumptions = (*assumed_in(text), *axis.assumptions)
    most, share = _matters_most(axis, assumptions)
    return NewResult(
        rig=rig,
        file=file,
        reach=held_reach(answers.low, answers.high, endless=answers.endless),
        assumptions=assumptions,
        matters_most=most,
        share=share,
    )


def free_file(folder: str | Path) -> Path:
    """Where the new rig file will lie.

    Raises
    ------
    DataError
        There is a rig file already.
    """
    file = Path(folder) / "rig.toml"
    if file.exists():
        remedy = "Name another folder; yours is kept."
        raise DataError(Problem(str(file), "there is a rig file already", "", remedy))
    return file


def _with_swap(fault: RigError, answers: Answers) -> RigError:
    """The same problems, and whether the ratio turned round would make a rig."""
    other = swapped_fits(answers)
    if not other:
        return fault
    ratio = answers.ratio or answers.drive
    found = f"with the ratio {ratio} the sensor cannot follow, with {other} it could"
    remedy = f"If the sensor turns slower than the axis, give {other}: teeth stand from axis to sensor."
    return RigError([*fault.problems, Problem("ratio", found, "", remedy)])


def _matters_most(axis: Axis, assumptions: tuple[Assumption, ...]) -> tuple[Assumption | None, float]:
    """The assumption with the largest share of the variance after calibration."""
    rows = budget_axis(axis).of(State.CALIBRATED).shares
    shares = {f"{row.link}.{row.quantity}": row.share for row in rows}
    each_share = [(shares.get(each.key.removeprefix("plan."), 0.0), each) for each in assumptions]
    share, most = max(each_share, key=lambda pair: pair[0], default=(0.0, None))
    return (most, share) if share > 0.0 else (None, 0.0)
