"""A log in memory."""

import numpy as np
import pytest

from anglewright.errors import DataError
from anglewright.recording import Recording


def test_a_recording_keeps_locked_copies() -> None:
    mine = np.array([1.0, 2.0])
    log = Recording(raw=mine, reference=mine)
    mine[0] = 9.0
    assert log.raw.tolist() == [1.0, 2.0]
    with pytest.raises(ValueError, match="read-only"):
        log.raw[0] = 3.0


def test_columns_become_numbers_of_one_kind() -> None:
    log = Recording(raw=np.array([1, 2]), approach=np.array([1.0, -1.0]), lines=np.array([2, 3]))
    assert (log.raw.dtype, len(log)) == (np.float64, 2)
    assert log.approach is not None
    assert log.approach.dtype == np.int8


def test_columns_of_different_length_are_refused_together() -> None:
    with pytest.raises(DataError) as refused:
        Recording(raw=np.zeros(3), reference=np.zeros(2), time_s=np.zeros(4), source="run3.csv")
    remedy = "Give every row a value in each column, or leave the column out."
    assert str(refused.value).splitlines() == [
        f"run3.csv, column 'reference': 2 values stand beside 3 raw readings. {remedy}",
        f"run3.csv, column 'time_s': 4 values stand beside 3 raw readings. {remedy}",
    ]


def test_a_row_is_named_by_its_line_where_that_is_known() -> None:
    assert Recording(raw=np.zeros(3), source="sheet").place(0) == "sheet, row 1"
    assert (
        Recording(raw=np.zeros(2), lines=np.array([4, 7]), source="run3.csv").place(1) == "run3.csv, line 7"
    )
