"""Bench files as people bring them, through the command that evaluates them."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

# A perfect line through 170 deg over 4096 codes (340 deg of track, 2 : 1), 47.5 deg in the middle.
PLACES = (-20, 0, 20, 47.5, 70, 95, 115)
CODES = {q: round(2048 + (q - 47.5) * 4096 / 170) for q in PLACES}
ROWS = [*((q, CODES[q], "up") for q in PLACES), *((q, CODES[q], "down") for q in reversed(PLACES))]
ROUNDED = 1.0 / (CODES[115] - CODES[-20])  # half a code at either end: the most that rounding tilts the line


def sheet(*, cut: str = ",", comma: bool = False, head: str = "reference_deg,raw,approach") -> str:
    """The rows as text."""
    lines = [cut.join(head.split(","))] if head else []
    for q, code, side in ROWS:
        number = str(q).replace(".", ",") if comma else str(q)
        lines.append(cut.join([number, str(code), side]))
    return "\n".join(lines) + "\n"


def calibrated(door: Door, rover: Path, content: str | bytes) -> Any:
    """What calibrate makes of a file."""
    data = content.encode() if isinstance(content, str) else content
    (rover / "run.csv").write_bytes(data)
    return door("calibrate", "rig.toml", "shoulder", "run.csv", "--no-keep", "--json")


GOOD: dict[str, tuple[str | bytes, list[str]]] = {
    "as written": (sheet(), []),
    "tabs": (sheet(cut="\t"), ["cells are parted by a tab"]),
    "blanks": (sheet(cut=" "), ["cells are parted by a blank"]),
    "semicolons": (sheet(cut=";"), ["cells are parted by a semicolon"]),
    "decimal commas": (
        sheet(cut=";", comma=True),
        ["cells are parted by a semicolon", "numbers have a decimal comma"],
    ),
    "decimal commas and tabs": (
        sheet(cut="\t", comma=True),
        ["cells are parted by a tab", "numbers have a decimal comma"],
    ),
    "byte order mark": (b"\xef\xbb\xbf" + sheet().encode(), []),
    "UTF-16": (sheet().encode("utf-16"), ["the text was read as UTF-16"]),
    "Latin-1": (
        sheet(head="Ref (°),raw,approach").encode("latin-1"),
        ["the text was read as Latin-1"],
    ),
    "carriage returns": (sheet().replace("\n", "\r\n"), []),
    "comments": ("# bench 2\n" + sheet().replace("\n", "\n# again\n", 3), []),
    "blank last lines": (sheet() + "\n\n  \n", []),
    "lines above the header": (
        "Bench 2, Monday\nby the window\n" + sheet(),
        ["2 lines above the header were passed over"],
    ),
    "a sheet filled in part": (
        sheet().replace("approach\n", "approach\n,,up\n,,up\n"),
        ["rows without reference and raw, passed over: 2"],
    ),
    "quoted cells": (sheet().replace("up", '"up"'), []),
    "true minus signs": (sheet().replace("-20", "\u221220"), []),
    "signs for sides": (sheet().replace("up", "+1").replace("down", "-1"), []),
}


@pytest.mark.parametrize("name", GOOD)
def test_a_file_is_read_as_people_write_it(door: Door, rover: Path, name: str) -> None:
    content, decisions = GOOD[name]
    found = calibrated(door, rover, content).json
    # 170 deg over 4096 codes is 0.0415039 deg a code; the codes above are rounded.
    assert found["parameters"]["slope"]["value"] == pytest.approx(170 / 4096, rel=ROUNDED)
    assert (found["n_points"], found["read"]["rows"]) == (14, 14)  # seven places from both sides
    assert (found["read"]["decisions"], found["read"]["refused"]) == (decisions, [])


def test_without_a_header_the_first_column_is_the_reference(door: Door, rover: Path) -> None:
    text = "".join(f"{q},{code}\n" for q, code, _ in ROWS)
    found = calibrated(door, rover, text).json
    assert found["columns"] == {
        "reference": "1",
        "raw": "2",
        "why": "no header: the first column is taken as the reference, the second as raw",
    }
    assert found["read"]["decisions"] == ["the reference is taken as deg"]


def test_the_reference_may_be_in_another_unit_of_the_same_kind(door: Door, rover: Path) -> None:
    turns = "reference_turn,raw\n" + "".join(f"{q / 360:.9f},{code}\n" for q, code, _ in ROWS)
    found = calibrated(door, rover, turns).json
    assert found["parameters"]["slope"]["value"] == pytest.approx(170 / 4096, rel=ROUNDED)
    assert found["read"]["decisions"] == ["the reference is read in turn"]


def test_a_cell_of_text_is_refused_and_named_and_the_rest_is_used(door: Door, rover: Path) -> None:
    found = calibrated(door, rover, sheet().replace(f"{CODES[20]},up", "wobbly,up")).json
    assert found["read"]["refused"] == [
        {"line": 4, "column": "raw", "text": "wobbly", "why": "is not a number"}
    ]
    assert found["read"]["rows"] == 13


REFUSED: dict[str, tuple[str | bytes, str]] = {
    "empty": ("", "run.csv: it is empty. Name the file with the readings."),
    "comments only": ("# a\n#b\n", "run.csv: it holds only comments. Name the file with the readings."),
    "no numbers": (
        "reference_deg,raw\nlow,high\n",
        "run.csv: no row of it holds two numbers. Name the file with the readings, one position and one raw "
        "value in a row.",
    ),
    "one position": (
        "reference_deg,raw\n" + "47.5,2048\n" * 8,
        "run.csv: all 8 readings were taken at one position, 47.5 deg, and a line needs two different ones. "
        "Take at least 5 positions, better 9, spread over the motion.",
    ),
    "beyond full scale": (
        sheet().replace(f",{CODES[115]},up", ",4097,up"),
        "run.csv, line 8, column 'raw': 4097 is above 4095, the top code of the 12-bit converter. "
        "Name another column, or correct converter.bits or converter.raw.",
    ),
    "below zero": (
        sheet().replace(f",{CODES[115]},up", ",-3,up"),
        "run.csv, line 8, column 'raw': -3 is below 0, the lowest reading there is. "
        "Name another column, or correct converter.bits or converter.raw.",
    ),
    "minus one for a failed reading": (
        sheet().replace(f",{CODES[115]},up", ",-1,up"),
        "run.csv, line 8, column 'raw': -1 stands in 1 of 14 rows, and the rig file's converter gives 0 to "
        '4095. If that stands for a failed reading, give --as "missing=-1"; otherwise correct converter.bits '
        "or converter.raw, or name another column.",
    ),
    "no reference column": (
        "place,raw\n9000,377\n9100,771\n9200,1162\n",
        "run.csv: no column is named as the reference; there are: place, raw. "
        "Name the columns reference_UNIT and raw, as in reference_deg,raw.",
    ),
    "no raw column": (
        sheet(head="reference_deg,value,approach").replace(",up", ".5,up"),
        "run.csv: no column is named as the raw reading; there are: reference_deg, value, approach. "
        "Name the columns reference_UNIT and raw, as in reference_deg,raw.",
    ),
    "three columns without a header": (
        sheet(head="").replace(",up", ".5,up"),
        "run.csv: 3 columns stand without a header. "
        "Write a header line such as reference_deg,raw above the numbers.",
    ),
    "mostly text": (
        "reference_deg,raw\n0,100\n1,x\n2,y\n3,z\n",
        "run.csv, line 3, column 'raw': 'x' is not a number, and 3 of 4 rows are like it. "
        "Name another file, or mend its columns.",
    ),
    "no side": (
        sheet().replace("down", "left", 1),
        "run.csv, line 9, column 'approach': 'left' is no side. Write up or down, or 1 or -1.",
    ),
    "a length for an angle": (
        sheet(head="reference_mm,raw,approach"),
        "run.csv, column 'reference_mm': it is in mm, and the axis is in deg. "
        "Give the reference in deg, or mend the column's name.",
    ),
    "volts by name": (
        sheet(head="reference_deg,raw_volts,approach"),
        "run.csv, column 'raw_volts': its name says volts, and the rig file says that the controller shows "
        'counts. Write raw = "volts" under the converter, or mend the column\'s name.',
    ),
    "volts by size": (
        "reference_deg,raw\n-20,0.34\n47.5,1.65\n115,2.96\n",
        "run.csv, column 'raw': its readings run from 0.34 to 2.96 and are not whole, and the rig file says "
        'that the controller shows counts. Write raw = "volts", "fraction" or "turns" under the converter.',
    ),
    "a dead sensor": (
        "reference_deg,raw\n-20,2048\n47.5,2048\n115,2048\n",
        "calibration: all 3 points read 2048, so the reading does not follow the axis. "
        "Look for a shaft that does not turn, a wrong column, or a broken lead.\n"
        "anglewright: few-points: There are 3 positions; with fewer than 5 there is little to judge by. "
        "Take 5 or more, better 9, going up and coming down.",
    ),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_cannot_be_used_is_refused_with_a_sentence(door: Door, rover: Path, name: str) -> None:
    content, said = REFUSED[name]
    answer = calibrated(door, rover, content)
    assert answer.err == f"anglewright: {said}\n"
    assert answer.code == 3


def test_many_readings_beyond_full_scale_are_counted(door: Door, rover: Path) -> None:
    text = "reference_deg,raw\n" + "".join(f"{q},{5000 + q}\n" for q in range(30))
    lines = calibrated(door, rover, text).err.splitlines()
    assert len(lines) == 11
    assert lines[-1] == "anglewright: run.csv: the same holds for 20 more rows."


def test_the_blank_sheet_of_the_plan_is_read_back_once_it_is_filled(door: Door, rover: Path) -> None:
    assert door("plan", "rig.toml", "--out", "sheet.csv").code == 0
    lines = (rover / "sheet.csv").read_text(encoding="utf-8").splitlines()
    filled = []
    for line in lines:
        cells = line.split(",")
        if len(cells) == 4 and not cells[0] and not line.startswith("#"):
            aim = float(cells[3])
            cells[:2] = [f"{aim}", f"{round(2048 + (aim - 47.5) * 4096 / 170)}"]
        filled.append(",".join(cells))
    found = calibrated(door, rover, "\n".join(filled)).json
    assert found["n_points"] == 18  # 9 positions from both sides, as the plan has it
    assert found["play"] is None
    assert found["parameters"]["slope"]["value"] == pytest.approx(170 / 4096, rel=ROUNDED)


def test_a_blank_sheet_that_was_not_filled_is_refused(door: Door) -> None:
    door("plan", "rig.toml", "--out", "sheet.csv")
    answer = door("calibrate", "rig.toml", "sheet.csv")
    assert answer.code == 3
    assert answer.err.startswith("anglewright: sheet.csv, column 'reference_deg': it is empty on every line.")
