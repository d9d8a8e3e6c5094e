"""The half-width of a choice is that of the true first-order budget of the axis, put into its file."""

import tomllib
from collections.abc import Callable

import numpy as np
import pytest

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.jobs.applying import applied_text
from anglewright.jobs.chosen import ChooseResult
from anglewright.rigfile.reading import build_rig
from anglewright.selection.judging import CHECKS

AGREES = 0.03  # of the half-width, what the closed form may leave out [1]

SHOULDER = """
[axis.a]
motion = { from = "-20 deg", to = "115 deg", settles = "two-sided" }
need = { error = "1 deg", homing = "allowed" }
stops = { low = "-25 deg", high = "130 deg" }
when_unpowered = "drops"
[axis.a.marks]
pin = { at = "47.5 deg", within = "0.05 deg" }
[axis.a.coupling]
kind = "d-bore"
play = "3 deg ± 1 deg"
[axis.a.wiring]
feed = "3.3 V ± 2 %"
pull = { down = "100 kohm ± 1 %", at = "pin" }
[axis.a.converter]
reference = "REFERENCE"
[axis.a.plan]
approach = "APPROACH"
reference = { per_point = "0.1 deg", shared = "0.1 deg", scale = "0.1 %" }
"""
LIFT = """
[axis.a]
motion = { from = "0 mm", to = "560 mm", settles = "dithered" }
need = { error = "3 mm", homing = "allowed" }
stops = { low = "-5 mm", high = "570 mm" }
when_unpowered = "sinks"
[axis.a.marks]
rest = { at = "0 mm", within = "0.2 mm" }
"""
WHEEL = """
[axis.a]
motion = { from = "-180 deg", to = "180 deg", endless = true }
need = { error = "2 deg", homing = "allowed" }
when_unpowered = "holds"
coupling = { kind = "rigid" }
"""
CASES = {
    "two-sided, ratiometric": SHOULDER.replace("REFERENCE", "feed").replace("APPROACH", "both sides"),
    "two-sided, own reference": SHOULDER.replace("REFERENCE", "3.3 V ± 1 %").replace("APPROACH", "one side"),
    "one-sided": SHOULDER.replace("two-sided", "one-sided")
    .replace("REFERENCE", "feed")
    .replace("APPROACH", "both sides"),
    "along a line": LIFT,
    "endless": WHEEL,
}
IN_THE_WAY = ("travel", "stops", "endless motion", "wrap", "counter", "reach", "voltage")


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_it_agrees_for_every_class_of_the_catalogue(case: str, chosen: Callable[[str], ChooseResult]) -> None:
    text, rng = CASES[case], np.random.default_rng(7)
    result = chosen(text)

    rows = [CHECKS.index(each) for each in IN_THE_WAY]
    able = np.flatnonzero(~result.judged.ruled_out[rows].any(axis=0))
    firsts: dict[int, int] = {}
    for place in rng.permutation(able).tolist():
        firsts.setdefault(int(result.judged.sensor[place]), place)
    assert len(firsts) >= 5
    ratios = {result.choice(k).sensor.name: ratio_to_budget(result, text, k) for k in firsts.values()}
    assert {name: ratio for name, ratio in ratios.items() if abs(ratio - 1.0) > AGREES} == {}


def ratio_to_budget(result: ChooseResult, text: str, place: int) -> float:
    """Half-width of a choice over that of the budget of its rig file."""
    choice = result.choice(place)
    applied = tomllib.loads(applied_text(text, result.axis, choice, source="rig.toml"))
    axis = build_rig(applied, source="rig.toml").axis("a")
    return choice.half_width / budget_axis(axis).of(State.CALIBRATED).half_width_95
