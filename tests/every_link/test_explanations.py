"""Each displayed formula gives, evaluated on its own, the number that the code works out."""

import ast
import math
import operator

import numpy as np
import pytest

from anglewright.links.code import CodeLine
from anglewright.sources import SOURCES

FUNCTIONS = {
    name: getattr(math, name) for name in ("sqrt", "floor", "exp", "tan", "sin", "cos", "atan", "log")
}
OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
TO_SI = {"deg": math.radians(1.0), "mm": 1e-3, "": 1.0, "V": 1.0, "us": 1e-6, "ohm": 1.0, "count": 1.0}


def worked_out(formula, numbers):
    """Value of an arithmetic expression; nothing but numbers, names, + - * / ** and a few functions."""

    def value(node):
        match node:
            case ast.Constant(value=int() | float() as plain):
                return plain
            case ast.Name(id=name):
                return math.pi if name == "pi" and name not in numbers else numbers[name]
            case ast.BinOp(left=left, op=op, right=right):
                return OPERATORS[type(op)](value(left), value(right))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -value(operand)
            case ast.Call(func=ast.Name(id=name), args=args, keywords=[]):
                return FUNCTIONS[name](*(value(arg) for arg in args))
        raise AssertionError(f"{ast.dump(node)} has no place in a formula")

    return value(ast.parse(formula, mode="eval").body)


def steps_of(case):
    link = case.link()
    return [(float(u), link.explain(float(u))) for u in case.inputs(7)]


def test_a_formula_evaluated_again_gives_the_result(case):
    for _, steps in steps_of(case):
        for step in steps:
            assert worked_out(step.formula, step.numbers) == pytest.approx(step.result, rel=1e-12, abs=1e-12)


def test_the_text_with_the_numbers_put_in_gives_the_result_too(case):
    for _, steps in steps_of(case):
        for step in steps:
            slack = 1.0 if "floor" in step.formula else 1e-4
            assert worked_out(step.put_in, {}) == pytest.approx(step.result, rel=2e-5, abs=slack)


def test_the_steps_end_where_the_code_ends(case):
    link = case.link()
    for u, steps in steps_of(case):
        output = link.forward(u)
        reached = [step.result * TO_SI[step.unit] for step in steps]
        assert output == u or any(value == pytest.approx(output, rel=1e-12) for value in reached)


def test_a_link_that_changes_its_input_is_explained(case):
    link = case.link()
    changes = any(link.forward(float(u)) != u for u in case.inputs(5)) or np.any(link.lag)
    assert bool(link.explain(float(case.inputs(3)[1]))) or not changes


def test_every_step_says_what_it_is_and_where_it_is_from(case):
    for _, steps in steps_of(case):
        for step in steps:
            assert step.symbol
            assert step.meaning
            assert step.source in SOURCES
            assert step.unit in TO_SI


def test_the_line_of_the_code_is_explained_in_degrees():
    line = CodeLine(offset=math.radians(-20.0), slope=math.radians(0.25))
    (step,) = line.explain(100.0)
    assert step.result == pytest.approx(5.0, rel=1e-12)  # -20 + 100 / 4
    assert worked_out(step.formula, step.numbers) == pytest.approx(step.result, rel=1e-12)
    assert step.put_in == "(-20) + 0.25 * 100"
