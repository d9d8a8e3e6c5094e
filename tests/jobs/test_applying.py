"""A choice written into a rig file of `new` keeps its promise, and no remark of the old parts stays."""

import re
from pathlib import Path
from random import Random

import pytest

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.jobs.answers import Answers
from anglewright.jobs.applying import written
from anglewright.jobs.assumed import default_lines
from anglewright.jobs.choosing import choose
from anglewright.jobs.opening import open_rig
from anglewright.jobs.remarks import renewed
from anglewright.jobs.starting import new_rig
from anglewright.rig import Axis
from anglewright.rigfile.kinds import ROOMS, part_named

AGREES = 0.03  # of the half-width, what the closed form of a choice may leave out, as its decision has it [1]
SENSORS = ("potentiometer", "ten-turn", "magnetic", "serial", "pulse-width", "incremental", "gear-pair")


def need(random: Random) -> Answers:
    """Answers as a student might give them."""
    kind, span = random.choice(SENSORS), random.uniform(40.0, 250.0)
    low = random.uniform(-90.0, 90.0)
    shape = random.choice(["angle", "length", "endless"])
    if shape == "endless":
        kind = random.choice([each for each in SENSORS if each not in ("potentiometer", "ten-turn")])
        error = f"{random.uniform(2.0, 6.0):.2f} deg"
        return Answers(moves="a", low="-180 deg", high="180 deg", error=error, sensor=kind, endless=True)
    unit, times = ("deg", 1.0) if shape == "angle" else ("mm", 5.0)
    return Answers(
        moves="a",
        low=f"{low:.1f} {unit}",
        high=f"{low + times * span:.1f} {unit}",
        error=f"{random.uniform(0.015, 0.05) * times * span:.2f} {unit}",
        sensor=kind,
    )


def untrue(text: str, axis: Axis) -> list[str]:
    """Remarks about defaults that the file does not follow, and defaults that stand without a remark."""
    found = []
    for room in (each for each in ROOMS if axis.part(each).kind != "stages"):
        block = text.partition(f"[axis.a.{room}]\n")[2].partition("\n[")[0].splitlines()
        part = part_named(room, axis.part(room).kind)
        given = [line.partition(" =")[0] for line in block if line and not line.startswith("#")]
        waiting = [line for line in block if line.startswith("# ")]
        found += [line for line in waiting if line not in default_lines(part.KEYS, given=given)]
        found += [line for line in default_lines(part.KEYS, given=given) if line not in waiting]
    return found


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_a_choice_for_a_random_need_keeps_its_promise_in_the_file(tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    answers = need(random)
    path = new_rig(tmp_path, answers).file
    before = path.read_text(encoding="utf-8")
    assert untrue(before, open_rig(path).axis("a")) == []
    offered = choose(open_rig(path))
    assert offered.exit_code == (0 if len(offered.kept) else 1)
    if not len(offered.kept):
        assert path.read_text(encoding="utf-8") == before
        return
    rig = open_rig(path)
    choice = offered.choice(int(random.choice(offered.kept[:400].tolist())))
    written(rig, rig.axis("a"), choice)
    axis = open_rig(path).axis("a")
    found = budget_axis(axis).of(State.CALIBRATED)
    assert found.half_width_95 == pytest.approx(choice.half_width, rel=AGREES)
    assert found.half_width_95 <= axis.permissible * (1.0 + AGREES)
    text = path.read_text(encoding="utf-8")
    assert untrue(text, axis) == []
    stood = {line.partition("#")[0].rstrip() for line in before.splitlines()}
    remarked = [line for line in text.splitlines() if re.match(r"[^#].*# assumed: ", line)]
    assert [line for line in remarked if line.partition("#")[0].rstrip() not in stood] == []


FILE = """\
[axis.arm]
motion = { from = "0 deg", to = "90 deg" }
[axis.arm.drive]
kind = "gears"                             # 2 turns of the sensor a turn of the axis
gears = [48, 24]  # cut by hand
# backlash = "0.1 mm"                      # assumed: backlash
module = "1 mm"                            # assumed: module of the gears
# backlash is felt at the hand wheel

[axis.arm.sensor]
kind = "potentiometer"  # assumed: left alone
"""


def test_remarks_of_a_person_stay_and_those_of_the_program_follow_the_values() -> None:
    after = FILE.replace("[48, 24]", "[60, 20]").replace('module = "1 mm"  ', 'module = "1.5 mm"')
    text = renewed(FILE, after, axis="arm", room="drive", said="3 turns of the sensor a turn of the axis")
    lines = text.splitlines()
    assert (
        lines[3]
        == f"{'kind = ' + chr(34) + 'gears' + chr(34):<42} # 3 turns of the sensor a turn of the axis"
    )
    assert lines[4] == "gears = [60, 20]  # cut by hand"
    assert 'module = "1.5 mm"' in lines
    assert "# backlash is felt at the hand wheel" in lines
    assert [line.partition(" = ")[0] for line in lines if line.startswith("# ") and "assumed" in line] == [
        "# backlash",
        "# sensor_at",
        "# flank",
    ]
    assert text.endswith('\n\n[axis.arm.sensor]\nkind = "potentiometer"  # assumed: left alone\n')


def test_a_table_that_did_not_change_keeps_every_remark() -> None:
    assert renewed(FILE, FILE, axis="arm", room="drive", said="nothing of the kind") == FILE


def test_a_file_without_remarks_gets_none() -> None:
    bare = '[axis.arm.drive]\nkind = "gears"\ngears = [48, 24]\n'
    after = bare.replace("48", "60")
    assert (
        renewed(bare, after, axis="arm", room="drive", said="2.5 turns of the sensor a turn of the axis")
        == after
    )
