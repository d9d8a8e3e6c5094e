"""From a simulated bench to code on a controller: what C answers is what `read` answers."""

import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]
FLAGS = ("-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror")
RAWS = [*range(4096), -1, 4096, 65535]
FAULTS = dict(enumerate([None, "below band", "above band", "not a code", "outside the calibrated points"]))
HARNESS = """
#include "shoulder.h"
#include <stdio.h>

int main(void)
{
    long raw;
    while (scanf("%ld", &raw) == 1) {
        const shoulder_reading reading = shoulder_position((int32_t)raw);
        printf("%ld %.9g %d %d\\n", raw, (double)reading.position, (int)reading.valid, (int)reading.fault);
    }
    return 0;
}
"""


def compiled(gcc: str, folder: Path) -> Path:
    """The code handed over and a harness around it, as a program."""
    (folder / "harness.c").write_text(HARNESS, encoding="ascii")
    command = [gcc, *FLAGS, "harness.c", "shoulder.c", "-o", "harness", "-lm"]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return folder / "harness"


@pytest.mark.parametrize("calibrated", [False, True], ids=["data sheet", "calibrated"])
def test_code_and_program_agree_on_every_raw_value(
    door: Door, rover: Path, gcc: str, calibrated: bool
) -> None:
    if calibrated:
        assert door("simulate", "rig.toml", "--seed", "3", "--plant", "play=2deg", "--out", "b.csv").code == 0
        assert door("calibrate", "rig.toml", "b.csv", "--date", "2026-05-12", "--json").json["record"]
    handed = door("handover", "rig.toml", "--out", "code", "--json").json["axes"][0]
    assert handed["record"] == ("2026-05-12-1" if calibrated else None)
    asked = "\n".join(map(str, RAWS))
    program = compiled(gcc, rover / "code")
    done = subprocess.run([program], input=asked, capture_output=True, text=True, check=True)
    answered = [line.split() for line in done.stdout.splitlines()]
    read = door("read", "rig.toml", "shoulder", *map(str, RAWS), "--json").json["readings"]
    travel = abs(handed["slope"]) * (handed["valid_high"] - handed["valid_low"])
    assert len(answered) == len(read) == len(RAWS)
    for (raw, place, valid, fault), row in zip(answered, read, strict=True):
        assert (int(raw), valid == "1", FAULTS[int(fault)]) == (row["raw"], row["valid"], row["fault"])
        if row["valid"]:
            assert abs(float(place) - row["position"]) <= 1e-5 * travel
        else:
            assert (place.lstrip("-"), row["position"]) == ("nan", None)


def test_the_self_test_that_comes_with_the_code_passes(door: Door, rover: Path, gcc: str) -> None:
    assert door("handover", "rig.toml", "--out", "code").code == 0
    command = [gcc, *FLAGS, "shoulder.c", "shoulder_selftest.c", "-o", "selftest", "-lm"]
    subprocess.run(command, cwd=rover / "code", check=True, capture_output=True)
    done = subprocess.run([rover / "code" / "selftest"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_the_whole_path_with_records_that_come_and_go(door: Door, rover: Path) -> None:
    assert door("read", "rig.toml", "2048", "--json").json["readings"][0]["state"] == "datasheet"
    assert door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12").code in (0, 1)
    kept = rover / "rig.calibrations" / "shoulder" / "2026-05-12-1.toml"
    first = kept.read_bytes()
    assert door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12").code in (0, 1)
    assert kept.read_bytes() == first
    row = door("read", "rig.toml", "2048", "--json").json["readings"][0]
    assert (row["state"], row["record"]) == ("calibrated", "2026-05-12-2")
    said = door("withdraw", "rig.toml", "2026-05-12-2", "--because", "the coupling was loose", "--json").json
    assert (said["withdrawn"], said["in_use"]) == ("the coupling was loose", "2026-05-12-1")
    last = door("withdraw", "rig.toml", "2026-05-12-1", "--because", "so was this").out
    assert "Nothing is in use now: every calibration is withdrawn." in last
    row = door("read", "rig.toml", "2048", "--json").json["readings"][0]
    assert (row["state"], row["record"]) == ("datasheet", None)
    row = door("read", "rig.toml", "2048", "--record", "2026-05-12-1", "--json").json["readings"][0]
    assert (row["state"], row["record"]) == ("calibrated", "2026-05-12-1")
    assert len(list(kept.parent.iterdir())) == 2


def test_a_changed_part_puts_the_calibration_out_of_use_with_a_sentence(door: Door, rover: Path) -> None:
    door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12")
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    (rover / "rig.toml").write_text(text.replace('series = "1 kohm"', 'series = "2 kohm"'), encoding="utf-8")
    said = door("read", "rig.toml", "2048")
    sentence = (
        "Line: data sheet (calibration 2026-05-12-1 belongs to another chain: a part or number changed "
        "since, calibrate again)."
    )
    assert sentence in " ".join(said.out.split())
    forced = door("read", "rig.toml", "2048", "--record", "2026-05-12-1")
    assert "as asked for, although it is of another chain than the file describes now" in " ".join(
        forced.out.split()
    )
    refused = door("read", "rig.toml", "2048", "--state", "calibrated")
    assert refused.code == 2
    assert "belongs to another chain" in refused.err


def test_a_calibration_of_an_earlier_day_says_that_it_is_not_in_use(door: Door) -> None:
    door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12")
    said = door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-01").out
    assert "as 2026-05-01-1; in use stays 2026-05-12-1, which is of a later day" in " ".join(said.split())


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("slope = 0.0", "slope = 0.1"),
        ('verdict = "fails"', 'verdict = "meets"'),
        ("[[point]]", "[point]]"),
        ("version = 1", "version = 2"),
        ("sum = ", "summ = "),
        ("version = 1", ""),
    ],
)
def test_a_record_changed_by_hand_is_refused_by_name(door: Door, rover: Path, old: str, new: str) -> None:
    door("calibrate", "rig.toml", "shoulder-bench.csv", "--date", "2026-05-12")
    path = rover / "rig.calibrations" / "shoulder" / "2026-05-12-1.toml"
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    for words in (["read", "2048"], ["expect"], ["handover", "--out", "code"], ["report"]):
        said = door(words[0], "rig.toml", *words[1:])
        assert said.code == 3
        assert said.err.startswith("anglewright: rig.calibrations/shoulder/2026-05-12-1.toml: it is ")
        assert said.err.endswith("Move the file away; the other records stay usable.\n")
        assert said.err.count("\n") == 1
    assert door("read", "rig.toml", "2048", "--state", "datasheet").code == 0
