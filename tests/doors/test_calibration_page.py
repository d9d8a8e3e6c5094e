"""`calibrate --html` through the door: the page is written, or nothing is kept."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from anglewright.rigfile.storing import write_whole

Door = Callable[..., Any]
COMMAND = ("calibrate", "rig.toml", "shoulder", "shoulder-bench.csv", "--date=2026-05-12")


def test_the_page_is_named_in_what_is_said(door: Door, rover: Path) -> None:
    said = door(*COMMAND, "--html", "page.html")
    assert said.code == 1  # the rover's shoulder does not meet its need
    assert "Page written to page.html." in said.out
    text = (rover / "page.html").read_text("utf-8")
    assert "Simulated data" in text
    assert "not good enough" in text
    again = door(*COMMAND, "--html", "page.html", "--json")
    assert again.json["html"] == "page.html"


def test_nothing_is_kept_where_the_page_cannot_be_written(door: Door, rover: Path) -> None:
    write_whole(rover / "mine.txt", "mine")
    said = door(*COMMAND, "--html", "mine.txt")
    assert (said.code, said.out) == (3, "")
    assert not (rover / "rig.calibrations").exists()
    assert (rover / "mine.txt").read_text("utf-8") == "mine"


def test_a_trial_keeps_nothing_and_still_shows_its_page(door: Door, rover: Path) -> None:
    said = door(*COMMAND, "--dry-run", "--html=page.html")
    assert "Page written to page.html." in said.out
    assert not (rover / "rig.calibrations").exists()
    assert "no: not asked for" in (rover / "page.html").read_text("utf-8")
