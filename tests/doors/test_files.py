"""Files of readings through the command: what is said of them, standard input, the clipboard, questions."""

import io
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.arguments import SAID
from anglewright.tables.wishes import KEYS

Door = Callable[..., Any]

PLACES = (-20, 0, 20, 47.5, 70, 95, 115)
CODES = [
    round(2048 + (q - 47.5) * 4096 / 170) for q in PLACES
]  # 170 deg over 4096 codes, 47.5 deg in the middle
SHEET = "reference_deg,raw\n" + "".join(f"{q},{c}\n" for q, c in zip(PLACES, CODES, strict=True))
TWO = "reference_deg,raw_1,raw_2\n" + "".join(
    f"{q},{c},{c + 9}\n" for q, c in zip(PLACES, CODES, strict=True)
)
CALIBRATE = ("calibrate", "rig.toml", "shoulder")


class Terminal(io.StringIO):
    """A standard stream that says that it is a terminal."""

    def isatty(self) -> bool:
        """Always."""
        return True


def test_the_parser_and_the_reader_know_the_same_keys() -> None:
    assert sorted(SAID) == sorted(KEYS)


def test_without_a_terminal_two_readings_stop_with_the_options_to_give(door: Door, rover: Path) -> None:
    (rover / "two.csv").write_text(TWO, encoding="utf-8")
    answer = door(*CALIBRATE, "two.csv", "--no-keep")
    low, high = CODES[0], CODES[-1]
    assert answer.code == 3
    assert answer.err == (
        "anglewright: two.csv: 2 columns could be the raw reading: raw_1, raw_2. "
        f'Give --as "raw=raw_1" (whole numbers from {low} to {high}) or '
        f'--as "raw=raw_2" (whole numbers from {low + 9} to {high + 9}).\n'
    )


def test_what_is_said_about_a_file_goes_before_a_guess(door: Door, rover: Path) -> None:
    (rover / "two.csv").write_text(TWO, encoding="utf-8")
    found = door(
        *CALIBRATE, "two.csv", "--no-keep", "--json", "--as", "raw=raw_2", "--as", "missing=904,NA"
    ).json
    assert found["columns"] == {"reference": "reference_deg", "raw": "raw_2", "why": "as was asked"}
    assert found["read"]["rows"] == 7
    assert [point["raw"] for point in found["points"]] == [code + 9 for code in CODES]


def test_at_a_terminal_the_person_is_asked_until_the_answer_is_one(
    door: Door, rover: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (rover / "two.csv").write_text(TWO, encoding="utf-8")
    from anglewright.cli.program import run

    said = Terminal()
    monkeypatch.setattr(sys, "stdin", Terminal("three\n9\n2\n"))
    monkeypatch.setattr(sys, "stderr", said)
    assert run([*CALIBRATE, "two.csv", "--no-keep"]) in (0, 1)
    assert "two.csv: 2 columns could be the raw reading: raw_1, raw_2." in said.getvalue()
    assert said.getvalue().count("Which column is the raw reading? [1-2]: ") == 3
    assert f"  2  raw=raw_2  (whole numbers from {CODES[0] + 9} to {CODES[-1] + 9})" in said.getvalue()


def test_an_input_that_ends_before_the_answer_gives_the_options(
    door: Door, rover: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (rover / "two.csv").write_text(TWO, encoding="utf-8")
    from anglewright.cli.program import run

    said = Terminal()
    monkeypatch.setattr(sys, "stdin", Terminal(""))
    monkeypatch.setattr(sys, "stderr", said)
    assert run([*CALIBRATE, "two.csv", "--no-keep"]) == 2
    assert said.getvalue().splitlines()[-1].startswith("anglewright: two.csv: 2 columns could be")


def test_readings_come_in_on_standard_input(door: Door) -> None:
    found = door(*CALIBRATE, "-", "--no-keep", "--json", typed=SHEET).json
    assert (found["n_points"], found["read"]["rows"]) == (7, 7)


def test_an_empty_standard_input_is_refused_by_its_name(door: Door) -> None:
    answer = door(*CALIBRATE, "-", typed="")
    assert (answer.code, answer.err) == (
        3,
        "anglewright: standard input: it is empty. Name the file with the readings.\n",
    )


def test_readings_come_from_the_clipboard(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda name: "/bin/xclip" if name == "xclip" else None)

    def pasted(words: list[str], **_: object) -> "subprocess.CompletedProcess[bytes]":
        return subprocess.CompletedProcess(words, 0, SHEET.replace(",", "\t").encode(), b"")

    monkeypatch.setattr(subprocess, "run", pasted)
    found = door(*CALIBRATE, "--clipboard", "--no-keep", "--json").json
    assert found["n_points"] == 7
    assert found["read"]["decisions"] == ["cells are parted by a tab"]


def test_a_clipboard_that_no_program_reads_is_refused(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    answer = door(*CALIBRATE, "--clipboard")
    assert (answer.code, answer.err) == (
        4,
        "anglewright: the clipboard: no program here can read it. "
        "Install xclip or wl-clipboard, or paste the table into a file.\n",
    )


REFUSED = [
    (
        ["shoulder-bench.csv", "--clipboard"],
        "calibrate: a file and --clipboard are both given. Leave one of them out.",
    ),
    (["--typed", "--clipboard"], "calibrate: --clipboard and --typed are both given. Leave one of them out."),
    (
        ["shoulder-bench.csv", "--as", "rwa=2"],
        "--as: there is nothing called 'rwa' to say about a file. Did you mean 'raw'?",
    ),
    (
        ["shoulder-bench.csv", "--as", "delimiter=dots"],
        "--as delimiter: 'dots' is not a delimiter. Known: bar, blank, comma, semicolon, space, tab.",
    ),
    (
        ["shoulder-bench.csv", "--as", "header=top"],
        "--as header: 'top' is no line. "
        "Write the line of the names as in --as header=3, or --as header=none.",
    ),
    (
        ["shoulder-bench.csv", "--as", "raw=adc"],
        "--as raw: shoulder-bench.csv has no column 'adc'. Known: approach, raw, reference_deg, time_s.",
    ),
    (
        ["shoulder-bench.csv", "--as", "unit=mm"],
        "--as unit: 'mm' is no unit of an angle. Write it as in --as unit=deg.",
    ),
]


@pytest.mark.parametrize(("words", "said"), REFUSED, ids=[" ".join(words) for words, _ in REFUSED])
def test_what_cannot_be_said_about_a_file_is_refused(door: Door, words: list[str], said: str) -> None:
    answer = door(*CALIBRATE, *words)
    assert (answer.code, answer.err) == (2, f"anglewright: {said}\n")


def test_a_point_is_left_out_by_its_number_and_with_its_reason(door: Door, rover: Path) -> None:
    (rover / "one.csv").write_text(SHEET, encoding="utf-8")
    found = door(
        *CALIBRATE, "one.csv", "--no-keep", "--json", "--without-point", "2: the arm was bumped"
    ).json
    assert [(each["number"], each["because"]) for each in found["left_out"]] == [(2, "the arm was bumped")]
    assert [point["number"] for point in found["points"]] == [1, 3, 4, 5, 6, 7]
    refused = door(*CALIBRATE, "one.csv", "--no-keep", "--without-point", "8")
    assert (refused.code, refused.err.split(",")[0]) == (
        2,
        "anglewright: --without-point: there is no point 8",
    )
    words = door(*CALIBRATE, "one.csv", "--no-keep", "--without-point", "all")
    assert (words.code, "'all' is no number of a point" in words.err) == (2, True)


def test_refused_cells_are_all_counted_and_rows_are_named_rightly(door: Door, rover: Path) -> None:
    bad = (
        "".join("0,lost\n" for _ in range(1500))
        + "".join(f"{q},{c}\n" for q, c in zip(PLACES, CODES, strict=True)) * 300
    )
    (rover / "bad.csv").write_text("reference_deg,raw\n" + bad, encoding="utf-8")
    answer = door(*CALIBRATE, "bad.csv", "--no-keep", "--json", "--as", "rests=no").json["read"]
    assert (answer["rows"], answer["rows_used"], answer["refused_cells"]) == (2100, 2100, 1500)
    assert len(answer["refused"]) == 1000
    shown = " ".join(door(*CALIBRATE, "bad.csv", "--no-keep").out.split())
    assert "cells refused 1500" in shown
    assert "refused besides 1490 more cells" in shown
