"""The commands that look after a calibration, as a student types them."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.calibration.diary import TASKS, TOUCHED
from anglewright.cli import upkeep
from anglewright.jobs.noting import BY_WORD

Door = Callable[..., Any]

SWEEP = "-20 422 up\n0 904 up\n20 1385 up\n47.5 2048 up\n70 2590 up\n95 3192 up\n115 3674 up\n" + (
    "115 3674 down\n95 3192 down\n70 2590 down\n47.5 2048 down\n20 1385 down\n0 904 down\n-20 422 down\n"
)
"""The shoulder on its line, 4096 counts in 170 deg, 2048 at 47.5 deg; rounded to a count by hand."""


@pytest.fixture
def kept(door: Door) -> Door:
    """The door, with a calibration of 12 May kept."""
    assert door("calibrate", "rig.toml", "--typed", "--date=2026-05-12", typed=SWEEP).code == 0
    return door


def test_the_words_of_the_help_are_those_of_the_diary() -> None:
    assert tuple(TOUCHED) == upkeep.TOUCHED
    assert upkeep.DONE == BY_WORD
    assert set(BY_WORD) <= set(TASKS)


def test_the_year_of_an_axis(kept: Door, rover: Path) -> None:
    """Noted, zeroed, verified, looked back on, made ready: each command once, on a rig of one axis."""
    noted = kept("note", "rig.toml", "hub tightened", "--touched", "coupling", "--date=2026-05-13")
    assert noted.code == 0
    assert "zero it at a mark; verify it against fresh points" in " ".join(noted.out.split())
    zeroed = kept("zero", "rig.toml", "2050", "2051", "2049", "--date=2026-05-13")
    assert zeroed.code == 0
    assert zeroed.out.startswith("At 'pin' shoulder read 0.0")
    moved = "".join(
        f"{line.split()[0]} {int(line.split()[1]) + 2} {line.split()[2]}\n" for line in SWEEP.splitlines()
    )
    verified = kept("verify", "rig.toml", "--typed", "--date=2026-05-13", typed=moved)
    assert verified.code == 0
    assert verified.out.startswith("shoulder: zero 2026-05-13-1 passes.")
    kept("note", "rig.toml", "all three", "--done=signs", "--date=2026-05-13")
    back = kept("history", "rig.toml", "--svg", "zero.svg", "--sticker", "sticker.html")
    assert back.out.startswith("shoulder: 2 records. In use: zero 2026-05-13-1.\n")
    assert (rover / "zero.svg").exists()
    assert (rover / "sticker.html").exists()
    ready = kept("ready", "rig.toml", "shoulder=423,424,425", "--html=card.html", "--date=2026-05-14")
    assert (ready.code, ready.out.splitlines()[0]) == (0, "READY: Vine rover, its one axis.")
    undone = kept("withdraw", "rig.toml", "shoulder", "2026-05-13-1", "--because=wrong pin")
    assert "In use now: calibration 2026-05-12-1." in " ".join(undone.out.split())


@pytest.mark.parametrize(
    "words",
    [
        ("note", "rig.toml", "dusted"),
        ("zero", "rig.toml", "2048", "2049"),
        ("verify", "rig.toml", "--typed"),
        ("history", "rig.toml"),
        ("ready", "rig.toml", "shoulder=422,423,424"),
    ],
    ids=lambda words: words[0],
)
def test_each_prints_one_object_and_nothing_else(kept: Door, words: tuple[str, ...]) -> None:
    said = kept(*words, "--json", typed=SWEEP)
    assert said.code in (0, 1), said.err
    assert isinstance(said.json, dict)
    assert said.err == ""
    document = Path(__file__).resolve().parents[2] / "docs" / "json.md"
    row = next(
        line
        for line in document.read_text(encoding="utf-8").splitlines()
        if line.startswith(f"| `{words[0]}` |")
    )
    assert [key for key in said.json if key not in row] == []


def test_a_dry_run_shows_all_and_keeps_nothing(kept: Door, rover: Path) -> None:
    folder = rover / "rig.calibrations" / "shoulder"
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for words in (
        ("calibrate", "rig.toml", "--typed", "--dry-run"),
        ("calibrate", "rig.toml", "--typed", "--no-keep"),
        ("verify", "rig.toml", "--typed", "--dry-run"),
    ):
        assert kept(*words, typed=SWEEP).code == 0
    assert kept("zero", "rig.toml", "2048", "2049", "--dry-run").code == 0
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_what_if_is_never_kept(kept: Door) -> None:
    for words in (("note", "rig.toml", "x"), ("zero", "rig.toml", "2048")):
        said = kept(*words, "--set", "need.error=5 deg")
        assert said.code == 2
        assert said.err == (
            f"anglewright: {words[0]}: --set asks what if, and this would be kept. "
            "Leave --set out, or change the rig file.\n"
        )


def test_records_of_two_machines_stay_apart(kept: Door) -> None:
    field = ("--machine", "field")
    said = kept("read", "rig.toml", "2048", *field, "--json").json["readings"][0]
    assert (said["state"], said["record"]) == ("datasheet", None)
    kept("calibrate", "rig.toml", "--typed", "--date=2026-05-12", "--serial=77", *field, typed=SWEEP)
    said = kept("read", "rig.toml", "2048", *field, "--json").json["readings"][0]
    assert said["record"] == "2026-05-12-2"
    plain = kept("read", "rig.toml", "2048", "--json").json["readings"][0]
    assert plain["record"] == "2026-05-12-1"
    (row,) = kept("history", "rig.toml", *field, "--json").json["records"]
    assert (row["machine"], row["serial"]) == ("field", "77")


def test_constants_of_the_code_are_verified_without_a_record(door: Door) -> None:
    line = f"{170 / 4096}, {47.5 - 2048 * 170 / 4096}"
    assert door("verify", "rig.toml", "--typed", "--code-line", line, typed=SWEEP).code == 0
    wrong = f"{170 / 4096}, {50 - 2048 * 170 / 4096}"
    assert door("verify", "rig.toml", "--typed", "--code-line", wrong, typed=SWEEP).code == 1


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (
            ("note", "rig.toml"),
            2,
            'note: there is nothing to write. Say what was done, as in "hub tightened".',
        ),
        (("note", "rig.toml", "sholder", "x"), 2, "Did you mean 'shoulder'?"),
        (
            ("verify", "rig.toml", "shoulder", "shoulder-bench.csv", "--typed"),
            2,
            "verify: a file and --typed are both given. Leave one of them out.",
        ),
        (
            ("verify", "rig.toml", "--typed", "--record=a", "--code-line=1,2"),
            2,
            "verify: --record and --code-line are both given. Leave one of them out.",
        ),
        (("zero", "rig.toml", "2048", "--at", "low stop"), 2, 'Give it, as in --within "0.5 deg".'),
        (
            ("ready", "rig.toml"),
            2,
            "ready: no readings are given. Give shoulder=RAW, --typed or --log FILE.",
        ),
        (
            ("ready", "rig.toml", "shoulder"),
            2,
            "ready: 'shoulder' is no reading of an axis. Write it as shoulder=421,422,420.",
        ),
        (
            ("ready", "rig.toml", "shoulder=1", "--typed"),
            2,
            "ready: AXIS=RAW and --typed are both given. Leave one of them out.",
        ),
        (
            ("ready", "rig.toml", "--log", "shoulder-bench.csv"),
            3,
            "Name the raw columns after the axes: shoulder.",
        ),
        (("history", "rig.toml", "--look", "dark"), 2, "Give --svg FILE too, or leave it out."),
    ],
)
def test_what_a_tired_student_types_is_refused_in_a_sentence(
    kept: Door, words: tuple[str, ...], code: int, said: str
) -> None:
    answer = kept(*words, typed=SWEEP)
    assert answer.code == code, answer.out
    assert answer.err.rstrip().endswith(said)


def test_ready_takes_lines_that_were_typed(kept: Door) -> None:
    said = kept("ready", "rig.toml", "--typed", "--json", typed="shoulder 422 423, 421\n\n")
    assert json.loads(said.out)["axes"][0]["raws"] == [422, 423, 421]
    assert kept("ready", "rig.toml", "--typed", typed="shoulder\n").err == (
        "anglewright: typed line 1: 'shoulder' has an axis and no reading. "
        "Write axis and readings: shoulder 421 422 420.\n"
    )
