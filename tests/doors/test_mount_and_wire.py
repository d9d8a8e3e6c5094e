"""`mount` and `wire` as a student uses them: tables, JSON, drawings, refusals."""

import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

# As docs/json.md promises them.
MOUNT = {
    "axis", "unit", "mark", "target", "steps", "expected", "margins", "ends", "ends_at", "centred_by", "sign",
    "power_up", "remarks", "cautions", "file",
}  # fmt: skip
TARGET = {
    "position", "mark", "sensor_angle", "share", "volts", "volts_low", "volts_high", "code", "code_low",
    "code_high",
}  # fmt: skip
WIRE = {"axis", "wires", "parts", "notes", "cautions", "file"}


def test_mount_has_its_keys(door: Door) -> None:
    found = door("mount", "rig.toml", "shoulder", "--json").json
    assert set(found) >= MOUNT
    assert all(set(each) >= TARGET for each in (found["target"], *found["expected"]))
    assert all(set(each) >= {"position", "left", "needed", "fine", "steps"} for each in found["margins"])
    assert found["mark"] == "pin"


def test_wire_has_its_keys_and_leaves_colours_to_be_found(door: Door) -> None:
    found = door("wire", "rig.toml", "shoulder", "--json").json
    assert set(found) >= WIRE
    assert [(each["contact"], each["carries"]) for each in found["wires"]] == [
        (1, "feed"), (2, "wiper"), (3, "ground"),
    ]  # fmt: skip
    assert [each["colour"] for each in found["wires"]] == [None] * 3
    assert {each["source"] for each in found["notes"]} == {"common practice, no source"}
    assert found["parts"] == [
        {"part": "series", "value": "1 kohm"},
        {"part": "pull-down", "value": "100 kohm"},
        {"part": "capacitor", "value": "100 nF"},
    ]


def test_the_mark_is_where_the_user_stands(door: Door) -> None:
    """35 deg of 340 at 3.3 V, by hand; at stow the pull costs the wiper little."""
    found = door("mount", "no-pull.toml", "--at", "stow", "--json").json
    assert found["target"]["volts"] == pytest.approx(3.3 * 35 / 340)
    assert [each["mark"] for each in found["expected"]] == ["pin"]


def test_the_card_of_expect_and_the_clamping_agree(door: Door) -> None:
    """Two ways to the same wiper: the job of the card and the mounting."""
    card = door("expect", "rig.toml", "shoulder", "pin", "--json").json["readings"][0]
    target = door("mount", "rig.toml", "shoulder", "--json").json["target"]
    assert (target["code"], target["volts"]) == (card["code"], pytest.approx(card["volts_wiper"]))
    assert target["sensor_angle"] == pytest.approx(card["sensor_angle"])


def test_the_text_says_what_to_do_and_what_comes_first(door: Door) -> None:
    said = door("mount", "rig.toml", "--at", "stow").out
    assert said.index("support the load") < said.index("Loosen the clamp")
    for part in ("arm on the lower rest", "0.34 V (0.31 to 0.37", "expect 1.61 V", "witness line", "enough"):
        assert part in " ".join(said.split())


@pytest.mark.parametrize("look", ["screen", "light", "dark", "print"])
@pytest.mark.parametrize("command", ["mount", "wire"])
def test_a_drawing_is_written_and_can_be_written_again(
    door: Door, rover: Path, command: str, look: str
) -> None:
    for _ in range(2):
        said = door(command, "rig.toml", "--svg", "a.svg", "--look", look, "--json")
        assert (said.code, said.json["file"]) == (0, "a.svg")
    assert ET.parse(rover / "a.svg").getroot().tag == "{http://www.w3.org/2000/svg}svg"


@pytest.mark.parametrize("command", ["mount", "wire"])
def test_a_file_that_is_no_drawing_is_kept(door: Door, rover: Path, command: str) -> None:
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    said = door(command, "rig.toml", "--svg", "rig.toml")
    assert said.code == 3
    assert said.err == "anglewright: rig.toml: there is a file of that name. Name another; yours is kept.\n"
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--svg=a.svg", "--look=drak"], "--look: there is no look 'drak'. Did you mean 'dark'?"),
        (
            ["--look=print"],
            "--look: 'print' is given, and no file to draw into. Give --svg FILE too, or leave it out.",
        ),
    ],
)
@pytest.mark.parametrize("command", ["mount", "wire"])
def test_a_look_that_cannot_be_is_refused(
    door: Door, rover: Path, *, command: str, words: list[str], said: str
) -> None:
    answer = door(command, "rig.toml", *words)
    assert (answer.code, answer.err) == (2, f"anglewright: {said}\n")
    assert not (rover / "a.svg").exists()


def test_an_unknown_mark_is_refused_with_the_nearest(door: Door) -> None:
    said = door("mount", "rig.toml", "--at", "stwo")
    assert said.code == 2
    assert said.err == "anglewright: axis 'shoulder': there is no mark 'stwo'. Did you mean 'stow'?\n"


def test_with_several_axes_one_must_be_named(door: Door, two_axes: Path) -> None:
    for command in ("mount", "wire"):
        said = door(command, two_axes.name)
        assert said.code == 2
        assert "Name one of shoulder, wrist." in said.err


def test_a_what_if_is_said_beside_the_steps(door: Door) -> None:
    for command in ("mount", "wire"):
        said = door(command, "rig.toml", "--set", "wiring.series=2 kohm")
        assert "What if: wiring.series=2 kohm, not as in the file." in said.out


def test_a_long_cable_is_told_to_be_twisted_with_its_resistance(door: Door) -> None:
    words = ["--set", "wiring.lead.length=2 m", "--set", "wiring.lead.gauge=24", "--json"]
    found = door("wire", "rig.toml", *words).json
    # Gauge 24 is 84.2 milliohm a metre by the gauge's own law, ASTM B258, from memory.
    assert [each["resistance"] for each in found["wires"]] == ["170 mohm"] * 3
    assert any("Twist or shield this cable" in each["text"] for each in found["notes"])


def test_a_sensor_with_electronics_is_warned_of_a_plug_put_in_backwards(door: Door, rover: Path) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[axis.shoulder.sensor]")
    tail = rest[rest.index("[axis.shoulder.mount]") : rest.index("[axis.shoulder.wiring]")]
    plan = rest[rest.index("[axis.shoulder.plan]") :]
    (rover / "word.toml").write_text(
        f'{head.replace("[48, 24]", "[24, 24]")}[axis.shoulder.sensor]\nkind = "serial"\n\n{tail}\n{plan}',
        encoding="utf-8",
    )
    found = door("wire", "word.toml", "--json").json
    carried = [each["carries"] for each in found["wires"]]
    assert carried == ["feed", "data", "clock", "select", "ground"]
    assert any("can destroy this sensor" in each["text"] for each in found["notes"])
    assert door("mount", "word.toml", "--json").json["target"]["volts"] is None


def test_the_report_shows_both_drawings(door: Door, rover: Path) -> None:
    assert door("report", "rig.toml", "--out", "r.html").code == 0
    page = (rover / "r.html").read_text(encoding="utf-8")
    assert page.count('class="draft"') == 2
    assert "<title>Circuit of shoulder</title>" in page
    assert "<title>Mounting of the sensor of shoulder</title>" in page
