"""`calibrate --learn` as it is typed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]
SIMULATE = ("simulate", "rig.toml", "shoulder", "--plant", "play=1.2 deg", "--out", "bench.csv")
LEARN = ("calibrate", "rig.toml", "shoulder", "bench.csv", "--date=2026-05-12", "--learn")


@pytest.fixture
def measured(door: Door) -> Door:
    """The door, with a bench of a coupling of 1.2 deg where the file says 3 deg."""
    assert door(*SIMULATE).code == 0
    return door


def test_the_word_is_the_agreement_without_a_terminal(measured: Door, rover: Path) -> None:
    said = measured(*LEARN)
    text = " ".join(said.out.split())
    assert "What the rig file can learn" in text
    assert 'play = "3 deg"' not in (rover / "rig.toml").read_text(encoding="utf-8")
    found = measured(*LEARN, "--json").json["learned"]
    (play,) = [each for each in found if each["key"] == "coupling.play"]
    assert list(play) == ["key", "old", "new", "low", "high", "unit", "written", "why_not"]
    assert (play["written"], play["why_not"]) == (False, "the file knows it as well as that")


def test_nothing_is_learned_without_the_word(measured: Door, rover: Path) -> None:
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    assert measured(*LEARN[:-1], "--json").json["learned"] == []
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


def test_a_what_if_is_refused_before_anything_is_kept(measured: Door, rover: Path) -> None:
    said = measured(*LEARN, "--set", "shoulder.plan.points=5")
    assert (said.code, said.err) == (
        2,
        "anglewright: --learn: the rig is not as its file has it. Open it from its file, without --set.\n",
    )
    assert not (rover / "rig.calibrations").exists()


def test_a_protected_file_is_named_before_anything_is_kept(measured: Door, rover: Path) -> None:
    (rover / "rig.toml").chmod(0o444)
    said = measured(*LEARN)
    assert (said.code, said.err) == (
        3,
        "anglewright: rig.toml: it is protected against writing. Take the protection off, or leave --learn "
        "out.\n",
    )
    assert not (rover / "rig.calibrations").exists()


def test_a_key_that_the_file_does_not_have_is_written_under_its_table(measured: Door, rover: Path) -> None:
    """The default of a D-bore is 4 deg; the file is silent."""
    path = rover / "rig.toml"
    text = path.read_text(encoding="utf-8")
    line = next(each for each in text.splitlines(keepends=True) if each.startswith("play ="))
    path.write_text(text.replace(line, ""), encoding="utf-8")
    found = measured(*LEARN, "--json").json["learned"]
    (play,) = [each for each in found if each["key"] == "coupling.play"]
    assert (play["written"], play["old"]) == (True, "4 deg (assumed)")
    changed = path.read_text(encoding="utf-8")
    assert (
        f'play = "{play["new"]}" # measured on 2026-05-12, record 2026-05-12-1; it was 4 deg (assumed)'
        in changed
    )
