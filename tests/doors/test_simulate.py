"""The options of `simulate` at the door: they stand anywhere, a place may be negative, help is a list."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

Door = Callable[..., Any]


def test_a_run_is_asked_for_by_options(door: Door, rover: Path) -> None:
    words = ["--no-reference", "simulate", "rig.toml", "--motion", "hold", "--at", "-20deg", "--seconds", "1"]
    answer = door(*words, "--rate", "50 Hz", "--plant", "slip=5deg@0.5s", "--out", "x.csv", "--json")
    assert answer.code == 0
    found = json.loads(answer.out)
    assert (found["rows"], found["motion"], found["simulated"]) == (51, "hold", True)
    assert found["truth"]["positions"] == [-20.0] * 51
    assert found["truth"]["faults"][0]["from_s"] == 0.5
    lines = (rover / "x.csv").read_text(encoding="utf-8").splitlines()
    assert lines[0] == "# simulated by anglewright: no real machine was measured"
    assert lines[1] == "time_s,raw,approach"
    assert len(lines) == 53


def test_a_motion_beyond_the_axis_writes_nothing(door: Door, rover: Path) -> None:
    answer = door("simulate", "rig.toml", "--motion", "sine", "--frequency", "3Hz", "--out", "x.csv")
    assert (answer.code, answer.out) == (2, "")
    assert answer.err == (
        "anglewright: axis 'shoulder': the motion 'sine' reaches 1270 deg/s, it moves at 90 deg/s at most. "
        "Take a frequency of at most 0.212 Hz, or a smaller amplitude.\n"
    )
    assert not (rover / "x.csv").exists()


def test_help_lists_what_can_be_planted(door: Door, rover: Path) -> None:
    answer = door("simulate", "rig.toml", "--plant", "help", "--out", "x.csv")
    assert answer.code == 2
    assert "anglewright: open-feed@TIME: the wire of the feed breaks.\n" in answer.err
    assert len(answer.err.splitlines()) > 50


def test_what_was_planted_is_shown(door: Door, rover: Path) -> None:
    answer = door("simulate", "rig.toml", "--motion", "marks", "--plant", "frozen@2s", "--out", "x.csv")
    assert answer.code == 0
    assert "planted: frozen." in answer.out
    assert "the reading stays exactly what it was" in answer.out
