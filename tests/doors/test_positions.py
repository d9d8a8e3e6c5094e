"""Positions that begin with a minus, options anywhere, and commands that name no axis."""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.parser import FLAGS, build_parser

Door = Callable[..., Any]
FORMS = ["-20", "-20deg", "-20 deg", "-20.0", "-20.0°", "\u221220 deg", "-1200 arcmin"]


@pytest.mark.parametrize("form", FORMS)
def test_a_position_with_a_minus_is_taken_in_every_form(door: Door, form: str) -> None:
    found = door("expect", "no-pull.toml", "shoulder", form, "--json")
    (row,) = found.json["readings"]
    # -20 deg is 35 deg of track from its start: 4096 * 35 / 340 = 421.6 (the shoulder's arithmetic).
    assert (round(row["position"], 9), row["code"]) == (-20.0, 421)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("command", ["expect", "explain"])
def test_the_axis_may_be_left_out_before_a_position(door: Door, command: str, form: str) -> None:
    said = door(command, "rig.toml", form, "--json")
    assert said.code == 0, said.err
    found = said.json.get("readings") or said.json["axes"]
    assert [round(row["position"], 9) for row in found] == [-20.0]


def test_a_mark_may_stand_without_its_axis(door: Door) -> None:
    (row,) = door("expect", "rig.toml", "pin", "--json").json["readings"]
    assert (row["mark"], row["position"]) == ("pin", 47.5)


def test_options_may_stand_anywhere(door: Door) -> None:
    after = door("expect", "rig.toml", "shoulder", "-20deg", "pin", "--state", "zeroed", "--json")
    before = door("--json", "expect", "rig.toml", "--state=zeroed", "shoulder", "-20deg", "pin")
    between = door("expect", "--json", "rig.toml", "shoulder", "-20deg", "--state", "zeroed", "--", "pin")
    assert after.code == 0
    assert after.json == before.json == between.json


def test_an_option_takes_a_value_with_a_minus(door: Door, rover: Path) -> None:
    words = ["--moves", "arm", "--error", "1deg", "--sensor", "potentiometer", "--ratio", "1"]
    said = door("new", "arm", "--from", "-45deg", "--to", "-5deg", *words)
    assert said.code == 0
    assert 'from = "-45deg", to = "-5deg"' in (rover / "arm" / "rig.toml").read_text(encoding="utf-8")


def test_no_position_gives_marks_ends_and_zero(door: Door) -> None:
    found = door("expect", "rig.toml", "--json").json["readings"]
    assert [(row["position"], row["mark"]) for row in found] == [
        (-20.0, "stow"),
        (0.0, None),
        (47.5, "pin"),
        (115.0, None),
    ]


def test_all_axes_answer_where_none_is_named(door: Door, two_axes: Path) -> None:
    card = door("expect", two_axes.name, "-20", "--json").json["readings"]
    plans = door("plan", two_axes.name, "--json").json["axes"]
    steps = door("explain", two_axes.name, "--json").json["axes"]
    for found in (card, plans, steps):
        assert [row["axis"] for row in found] == ["shoulder", "wrist"]
    assert {row["axis"] for row in door("check", two_axes.name, "--json").json["findings"]} == {
        "shoulder",
        "wrist",
    }


def test_each_axis_has_its_own_sheet_and_code(door: Door, two_axes: Path) -> None:
    assert door("plan", two_axes.name, "--out", "sheet.csv").code == 0
    assert door("handover", two_axes.name, "--out", "code").code == 0
    folder = two_axes.parent
    assert sorted(path.name for path in folder.glob("sheet*")) == ["sheet-shoulder.csv", "sheet-wrist.csv"]
    assert {path.name for path in (folder / "code").glob("*.h")} == {
        "shoulder.h", "shoulder_vectors.h", "wrist.h", "wrist_vectors.h",
    }  # fmt: skip
    header = (folder / "code" / "wrist.h").read_text(encoding="ascii")
    assert "This code takes the counts of the converter, not volts." in header


@pytest.mark.parametrize(
    "words",
    [
        ["read", "2048"],
        ["simulate", "--out", "bench.csv"],
        ["calibrate", "--typed"],
        ["withdraw", "2026-05-12-1", "--because", "x"],
    ],
)
def test_a_command_for_one_axis_asks_which_of_several(door: Door, two_axes: Path, words: list[str]) -> None:
    said = door(words[0], two_axes.name, *words[1:], typed="1 2\n3 4\n")
    assert said.code == 2
    assert said.err == (
        "anglewright: two.toml: it has 2 axes, and none is named. Name one of shoulder, wrist.\n"
    )


def test_the_only_axis_need_not_be_named(door: Door) -> None:
    assert door("simulate", "rig.toml", "--seed", "3", "--out", "bench.csv").code == 0
    assert door("calibrate", "rig.toml", "bench.csv", "--date", "2026-05-12").code == 1
    assert door("read", "rig.toml", "2048", "--json").json["readings"][0]["record"] == "2026-05-12-1"
    assert door("withdraw", "rig.toml", "2026-05-12-1", "--because", "the coupling was loose").code == 0


def test_the_options_without_a_value_are_known() -> None:
    parser = build_parser()
    (inner,) = [each for each in parser._actions if isinstance(each, argparse._SubParsersAction)]
    every = [action for command in (parser, *inner.choices.values()) for action in command._actions]
    flags = {
        name
        for action in every
        if action.nargs == 0
        for name in action.option_strings
        if name.startswith("--")
    }
    assert flags == set(FLAGS)
