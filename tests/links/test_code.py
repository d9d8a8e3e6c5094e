"""What the controller computes: a line, and a table of corrections whose inverse is exact."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.errors import RangeError
from anglewright.links.code import CodeLine, Corrections

CURVE = CodeLine(
    offset=-20.0,
    slope=0.05,
    corrections=Corrections(first=100.0, step=50.0, values=np.array([0.0, 2.0, 1.0, -1.0])),
)
ROUND = CodeLine(
    offset=3.0,
    slope=0.25,
    corrections=Corrections(first=40.0, step=360.0, values=np.array([1.0, -1.0, 0.5, 2.0]), period=1440.0),
)


def by_hand(line: CodeLine, code: float) -> float:
    """Position of a code in exact fractions, a piece after another, without any array."""
    table = line.corrections
    assert table is not None
    values = [Fraction(float(each)) for each in table.values]
    first, step, place = Fraction(table.first), Fraction(table.step), Fraction(code)
    if table.period is not None:
        values.append(values[0])
        place -= Fraction(table.period) * math.floor((place - first) / Fraction(table.period))
    place = min(max(place, first), first + step * (len(values) - 1))
    left = min(math.floor((place - first) / step), len(values) - 2)
    share = (place - first) / step - left
    correction = values[left] + share * (values[left + 1] - values[left])
    return float(Fraction(line.offset) + Fraction(line.slope) * Fraction(code) + correction)


@pytest.mark.parametrize(
    # on the line the position is code / 20 - 20; the corrections were read off the table by hand
    ("code", "position"),
    [
        (0.0, -20.0),  # before the table its first value holds: 0
        (100.0, -15.0),
        (125.0, -13.75 + 1.0),  # half way from 0 to 2
        (150.0, -12.5 + 2.0),
        (240.0, -8.0 - 0.6),  # four fifths of the way from 1 to -1
        (250.0, -7.5 - 1.0),
        (1000.0, 30.0 - 1.0),  # beyond it the last one holds: -1
    ],
)
def test_a_code_reads_as_the_line_with_the_correction_between_its_nodes(code: float, position: float) -> None:
    assert CURVE.forward(code) == pytest.approx(position, abs=1e-12)
    assert CURVE.backward(position) == pytest.approx(code, abs=1e-9)


@pytest.mark.parametrize(
    # 1440 codes are one turn: 1120 to 1480 is the piece from the last node, 2, back to the first, 1
    ("code", "correction"),
    [(40.0, 1.0), (1120.0, 2.0), (1300.0, 1.5), (1480.0, 1.0), (-140.0, 1.5), (1300.0 - 14400.0, 1.5)],
)
def test_a_table_that_comes_round_has_no_seam(code: float, correction: float) -> None:
    assert ROUND.forward(code) == pytest.approx(3.0 + 0.25 * code + correction, abs=1e-9)


@pytest.mark.parametrize("line", [CURVE, ROUND], ids=["with ends", "round"])
@given(code=st.floats(-5000.0, 5000.0))
def test_the_position_is_that_of_exact_fractions_and_the_code_comes_back(line: CodeLine, code: float) -> None:
    position = line.forward(code)
    assert position == pytest.approx(by_hand(line, code), abs=1e-10)
    assert line.backward(position) == pytest.approx(code, abs=1e-7)


@given(
    slope=st.sampled_from([-0.2, 0.05, 3.0]),
    values=st.lists(st.floats(-1.0, 1.0), min_size=2, max_size=65),
    first=st.floats(-100.0, 5000.0),
    round_=st.booleans(),
)
def test_every_curve_that_is_not_refused_is_inverted(
    slope: float, values: list[float], first: float, round_: bool
) -> None:
    # A step of 60 counts lets no piece of ±1 turn a slope of 0.05 or more.
    period = 60.0 * len(values) if round_ else None
    table = Corrections(first=first, step=60.0, values=np.array(values), period=period)
    line = CodeLine(offset=7.0, slope=slope, corrections=table)
    codes = np.linspace(first - 200.0, first + 60.0 * len(values) + 200.0, 301)
    positions = np.asarray(line.forward(codes))
    assert np.all(np.diff(positions) * slope > 0.0)
    np.testing.assert_allclose(line.backward(positions), codes, atol=1e-6)


@pytest.mark.parametrize("line", [CURVE, ROUND], ids=["with ends", "round"])
def test_an_array_is_worked_out_as_its_elements_and_nan_stays_nan(line: CodeLine) -> None:
    codes = np.linspace(-300.0, 3000.0, 34)
    both = np.asarray(line.forward(codes)), np.asarray(line.backward(np.asarray(line.forward(codes))))
    assert both[0].tolist() == [line.forward(float(code)) for code in codes]
    assert both[1].tolist() == [line.backward(float(q)) for q in both[0]]
    assert math.isnan(float(line.forward(math.nan)))
    assert math.isnan(float(line.backward(math.nan)))
    assert isinstance(line.forward(5.0), float)
    assert isinstance(line.backward(5.0), float)


@pytest.mark.parametrize("line", [CURVE, ROUND], ids=["with ends", "round"])
def test_the_slope_is_that_of_two_neighbouring_codes(line: CodeLine) -> None:
    codes = np.arange(-200.0, 3000.0, 7.3)  # no node lies within a hundredth of these
    apart = np.asarray(line.forward(codes + 0.01)) - np.asarray(line.forward(codes - 0.01))
    np.testing.assert_allclose(line.slope_at(codes), apart / 0.02, rtol=1e-6)


@pytest.mark.parametrize("code", [-77.0, 40.0, 133.0, 251.0, 1470.0, 9999.0])
@pytest.mark.parametrize("line", [CURVE, ROUND], ids=["with ends", "round"])
def test_the_second_step_adds_the_correction_to_the_first(line: CodeLine, code: float) -> None:
    first, second = line.explain(code)
    for step in (first, second):
        assert eval(step.formula, {"__builtins__": {}}, dict(step.numbers)) == pytest.approx(
            step.result, abs=1e-9
        )
    assert second.numbers["line"] == first.result
    assert second.result == pytest.approx(math.degrees(by_hand(line, code)), abs=1e-9)


def test_a_line_without_a_table_is_explained_in_one_step_and_has_one_slope() -> None:
    line = CodeLine(offset=1.0, slope=-0.5)
    assert len(line.explain(4.0)) == 1
    assert (line.forward(4.0), line.backward(-1.0), line.slope_at(99.0)) == (-1.0, 4.0, -0.5)


@pytest.mark.parametrize("slope", [0.05, -0.05])
def test_a_curve_that_turns_back_is_refused_with_the_codes_where_it_does(slope: float) -> None:
    values = np.sign(slope) * np.array([0.0, 1.0, -2.0, -2.0])
    with pytest.raises(RangeError) as caught:
        CodeLine(offset=0.0, slope=slope, corrections=Corrections(first=100.0, step=50.0, values=values))
    assert str(caught.value) == (
        "table of corrections: from code 150 to 200 the curve stands still or turns back, so that one "
        "position would have several codes. Calibrate again: take more readings, or a straight line."
    )


def test_the_piece_that_closes_a_table_must_not_turn_back_either() -> None:
    table = Corrections(first=0.0, step=10.0, values=np.array([0.0, 1.0, 2.0]), period=30.0)
    with pytest.raises(RangeError, match="from code 20 to 30 the curve stands still"):
        CodeLine(offset=0.0, slope=0.2, corrections=table)


@pytest.mark.parametrize(
    ("values", "step", "period", "text"),
    [
        ([1.0], 5.0, None, "its number of nodes is 1, 2 to 65 are wanted"),
        ([0.0] * 66, 5.0, None, "its number of nodes is 66, 2 to 65 are wanted"),
        ([0.0, math.nan], 5.0, None, "a number in it is missing or not finite, or its nodes do not rise"),
        ([0.0, 1.0], 0.0, None, "a number in it is missing or not finite, or its nodes do not rise"),
        (
            [0.0, 1.0],
            5.0,
            11.0,
            "2 steps of 5 counts do not make up its period of 11 counts",
        ),
    ],
)
def test_numbers_that_are_no_table_are_refused(
    values: list[float], step: float, period: float | None, text: str
) -> None:
    with pytest.raises(RangeError) as caught:
        Corrections(first=0.0, step=step, values=np.array(values), period=period)
    assert str(caught.value) == f"table of corrections: {text}. Calibrate again."


def test_a_table_cannot_be_changed_and_is_equal_to_one_of_the_same_numbers() -> None:
    given_values = np.array([0.0, 1.0])
    table = Corrections(first=0.0, step=5.0, values=given_values)
    given_values[0] = 9.0
    assert table.at(0.0) == 0.0
    with pytest.raises(ValueError, match="read-only"):
        table.values[0] = 3.0
    same = Corrections(first=0.0, step=5.0, values=np.array([0.0, 1.0]))
    assert table == same
    assert len({table, same, table.times(2.0)}) == 2
    assert table.times(2.0).at(5.0) == 2.0
