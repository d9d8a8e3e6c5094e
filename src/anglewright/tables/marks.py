"""Values that look like a mark for a failed reading: one number again and again, far from its neighbours."""

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import DataError, Problem
from anglewright.recording import Recording
from anglewright.tables.wishes import OPTION

Array = NDArray[np.float64]
_FAR = 0.25  # of the range of all readings, from both neighbours [1]
_OFTEN = 3  # times that such a value recurs [1]
_ALWAYS = 0.8  # share of its occurrences that are far from both neighbours [1]
_MOST = 3  # values that are told [1]
_BEYOND = 0.25  # of the converter's range, beyond which a reading is not near its end [1]
_USUAL = -1.0  # stands for a failed reading in many logs (common practice, no source)
_FEW = 0.5  # share of the rows that such readings may be, or another column was meant [1]


def suspected_marks(raw: Array, lines: NDArray[np.int64], *, place: str = "line") -> tuple[str, ...]:
    """Sentences about values that may stand for no reading; they are kept, because each is a legal one too.

    Parameters
    ----------
    raw : array, (R,)
        Raw readings in their order. [unit of the column]
    lines : array, (R,)
        Line of each. [1]
    place : str
        What a line is called.

    Returns
    -------
    tuple of str
        One sentence a value.

    Examples
    --------
    >>> raw = np.array([100.0, 101.0, 3839.0, 102.0, 3839.0, 103.0, 104.0, 3839.0, 105.0])
    >>> print(*suspected_marks(raw, np.arange(2, 11)))
    3839 stands 3 times far from the readings beside it, first line 4: a mark for a failed reading, perhaps \
(--as missing=3839 leaves it out)
    """
    if len(raw) <= 2 * _OFTEN or np.ptp(raw) == 0.0:
        return ()
    steps = np.abs(np.diff(raw)) > _FAR * np.ptp(raw)
    alone = np.flatnonzero(steps[:-1] & steps[1:]) + 1
    values, times = np.unique(raw[alone], return_counts=True)
    said = []
    for value, count in zip(values[times >= _OFTEN].tolist(), times[times >= _OFTEN].tolist(), strict=True):
        if count < _ALWAYS * np.count_nonzero(raw == value):
            continue
        first = lines[alone[raw[alone] == value][0]]
        what = f"{value:.10g} stands {count} times far from the readings beside it, first {place} {first}"
        way = f"{OPTION} missing={value:.10g} leaves it out"
        said.append(f"{what}: a mark for a failed reading, perhaps ({way})")
    return tuple(said[:_MOST])


def hold_impossible(recording: Recording, *, column: str, low: float | None, high: float | None) -> None:
    """Refuse a few values far beyond what the converter can give: marks for failed readings, perhaps.

    Parameters
    ----------
    recording : Recording
        The readings.
    column : str
        Name of the raw column.
    low, high : float or None
        Lowest and highest reading there is; None where that is not known. [unit of the column]

    Raises
    ------
    DataError
        There are such values; each is told with its first row and what leaves it out.
    """
    raw = recording.raw
    if low is None or high is None:
        return
    margin = _BEYOND * (high - low)
    beyond = (raw < low - margin) | (raw > high + margin) | ((raw == _USUAL) & (low > _USUAL))
    values, first, times = np.unique(np.where(beyond, raw, np.nan), return_index=True, return_counts=True)
    known = np.isfinite(values)
    if not known.any() or np.count_nonzero(known) > _MOST or np.count_nonzero(beyond) > _FEW * len(raw):
        return
    listed = ",".join(f"{value:.10g}" for value in values[known])
    remedy = (
        f'If that stands for a failed reading, give {OPTION} "missing={listed}"; '
        "otherwise correct converter.bits or converter.raw, or name another column."
    )
    problems: list[Problem] = []
    for value, row, count in zip(values[known], first[known], times[known], strict=True):
        found = f"{value:.10g} stands in {count} of {len(raw)} rows"
        where = f"{recording.place(int(row))}, column '{column}'"
        whose = f"and the rig file's converter gives {low:.10g} to {high:.10g}"
        problems.append(Problem(where, found, whose, remedy))
    raise DataError(problems)
