"""The rover's shoulder as it stands in its file, or changed for a what-if, and its findings by key."""

import ast
import math
import operator
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from anglewright.findings import Finding
from anglewright.review.axis import review_axis
from anglewright.rig import Axis
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig
from anglewright.sources import SOURCES

Findings = Mapping[str, Finding]
_FUNCTIONS = {name: getattr(math, name) for name in ("sqrt", "floor", "exp", "tan", "sin", "cos", "log")}
_OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}


def _worked_out(formula: str, numbers: Mapping[str, float]) -> float:
    """Value of an arithmetic expression; nothing but numbers, names, + - * / ** and a few functions."""

    def value(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as plain):
                return float(plain)
            case ast.Name(id=name):
                return math.pi if name == "pi" and name not in numbers else numbers[name]
            case ast.BinOp(left=left, op=op, right=right):
                return float(_OPERATORS[type(op)](value(left), value(right)))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -value(operand)
            case ast.Call(func=ast.Name(id=name), args=args, keywords=[]):
                return float(_FUNCTIONS[name](*(value(arg) for arg in args)))
        raise AssertionError(f"{ast.dump(node)} has no place in a formula")

    return value(ast.parse(formula, mode="eval").body)


def _faults_of_steps(findings: tuple[Finding, ...]) -> list[str]:
    """Steps whose formula, evaluated again, does not give their result, or whose source is not known."""
    faults = []
    for finding in findings:
        for step in finding.steps:
            if _worked_out(step.formula, step.numbers) != pytest.approx(step.result, rel=1e-9, abs=1e-9):
                faults.append(f"{finding.key}: {step.symbol} = {step.formula} is not {step.result}")
            if step.source not in SOURCES:
                faults.append(f"{finding.key}: no source '{step.source}'")
    return faults


@pytest.fixture(scope="session")
def faults_of_steps() -> Callable[[tuple[Finding, ...]], list[str]]:
    """What is wrong with the arithmetic of findings, worked out again by means of this file alone."""
    return _faults_of_steps


@pytest.fixture(scope="session")
def shoulder(root: Path) -> Callable[..., Axis]:
    """The shoulder with changes such as ``wiring.feed=5 V``."""

    def changed(*changes: str, rig: str = "rig") -> Axis:
        document = load_document(root / "examples" / "rover" / f"{rig}.toml")
        document = with_changes(document, [f"shoulder.{change}" for change in changes])
        return build_rig(document, source=f"{rig}.toml").axis("shoulder")

    return changed


@pytest.fixture(scope="session")
def found(shoulder: Callable[..., Axis]) -> Callable[..., Findings]:
    """Findings of the changed shoulder by key."""

    def by_key(*changes: str, rig: str = "rig") -> Findings:
        findings = review_axis(shoulder(*changes, rig=rig))
        assert len({each.key for each in findings}) == len(findings)
        return {each.key: each for each in findings}

    return by_key
