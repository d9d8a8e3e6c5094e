"""Where two readings of a file are possible a person at a terminal is asked, and a pipe gets the options."""

import json
import os
import select
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

PLACES = (-20, 0, 20, 48, 70, 95, 115)
CODES = [round(2048 + (q - 47.5) * 4096 / 170) for q in PLACES]  # 170 deg over 4096 codes
ROWS = list(zip(PLACES, CODES, strict=True))
LIMIT_S = 30.0

# For each thing that may be open: a file, what is said of it in a pipe, the answer that is typed, and the
# first reference [deg] and raw reading [count] which that answer gives; 90 deg is pi/2 by hand.
OPEN: dict[str, tuple[str, str, str, tuple[float, float]]] = {
    "raw column": (
        "reference_deg,raw_1,raw_2\n" + "".join(f"{q},{c},{c + 9}\n" for q, c in ROWS),
        '2 columns could be the raw reading: raw_1, raw_2. Give --as "raw=raw_1"',
        "2",
        (-20.0, CODES[0] + 9),
    ),
    "reference column": (
        "angle_left_deg,angle_right_deg,raw\n" + "".join(f"{q},{q + 1},{c}\n" for q, c in ROWS),
        "2 columns could be the reference: angle_left_deg, angle_right_deg. "
        'Give --as "reference=angle_left_deg"',
        "2",
        (-19.0, CODES[0]),
    ),
    "unit": (
        "angle,raw\n" + "".join(f"{q * 0.017453292519943295:.12f},{c}\n" for q, c in ROWS),
        "it names no unit, and its numbers from -0.349066 to 2.00713 do not fit the axis in deg. "
        'Give --as "unit=rad" (fits the range of the axis) or --as "unit=deg" (as the axis).',
        "1",
        (-20.0, CODES[0]),
    ),
    "decimal mark": (
        "reference_deg;raw\n20;1,385\n30;1,626\n48;2,060\n70;2,590\n95;3,192\n115;3,674\n",
        "the comma in 1,385 may be a decimal mark, or part thousands. "
        'Give --as "decimal=comma" (1,385 is 1.385) or --as "decimal=point" (1,385 is 1385).',
        "2",
        (20.0, 1385),
    ),
}


@pytest.mark.parametrize("name", OPEN)
def test_a_pipe_stops_with_the_options_to_give(door: Door, rover: Path, name: str) -> None:
    text, said, _, _ = OPEN[name]
    (rover / "run.csv").write_text(text, encoding="utf-8")
    answer = door("calibrate", "rig.toml", "shoulder", "run.csv", "--no-keep")
    assert answer.code == 3
    assert said in answer.err


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="a pseudo-terminal is a thing of Unix")
@pytest.mark.parametrize("name", OPEN)
def test_at_a_true_terminal_the_answer_that_is_typed_is_used(rover: Path, name: str) -> None:
    text, _, typed, (reference, raw) = OPEN[name]
    (rover / "run.csv").write_text(text, encoding="utf-8")
    words = ["calibrate", "rig.toml", "shoulder", "run.csv", "--no-keep", "--json"]
    master, slave = os.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "anglewright", *words],
        cwd=rover,
        stdin=slave,
        stderr=slave,
        stdout=subprocess.PIPE,
    ) as program:
        os.close(slave)
        asked = read_until(master, "]: ")
        os.write(master, f"{typed}\n".encode())
        out = program.communicate(timeout=LIMIT_S)[0]
    os.close(master)
    assert "? [1-2]: " in asked
    first = json.loads(out)["points"][0]
    assert first["raw"] == raw
    assert first["reference"] == pytest.approx(reference, abs=1e-6)


def read_until(terminal: int, mark: str) -> str:
    """What a terminal shows up to a mark."""
    shown, ends = "", time.monotonic() + LIMIT_S
    while mark not in shown and time.monotonic() < ends:
        if select.select([terminal], [], [], 0.2)[0]:
            shown += os.read(terminal, 4096).decode()
    return shown
