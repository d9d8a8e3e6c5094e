"""The command `new` for every kind of sensor, every kind of motion and every way of being turned."""

import io
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.program import run
from anglewright.jobs.sorts import WORDS
from anglewright.rigfile.kinds import kinds_in

Door = Callable[..., Any]

MOTIONS = {
    "arm": ("--from=-45deg", "--to=60deg", "--error=2deg"),
    "turret": ("--from=-200deg", "--to=1000deg", "--error=5deg"),
    "lift": ("--from=0mm", "--to=560mm", "--error=6mm"),
    "hose": ("--from=0m", "--to=20m", "--error=0.25m"),
    "wheel": ("--endless", "--error=3deg"),
}
SENSORS = (*kinds_in("sensor"), *WORDS)
TRACKS = {"potentiometer", "ten-turn", "wirewound", "endless-potentiometer"}


def refused(sensor: str, motion: str) -> bool:
    """Whether no drive can make a rig: a track ends, a wire has to be drawn and is so long."""
    if motion == "wheel":
        return sensor in TRACKS | {"draw-wire"}
    return sensor == "draw-wire" and motion != "lift"


@pytest.mark.parametrize("motion", MOTIONS)
@pytest.mark.parametrize("sensor", SENSORS)
def test_every_kind_of_sensor_and_motion_makes_a_file_that_works_or_a_sentence(
    door: Door, rover: Path, sensor: str, motion: str
) -> None:
    said = door("new", "a", f"--moves={motion}", *MOTIONS[motion], f"--sensor={sensor}")
    if refused(sensor, motion):
        assert (said.code, said.out) == (3, "")
        assert said.err.splitlines()[-1].startswith(f"anglewright: rig.toml, axis '{motion}', ")
        assert not (rover / "a").exists()
        return
    assert said.code == 0
    for command in ("check", "budget"):
        answer = door(command, "a/rig.toml", "--json")
        assert answer.code in (0, 1)
        assert answer.json
    findings = door("check", "a/rig.toml", "--json").json["findings"]
    # The assumed coupling is the worst there is and its play may stop the work; the drive never does.
    assert {finding["key"] for finding in findings if finding["severity"] == "stop"} <= {"play"}
    assert door("expect", "a/rig.toml", "--json").code == 0


DRIVES = {
    "rack m 1, z 20": {"kind": "rack", "module": "1 mm", "teeth": 20},
    "m 1.5, z 24": {"kind": "rack", "module": "1.5 mm", "teeth": 24},
    "drum 50 mm, rope 4 mm": {"kind": "drum", "diameter": "50 mm", "rope": "4 mm"},
    "drum D 50 mm, d 4 mm": {"kind": "drum", "diameter": "50 mm", "rope": "4 mm"},
    "screw 8 mm": {"kind": "screw", "pitch": "8 mm"},
    "screw pitch 2 mm, starts 4": {"kind": "screw", "pitch": "2 mm", "starts": 4},
    "screw lead 8 mm": {"kind": "screw", "pitch": "8 mm"},
    "belt 3 mm, z 20": {"kind": "belt", "pitch": "3 mm", "teeth": 20},
    "chain 6.35 mm; z 12": {"kind": "chain", "pitch": "6.35 mm", "teeth": 12},
    "draw-wire 200 mm": {"kind": "draw-wire", "travel_per_turn": "200 mm"},
    "rack m 1, z 20 + gears 20:60": {
        "kind": "stages",
        "stages": [
            {"kind": "rack", "module": "1 mm", "teeth": 20},
            {"kind": "gears", "gears": [20, 60]},
        ],
    },
}


@pytest.mark.parametrize("words", DRIVES)
def test_what_turns_the_sensor_is_said_in_words(door: Door, rover: Path, words: str) -> None:
    said = door("new", "a", "--moves=lift", *MOTIONS["lift"], "--sensor=incremental", "--drive", words)
    assert said.code == 0
    table = tomllib.loads((rover / "a" / "rig.toml").read_text(encoding="utf-8"))["axis"]["lift"]["drive"]
    assert table == DRIVES[words]


def test_a_lift_is_told_back_in_travel_and_turns(door: Door) -> None:
    words = ["--moves=lift", *MOTIONS["lift"], "--sensor=ten-turn", "--drive", "rack m 1, z 20", "--json"]
    found = door("new", "a", *words).json
    # Pi m z = 62.83 mm a turn (ISO 54); 560 mm are 8.913 turns. The rover's mast, worked out by hand for the
    # same lift with stops of its own, is clamped at 5.5 %.
    assert found["meaning"]["motion"] == "560 mm, which is 0.56 m"
    assert found["meaning"]["drive"].endswith(": 62.83 mm of travel a turn of the sensor")
    assert found["sensor_turns"] == pytest.approx(560 / (3.14159265 * 20), rel=1e-6)
    assert "'stow' at 0 mm: clamp the sensor so that it reads 5.5 % there" in found["meaning"]["mark"]


def test_a_ratio_is_told_back_in_turns(door: Door) -> None:
    words = ["--moves=arm", *MOTIONS["arm"], "--sensor=potentiometer"]
    fast = door("new", "a", *words, "--ratio=48:24", "--json").json["meaning"]["drive"]
    slow = door("new", "b", *words, "--ratio=24:48", "--json").json["meaning"]["drive"]
    assert fast.endswith(": 2 turns of the sensor a turn of the axis")
    assert slow.endswith(": 0.5 turns of the sensor a turn of the axis")


def test_a_ratio_turned_round_is_guessed_at_where_it_cannot_be(door: Door) -> None:
    said = door(
        "new", "a", "--moves=arm", "--from=0deg", "--to=200deg", "--error=1deg", "--sensor=potentiometer",
        "--ratio=48:24",
    )  # fmt: skip
    assert said.code == 3
    assert said.err.splitlines()[1] == (
        "anglewright: ratio: with the ratio 48:24 the sensor cannot follow, with 24:48 it could. "
        "If the sensor turns slower than the axis, give 24:48: teeth stand from axis to sensor."
    )


SLIPS = [
    (
        ["--from=90deg", "--to=0deg", "--error=1deg"],
        "from, to: the range runs down, from 90deg to 0deg. Give --from 0deg --to 90deg; which way the "
        "reading rises is said by mount.output in the rig file.",
    ),
    (
        ["--from=0deg", "--to=90mm", "--error=1deg"],
        "to: '90mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1mm"],
        "error: '1mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ["--from=0", "--to=90deg", "--error=1deg"],
        "from: '0' has no unit, an angle or a length is asked for. Write it in deg, rad, mm or m.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1rad"],
        "error: '1rad' either way is all of the range. Look at its unit, or give the most it may be wrong.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=0deg"],
        "error: '0deg' is not above zero. Give the most that it may be wrong, either way.",
    ),
    (["--from=5deg", "--to=5deg", "--error=1deg"], "from, to: both ends are at 5deg. Give two ends."),
    (
        ["--endless", "--from=0mm", "--to=90mm", "--error=1mm"],
        "endless: it is endless, and a motion along a line has ends. Leave it out.",
    ),
    (
        ["--endless", "--from=0deg", "--to=90deg", "--error=1deg"],
        "endless: it is endless, and 0deg to 90deg is not one whole turn. Leave the range out.",
    ),
    (
        ["--from=0mm", "--to=90mm", "--error=1mm", "--ratio=48:24"],
        "drive: '48:24' is a ratio of turns, and the motion is a length. Say what turns the sensor: rack m "
        "1, z 20; belt 3 mm, z 20; drum 50 mm, rope 4 mm; screw 8 mm; draw-wire 200 mm.",
    ),
    (
        ["--from=0mm", "--to=90mm", "--error=1mm", "--drive=rak m 1, z 20"],
        "drive: kind 'rak' is not known. Did you mean 'rack'?",
    ),
    (
        ["--from=0mm", "--to=90mm", "--error=1mm", "--drive=rack modul 1, z 20"],
        "drive: 'modul 1' is not understood. Did you mean 'module'?",
    ),
    (
        ["--from=0mm", "--to=90mm", "--error=1mm", "--drive=screw 8"],
        "drive.pitch: '8' has no unit, a length is asked for. Write it in mm, m or in.",
    ),
    (
        ["--from=0mm", "--to=90mm", "--error=1mm", "--drive=62.8 mm"],
        "drive: '62.8 mm' does not say what turns the sensor along a line. Write one of these with your own "
        "numbers: rack m 1, z 20; belt 3 mm, z 20; drum 50 mm, rope 4 mm; screw 8 mm; draw-wire 200 mm.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1deg", "--ratio=2", "--drive=gears 48:24"],
        "drive: the ratio 2 and the drive 'gears 48:24' are both given. Leave one of them out.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1deg", "--mark=pin"],
        "mark: 'pin' is no mark. Write a name and a place, as in --mark \"pin=47.5 deg\".",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1deg", "--mark=pin=300deg"],
        "mark: 'pin=300deg' lies far outside of the range, 0deg to 90deg. Give a place that "
        "the axis can reach.",
    ),
    (
        ["--from=0deg", "--to=90deg", "--error=1deg", "--sensor=tenturn"],
        "sensor: kind 'tenturn' is not known. Did you mean 'ten-turn'?",
    ),
]


@pytest.mark.parametrize(("words", "text"), SLIPS, ids=[text[:60] for _, text in SLIPS])
def test_a_slip_is_named_by_its_answer(door: Door, rover: Path, words: list[str], text: str) -> None:
    sensor = [] if any(word.startswith("--sensor") for word in words) else ["--sensor=ten-turn"]
    said = door("new", "a", "--moves=arm", *words, *sensor)
    assert said.err.splitlines()[-1] == f"anglewright: {text}"
    assert (said.code, said.out) == (2, "")
    assert not (rover / "a").exists()


def test_slips_are_told_together(door: Door) -> None:
    words = ["--moves=arm", "--from=0deg", "--to=90deg", "--error=1mm", "--sensor=pot", "--drive=geers 2"]
    said = door("new", "a", *words)
    assert [line.split(": ")[1] for line in said.err.splitlines()] == ["error", "sensor", "drive"]


def test_a_radian_too_many_is_seen(door: Door) -> None:
    words = ["--moves=arm", "--from=0rad", "--to=90rad", "--error=1rad", "--sensor=incremental", "--ratio=1"]
    # 90 / (2 pi) = 14.32
    assert door("new", "a", *words, "--json").json["meaning"]["motion"] == "90 rad, which is 14.3 turns"


def test_marks_are_written_and_the_sensor_is_clamped_at_the_first(door: Door, rover: Path) -> None:
    marks = ["--mark", "pin = 20 deg", "--mark=stow=-45deg"]
    said = door("new", "a", "--moves=arm", *MOTIONS["arm"], "--sensor=potentiometer", "--ratio=2", *marks)
    assert said.code == 0
    table = tomllib.loads((rover / "a" / "rig.toml").read_text(encoding="utf-8"))["axis"]["arm"]
    assert {name: mark["at"] for name, mark in table["marks"].items()} == {"pin": "20 deg", "stow": "-45deg"}
    # Stops at -50.25 and 65.25: their middle is 7.5; 12.5 deg above it the sensor stands 25 of 270 deg
    # above half.
    assert table["mount"]["reading"] == f"{50 + 2500 / 270:.4g} %"


class Terminal(io.StringIO):
    """A keyboard."""

    def isatty(self) -> bool:
        """It is one."""
        return True


def test_at_a_terminal_a_slip_is_asked_again(
    rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(rover)
    typed = [
        "lift",
        "0 mm to 56 deg",
        "560 mm to 0 mm",
        "0 mm to 560 mm",
        "6 deg",
        "6 mm",
        "ten turn",
        "ten-turn",
    ]
    monkeypatch.setattr(sys, "stdin", Terminal("\n".join([*typed, "rak", "rack", ""])))
    assert run(["new", "a"]) == 0
    asked = capsys.readouterr().err
    assert asked.count("anglewright: ") == 5
    text = (rover / "a" / "rig.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["axis"]["lift"]["drive"] == {"kind": "rack", "teeth": 20, "module": "1 mm"}
    assert "teeth = 20                                 # assumed: teeth of the pinion\n" in text


def test_a_head_that_turns_without_end_is_answered_in_a_word(door: Door, rover: Path) -> None:
    assert door("new", "a", typed="head\nendless\n2 deg\n\n\n").code == 0
    table = tomllib.loads((rover / "a" / "rig.toml").read_text(encoding="utf-8"))["axis"]["head"]
    assert table["motion"] == {"from": "-180 deg", "to": "180 deg", "endless": True}
    assert table["sensor"] == {"kind": "magnetic"}


def test_a_whole_turn_with_ends_is_asked_about(door: Door) -> None:
    words = ["--moves=a", "--from=0deg", "--to=360deg", "--error=3deg", "--sensor=ten-turn", "--ratio=1"]
    said = " ".join(door("new", "a", *words).out.split())
    assert "An axis that turns round and round wants --endless." in said


WALK = """\
new lift --moves lift --from 0mm --to 300mm --error 6mm --sensor ten-turn --drive SCREW --mark rest=0mm
check lift/rig.toml
testsheet lift/rig.toml --csv checks.csv
plan lift/rig.toml --out sheet.csv
mount lift/rig.toml
wire lift/rig.toml
expect lift/rig.toml
read lift/rig.toml 2048
handover lift/rig.toml --out code
"""


def test_a_newcomer_walks_on_without_touching_the_file(door: Door) -> None:
    for line in WALK.splitlines():
        words = ["screw 35 mm" if word == "SCREW" else word for word in line.split()]
        said = door(*words)
        assert said.code in (0, 1), said.err
        assert said.err == ""
