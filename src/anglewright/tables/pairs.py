"""Which two columns are the reference and the raw reading: as asked, by name, by their values."""

from anglewright.errors import DataError, Problem
from anglewright.tables.header import RAW, REFERENCE, SIDE, TIME, column_named, columns_named
from anglewright.tables.measures import raw_size
from anglewright.tables.proposing import Column, Sampled, following, may_be_raw, plausible_units
from anglewright.tables.wishes import OPTION, Question

_MOST_NAMES = 24  # of columns that a refusal lists [1]
_MOST_ANSWERS = 8  # that a question offers [1]
_ROLES = {"reference": "reference", "raw": "raw reading"}


def pair_of(sheet: Sampled) -> tuple[int, int, str] | Question:
    """Reference and raw and why these, or the question on which it depends.

    Raises
    ------
    DataError
        No column could be one of them.
    UsageError
        A wish names a column that is not there.
    """
    names, wishes = sheet.header.names, sheet.wishes
    found: dict[str, int | None] = {}
    for role, words, asked in (("reference", REFERENCE, wishes.reference), ("raw", RAW, wishes.raw)):
        column = sheet.wished(asked, role) if asked else _by_name(sheet, words, role)
        if isinstance(column, Question):
            return column
        found[role] = column
    reference, raw = found["reference"], found["raw"]
    if reference is not None and raw is not None and reference != raw:
        _hold_swapped(sheet, reference, raw)
        asked_for = bool(wishes.reference or wishes.raw)
        return reference, raw, "as was asked" if asked_for else "by their names"
    if reference == raw:
        reference = None if not wishes.reference else reference
        raw = None if not wishes.raw else raw
    return _by_values(sheet, reference, raw) if len(names) > 1 else _lost(sheet, reference)


def _by_name(sheet: Sampled, words: tuple[str, ...], role: str) -> int | Question | None:
    """The column that is named, None where none is, a question where two have the same name for it."""
    if not sheet.header.named:
        return None
    numeric = {column.index for column in sheet.numeric}
    names = sheet.header.names
    best = column_named(names, words)
    found = columns_named(names, words)
    if best is None:
        usable = [index for index in found if index in numeric]
        return usable[0] if len(usable) == 1 else None
    word = _word_of(names[best], words)
    equal = [k for k in found if _word_of(names[k], words) == word and k in numeric]
    if len(equal) < 2 or len({names[k].lower() for k in equal}) < 2:
        return best
    answers = [(f"{role}={names[k]}", sheet.describe(k)) for k in equal[:_MOST_ANSWERS]]
    listed = ", ".join(names[k] for k in equal)
    return Question(
        where=sheet.grid.name,
        found=f"{len(equal)} columns could be the {_ROLES[role]}: {listed}",
        asks=f"Which column is the {_ROLES[role]}?",
        answers=tuple(answers),
    )


def _word_of(name: str, words: tuple[str, ...]) -> str:
    return next((word for word in words if column_named((name,), (word,)) is not None), "")


def _by_values(sheet: Sampled, reference: int | None, raw: int | None) -> tuple[int, int, str] | Question:
    """The pair that range and behaviour leave, or the question which it is."""
    free = [column for column in sheet.numeric if not _is_taken(sheet, column)]
    first = [column for column in sheet.numeric if column.index == reference] or [
        column for column in free if column.index != raw and plausible_units(column, sheet.wanted)
    ]
    second = [column for column in sheet.numeric if column.index == raw] or [
        column for column in free if column.index != reference and may_be_raw(column, sheet.wanted)
    ]
    pairs = [(one, other) for one in first for other in second if one.index != other.index]
    if not sheet.header.named and _two_alone(sheet) and (len(pairs) != 1 or pairs[0][0].index == 0):
        return 0, 1, "no header: the first column is taken as the reference, the second as raw"
    if not pairs:
        return _lost(sheet, reference)
    best = (pairs[0], None) if len(pairs) == 1 else following(pairs)
    if best is None:
        return _which(sheet, pairs, reference)
    return _proposed(sheet, best[0], best[1], reference, raw)


def _two_alone(sheet: Sampled) -> bool:
    return len(sheet.header.forms) == 2


def _is_taken(sheet: Sampled, column: Column) -> bool:
    """Whether a column is named as the time or the side, or holds sides."""
    if sheet.header.named and column_named((sheet.name(column.index),), (*TIME, *SIDE)) is not None:
        return True
    return sheet.holds_sides(column.index) and len(sheet.numeric) > 2


def _proposed(
    sheet: Sampled,
    pair: tuple[Column, Column],
    follows: float | None,
    reference: int | None,
    raw: int | None,
) -> tuple[int, int, str]:
    said = []
    for column, known, role in ((pair[0], reference, "reference"), (pair[1], raw, "raw")):
        if known is not None:
            said.append(f"{role} by its name")
        else:
            said.append(f"{role} by its values, {column.describe()}")
    if follows is not None:
        said.append(f"of those that could be it, the one that follows the other (correlation {follows:.3f})")
    return pair[0].index, pair[1].index, "; ".join(said)


def _which(sheet: Sampled, pairs: list[tuple[Column, Column]], reference: int | None) -> Question:
    """The question which of several columns is the reference, or the raw reading."""
    side = 0 if reference is None and len({pair[0].index for pair in pairs}) > 1 else 1
    role = "reference" if side == 0 else "raw"
    columns = {pair[side].index: pair[side] for pair in pairs}.values()
    return Question(
        where=sheet.grid.name,
        found=f"{len(columns)} columns could be the {_ROLES[role]} by their values",
        asks=f"Which column is the {_ROLES[role]}?",
        answers=tuple((f"{role}={each.name}", each.describe()) for each in columns)[:_MOST_ANSWERS],
    )


def _hold_swapped(sheet: Sampled, reference: int, raw: int) -> None:
    """Refuse two columns of which each is what the other is named as.

    Raises
    ------
    DataError
        They are, and nobody said which is which.
    """
    by_index = {column.index: column for column in sheet.numeric}
    one, other = by_index.get(reference), by_index.get(raw)
    if one is None or other is None or (sheet.wishes.reference and sheet.wishes.raw):
        return
    as_named = plausible_units(one, sheet.wanted) or may_be_raw(other, sheet.wanted)
    if as_named or not (plausible_units(other, sheet.wanted) and may_be_raw(one, sheet.wanted)):
        return
    held = f"'{other.name}' holds {other.describe()}, and '{one.name}' {one.describe()}"
    found = f"its columns look swapped: {held}"
    remedy = f'Give {OPTION} "reference={other.name}" {OPTION} "raw={one.name}", or mend the header.'
    raise DataError(Problem(sheet.grid.name, found, "", remedy))


def _hold_alone(sheet: Sampled, reference: int) -> None:
    """Refuse the only column that is left for the raw reading where it is in what no controller shows.

    Raises
    ------
    DataError
        It is.
    """
    free = [each for each in sheet.numeric if each.index != reference and not _is_taken(sheet, each)]
    if len(free) == 1:
        raw_size(sheet, free[0].index)


def _lost(sheet: Sampled, reference: int | None) -> tuple[int, int, str]:
    """Refuse a sheet in which a column cannot be found.

    Raises
    ------
    DataError
        Always.
    """
    grid, names = sheet.grid, sheet.header.names
    if not sheet.header.named:
        found = f"{len(sheet.header.forms)} columns stand without a header"
        remedy = "Write a header line such as reference_deg,raw above the numbers."
        raise DataError(Problem(grid.name, found, "", remedy))
    lost = "reference" if reference is None else "raw reading"
    if reference is not None:
        _hold_alone(sheet, reference)
    more = f", and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    found = f"no column is named as the {lost}; there are: {', '.join(names[:_MOST_NAMES])}{more}"
    remedy = "Name the columns reference_UNIT and raw, as in reference_deg,raw."
    raise DataError(Problem(grid.name, found, "", remedy))
