"""Whether a comma in a number is its decimal mark or parts its thousands: asked where both may be."""

import re

from anglewright.tables.numbers import GROUPED, NumberForm
from anglewright.tables.proposing import Column, Sampled, may_be_raw, plausible_units
from anglewright.tables.wishes import Question

_DECIMAL = re.compile(r"[+-]?(?:0*,\d*|\d+,(?!\d{3}$)\d*|\d{4,}(?:,\d*)?)(?:[eE][+-]?\d+)?")


def doubted_decimals(sheet: Sampled, columns: tuple[int, int]) -> Question | None:
    """A question where every comma in the numbers of the columns stands as it would before thousands.

    Parameters
    ----------
    sheet : Sampled
        The sample of the file.
    columns : tuple of int
        Columns of the reference and of the raw reading. [1]

    Returns
    -------
    Question or None
        None where one cell shows that commas are decimal marks, such as 0,904 or 47,5, or that they part
        several readings, where thousands would not fit the axis, or where none stands before three digits.
    """
    if sheet.wishes.decimal_comma is not None:
        return None
    rows = sheet.grid.rows[sheet.header.first :]
    cells = [row.cell(column).strip() for row in rows for column in columns]
    found = next((cell for cell in cells if GROUPED.fullmatch(cell)), "")
    if not found or any(_DECIMAL.fullmatch(cell) or cell.count(",") > 1 for cell in cells):
        return None
    if _fits(sheet, columns, grouped=False) and not _fits(sheet, columns, grouped=True):
        return None
    return Question(
        where=sheet.grid.name,
        found=f"the comma in {found} may be a decimal mark, or part thousands",
        asks="Which is it?",
        answers=(
            ("decimal=comma", f"{found} is {found.replace(',', '.', 1)}"),
            ("decimal=point", f"{found} is {found.replace(',', '')}"),
        ),
    )


def _fits(sheet: Sampled, columns: tuple[int, int], *, grouped: bool) -> bool:
    """Whether both columns are what they should be if commas part thousands, or if they do not."""
    found = []
    for index in columns:
        form = NumberForm(decimal_comma=not grouped, grouped=grouped)
        values = form.values([row.cell(index) for row in sheet.grid.rows[sheet.header.first :]])
        found.append(Column(index=index, name=sheet.name(index), values=values))
    reference, raw = found
    if not len(reference.known) or not len(raw.known):
        return False
    return bool(plausible_units(reference, sheet.wanted)) and may_be_raw(raw, sheet.wanted)
