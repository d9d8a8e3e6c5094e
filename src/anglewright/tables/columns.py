"""Which columns hold the reference, the raw reading and the side of approach, and in which unit."""

from dataclasses import dataclass, replace

import numpy as np

from anglewright.errors import DataError, Problem
from anglewright.quantities.units import Unit
from anglewright.tables.clocks import Clock, clock_of
from anglewright.tables.decimals import doubted_decimals
from anglewright.tables.filling import filled_down
from anglewright.tables.header import SIDE, TIME, Header, column_named, header_of, name_words
from anglewright.tables.measures import raw_size, unit_of
from anglewright.tables.pairs import pair_of
from anglewright.tables.proposing import Sampled, Wanted, sampled_of
from anglewright.tables.sides import NAMES, OPEN
from anglewright.tables.text import Grid
from anglewright.tables.wishes import NO_WISHES, OPTION, Ask, Question, Wishes, wishes_from

_TOGETHER = 0.1  # share of rows, below which reference and raw are said to stand apart [1]
_MOST_QUESTIONS = 8  # that one sheet may raise [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Columns:
    """Columns of a sheet by number, their names and units, and why they were chosen.

    `raw_size` turns what the raw column writes into the units of the raw meaning. [1]
    """

    header: Header
    reference: int
    raw: int
    side: int | None
    time: int | None
    unit: Unit
    raw_size: float
    clock: Clock | None
    why: str
    decisions: tuple[str, ...]
    pair: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """Names of all columns."""
        return self.header.names

    @property
    def used(self) -> tuple[int, ...]:
        """The columns that are read."""
        return tuple(each for each in (self.reference, self.raw, self.side, self.time) if each is not None)


def find_columns(
    grid: Grid, *, wanted: Wanted, wishes: Wishes = NO_WISHES, ask: Ask | None = None
) -> Columns:
    """The columns of a sheet.

    Parameters
    ----------
    grid : Grid
        The file as rows of cells.
    wanted : Wanted
        Unit of the axis, taken where the reference column does not name its own; what the raw column
        should hold; the ranges of both.
    wishes : Wishes
        What was said about the file.
    ask : callable, optional
        Puts a question to a person where two readings are possible.

    Returns
    -------
    Columns
        Where each thing stands.

    Raises
    ------
    DataError
        No row holds two numbers, no column could be the reference or the raw reading, one of them
        is in a unit that does not fit the axis, or several could be it and nobody can be asked.
    UsageError
        A wish names a column that is not there, or a unit that does not fit.
    """
    for _ in range(_MOST_QUESTIONS):
        grid = _as_said(grid, wishes)
        header = header_of(grid, wishes)
        found = _found(sampled_of(grid, header, wanted=wanted, wishes=wishes))
        if isinstance(found, Columns):
            return found
        if ask is None:
            raise DataError(found.problem())
        wishes = wishes_from([ask(found)], wishes=wishes)
    raise DataError(Problem(grid.name, "its columns could not be settled", "", "Name them in a header line."))


def _as_said(grid: Grid, wishes: Wishes) -> Grid:
    """The sheet with the decimal mark that was asked for, if one was."""
    comma = wishes.decimal_comma
    return grid if comma is None else replace(grid, decimal_comma=comma, grouped=not comma)


def _found(sheet: Sampled) -> Columns | Question:
    """The columns, or the question on which they depend."""
    pair = pair_of(sheet)
    if isinstance(pair, Question):
        return pair
    reference, raw, why = pair
    decimals = doubted_decimals(sheet, (reference, raw))
    if decimals is not None:
        return decimals
    unit = unit_of(sheet, reference)
    if isinstance(unit, Question):
        return unit
    apart = _apart(sheet, reference, raw)
    if apart is not None:
        return apart
    filled = filled_down(sheet, reference, raw)
    if isinstance(filled, Question):
        return filled
    size, sized = raw_size(sheet, raw)
    time, clock, timed = _time_of(sheet, (reference, raw))
    side = _side_of(sheet, (reference, raw, time))
    return Columns(
        header=sheet.header,
        reference=reference,
        raw=raw,
        side=side,
        time=time,
        unit=unit[0],
        raw_size=size,
        clock=clock,
        why=why,
        decisions=(
            *(*sheet.header.decisions, *_written(sheet, (reference, raw)), *unit[1]),
            *(*(filled or ()), *sized, *timed, *(_unused(sheet) if side is None else ())),
        ),
        pair="before" if filled else sheet.wishes.pair,
    )


def _written(sheet: Sampled, columns: tuple[int, int]) -> tuple[str, ...]:
    """What is unusual about the numbers of the columns, a sentence each."""
    said = []
    for index in columns:
        form, name = sheet.header.forms[index], f"column '{sheet.name(index)}'"
        said += [f"{name} is read as hexadecimal digits"] if form.base == 16 else []
        said += [f"{name}: the '{form.suffix}' behind its numbers is its unit"] if form.suffix else []
        if form.listed:
            said.append(f"{name} holds several readings in a cell, parted by '{form.listed}': each is a row")
    return tuple(said)


def _apart(sheet: Sampled, reference: int, raw: int) -> Question | None:
    """A question where reference and raw reading hardly ever stand in the same row."""
    by_index = {column.index: np.isfinite(column.values) for column in sheet.numeric}
    if sheet.wishes.pair or reference not in by_index or raw not in by_index:
        return None
    one, other = by_index[reference], by_index[raw]
    filled = np.count_nonzero(one | other)
    if np.count_nonzero(one & other) > _TOGETHER * filled:
        return None
    if min(np.count_nonzero(one & ~other), np.count_nonzero(other & ~one)) < _TOGETHER * filled:
        return None
    meaning = "each raw reading takes the reference last seen, right only while the axis stands still"
    return Question(
        where=sheet.grid.name,
        found="reference and raw reading stand in rows of their own",
        asks="How do they belong together?",
        answers=(("pair=before", meaning),),
    )


def _time_of(sheet: Sampled, taken: tuple[int, int]) -> tuple[int | None, Clock | None, tuple[str, ...]]:
    """The column of times, how it tells them, and what had to be decided."""
    wishes = sheet.wishes
    said: list[str] = []
    if wishes.time == "none" or wishes.clock == "none":
        return None, None, ()
    if wishes.time:
        time: int | None = sheet.wished(wishes.time, "time")
    else:
        time, said = _time_named(sheet, taken)
    if time is None:
        return None, None, ()
    cells = [row.cell(time) for row in sheet.grid.rows[sheet.header.first :]]
    name = sheet.name(time)
    clock = clock_of(name, cells, numbers=sheet.header.forms[time], unit=wishes.clock)
    if clock is None:
        return None, None, (*said, f"column '{name}' tells no time that is understood; it is left out")
    return time, clock, (*said, *([clock.said] if clock.said else []))


def _time_named(sheet: Sampled, taken: tuple[int, int]) -> tuple[int | None, list[str]]:
    names = sheet.header.names
    if not sheet.header.named:
        rising = [each for each in sheet.numeric if each.index not in taken and each.rises]
        if not rising:
            return None, []
        return rising[0].index, [f"column {rising[0].name} rises from row to row and is taken as the time"]
    columns = [k for k in range(len(sheet.header.forms)) if k not in taken and k < len(names)]
    named = [k for k in columns if set(name_words(names[k])) & set(TIME)]
    if len(named) < 2:
        return (named[0] if named else None), []
    stamped = [k for k in named if "stamp" in names[k].lower()]
    chosen = (stamped or named)[0]
    listed = " and ".join(f"'{names[k]}'" for k in named)
    return chosen, [f"{listed} are clocks; '{names[chosen]}' is used ({OPTION} time=NAME overrules)"]


def _side_of(sheet: Sampled, taken: tuple[int | None, ...]) -> int | None:
    """The column of the sides of approach: asked for, named, or full of their words."""
    if sheet.wishes.side:
        return None if sheet.wishes.side == "none" else sheet.wished(sheet.wishes.side, "side")
    named = column_named(sheet.header.names, SIDE) if sheet.header.named else None
    if named is not None:
        return named
    columns = range(len(sheet.header.forms))
    return next((k for k in columns if k not in taken and sheet.holds_sides(k)), None)


def _unused(sheet: Sampled) -> tuple[str, ...]:
    """A sentence for each column that may tell a side of approach in words that leave it open."""
    if sheet.wishes.side:
        return ()
    said = []
    numeric = {column.index for column in sheet.numeric}
    for index in range(len(sheet.header.forms)):
        cells = {row.cell(index).strip().lower() for row in sheet.grid.rows[sheet.header.first :]} - {""}
        named = sheet.header.named and column_named((sheet.name(index),), NAMES) is not None
        if index in numeric or len(cells) != 2 or not (named or cells <= OPEN):
            continue
        what = f"column '{sheet.name(index)}' ({', '.join(sorted(cells))}) is not used"
        said.append(f"{what}; if it tells from which side each place was reached, write up and down in it")
    return tuple(said)
