"""Job: a rig file from five answers; everything else is assumed, said so, and easy to change."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.errors import DataError, Problem, UsageError, nearest
from anglewright.jobs.budgeting import headline_of
from anglewright.jobs.rigtext import Answers, rig_text
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.rig import Assumption, Axis, Rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.kinds import kinds_in
from anglewright.rigfile.reading import build_rig
from anglewright.rigfile.storing import write_whole


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class NewResult(Shown):
    """A new rig file, what was assumed in it, and which assumption matters most."""

    rig: Rig
    file: Path
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

    def tables(self) -> tuple[Table, ...]:
        """What was assumed."""
        rows = tuple((each.key, each.value, each.meaning) for each in self.axis.assumptions)
        note = "Every one stands in the file as a comment: take the hash away and mend the value."
        return (Table(title="Assumed", columns=("key", "value", "meaning"), rows=rows, note=note),)

    def as_json(self) -> Json:
        """File, assumptions, and the one that matters most."""
        return {
            "file": str(self.file),
            "axis": self.axis.name,
            "assumptions": [
                {"key": each.key, "value": each.value, "meaning": each.meaning}
                for each in self.axis.assumptions
            ],
            "matters_most": None if self.matters_most is None else self.matters_most.key,
            "share": self.share,
        }


def new_rig(folder: str | Path, answers: Answers) -> NewResult:
    """Write a rig file from five answers.

    Parameters
    ----------
    folder : str or Path
        Folder for ``rig.toml``; made where it is missing.
    answers : Answers
        What moves, from where to where, how exact, which sensor, which ratio.

    Returns
    -------
    NewResult
        The rig, its file, and which assumption matters most.

    Raises
    ------
    UsageError
        The ratio cannot be read, or the kind of sensor is not known.
    RigError
        The answers do not make a rig; every problem is named.
    DataError
        There is a rig file already, or the folder cannot be written to.
    """
    file = free_file(folder)
    if answers.sensor not in kinds_in("sensor"):
        remedy = nearest(answers.sensor, kinds_in("sensor"))
        raise UsageError(Problem("sensor", f"kind '{answers.sensor}' is not known", "", remedy))
    text = rig_text(answers)
    rig = build_rig(parse_document(text, source=str(file)), source=str(file))
    write_whole(file, text, fresh=True)
    most, share = _matters_most(next(iter(rig.axes.values())))
    return NewResult(rig=rig, file=file, matters_most=most, share=share)


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


def _matters_most(axis: Axis) -> tuple[Assumption | None, float]:
    """The assumption with the largest share of the variance after calibration."""
    rows = budget_axis(axis).of(State.CALIBRATED).shares
    shares = {f"{row.link}.{row.quantity}": row.share for row in rows}
    assumed = [(shares.get(each.key.removeprefix("plan."), 0.0), each) for each in axis.assumptions]
    share, most = max(assumed, key=lambda pair: pair[0], default=(0.0, None))
    return (most, share) if share > 0.0 else (None, 0.0)
