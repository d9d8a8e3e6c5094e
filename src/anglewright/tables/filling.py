"""A reference that is written once above several raw readings, as in merged cells of a spreadsheet."""

import numpy as np
from numpy.typing import NDArray

from anglewright.tables.proposing import Sampled
from anglewright.tables.wishes import Question

Array = NDArray[np.float64]
_MANY = 0.3  # share of rows with a blank reference from which on that is no slip [1]
_STILL = 0.25  # of the usual step between places that raw readings of one place may span [1]
_MOST_ROWS = 4000  # of the sample that are looked at [1]


def filled_down(sheet: Sampled, reference: int, raw: int) -> tuple[str, ...] | Question | None:
    """What is said where blank cells below a reference stand for it, None where there are none.

    Parameters
    ----------
    sheet : Sampled
        The sample, with its header.
    reference, raw : int
        Columns of the reference and of the raw reading. [1]

    Returns
    -------
    tuple of str, Question or None
        A sentence where the raw readings beside the blank cells stay where that of the filled one was; a
        question where they do not, or where only part of the file was seen.
    """
    rows = sheet.grid.rows[sheet.header.first :][:_MOST_ROWS]
    cells = [(row.cell(reference).strip(), row.cell(raw).strip()) for row in rows]
    cells = [(one, other) for one, other in cells if one or other]
    filled = np.array([bool(one) for one, _ in cells], dtype=np.bool_)
    values = sheet.header.forms[raw].values([other for _, other in cells])
    if sheet.wishes.pair or not filled.any() or not filled[0] or not np.isfinite(values).all():
        return None
    if np.count_nonzero(~filled) < _MANY * len(filled):
        return None
    name = sheet.name(reference)
    if sheet.grid.whole and _stands_still(values, filled):
        said = f"column '{name}' is blank in rows below a filled one, where the raw reading stays: "
        return (f"{said}each takes the reference above it, as in merged cells",)
    return Question(
        where=f"{sheet.grid.name}, column '{name}'",
        found=f"it is blank in {np.count_nonzero(~filled)} of {len(filled)} rows, each below a filled one",
        asks="What do the blank cells stand for?",
        answers=(("pair=before", "the reference above them, right only while the axis stands still"),),
    )


def _stands_still(raw: Array, filled: NDArray[np.bool_]) -> bool:
    """Whether raw readings hardly move below each reference, held against the steps between places."""
    groups = np.split(raw, np.flatnonzero(filled)[1:])
    if len(groups) < 2:
        return False
    within = max(float(np.ptp(group)) for group in groups)
    steps = np.abs(np.diff([float(np.mean(group)) for group in groups]))
    return within <= _STILL * float(np.median(steps))
