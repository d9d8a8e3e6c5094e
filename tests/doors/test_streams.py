"""Terminals, pipes, interrupts and hostile names, with the program in a process of its own."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]
PROGRAM = [sys.executable, "-m", "anglewright"]


def run_program(folder: Path, *words: str, typed: str = "", **env: str) -> "subprocess.CompletedProcess[str]":
    """One run in a folder."""
    return subprocess.run(
        [*PROGRAM, *words],
        cwd=folder,
        env={**os.environ, **env},
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


@pytest.mark.parametrize("words", [["--version"], ["-V"], ["--version", "budget"]])
def test_the_version_is_told(rover: Path, words: list[str]) -> None:
    done = run_program(rover, *words)
    assert (done.returncode, done.stdout.split()[0], done.stderr) == (0, "anglewright", "")


def test_help_names_every_command_and_the_exit_codes(rover: Path) -> None:
    done = run_program(rover)
    assert done.returncode == 0
    for word in ("new", "check", "budget", "expect", "read", "plan", "simulate", "calibrate", "withdraw"):
        assert f"\n    {word} " in done.stdout
    assert "2 usage; 3 data or rig; 4 device" in done.stdout
    assert "not a safety device" in done.stdout


@pytest.mark.parametrize("words", [["check", "rig.toml"], ["check", "rig.toml", "--json"], ["--version"]])
def test_a_closed_pipe_ends_cleanly(rover: Path, words: list[str]) -> None:
    with subprocess.Popen(
        [*PROGRAM, *words], cwd=rover, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as running:
        assert running.stdout
        assert running.stderr
        running.stdout.close()
        said = running.stderr.read()
    assert (running.returncode, said) == (0, b"")


@pytest.mark.skipif(sys.platform == "win32", reason="signals of this kind are not sent there")
def test_an_interrupt_ends_with_a_sentence(rover: Path) -> None:
    with subprocess.Popen(
        [*PROGRAM, "calibrate", "rig.toml", "--typed"],
        cwd=rover,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    ) as running:
        assert running.stdin
        assert running.stderr
        running.stdin.write(b"-20 421 up\n")
        running.stdin.flush()
        deadline = time.monotonic() + 20.0
        while not _reads(running.pid) and time.monotonic() < deadline:
            time.sleep(0.02)
        running.send_signal(signal.SIGINT)
        said = running.stderr.read()
        running.stdin.close()
    assert (running.returncode, said) == (130, b"anglewright: stopped; nothing half done was kept.\n")
    assert not (rover / "rig.calibrations").exists()


def _reads(pid: int) -> bool:
    """Whether a process waits for its input; where that cannot be seen, after a second."""
    try:
        return "pipe" in Path(f"/proc/{pid}/wchan").read_text(encoding="ascii")
    except OSError:
        time.sleep(1.0)
        return True


def test_a_terminal_that_knows_only_ascii_is_answered(rover: Path) -> None:
    done = run_program(rover, "budget", "rig.toml", PYTHONIOENCODING="ascii:strict", PYTHONUTF8="0")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "shoulder, calibrated: good to ?" in done.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="arguments are always text there")
def test_arguments_that_are_no_text_are_refused(rover: Path) -> None:
    done = subprocess.run(
        [*PROGRAM, "withdraw", "rig.toml", "x", "--because", b"\xff"],
        cwd=rover,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.endswith(b"is not text. Write it in the encoding of your terminal.\n")


def test_a_wide_table_in_a_pipe_keeps_its_numbers_whole(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "30")
    (row,) = [
        line for line in door("expect", "rig.toml", "pin").out.splitlines() if "47.5 deg   pin " in line
    ]
    found = door("expect", "rig.toml", "pin", "--json").json["readings"][0]
    assert f"{found['volts_wiper']:.5f} V" in row
    assert f"{found['volts_pin']:.5f} V" in row
    assert row.rstrip().endswith(f"{found['code_low']} to {found['code_high']}")


def test_a_narrow_terminal_loses_no_digit(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    from rich.console import Console

    wide = door("read", "rig.toml", "2048", "421").out
    monkeypatch.setattr(Console, "is_terminal", property(lambda self: True))
    monkeypatch.setenv("COLUMNS", "24")
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "dumb")
    narrow = door("read", "rig.toml", "2048", "421").out
    assert max(map(len, narrow.splitlines())) <= 24
    digits = [sign for sign in narrow if sign.isdigit()]
    assert sorted(digits) == sorted(sign for sign in wide if sign.isdigit())


HOSTILE = [
    'x"; //',
    "*/ int y; /*",
    "../../x",
    "</script><script>alert(1)</script>",
    "line\nbreak",
    "\x1b[2Jgone",
    "肩 ±3°",
    "-20",
    "--json",
    "con",
    "a" * 300,
]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_from_a_rig_breaks_nothing(door: Door, rover: Path, name: str) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    text = text.replace("axis.shoulder", f"axis.{json.dumps(name)}")
    text = text.replace('rig = "Vine rover"', f"rig = {json.dumps(name)}")
    text = text.replace("pin  = {", f"{json.dumps(name)} = {{")
    text = text.replace('clamped_at = "pin"', f"clamped_at = {json.dumps(name)}")
    text = text.replace('zero_at = "pin"', f"zero_at = {json.dumps(name)}")
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    before = set(rover.parent.rglob("*"))
    for words in (
        ["check"], ["budget"], ["expect"], ["read", "2048"], ["explain"],
        ["plan", "--out", "sheet.csv"], ["simulate", "--out", "bench.csv"],
        ["calibrate", "bench.csv", "--date", "2026-05-12"], ["handover", "--out", "code"], ["report"],
    ):  # fmt: skip
        said = door(words[0], "rig.toml", *words[1:])
        assert said.code in (0, 1), said.err
        assert "\x1b" not in said.out + said.err
        read = door(words[0], "rig.toml", *words[1:], "--json")
        assert read.code in (0, 1, 3)
        assert isinstance(read.json, dict)
    made = {path.relative_to(rover).parts[0] for path in set(rover.parent.rglob("*")) - before}
    assert made == {
        "bench.csv",
        "bench.csv.truth.toml",
        "code",
        "rig.calibrations",
        "rig.report.html",
        "sheet.csv",
    }
    assert "<script>alert" not in (rover / "rig.report.html").read_text(encoding="utf-8")
