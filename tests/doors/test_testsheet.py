"""`testsheet` as a student uses it: a sheet, then what was read."""

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.asking import agrees

Door = Callable[..., Any]

# As docs/json.md promises them.
SHEET = {"axis", "unit", "stages", "meter", "html", "csv"}
CHECK = {
    "no",
    "key",
    "do",
    "link",
    "expected",
    "low",
    "high",
    "unit",
    "answers",
    "healthy",
    "signed",
    "source",
}
SAID = {
    "axis", "unit", "verdict", "candidates", "parted_by", "readings", "unread", "findings", "measured",
    "kept",
}  # fmt: skip
OPEN_FEED = "resistance-ends open\nresistance-low 1.2 kohm\nresistance-high open\n"
SOUND = "resistance-ends 9.83 kohm\nwitness-line whole\n"


class Terminal(io.StringIO):
    """A text typed at a terminal."""

    def isatty(self) -> bool:
        return True


def test_the_sheet_has_its_keys_and_its_cautions(door: Door) -> None:
    found = door("testsheet", "rig.toml", "shoulder", "--json").json
    assert set(found) >= SHEET
    assert all(set(check) >= CHECK for stage in found["stages"] for check in stage["checks"])
    assert all(stage["cautions"] for stage in found["stages"])
    assert found["stages"][0]["stage"] == "Connector off, all power off"


def test_the_text_says_what_comes_first_and_leaves_room_for_the_signs(door: Door) -> None:
    said = door("testsheet", "rig.toml", "shoulder")
    assert said.code == 0
    assert said.out.count("tested on ______") == 3
    assert said.out.index("It drops with the motor off") < said.out.index("resistance-ends")


def test_a_fault_is_named_with_code_1_and_a_reason(door: Door) -> None:
    said = door("testsheet", "rig.toml", "shoulder", "--typed", typed=OPEN_FEED)
    assert said.code == 1
    assert said.out.startswith(
        "shoulder: open feed (in the cable or the sensor), and no other single fault fits."
    )
    assert "Do not power it before that is mended." in said.out
    assert "resistance-ends reads open" in " ".join(said.out.split())


def test_the_diagnosis_has_its_keys(door: Door) -> None:
    found = door("testsheet", "rig.toml", "--typed", "--json", typed=OPEN_FEED).json
    assert set(found) >= SAID
    assert (found["verdict"], [each["fault"] for each in found["candidates"]]) == ("named", ["open feed"])
    ends = found["readings"][0]
    assert (ends["key"], ends["reading"], ends["open"], ends["within"]) == (
        "resistance-ends",
        None,
        True,
        False,
    )
    assert found["findings"][0]["key"] == "fault-open-feed"


def test_a_filled_file_is_read_and_kept_on_request(door: Door, rover: Path) -> None:
    assert door("testsheet", "rig.toml", "--csv", "sheet.csv", "--html", "sheet.html").code == 0
    text = (rover / "sheet.csv").read_text(encoding="utf-8")
    assert text.count("12.12,kohm,,,") == 1
    (rover / "sheet.csv").write_text(text.replace("12.12,kohm,,,", "12.12,kohm,9.83,,"), encoding="utf-8")
    said = door("testsheet", "rig.toml", "--filled", "sheet.csv")
    assert (said.code, "--keep" in said.out) == (0, True)
    assert '"10 kohm ± 20 %"' in (rover / "rig.toml").read_text(encoding="utf-8")
    assert door("testsheet", "rig.toml", "--filled", "sheet.csv", "--keep").code == 0
    assert '"9.83 kohm ± 1.2 %"' in (rover / "rig.toml").read_text(encoding="utf-8")


def test_nothing_is_written_without_a_terminal_or_the_word(door: Door, rover: Path) -> None:
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    assert door("testsheet", "rig.toml", "--typed", typed=SOUND).code == 0
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


@pytest.mark.parametrize(("answer", "yes"), [("y\n", True), ("yes\n", True), ("n\n", False), ("\n", False)])
def test_a_person_at_a_terminal_is_asked(monkeypatch: pytest.MonkeyPatch, answer: str, yes: bool) -> None:
    monkeypatch.setattr(sys, "stdin", Terminal(answer))
    asked = Terminal()
    monkeypatch.setattr(sys, "stderr", asked)
    assert agrees("sensor.track: old, new. Write that into the rig file?") is yes
    assert asked.getvalue().endswith("[y/N]: ")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["--keep"],
            "anglewright: --keep: nothing was measured yet. Give --filled FILE or --typed with it.\n",
        ),
        (
            ["--typed", "--filled", "s.csv"],
            "anglewright: testsheet: --filled and --typed are both given. Leave one of them out.\n",
        ),
        (
            ["--typed", "--html", "s.html"],
            "anglewright: testsheet: --typed and --html are both given. Leave one of them out.\n",
        ),
    ],
)
def test_two_things_at_once_are_refused(door: Door, words: list[str], said: str) -> None:
    answer = door("testsheet", "rig.toml", *words)
    assert (answer.code, answer.err) == (2, said)


def test_readings_that_cannot_be_used_end_with_code_3(door: Door) -> None:
    answer = door("testsheet", "rig.toml", "--typed", typed="feed-alone 3.29\nnose 4\n")
    assert answer.code == 3
    assert "typed line 1, check 'feed-alone': '3.29' has no unit." in answer.err
    assert "typed line 2: there is no check 'nose'. Did you mean 'noise'?" in answer.err


def test_a_sheet_without_readings_says_so(door: Door) -> None:
    said = door("testsheet", "rig.toml", "--typed", typed="")
    assert (said.code, said.out.splitlines()[0]) == (0, "shoulder: the sheet holds no reading.")
