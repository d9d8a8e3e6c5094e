"""Labels are broken, set and kept apart; the way they are kept apart is held against a reference."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from anglewright.report.lettering import LINE_PX, Label, broken, kept_apart, typeset, width_of

columns = st.lists(st.tuples(st.floats(-500, 500), st.floats(10, 80)), min_size=1, max_size=12)


@given(columns)
def test_labels_move_as_little_as_isotonic_regression_says(column: list[tuple[float, float]]) -> None:
    """SciPy's isotonic regression of the places with the heights taken off is the reference."""
    column.sort()
    wanted, heights = (list(each) for each in zip(*column, strict=True))
    edges = np.concatenate([[0.0], np.cumsum([(a + b) / 2 for a, b in pairwise(heights)])])
    reference = isotonic_regression(np.array(wanted) - edges).x + edges
    assert kept_apart(wanted, heights) == pytest.approx(list(reference), abs=1e-6)


@given(columns)
def test_no_label_lies_over_the_next(column: list[tuple[float, float]]) -> None:
    column.sort()
    wanted, heights = (list(each) for each in zip(*column, strict=True))
    middles = kept_apart(wanted, heights)
    for k in range(len(middles) - 1):
        assert middles[k] + heights[k] / 2 <= middles[k + 1] - heights[k + 1] / 2 + 1e-6


def test_labels_with_room_stay_where_they_want_to_be() -> None:
    assert kept_apart([0.0, 100.0, 250.0], [20.0, 40.0, 20.0]) == [0.0, 100.0, 250.0]


@given(st.text(max_size=200))
def test_no_line_is_longer_than_allowed_and_none_holds_a_sign_that_cannot_be_shown(text: str) -> None:
    lines = broken([text], signs=12)
    assert all(0 < len(line) <= 12 for line in lines)
    assert all(sign.isprintable() or sign in "\u00a0\u2009" for line in lines for sign in line)


def test_number_and_unit_stay_together() -> None:
    assert broken(["clamp at -20 deg"], signs=12) == ("clamp at", "\u221220\u00a0deg")
    assert typeset("-4.7 kohm") == "\u22124.7\u00a0k\u03a9"


def test_wide_signs_get_more_room_than_narrow_ones() -> None:
    assert width_of("WWWW") > width_of("0000") > width_of("iiii")
    assert width_of("棚") > width_of("W")


def test_a_label_is_text_and_escapes_what_it_is_given() -> None:
    svg = Label(x=0.0, y=0.0, lines=("<b>", "& co")).drawn()
    assert svg.count("<text") == 2
    assert "&lt;b&gt;" in svg
    assert "&amp; co" in svg
    assert Label(x=0.0, y=0.0, lines=("a", "b", "c")).height == 3 * LINE_PX
