"""The planned model at the doors of `budget` and `check`: counted on, named, refused."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]


def planned(rover: Path, model: str, points: int = 9) -> None:
    """Another model in the plan of the rover's shoulder."""
    path = rover / "rig.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count('model = "line"') == text.count("points = 9") == 1
    text = text.replace('model = "line"', f'model = "{model}"').replace("points = 9", f"points = {points}")
    path.write_text(text, encoding="utf-8")


@pytest.mark.parametrize("model", ["loaded divider", "polynomial 4", "table"])
def test_a_curve_makes_the_calibrated_shoulder_better_and_is_named(
    door: Door, rover: Path, model: str
) -> None:
    line = door("budget", "rig.toml", "shoulder", "--json").json
    planned(rover, model)
    curve = door("budget", "rig.toml", "shoulder", "--json").json
    assert (line["calibrated_by"], curve["calibrated_by"]) == ("line", model)
    was, left = (each["states"]["calibrated"] for each in (line, curve))
    assert abs(was["bias"]) > 1.0
    assert abs(left["bias"]) < 0.05
    assert left["half_width_95"] < was["half_width_95"] - 0.9
    for state in ("datasheet", "zeroed"):
        assert curve["states"][state] == line["states"][state]
    assert f"calibrated, {model}" in door("budget", "rig.toml", "shoulder").out


def test_best_counts_as_a_line(door: Door, rover: Path) -> None:
    line = door("budget", "rig.toml", "shoulder", "--json").json
    planned(rover, "best")
    assert door("budget", "rig.toml", "shoulder", "--json").json == line


def test_a_model_that_cannot_be_is_refused_in_a_sentence(door: Door, rover: Path) -> None:
    planned(rover, "harmonics")
    said = door("budget", "rig.toml", "shoulder")
    assert (said.code, said.out) == (3, "")
    assert said.err == (
        "anglewright: axis 'shoulder': the planned model 'harmonics' cannot be true of this axis, for it "
        "takes a sensor without a track that turns three quarters of a turn or more. Plan one of these: "
        "best, line, table, polynomial 2, polynomial 3, polynomial 4, loaded divider.\n"
    )
    checked = door("check", "rig.toml", "shoulder", "--json")
    assert checked.code == 1
    assert [each["key"] for each in checked.json["findings"] if each["severity"] == "stop"] == [
        "planned-model"
    ]


def test_too_few_points_are_refused_and_how_many_it_takes_is_said(door: Door, rover: Path) -> None:
    planned(rover, "polynomial 4", points=5)
    said = door("budget", "rig.toml", "shoulder")
    assert said.code == 3
    assert "5 parameters, and the plan takes 10 points at 5 positions" in said.err
    assert "8 points at 6 positions are the least" in said.err


def test_where_the_plan_cannot_be_other_jobs_go_on(door: Door, rover: Path) -> None:
    # constants of the data sheet do not rest on the plan of a calibration
    planned(rover, "harmonics")
    assert door("read", "rig.toml", "shoulder", "2000", "--json").code == 0
