"""The command `choose` as a student uses it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

NEED = """\
rig = "bench"
[axis.head]
motion = { from = "-180 deg", to = "180 deg", endless = true }
need = { error = "2 deg" }
when_unpowered = "holds"
"""


def test_it_chooses_for_a_need_without_a_sensor_and_writes_it_down(door: Door, rover: Path) -> None:
    (rover / "need.toml").write_text(NEED, encoding="utf-8")
    assert door("budget", "need.toml").code == 3
    said = door("choose", "need.toml", "--json")
    assert said.code == 0
    first = said.json["kept"][0]["sensor"]
    said = door("choose", "need.toml", "head", "--apply", "1")
    assert said.code == 0
    assert f"'{first}'" in said.out
    assert door("budget", "need.toml", "--json").json["axes"][0]["states"]["calibrated"]["meets"]


def test_nothing_feasible_ends_with_1(door: Door) -> None:
    said = door("choose", "rig.toml", "--set", "shoulder.need.error=0.01 deg")
    assert said.code == 1
    assert "none of" in said.out
    assert "The smallest change that opens one: need.error" in said.out.replace("\n", " ")


def test_a_what_if_is_not_written(door: Door, rover: Path) -> None:
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    said = door("choose", "rig.toml", "--apply=1", "--set", "shoulder.need.error=2 deg")
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("anglewright: --apply: the rig is not as its file has it.")
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


@pytest.mark.slow
def test_own_parts_come_from_the_template(door: Door, rover: Path) -> None:
    assert door("choose", "rig.toml", "--template", "mine.toml").code == 0
    text = (rover / "mine.toml").read_text(encoding="utf-8")
    (rover / "mine.toml").write_text(text.replace('shaft = "6 mm"', 'shaft = "0 mm"', 1), encoding="utf-8")
    said = door("choose", "rig.toml", "--catalogue", "mine.toml")
    assert said.code == 3
    assert said.err == (
        "anglewright: mine.toml, sensor 'my potentiometer', shaft: '0 mm' is not above zero. "
        "Mend the value or its spread.\n"
    )
    (rover / "mine.toml").write_text(text, encoding="utf-8")
    said = door("choose", "rig.toml", "--catalogue", "mine.toml", "--json")
    sensors = {row["sensor"] for key in ("kept", "refused") for row in said.json[key]}
    assert {"my potentiometer", "my serial sensor"} <= sensors


@pytest.mark.slow
@pytest.mark.parametrize("words", [["--apply", "nothing of the kind"], ["elbow"]])
def test_a_name_that_there_is_not_is_answered_with_code_2(door: Door, words: list[str]) -> None:
    said = door("choose", "rig.toml", *words)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("anglewright: ")
