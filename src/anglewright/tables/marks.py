"""Values that look like a mark for a failed reading: one number again and again, far from its neighbours."""

import numpy as np
from numpy.typing import NDArray

from anglewright.tables.wishes import OPTION

Array = NDArray[np.float64]
_FAR = 0.25  # of the range of all readings, from both neighbours [1]
_OFTEN = 3  # times that such a value recurs [1]
_ALWAYS = 0.8  # share of its occurrences that are far from both neighbours [1]
_MOST = 3  # values that are told [1]


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
