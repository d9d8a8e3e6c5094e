"""Damaged files and odd command lines end in a code and a sentence, never in a traceback."""

import contextlib
import io
import os
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from anglewright.cli.options import COMMANDS
from anglewright.cli.program import run

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"
RIG = (ROVER / "rig.toml").read_text(encoding="utf-8")
BENCH = (ROVER / "shoulder-bench.csv").read_text(encoding="utf-8")
FUZZ = settings(max_examples=400 if os.environ.get("ANGLEWRIGHT_LONG") else 40)
SCRAPS = ["", "0", "-1", "1e400", "nan", '""', "[", "]", "=", "\n", "\x00", "deg", "±", "π", "true", "[[]]",
          "1979-05-27", "{ a = 1 }", "9" * 30, ",", ";", "\t", "inf", '"-20 deg"', "#"]  # fmt: skip
READERS = ["check", "budget", "expect", "read", "plan", "explain", "handover", "report", "simulate"]
REST = {"read": ["2048"], "handover": ["--out", "code"], "simulate": ["--out", "b.csv"]}


@contextlib.contextmanager
def in_a_copy() -> Iterator[Path]:
    """A copy of the rover as the working folder."""
    before = Path.cwd()
    with TemporaryDirectory() as folder:
        copy = Path(shutil.copytree(ROVER, Path(folder) / "rover"))
        os.chdir(copy)
        try:
            yield copy
        finally:
            os.chdir(before)


def answered(*words: str) -> tuple[int, str]:
    """Code and what stood on standard error; anything raised fails the test."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(list(words))
    assert code in (0, 1, 2, 3, 4)
    assert (code in (2, 3, 4)) == ("anglewright: " in err.getvalue())
    return code, err.getvalue()


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """A text with one to three places cut out, doubled or replaced."""
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 40)))
        text = text[:start] + draw(st.sampled_from(SCRAPS) | st.just(text[start:end] * 2)) + text[end:]
    return text


@st.composite
def revalued(draw: st.DrawFn) -> str:
    """The rig with the value of one line replaced."""
    lines = RIG.splitlines()
    at = draw(st.sampled_from([k for k, line in enumerate(lines) if "=" in line]))
    key = lines[at].partition("=")[0]
    value = draw(st.sampled_from(SCRAPS) | st.integers().map(str) | st.floats().map(str))
    quoted = draw(st.booleans())
    lines[at] = f"{key}= {chr(34) if quoted else ''}{value.strip(chr(34))}{chr(34) if quoted else ''}"
    return "\n".join(lines)


@FUZZ
@given(damaged(RIG) | revalued(), st.sampled_from(READERS))
def test_a_damaged_rig_file_is_used_or_refused(text: str, command: str) -> None:
    with in_a_copy() as folder:
        (folder / "rig.toml").write_text(text, encoding="utf-8")
        answered(command, "rig.toml", *REST.get(command, []))


@FUZZ
@given(damaged(BENCH))
def test_a_damaged_sheet_is_used_or_refused(text: str) -> None:
    with in_a_copy() as folder:
        (folder / "run.csv").write_text(text, encoding="utf-8", newline="")
        answered("calibrate", "rig.toml", "run.csv", "--date", "2026-05-12")


@FUZZ
@given(st.binary(max_size=200))
def test_any_bytes_are_used_or_refused(data: bytes) -> None:
    with in_a_copy() as folder:
        (folder / "run.csv").write_bytes(data)
        answered("calibrate", "rig.toml", "run.csv", "--no-keep")
        answered("check", "run.csv")


@FUZZ
@given(damaged(BENCH.replace("# simulated", "reference_deg", 1)), st.text(max_size=60))
def test_a_damaged_record_is_used_or_refused(text: str, junk: str) -> None:
    with in_a_copy() as folder:
        answered("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12")
        path = folder / "rig.calibrations" / "shoulder" / "2026-05-12-1.toml"
        whole = path.read_text(encoding="utf-8")
        cut = len(text) % len(whole)
        path.write_text(
            whole[:cut] + junk.encode("utf-8", "replace").decode() + whole[cut:], encoding="utf-8"
        )
        answered("read", "rig.toml", "2048")


WORDS = st.sampled_from(
    [
        *COMMANDS,
        *(
            "rig.toml",
            "shoulder",
            "pin",
            "-20deg",
            "-20 deg",
            "2048",
            "shoulder-bench.csv",
            "out.x",
            "",
            "-",
            "--",
        ),
        *("--json", "--set", "coupling.play=0deg", "--state", "zeroed", "--record", "--out", "--seed", "5"),
        *("--plant", "play=1deg", "--typed", "--because", "--help"),
    ]
)


@FUZZ
@example(["--help", "rig.toml"])
@given(st.lists(WORDS, max_size=7))
def test_any_row_of_words_is_answered(words: list[str]) -> None:
    before, code = sys.stdin, 0
    with in_a_copy():
        sys.stdin = io.StringIO("")
        try:
            code, _ = answered(*words)
        except SystemExit as stopped:  # how help ends
            code = int(stopped.code or 0)
        finally:
            sys.stdin = before
    assert code in (0, 1, 2, 3)
    assert code == 0 or "--help" not in words[:1]


@pytest.mark.parametrize("value", ["1e308", "-1e308", "1e-320", "0", "99999999999999999999"])
@pytest.mark.parametrize("raw", ["counts", "volts", "fraction", "turns"])
def test_any_raw_number_is_judged(value: str, raw: str) -> None:
    with in_a_copy() as folder:
        (folder / "rig.toml").write_text(RIG.replace('raw = "counts"', f'raw = "{raw}"'), encoding="utf-8")
        assert answered("read", "rig.toml", value)[0] == 0
