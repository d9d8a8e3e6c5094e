"""What the law of propagation refuses, and what it does with inputs that do not matter."""

import numpy as np
import pytest

from anglewright.budget.propagation import inputs_from_readings, inputs_of, propagate
from anglewright.errors import RangeError

CANNOT = (
    "inputs: these correlations cannot all hold at once, the matrix is its own mirror image, has ones on its "
    "diagonal and no eigenvalue below zero. Take them from simultaneous readings."
)


@pytest.mark.parametrize(
    "matrix",
    [
        [[1.0, 0.9, -0.9], [0.9, 1.0, 0.9], [-0.9, 0.9, 1.0]],  # a like b, b like c, a unlike c
        [[1.0, 0.5, 0.0], [0.4, 1.0, 0.0], [0.0, 0.0, 1.0]],
        [[2.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
    ],
)
def test_correlations_that_cannot_be_are_refused(matrix):
    with pytest.raises(RangeError) as raised:
        inputs_of([1.0, 2.0, 3.0], uncertainties=[0.1, 0.1, 0.1], correlation=matrix)
    assert str(raised.value) == CANNOT


def test_one_uncertainty_too_few_is_refused():
    with pytest.raises(RangeError) as raised:
        inputs_of([1.0, 2.0], uncertainties=[0.1])
    assert str(raised.value) == (
        "inputs: 2 values, 1 uncertainties, 2 degrees of freedom and correlations of shape (2, 2) do not go "
        "together. Give one of each for every input."
    )


@pytest.mark.parametrize(
    ("values", "uncertainties", "dof"),
    [([np.nan], [0.1], [1.0]), ([1.0], [-0.1], [1.0]), ([1.0], [np.nan], [1.0]), ([1.0], [0.1], [0.0])],
)
def test_numbers_that_cannot_be_are_refused(values, uncertainties, dof):
    with pytest.raises(RangeError, match="Correct it"):
        inputs_of(values, uncertainties=uncertainties, dof=dof)


def test_a_single_reading_has_no_scatter():
    with pytest.raises(RangeError) as raised:
        inputs_from_readings([[1.0, 2.0]])
    assert (
        str(raised.value)
        == "inputs: the readings have shape (1, 2), a scatter needs 2 rows. Read each quantity again."
    )


def test_terms_of_second_order_are_refused_for_inputs_that_hang_together():
    known = inputs_of([1.0, 2.0], uncertainties=[0.1, 0.1], correlation=[[1.0, 0.5], [0.5, 1.0]])
    with pytest.raises(RangeError) as raised:
        propagate(lambda x: x[0] * x[1], known, second_order=True)
    assert str(raised.value) == (
        "propagation: terms of second order were asked for, and the inputs hang together, the formula holds "
        "for independent inputs. Leave them out, or let virtual trials decide."
    )


def test_an_exact_input_has_no_part_and_no_say_in_the_degrees_of_freedom():
    known = inputs_of([1.0, 2.0], uncertainties=[0.3, 0.0], dof=[7.0, 1.0])
    found = propagate(lambda x: x[0] + 1e9 * x[1], known)
    assert found.parts(known)[0].tolist() == pytest.approx([0.3, 0.0])
    assert found.dof[0] == pytest.approx(7.0)


def test_fully_correlated_inputs_add_and_opposed_ones_cancel():
    # JCGM 100:2008, 5.2.2 note 1: with all correlations +1 the uncertainties add linearly
    for sign, expected in ((1.0, 0.7), (-1.0, 0.1)):
        known = inputs_of([1.0, 2.0], uncertainties=[0.3, 0.4], correlation=[[1.0, sign], [sign, 1.0]])
        assert propagate(lambda x: x[0] + x[1], known).standard_uncertainty[0] == pytest.approx(expected)
