"""The review of a whole axis: order, keys, sources, and arithmetic that can be worked out again."""

import ast
import math
import operator
import random
from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review import electrical, levels, loading, mounting, play, safety, timing, travel
from anglewright.review.axis import KEYS, review_axis
from anglewright.rig import Axis
from anglewright.sources import SOURCES

FUNCTIONS = {name: getattr(math, name) for name in ("sqrt", "floor", "exp", "tan", "sin", "cos", "log")}
OPERATORS = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
NO_PULL = "wiring.pull={}"
AT_LEAD = 'wiring.pull={down="100 kohm", at="lead"}'
BOTH = 'wiring.pull={down="220 kohm", up="100 kohm", at="pin"}'
UP = 'wiring.pull={up="30 kohm", at="pin"}'
VARIANTS: tuple[tuple[str, ...], ...] = (
    (),
    (NO_PULL,),
    (AT_LEAD,),
    (BOTH,),
    (UP, "wiring.series=0 ohm"),
    ("wiring.feed=5 V", "converter.reference=3.3 V"),
    ("wiring.feed=3.3 V", "converter.reference=5 V", "converter.bits=10"),
    ("wiring.feed=5 V ± 2 %", "converter.reference=5 V ± 1 %"),
    ("wiring.capacitor=0 F",),
    ("sensor.mechanical_travel=345 deg",),
    ("coupling={kind='rigid'}", "drive.backlash=0 mm"),
    ("mount.output=falls", "converter.offset=3 LSB"),
)


def worked_out(formula: str, numbers: Mapping[str, float]) -> float:
    """Value of an arithmetic expression; nothing but numbers, names, + - * / ** and a few functions."""

    def value(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as plain):
                return float(plain)
            case ast.Name(id=name):
                return math.pi if name == "pi" and name not in numbers else numbers[name]
            case ast.BinOp(left=left, op=op, right=right):
                return float(OPERATORS[type(op)](value(left), value(right)))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -value(operand)
            case ast.Call(func=ast.Name(id=name), args=args, keywords=[]):
                return float(FUNCTIONS[name](*(value(arg) for arg in args)))
        raise AssertionError(f"{ast.dump(node)} has no place in a formula")

    return value(ast.parse(formula, mode="eval").body)


def faults_of_steps(findings: tuple[Finding, ...]) -> list[str]:
    """Steps whose formula, evaluated again, does not give their result, or whose source is not known."""
    faults = []
    for finding in findings:
        for step in finding.steps:
            if worked_out(step.formula, step.numbers) != pytest.approx(step.result, rel=1e-9, abs=1e-9):
                faults.append(f"{finding.key}: {step.symbol} = {step.formula} is not {step.result}")
            if step.source not in SOURCES:
                faults.append(f"{finding.key}: no source '{step.source}'")
    return faults


@pytest.mark.parametrize("changes", VARIANTS, ids=" ".join)
def test_every_formula_evaluated_again_gives_its_result(
    shoulder: Callable[..., Axis], changes: tuple[str, ...]
) -> None:
    assert faults_of_steps(review_axis(shoulder(*changes))) == []


def drawn_changes(seed: int) -> list[str]:
    """A shoulder drawn at random: track, pull, series resistor, capacitor, feed, bits."""
    rng = random.Random(seed)
    pull = rng.choice(["down", "up"])
    return [
        f"sensor.track={rng.uniform(1, 20):.4g} kohm ± {rng.choice([0, 5, 20])} %",
        f'wiring.pull={{{pull}="{rng.uniform(20, 500):.4g} kohm", at="{rng.choice(["pin", "lead"])}"}}',
        f"wiring.series={rng.uniform(0, 3):.4g} kohm",
        f"wiring.capacitor={rng.uniform(0, 300):.4g} nF",
        f"wiring.feed={rng.choice([3.3, 5])} V",
        f"converter.bits={rng.choice([10, 12, 16])}",
    ]


@pytest.mark.parametrize("seed", range(20))
def test_the_same_holds_for_rigs_drawn_at_random(shoulder: Callable[..., Axis], seed: int) -> None:
    assert faults_of_steps(review_axis(shoulder(*drawn_changes(seed)))) == []


def test_stops_come_first_then_cautions_then_notes_and_twice_the_same(shoulder: Callable[..., Axis]) -> None:
    axis = shoulder("wiring.feed=5 V", "converter.reference=3.3 V")
    findings = review_axis(axis)
    order = [list(Severity).index(each.severity) for each in findings]
    assert order == sorted(order)
    assert {Severity.STOP, Severity.CAUTION, Severity.NOTE} == {each.severity for each in findings}
    assert findings == review_axis(axis)


def test_every_key_is_registered_once_with_one_line_and_every_registered_key_occurs(
    shoulder: Callable[..., Axis],
) -> None:
    themes = (travel, electrical, loading, timing, levels, play, mounting, safety)
    assert sum(len(theme.KEYS) for theme in themes) == len(KEYS)
    assert all(meaning and "\n" not in meaning for meaning in KEYS.values())
    occurring = {finding.key for changes in VARIANTS for finding in review_axis(shoulder(*changes))}
    assert occurring == set(KEYS)


@pytest.mark.parametrize("changes", VARIANTS, ids=" ".join)
def test_every_finding_names_a_part_a_source_and_speaks_in_sentences(
    shoulder: Callable[..., Axis], changes: tuple[str, ...]
) -> None:
    axis = shoulder(*changes)
    rooms = {part.room for part in axis.chain_parts}
    for finding in review_axis(axis):
        assert finding.axis == "shoulder"
        assert finding.link in rooms
        assert finding.source in SOURCES
        assert finding.text.endswith(".")
        assert finding.severity is Severity.NOTE or finding.remedy or finding.key in safety.KEYS


def test_the_rover_as_it_stands_is_not_stopped(shoulder: Callable[..., Axis]) -> None:
    assert all(finding.severity is not Severity.STOP for finding in review_axis(shoulder()))
