"""What is typed: the five questions of a new rig, and readings at the bench."""

import io
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.asking import typed_row
from anglewright.cli.program import run

Door = Callable[..., Any]
FIVE = "elbow\n-45 deg to 60 deg\n2 deg\npotentiometer\n2\n"


def test_five_answers_make_a_rig(door: Door, rover: Path) -> None:
    said = door("new", "arm", "--json", typed=FIVE)
    assert said.code == 0
    table = tomllib.loads((rover / "arm" / "rig.toml").read_text(encoding="utf-8"))["axis"]["elbow"]
    assert table["motion"] == {"from": "-45 deg", "to": "60 deg"}
    assert table["need"] == {"error": "2 deg"}
    assert table["drive"] == {"kind": "gears", "gears": [48, 24]}
    assert table["sensor"] == {"kind": "potentiometer"}


def test_afterwards_it_says_which_assumption_matters_most(door: Door) -> None:
    said = door("new", "arm", typed=FIVE)
    # A data sheet that is silent on linearity leaves 5 % of 270 deg, by far the most (HANDBOOK, section 11).
    assert said.out.splitlines()[0].startswith("arm/rig.toml is written. elbow, calibrated: good to ±")
    assert "Of what was assumed, sensor.linearity = 5 % matters most" in " ".join(said.out.split())


def test_the_upper_end_is_asked_for_where_only_one_is_given(door: Door, rover: Path) -> None:
    said = door("new", "arm", typed="elbow\n-45deg\n60deg\n2deg\npotentiometer\n48:24\n")
    assert said.code == 0
    assert 'from = "-45deg", to = "60deg"' in (rover / "arm" / "rig.toml").read_text(encoding="utf-8")


def test_an_empty_answer_takes_the_usual_one(door: Door, rover: Path) -> None:
    assert door("new", "arm", typed="\n" * 5).code == 0
    table = tomllib.loads((rover / "arm" / "rig.toml").read_text(encoding="utf-8"))["axis"]["shoulder"]
    assert (table["motion"], table["drive"]) == ({"from": "0 deg", "to": "90 deg"}, {"kind": "direct"})


def test_a_question_without_any_answer_is_no_answer(door: Door, rover: Path) -> None:
    said = door("new", "arm", typed="elbow\n")
    assert said.code == 2
    assert said.err.splitlines()[-1] == (
        "anglewright: new: 'From where to where (or endless)' was not answered. "
        "Answer it, with an empty line for '0 deg to 90 deg', or give --from and --to."
    )
    assert not (rover / "arm").exists()


def test_nothing_is_asked_where_there_is_a_rig_already(door: Door) -> None:
    said = door("new", ".", typed=FIVE)
    assert (
        said.err
        == "anglewright: rig.toml: there is a rig file already. Name another folder; yours is kept.\n"
    )


def test_answers_that_make_no_rig_leave_no_file(door: Door, rover: Path) -> None:
    said = door("new", "arm", typed="elbow\n0 deg to 800 deg\n2 deg\npotentiometer\n1\n")
    assert said.code == 3
    assert "the motion turns the shaft 800 deg" in said.err
    assert not (rover / "arm").exists()


UP = "-20 421 up\n14 1241 up\n47.5 2048 up\n81 2855 up\n115 3674 up\n"
READINGS = UP + "115 3674 down\n47.5 2048 down\n-20 421 down\n"


def test_readings_from_a_pipe_make_a_calibration(door: Door) -> None:
    said = door("calibrate", "rig.toml", "--typed", "--date", "2026-05-12", "--json", typed=READINGS)
    assert said.err == ""
    assert said.json["record"] == "2026-05-12-1"
    # The codes of the shoulder's arithmetic: 4096 codes over 170 deg of joint.
    assert said.json["parameters"]["slope"]["value"] == pytest.approx(170 / 4096, rel=1 / 3253)
    assert said.json["columns"]["why"] == "typed in this order"


def test_an_empty_line_ends_the_readings(door: Door) -> None:
    said = door("calibrate", "rig.toml", "--typed", "--no-keep", "--json", typed=READINGS + "\nnonsense\n")
    assert said.json["n_points"] == 8


def test_lines_from_a_pipe_that_are_no_readings_are_named_together(door: Door) -> None:
    said = door("calibrate", "rig.toml", "--typed", typed="47.5 2048\n2048\n115 3674 left\n")
    remedy = "Write the reference, the raw reading, and up or down: 47.5 2048 up."
    assert said.err == (
        f"anglewright: typed line 2: '2048' is no reading. {remedy}\n"
        f"anglewright: typed line 3: '115 3674 left' is no reading. {remedy}\n"
    )
    assert said.code == 3


class Terminal(io.StringIO):
    """A keyboard."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def test_a_slip_at_the_keyboard_loses_nothing_typed_before(
    rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(rover)
    monkeypatch.setattr(
        sys, "stdin", Terminal(READINGS.replace("81 2855 up", "81 285S up\n81 2855 up") + "\n")
    )
    assert run(["calibrate", "rig.toml", "--typed", "--no-keep", "--json"]) in (0, 1)
    said = capsys.readouterr()
    assert '"n_points": 8' in said.out
    assert said.err == (
        "REFERENCE|MARK RAW [up|down], one reading a line; an empty line ends.\n"
        "anglewright: typed line 4: '81 285S up' is no reading. "
        "Write the reference, the raw reading, and up or down: 47.5 2048 up. Type it again.\n"
    )


def at_the_keyboard(
    text: str, words: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> tuple[int, str, str]:
    """What a command line says at a terminal at which a text is typed."""
    monkeypatch.setattr(sys, "stdin", Terminal(text))
    code = run(words)
    said = capsys.readouterr()
    return code, said.out, said.err


def test_what_the_axis_cannot_show_is_told_at_once_and_asked_again(
    rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(rover)
    slips = "47.5 99999\n200 2048\npinn 2048\n47.5 0.5\n"
    words = ["calibrate", "rig.toml", "--typed", "--no-keep", "--json"]
    code, out, err = at_the_keyboard(slips + READINGS + "\n", words, monkeypatch, capsys)
    assert code in (0, 1)
    assert '"n_points": 8' in out
    said = err.splitlines()[1:]
    assert said == [
        "anglewright: typed line 1: the reading 99999 cannot be, the controller shows 0 to 4095. Read it "
        "again; if it is right, correct converter.bits or converter.raw. Type it again.",
        "anglewright: typed line 2: the axis cannot stand at 200 deg, its stops are at -28 deg and 123 deg. "
        "Write the reference first, then the raw reading. Type it again.",
        "anglewright: typed line 3, axis 'shoulder': there is no mark 'pinn'. Did you mean 'pin'? "
        "Type it again.",
        "anglewright: typed line 4: the reading 0.5 is no count, and the rig file says that the controller "
        'shows counts. Write raw = "volts", "fraction" or "turns" under the converter, if it shows that. '
        "Type it again.",
    ]


def test_what_was_typed_is_shown_where_it_could_not_be_used(
    rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(rover)
    words = ["calibrate", "rig.toml", "--typed", "--no-keep"]
    code, _, err = at_the_keyboard("47.5 2048 up\npin 2049\n\n", words, monkeypatch, capsys)
    assert code == 3
    rows = "reference,raw,approach\n47.5,2048,up\npin,2049,\n"
    assert f"What was typed, as the rows of a file:\n{rows}" in err


def test_from_a_pipe_what_the_axis_cannot_show_is_told_together(door: Door) -> None:
    said = door("calibrate", "rig.toml", "--typed", typed="47.5 99999\n200 2048\n")
    assert said.code == 3
    assert [line.split(",")[0] for line in said.err.splitlines()] == [
        "anglewright: typed line 1: the reading 99999 cannot be",
        "anglewright: typed line 2: the axis cannot stand at 200 deg",
    ]


def test_lines_of_a_test_sheet_and_of_ready_are_checked_while_they_are_typed(
    rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(rover)
    lines = "resistance-ends 9,8\nresistence-ends 9,8 kohm\nresistance-ends 9,8 kohm\n\n"
    words = ["testsheet", "rig.toml", "--typed", "--json"]
    _, out, err = at_the_keyboard(lines, words, monkeypatch, capsys)
    assert '"reading": 9.8' in out
    assert [line.endswith("Type it again.") for line in err.splitlines()] == [False, True, True]
    words = ["ready", "rig.toml", "--typed", "--at", "pin", "--json"]
    _, out, err = at_the_keyboard("sholder 2048\nshoulder\nshoulder 2048\n\n", words, monkeypatch, capsys)
    assert out
    assert [line.endswith("Type it again.") for line in err.splitlines()][:3] == [False, True, True]


@pytest.mark.parametrize(
    ("line", "row"),
    [
        ("47.5 2048", (47.5, 2048.0, "")),
        ("47.5,2048,up", (47.5, 2048.0, "up")),
        ("47.5, 2048 , d", (47.5, 2048.0, "down")),
        ("47,5 2048 U", (47.5, 2048.0, "up")),
        ("47,5; 2048,25", (47.5, 2048.25, "")),
        ("\u221220\t421", (-20.0, 421.0, "")),
        ("47,5,2048", None),
        ("47.5,2048 up", None),
        ("47.5", None),
        ("47.5 nan", None),
        ("47.5 2048 up 3", None),
        ("47.5deg 2048", None),
    ],
)
def test_a_typed_line_is_read_as_meant_or_not_at_all(line: str, row: tuple[float, float, str] | None) -> None:
    assert typed_row(line) == row
