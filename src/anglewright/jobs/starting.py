"""Job: a rig file from five answers; everything else is assumed, said so, and easy to change."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.errors import DataError, Problem, UsageError, nearest
from anglewright.jobs.budgeting import headline_of
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.fields import ChoiceKey, Key, LimitKey, QuantityKey, TableKey, TeethKey, WholeKey
from anglewright.rig import Assumption, Axis, Rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.kinds import USUAL, kinds_in, part_named
from anglewright.rigfile.reading import build_rig
from anglewright.rigfile.storing import write_whole

LEAST_TEETH = 24  # of the smaller gear that a plain ratio is turned into [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The five answers: what moves, from, to, how exact, kind of sensor, ratio (``2`` or ``48:24``)."""

    moves: str
    low: str
    high: str
    error: str
    sensor: str = "potentiometer"
    ratio: str = "1"


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
        note = "Every one stands in the file as a comment: take the mark away and mend the value."
        return (Table(title="Assumed", columns=("key", "value", "meaning"), rows=rows, note=note),)

    def as_json(self) -> Json:
        """File, assumptions, and the one that matters most."""
        return {
            "file": str(self.file),
            "axis": self.axis.name,
            "assumptions": [
                {"key": each.key, "value": each.value, "meaning": each.meaning} for each in self.axis.assumptions
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
        The ratio cannot be read.
    RigError
        The answers do not make a rig; every problem is named.
    DataError
        There is a rig file already, or the folder cannot be written to.
    """
    file = Path(folder) / "rig.toml"
    if file.exists():
        remedy = "Name another folder; yours is kept."
        raise DataError(Problem(str(file), "there is a rig file already", "", remedy))
    text = rig_text(answers)
    rig = build_rig(parse_document(text, source=str(file)), source=str(file))
    write_whole(file, text)
    most, share = _matters_most(next(iter(rig.axes.values())))
    return NewResult(rig=rig, file=file, matters_most=most, share=share)


def _matters_most(axis: Axis) -> tuple[Assumption | None, float]:
    """The assumption with the largest share of the variance after calibration."""
    shares = {f"{row.link}.{row.quantity}": row.share for row in budget_axis(axis).of(State.CALIBRATED).shares}
    assumed = [each for each in axis.assumptions if each.key.removeprefix("plan.") in shares or each.key in shares]
    ranked = sorted(assumed, key=lambda each: -shares.get(each.key.removeprefix("plan."), 0.0))
    return (ranked[0], shares[ranked[0].key.removeprefix("plan.")]) if ranked else (None, 0.0)


def teeth_of(ratio: str) -> tuple[int, int]:
    """Teeth from axis to sensor for ``48:24`` or a plain ratio such as ``2``.

    Raises
    ------
    UsageError
        It is neither.

    Examples
    --------
    >>> teeth_of("48:24"), teeth_of("2"), teeth_of("1.5")
    ((48, 24), (48, 24), (36, 24))
    """
    try:
        if ":" in ratio:
            first, second = (int(part) for part in ratio.split(":"))
            return first, second
        exact = Fraction(ratio).limit_denominator(60)
        if exact <= 0:
            raise ValueError(ratio)
    except (ValueError, ZeroDivisionError):
        remedy = "Write the teeth from axis to sensor, 48:24, or turns of the sensor per turn of the axis, 2."
        raise UsageError(Problem("ratio", f"'{ratio}' is no ratio", "", remedy)) from None
    grown = max(1, -(-LEAST_TEETH // min(exact.numerator, exact.denominator)))
    return exact.numerator * grown, exact.denominator * grown


def rig_text(answers: Answers) -> str:
    """The rig file of five answers, every default in it as a comment."""
    if answers.sensor not in kinds_in("sensor"):
        remedy = nearest(answers.sensor, kinds_in("sensor"))
        raise UsageError(Problem("sensor", f"kind '{answers.sensor}' is not known", "", remedy))
    name, direct = _quoted(answers.moves), answers.ratio.strip() == "1"
    teeth = teeth_of(answers.ratio)
    lines = [
        "# Lines that begin with a hash and say 'assumed' hold the defaults (common practice, no source):",
        "# take the hash away and write your own value.",
        'rig = "my rig"',
        "",
        f"[axis.{name}]",
        f"motion = {{ from = {_quoted(answers.low)}, to = {_quoted(answers.high)} }}",
        f"need = {{ error = {_quoted(answers.error)} }}",
        'when_unpowered = "drops"               # assumed, the worst: holds | sinks | drops | springs',
    ]
    for room, usual in USUAL.items():
        kind = {"drive": "direct" if direct else "gears", "sensor": answers.sensor}.get(room, usual)
        lines += ["", f"[axis.{name}.{room}]", f'kind = "{kind}"']
        lines += [line for key in part_named(room, kind).KEYS for line in _line(key, teeth)]
    return "\n".join(lines) + "\n"


def _line(key: Key, teeth: tuple[int, int]) -> list[str]:
    """One key of a part as a comment, or the teeth as given."""
    if isinstance(key, TeethKey):
        return [f"{key.name} = [{teeth[0]}, {teeth[1]}]"]
    if isinstance(key, TableKey):
        return [f'# {key.name} = {{ down = "100 kohm", at = "pin" }}']
    default: Any = getattr(key, "default", None) if isinstance(key, QuantityKey | LimitKey | ChoiceKey | WholeKey) else None
    if default is None:
        return []
    shown = str(default) if isinstance(default, int) else _quoted(str(default))
    return [f"# {f'{key.name} = {shown}':<40} # assumed: {key.meaning}"]


def _quoted(text: str) -> str:
    """A TOML text in quotes."""
    import json

    return json.dumps(text, ensure_ascii=False)


