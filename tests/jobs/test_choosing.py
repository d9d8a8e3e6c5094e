"""Choosing as a job: the result as text and JSON, and the choice put into the rig file."""

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from anglewright.catalogue.loading import TEMPLATE, shipped_text
from anglewright.errors import DataError, RigError, UsageError
from anglewright.jobs.choosing import choose, write_template
from anglewright.jobs.opening import open_rig

NEED_ALONE = """\
# a need and nothing else; simulated, ours
rig = "bench"

[axis.lift]                            # carries the camera
motion = { from = "0 mm", to = "560 mm", speed = "80 mm/s" }
need = { error = "3 mm", strokes = 10000 }  # over one season
stops = { low = "-5 mm", high = "565 mm" }
when_unpowered = "sinks"

[axis.lift.marks]
rest = { at = "0 mm", within = "0.2 mm", how = "on the lower stop" }
"""
INLINE = """\
rig = "bench"
[axis.arm]
motion = { from = "-20 deg", to = "115 deg" }
need = { error = "3 deg", homing = "allowed" }
when_unpowered = "holds"
drive = { gears = [48, 24], backlash = "0.1 mm" }  # old gears
coupling = { kind = "rigid" }
sensor = { electrical_travel = "340 deg", mechanical_travel = "endless", linearity = "1 %" }  # old sensor
mount = { clamped_at = "pin", reading = "50 %", within = "2 deg" }
converter = { bits = 12, raw = "counts" }
marks = { pin = { at = "50 deg", within = "0.1 deg" } }
"""

Write = Callable[[str], Path]


@pytest.fixture
def file(tmp_path: Path) -> Write:
    """Writes a rig file."""

    def write(text: str) -> Path:
        path = tmp_path / "rig.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def comments(text: str) -> list[str]:
    """What stands behind each hash, in order."""
    return [line.partition("#")[2].strip() for line in text.splitlines() if "#" in line]


def test_a_need_without_a_sensor_is_chosen_for_and_becomes_a_rig(file: Write) -> None:
    path = file(NEED_ALONE)
    with pytest.raises(RigError):  # the usual potentiometer on the axis itself cannot serve a lift
        open_rig(path)
    result = choose(open_rig(path, fitted=False), apply="10-turn, wirewound")
    axis = open_rig(path).axis("lift")
    assert axis.part("sensor").describe() == result.choice(result.picked or 0).sensor.part.describe()
    assert axis.part("drive").describe() == result.choice(result.picked or 0).drive.name
    text = path.read_text(encoding="utf-8")
    assert text.startswith(NEED_ALONE.rstrip("\n"))
    assert comments(text) == comments(NEED_ALONE)


def test_comments_layout_and_other_tables_of_the_rover_stay(rover: Path) -> None:
    path = rover / "rig.toml"
    before = path.read_text(encoding="utf-8")
    result = choose(open_rig(path), axis="shoulder", apply="1")
    after = path.read_text(encoding="utf-8")
    gone = {  # beside keys that the new parts do not have
        "axis to sensor: 2 turns of the sensor per turn of the joint",
        "total, at the sensor's shaft",
        "ratiometric",
    }
    assert result.choice(result.picked or 0).drive.name == "On the axis itself"
    assert set(comments(before)) - set(comments(after)) == gone
    was, now = (tomllib.loads(text)["axis"]["shoulder"] for text in (before, after))
    same = ("motion", "need", "stops", "when_unpowered", "marks", "plan")
    assert {key: now[key] for key in same} == {key: was[key] for key in same}
    kept_lines = [
        line for line in before.splitlines() if line.startswith(("motion", "need", "stops", "[", "pin"))
    ]
    assert [line for line in kept_lines if line not in after] == []


def test_the_sensor_is_clamped_so_that_it_is_centred_between_the_stops(rover: Path) -> None:
    path = rover / "rig.toml"
    text = path.read_text(encoding="utf-8").replace('high = "123 deg"', 'high = "131 deg"')
    path.write_text(text, encoding="utf-8")
    choose(open_rig(path), axis="shoulder", apply="magnet on shaft, serial 12 bit, board")
    # stops at -28 and 131: middle 51.5; the pin at 47.5 is 4 deg below, 4/360 of a turn
    mount = tomllib.loads(path.read_text(encoding="utf-8"))["axis"]["shoulder"]["mount"]
    assert mount["reading"] == f"{50 - 400 / 360:.4g} %"
    assert (mount["clamped_at"], mount["within"], mount["output"]) == ("pin", "3 deg", "rises")


def test_inline_tables_are_changed_in_place(file: Write) -> None:
    path = file(INLINE)
    result = choose(open_rig(path), apply="incremental, magnetic, 256 lines, index")
    assert result.picked is not None
    found = tomllib.loads(path.read_text(encoding="utf-8"))["axis"]["arm"]
    assert found["sensor"]["kind"] == "incremental"
    assert "electrical_travel" not in found["sensor"]
    assert found["mount"] == {"kind": "homed", "clamped_at": "pin", "within": "2 deg"}
    assert found["converter"] == {"kind": "counter", "raw": "counts"}
    assert found["wiring"] == {"kind": "digital"}
    assert comments(path.read_text(encoding="utf-8")) == ["old gears", "old sensor"]
    assert open_rig(path).axis("arm").part("mount").kind == "homed"


@pytest.mark.parametrize(
    ("which", "text"),
    [
        ("0", "--apply: there is no choice 0. Name one of 1 to "),
        ("99999", "--apply: there is no choice 99999. Name one of 1 to "),
        (
            "10-turn, hybird",
            "--apply: no kept choice has a sensor '10-turn, hybird'. Did you mean '10-turn, hybrid'",
        ),
    ],
)
def test_a_choice_that_there_is_not_is_refused(file: Write, which: str, text: str) -> None:
    path = file(NEED_ALONE)
    with pytest.raises(UsageError) as refused:
        choose(open_rig(path, fitted=False), apply=which)
    assert str(refused.value).startswith(text)
    assert path.read_text(encoding="utf-8") == NEED_ALONE


def test_a_what_if_is_not_written_into_the_file(file: Write) -> None:
    path = file(NEED_ALONE)
    rig = open_rig(path, changes=["lift.need.error=4 mm"], fitted=False)
    with pytest.raises(UsageError) as refused:
        choose(rig, apply="1")
    text = "--apply: the rig is not as its file has it. Open it from its file, without --set."
    assert str(refused.value) == text
    assert path.read_text(encoding="utf-8") == NEED_ALONE


def test_the_json_is_as_it_is_promised(file: Write) -> None:
    result = choose(open_rig(file(NEED_ALONE), fitted=False), parts=True)
    found = json.loads(json.dumps(result.as_json(), allow_nan=False))
    assert (found["axis"], found["unit"], found["permissible_error"], found["state"]) == (
        "lift",
        "mm",
        3.0,
        "calibrated",
    )
    assert len(found["kept"]) + len(found["refused"]) == len(result.judged.sensor)
    first = found["kept"][0]
    assert set(first) == {"sensor", "drive", "half_width_95", "cost", "year", "margin", "state"}
    assert first["margin"] == pytest.approx(3.0 / first["half_width_95"] - 1.0)
    costs = [each["cost"] for each in found["kept"]]
    assert costs == sorted(costs)
    assert all(each["reasons"] for each in found["refused"])
    assert found["opened_by"] is None
    assert [line["lead_time"] for line in found["parts"]] == [None] * len(found["parts"])


def test_nothing_feasible_says_what_rules_out_the_most_and_what_would_open_one(file: Write) -> None:
    result = choose(open_rig(file(NEED_ALONE.replace('"3 mm"', '"0.001 mm"')), fitted=False))
    assert result.headline.startswith("lift: none of ")
    assert result.exit_code == 1
    lines = result.summary.splitlines()
    count = len(result.judged.sensor)
    assert lines[0] == f"What rules out the most is the permissible error: {count} of {count} choices."
    assert lines[1].startswith('The smallest change that opens one: need.error = "')
    assert result.as_json()["opened_by"].startswith('need.error = "')


def test_the_tables_name_the_first_of_each_sensor_and_why_the_others_are_refused(file: Write) -> None:
    result = choose(open_rig(file(NEED_ALONE), fitted=False), parts=True)
    titles = [table.title for table in result.tables()]
    assert titles[:2] == ["Kept: the cheapest with each sensor", "Front: nothing cheaper is as exact"]
    assert titles[2].startswith("Best of the refused: '")
    assert titles[3] == "Sensors that no drive makes fit, each at its nearest"
    assert titles[4].startswith("What to buy for '")
    kept_sensors = [row[1] for row in result.tables()[0].rows]
    refused_sensors = [row[0] for row in result.tables()[3].rows]
    assert len(set(kept_sensors + refused_sensors)) == len(result.judged.sensors)


def test_a_template_is_written_once(tmp_path: Path) -> None:
    result = write_template(tmp_path / "mine.toml")
    assert (tmp_path / "mine.toml").read_text(encoding="utf-8") == shipped_text(TEMPLATE)
    assert "--catalogue" in result.headline
    with pytest.raises(DataError):
        write_template(tmp_path / "mine.toml")
