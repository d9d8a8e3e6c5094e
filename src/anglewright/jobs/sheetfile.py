"""A file of readings for one axis: what the axis expects of it, and what a person says about it."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.jobs.resting import rested
from anglewright.jobs.wholeturns import in_the_motion
from anglewright.rig import Axis, raw_of_code
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import read_sheet
from anglewright.tables.sheet import Sheet
from anglewright.tables.sides import SIDES
from anglewright.tables.source import Source
from anglewright.tables.wishes import NO_WISHES, Ask, Wishes
from anglewright.tables.writing import decimal

MOST_ROWS = 1_000_000
"""Rows of a recording that a calibration keeps in memory; of a longer one every n-th. [1]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetFile:
    """A file or another source of readings, what was said about it, and whom to ask in doubt."""

    source: Source | Path
    wishes: Wishes = NO_WISHES
    ask: Ask | None = None


def sheet_in(axis: Axis, file: str | Path | SheetFile) -> Sheet:
    """Readings beside a reference, from a file.

    Raises
    ------
    DataError
        It cannot be read, holds no readings, or two readings of it are possible and nobody can be asked.
    UsageError
        Something was said about it that does not fit it, or rests were asked for and there are none.
    """
    given = file if isinstance(file, SheetFile) else SheetFile(source=Path(file))
    sheet = read_sheet(
        given.source, wanted=wanted_of(axis), wishes=given.wishes, ask=given.ask, most_rows=MOST_ROWS
    )
    return rested(axis, in_the_motion(axis, sheet), wished=given.wishes.rests)


def wanted_of(axis: Axis) -> Wanted:
    """What an axis expects of a sheet of readings."""
    endless = axis.motion.endless
    ends = [float(raw_of_code(axis, code)) for code in (axis.codes.low, axis.codes.high)]
    return Wanted(
        unit=axis.unit,
        raw_meaning=axis.raw.value,
        low=None if endless else axis.motion.low,
        high=None if endless else axis.motion.high,
        raw_low=min(ends),
        raw_high=max(ends),
        marks={
            name: decimal(mark.at.mean, axis.unit, fine=axis.permissible / 1e3)
            for name, mark in axis.marks.items()
            if name.casefold() not in SIDES
        },
    )
