"""Job: which sensor at which drive for the need of an axis; all others are refused with all their reasons."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from anglewright.catalogue.drives import drive_offers
from anglewright.catalogue.fitting import fitted
from anglewright.catalogue.loading import TEMPLATE, Catalogue, load_catalogue, shipped_text
from anglewright.errors import Problem, UsageError, nearest
from anglewright.jobs.applying import written
from anglewright.jobs.chosen import ChooseResult, with_applied
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown
from anglewright.rig import Axis, Rig
from anglewright.rigfile.storing import write_whole
from anglewright.selection.drives import drives_of
from anglewright.selection.figures import figures_of
from anglewright.selection.judging import judge
from anglewright.selection.needs import need_of
from anglewright.selection.ranking import kept, refused


class TemplateResult(Shown):
    """A template for parts of one's own, written to a file."""

    __slots__ = ("file",)

    def __init__(self, file: Path) -> None:
        """Keep where it was written."""
        self.file = file

    @property
    def headline(self) -> str:
        """Where it is and what to do with it."""
        return (
            f"{self.file} is written. Put in the numbers of your data sheets; then: --catalogue {self.file}."
        )

    def as_json(self) -> Json:
        """The file."""
        return {"file": str(self.file)}


def write_template(file: str | Path) -> TemplateResult:
    """Write a template for parts of one's own, to be filled from their data sheets.

    Raises
    ------
    DataError
        There is a file of that name, or the place cannot be written to.
    """
    path = Path(file)
    write_whole(path, shipped_text(TEMPLATE), fresh=True)
    return TemplateResult(path)


def choose(
    rig: Rig,
    *,
    axis: str | None = None,
    catalogue: Iterable[str | Path] = (),
    apply: str | None = None,
    parts: bool = False,
) -> ChooseResult:
    """Hold every sensor of the catalogue at every drive against the need of an axis.

    Parameters
    ----------
    rig : Rig
        The machine; opened with ``fitted=False`` where the axis has no sensor that fits yet.
    axis : str, optional
        Name of the axis; the only one where none is named.
    catalogue : iterable of str or Path
        Files with parts of one's own, beside those that are shipped.
    apply : str, optional
        Number in the order, or name of a sensor: that choice is written into the rig file.
    parts : bool
        Also list what to buy.

    Returns
    -------
    ChooseResult
        The kept ones in their order, the refused ones with all reasons.

    Raises
    ------
    UsageError
        There is no such axis, number or sensor.
    RigError
        A row of a catalogue cannot be, or the choice does not fit the rig file.
    DataError
        A file cannot be read or written.

    References
    ----------
    practice, gum

    Examples
    --------
    Without play in its coupling, what would serve the rover's shoulder for the least money?

    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml", changes=["shoulder.coupling.play=0 deg"])
    >>> choose(rig, axis="shoulder").exit_code
    0
    """
    result = replace(choose_for(the_axis(rig, axis), load_catalogue(catalogue)), with_parts=parts)
    if apply is None:
        return result
    place = picked(result, apply)
    said = written(rig, result.axis, result.choice(place))
    return with_applied(result, place=place, said=said)


def choose_for(axis: Axis, catalogue: Catalogue) -> ChooseResult:
    """The same for an axis and a catalogue that are at hand."""
    rotary = axis.motion.rotary
    sensors = [each for each in catalogue.sensors if each.drive is None or not rotary]
    need = need_of(axis)
    offers = drive_offers(catalogue, rotary=rotary, length_m=need.stops_span)
    drives = drives_of(need, offers)
    figures = [figures_of(need, fitted(each, axis), drives) for each in sensors]
    with np.errstate(invalid="ignore"):
        judged = judge(need, figures, drives)
        return ChooseResult(judged=judged, kept=kept(judged), refused=refused(judged))


def picked(result: ChooseResult, which: str) -> int:
    """Place of a choice by its number in the order, or of the first one with a sensor.

    Raises
    ------
    UsageError
        There is none.
    """
    order = result.kept.tolist()
    if which.strip().isdecimal():
        if 1 <= int(which) <= len(order):
            return int(order[int(which) - 1])
        remedy = f"Name one of 1 to {len(order)}." if order else "Nothing meets the need: change it first."
        raise UsageError(Problem("--apply", f"there is no choice {which.strip()}", "", remedy))
    for place in order:
        if result.choice(place).sensor.name == which:
            return int(place)
    names = sorted({result.choice(place).sensor.name for _, place in result.best_of_each(result.kept)})
    remedy = nearest(which, names) if names else "Nothing meets the need: change it first."
    raise UsageError(Problem("--apply", f"no kept choice has a sensor '{which}'", "", remedy))
