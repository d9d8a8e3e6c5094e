"""The budget at its door: constants of the code, changes and their cost, and what cannot be computed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]
BUDGET = ("budget", "rig.toml", "shoulder")
COMPUTED = "anglewright: axis 'shoulder': the budget cannot be computed: "
OPTION = "anglewright: --code-line"


def squeezed(text: str) -> str:
    """The text on one line."""
    return " ".join(text.split())


def test_constants_of_the_code_are_a_fourth_state(door: Door) -> None:
    said = door(*BUDGET, "--code-line", "0.0439,-65.2", "--json")
    assert said.code == 1
    found = said.json
    assert list(found["states"]) == ["datasheet", "zeroed", "calibrated", "code_line"]
    assert found["state"] == "code_line"
    state, line = found["states"]["code_line"], found["code_line"]
    assert state["meets"] is False
    assert set(line) == {
        "slope", "offset", "unit", "per", "bias", "worst_bias", "worst_bias_at", "likely_mistake",
    }  # fmt: skip
    assert (line["slope"], line["offset"]) == (pytest.approx(0.0439), pytest.approx(-65.2))
    assert (line["unit"], line["per"]) == ("deg", "count")
    biggest = max(line["bias"], key=lambda row: abs(row["bias"]))
    assert line["worst_bias"] == biggest["bias"] < 0.0
    assert line["worst_bias_at"] == biggest["position"]
    assert state["half_width_95"] > abs(state["bias"])


def test_with_units_and_without_they_are_the_same(door: Door) -> None:
    forms = ["0.0415,-37.5", "0.0415 deg, -37.5 deg", "0.0415 deg/count; -37.5deg", "4.15e-2,-37.5"]
    found = [door(*BUDGET, "--code-line", form, "--json").json["states"]["code_line"] for form in forms]
    assert all(each == pytest.approx(found[0], rel=1e-12) for each in found)
    in_rad = "0.000724311639577647 rad, -0.654498469497874 rad"  # the same, times pi / 180
    given = door(*BUDGET, "--code-line", in_rad, "--json").json["states"]["code_line"]
    assert given == pytest.approx(found[0], rel=1e-9)


def test_good_constants_on_a_need_that_they_meet_end_with_0(door: Door) -> None:
    meets = ("--set", "need.error=20 deg", "--set", "wiring.pull={}")
    # 340 deg / 2 / 4096 a count; the middle of code 0 is 85 deg below the mark, half a count up
    said = door(*BUDGET, "--code-line", "0.041504,-37.479", *meets)
    assert said.code == 0
    assert "shoulder, constants in the code: good to ±" in said.out
    assert "within the ±20 deg it needs." in squeezed(said.out)


def test_the_verdict_is_that_of_the_constants_whatever_is_listed(door: Door) -> None:
    need = ("--set", "need.error=5 deg", "--json")  # calibrated 3.4 deg, with these constants far more
    reversed_ = ("--code-line", "-0.0415,132.5")
    assert door(*BUDGET, *need).code == 0
    said = door(*BUDGET, "--state", "calibrated", *reversed_, *need)
    assert said.code == 1
    assert said.json["state"] == "calibrated"
    assert said.json["code_line"]["likely_mistake"].startswith(
        "The slope is that of the data sheet with its "
    )


def test_the_text_names_the_worst_place_and_the_mistake(door: Door) -> None:
    said = squeezed(door(*BUDGET, "--code-line=-0.0415,132.5").out)
    # at -20 deg the track reads 10.3 %, code 421, and the constants make 115 deg of it
    assert (
        "The constants read 135 deg too high at -20 deg, where they are worst. The slope is that of" in said
    )
    assert "shoulder: -0.0415 deg a count, 132.5 deg at 0 position bias 95 %" in said


def test_virtual_builds_judge_the_constants_too(door: Door) -> None:
    said = door(*BUDGET, "--code-line", "0.0415,-37.5", "--builds", "2000", "--seed", "2", "--json")
    assert said.code == 1
    state = said.json["states"]["code_line"]
    assert said.json["interval_by"] == "virtual builds"
    assert state["worst_tenth"] > 0.0
    # by the data sheet's own line, which these are to four digits, the same machine in the same builds
    assert state["half_width_95"] == pytest.approx(
        said.json["states"]["datasheet"]["half_width_95"], rel=0.05
    )
    again = door(*BUDGET, "--code-line", "0.0415,-37.5", "--builds", "2000", "--seed", "2", "--json")
    assert again.out == said.out


def test_with_several_axes_one_is_named(door: Door, two_axes: Path) -> None:
    said = door("budget", two_axes.name, "--code-line", "0.0415,-37.5")
    assert said.code == 2
    assert said.err == (
        "anglewright: two.toml: it has 2 axes, and none is named. Name one of shoulder, wrist.\n"
    )
    # 170 deg over 3.3 V, and 0 V stands at 47.5 - 85 deg
    volts = door("budget", two_axes.name, "wrist", "--code-line", "51.515 deg/V,-37.5", "--json").json
    assert volts["code_line"]["per"] == "V"
    assert volts["code_line"]["likely_mistake"] is None


TWO = ' is not two constants. Write slope and offset, as in --code-line "0.0415 deg, -37.5 deg".'
ANGLE = "an angle is asked for. Write a number and its unit, such as '10 deg'."
REFUSED = [
    ("0.0415", f": '0.0415'{TWO}"),
    ("1,2,3", f": '1,2,3'{TWO}"),
    (
        "0.0415 deg/V,-37.5",
        ": the slope is for one 'V', the controller shows counts (converter.raw). Give it for one count.",
    ),
    (
        "0,3",
        ": the slope is 0, so every reading would give the same position. Give the position that one unit of "
        "the reading stands for.",
    ),
    (
        "0.0415 deg ± 1 %,-3",
        ", slope: '0.0415 deg ± 1 %' has a tolerance, a constant in code has none. Leave it out.",
    ),
    ("nan,3", f", slope: 'nan' is not a finite number, {ANGLE}"),
    ("0.0415,x", f", offset: 'x' has no number that can be read, {ANGLE}"),
    (
        "0.0415;-37,5",
        ", offset: '-37,5' has a comma in its number, numbers are written with a point and without marks "
        "between thousands. Write 37.5.",
    ),
    (
        "0.0415,-37.5 mm",
        ", offset: '-37.5 mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
]


@pytest.mark.parametrize(("text", "said"), REFUSED)
def test_constants_that_cannot_be_read_are_refused_with_a_sentence(door: Door, text: str, said: str) -> None:
    answer = door(*BUDGET, "--code-line", text)
    assert answer.code == 2
    assert answer.err == f"{OPTION}{said}\n"


STILL = "at all 9 planned positions, a line needs codes that differ. Look at the numbers of the"
SPOILT = [
    ("converter.reference=0.001 V", f"the code is 4095 {STILL} converter: what leaves it does not change."),
    ("wiring.series=1e300 ohm", f"the code is 0 {STILL} wiring: what leaves it does not change."),
    (
        "converter.noise=1e308 LSB rms",
        "what leaves the converter is no finite number at -20 deg. Look at the numbers of the converter.",
    ),
]


@pytest.mark.parametrize(("change", "said"), SPOILT)
def test_a_budget_that_cannot_be_computed_says_what_is_missing(door: Door, change: str, said: str) -> None:
    answer = door(*BUDGET, "--set", change, "--json")
    assert answer.code == 3
    assert answer.err == f"{COMPUTED}{said}\n"


def test_the_changes_stand_with_their_cost(door: Door) -> None:
    found = door(*BUDGET, "--json").json
    costs = [row["cost"] for row in found["next"]]
    assert costs == sorted(costs)
    for row in found["next"]:
        assert set(row) == {"change", "half_width_95", "cost", "money", "minutes", "meets", "but", "source"}
        assert row["cost"] == sum(row["money"]) / 2.0
        assert row["half_width_95"] < found["states"]["calibrated"]["half_width_95"]
    assert all(set(row) == {"change", "half_width_95", "meets"} for row in found["halving"])
    assert found["cheapest"]["meets"] is True
    assert found["cheapest"]["half_width_95"] <= found["permissible_error"]
    assert found["advice"].startswith(
        "shoulder, cheapest way to the need: take the pull off; and always come to "
    )


def test_where_the_need_is_met_nothing_has_to_change(door: Door) -> None:
    found = door(*BUDGET, "--set", "need.error=5 deg", "--json").json["what_if"]
    assert (found["next"], found["cheapest"], found["advice"]) == ([], None, "")


def test_where_nothing_meets_the_need_the_floor_is_said(door: Door) -> None:
    said = squeezed(door(*BUDGET, "--set", "need.error=0.1 deg").out)
    assert (
        "shoulder: none of the usual changes meets the need; all that help, together, leave ±0.7 deg." in said
    )


def test_free_changes_cost_no_money(door: Door) -> None:
    found = door(*BUDGET, "--set", "need.error=1.5 deg", "--set", "wiring.pull={}", "--json").json["what_if"]
    assert found["cheapest"]["money"] == [0.0, 0.0]
    assert found["advice"] == (
        "shoulder, cheapest way to the need: always come to rest from the same side, in calibrating too. "
        "That leaves ±1.4 deg for no money."
    )


def test_a_travel_of_uneven_limits_has_its_bias_told(door: Door) -> None:
    # 340 to 350 deg, and the code holds 340: at either end of the range it reads 67.5 x 5 / 345 = 0.978 deg
    # too near to the middle
    change = (
        "--set",
        "sensor.electrical_travel=340 deg +10 deg / -0 deg",
        "--set",
        "wiring.pull={}",
        "--json",
    )
    sheet = door(*BUDGET, *change).json["what_if"]["states"]["datasheet"]
    assert abs(sheet["worst_at"] - 47.5) == pytest.approx(67.5)
    assert sheet["bias"] == pytest.approx(-(sheet["worst_at"] - 47.5) * 5.0 / 345.0)
