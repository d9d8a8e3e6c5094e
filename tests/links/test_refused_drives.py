"""What a drive refuses, in whole sentences: where, what was found, the limit, one remedy."""

import pytest

from anglewright.errors import UsageError
from anglewright.rigfile.document import with_changes

ANGLES = {"low": "0 deg", "high": "90 deg"}
LENGTHS_WANTED = (
    "the motion is an angle, and this drive takes a length. "
    "Take a drive for angles: direct, gears, four-bar, or a chain or belt with axis_teeth."
)
ANGLES_WANTED = (
    "the motion is a length, and this drive takes an angle. "
    "Take a drive for lengths: rack, chain, belt, drum, screw or draw-wire."
)
KINDS = "Known: belt, chain, direct, draw-wire, drum, four-bar, gears, rack, screw."
ROW = 'Write them in their order, as in [{ kind = "rack", ... }, { kind = "gears", ... }].'
RACK = '{ kind = "rack", teeth = 20, module = "1 mm" }'
GEARS = '{ kind = "gears", gears = [20, 60] }'

REFUSED = [
    # a number that cannot be
    (
        '{ kind = "rack", teeth = 0, module = "1 mm" }',
        {},
        "drive.teeth: it is '0', a whole number from 4 to 1000 belongs here. Give the teeth of the pinion.",
    ),
    (
        '{ kind = "rack", module = "1 mm" }',
        {},
        "drive.teeth: it is missing. Give the teeth of the pinion.",
    ),
    (
        '{ kind = "rack", teeth = 20 }',
        {},
        "drive.module: it is missing. Give the module of the rack, its pitch over pi.",
    ),
    (
        '{ kind = "rack", teeth = 20, module = "nan mm" }',
        {},
        "drive.module: 'nan mm' is not a finite number, a length is asked for. "
        "Write a number and its unit, such as '10 mm'.",
    ),
    (
        '{ kind = "rack", teeth = 20, module = "1 mm ± 100 %" }',
        {},
        "drive.module: '1 mm ± 100 %' is not above zero over its whole spread. Mend the value or its spread.",
    ),
    (
        '{ kind = "rack", teeth = 20, module = "1 mm", backlash = "0.1 mm ± 0.2 mm" }',
        {},
        "drive.backlash: '0.1 mm ± 0.2 mm' can be as low as -0.1 mm, it cannot be less than nothing. "
        "Mend the value or its spread.",
    ),
    (
        '{ kind = "screw", pitch = "0 mm" }',
        {},
        "drive.pitch: '0 mm' is not above zero. Mend the value or its spread.",
    ),
    (
        '{ kind = "drum", diameter = "50 mm", rope = "4 mm", layer = 0 }',
        {},
        "drive.layer: it is '0', a whole number from 1 to 20 belongs here. "
        "Give the layer that is wound over the whole motion, the first one 1.",
    ),
    (
        '{ kind = "belt", pitch = "2 mm", teeth = 2 }',
        {},
        "drive.teeth: it is '2', a whole number from 6 to 1000 belongs here. "
        "Give the teeth of the pulley on the sensor's shaft.",
    ),
    (
        '{ kind = "chain", pitch = "12.7 deg", teeth = 20 }',
        {},
        "drive.pitch: '12.7 deg' is an angle, a length is asked for. Write it in mm, m or in.",
    ),
    # a motion of the wrong kind
    (RACK, ANGLES, f"drive: {LENGTHS_WANTED}"),
    ('{ kind = "screw", pitch = "2 mm" }', ANGLES, f"drive: {LENGTHS_WANTED}"),
    ('{ kind = "drum", diameter = "50 mm", rope = "4 mm" }', ANGLES, f"drive: {LENGTHS_WANTED}"),
    ('{ kind = "draw-wire", travel_per_turn = "200 mm" }', ANGLES, f"drive: {LENGTHS_WANTED}"),
    (GEARS, {}, f"drive: {ANGLES_WANTED}"),
    ('{ kind = "direct" }', {}, f"drive: {ANGLES_WANTED}"),
    (
        '{ kind = "chain", pitch = "12.7 mm", teeth = 20 }',
        ANGLES,
        "drive: the motion is an angle, and the teeth on the axis are missing. "
        "Give axis_teeth, or from and to as lengths if the axis moves along the run.",
    ),
    (
        '{ kind = "belt", pitch = "2 mm", teeth = 20, axis_teeth = 40 }',
        {},
        "drive: the motion is a length, and axis_teeth is for a wheel that turns with the axis. "
        "Leave axis_teeth out, or give from and to as angles.",
    ),
    # a flank that nothing holds
    (
        '{ kind = "rack", teeth = 20, module = "1 mm", flank = "gravity" }',
        {},
        "drive: gravity is said to hold the flank, and at the joint the sensor's own friction decides. "
        'Write sensor_at = "motor" if the load goes through this drive, or leave flank out.',
    ),
    # stages
    ('{ kind = "stages" }', {}, f"drive.stages: it is missing. {ROW}"),
    (
        f'{{ kind = "stages", stages = [ {RACK} ] }}',
        {},
        "drive.stages: '[{'kind': 'rack', 'teeth': 20, 'module': '1 mm'}]' is not a row of two or more. "
        + ROW,
    ),
    (
        f'{{ kind = "stages", stages = [ {RACK}, {{ gears = [20, 60] }} ] }}',
        {},
        f"drive.stages.2: it has no kind. {KINDS}",
    ),
    (
        f'{{ kind = "stages", stages = [ {RACK}, {{ kind = "gear", gears = [20, 60] }} ] }}',
        {},
        "drive.stages.2: kind 'gear' is not known here. Did you mean 'gears'?",
    ),
    (
        f'{{ kind = "stages", stages = [ {RACK}, {{ kind = "stages", stages = [] }} ] }}',
        {},
        f"drive.stages.2: kind 'stages' is not known here. {KINDS}",
    ),
    (
        f'{{ kind = "stages", stages = [ {RACK}, {{ kind = "gears", gears = [20, 0] }} ] }}',
        {},
        "drive.stages.2.gears: a gear of 0 teeth cannot mesh, 4 teeth is the least. "
        "Write the teeth from the axis to the sensor in pairs that mesh, as in [48, 24].",
    ),
    (f'{{ kind = "stages", stages = [ {RACK}, {RACK} ] }}', {}, f"drive.stages.2: {LENGTHS_WANTED}"),
    (
        '{ kind = "stages", stages = [ { kind = "four-bar", ground = "100 mm", input = "40 mm", '
        'coupler = "100 mm", output = "40 mm", input_at_zero = "30 deg" }, ' + GEARS + " ] }",
        ANGLES,
        "drive.stages.1: a four-bar stands before another stage, and its ratio varies, only the last stage "
        "may vary. Put it last, or merge what follows it into the sensor's shaft.",
    ),
]


@pytest.mark.parametrize(("drive", "given", "text"), REFUSED)
def test_what_cannot_be_is_refused_in_one_whole_sentence(complaint_of, drive, given, text):
    assert complaint_of(drive, **given) == [text]


def test_faults_of_two_stages_are_shown_together(complaint_of):
    drive = f'{{ kind = "stages", stages = [ {RACK.replace("20", "2")}, {GEARS.replace("60", "6.5")} ] }}'
    assert len(complaint_of(drive)) == 2


def test_a_universal_joint_that_is_bent_too_far_is_refused(complaint_of):
    bent = '{ kind = "universal", misalignment = "40 deg ± 10 deg" }'
    assert complaint_of(RACK, coupling=bent) == [
        "coupling: a misalignment of 50 deg, a single universal joint turns up to 45 deg. "
        "Bring the shafts closer to one line."
    ]


def stage_document():
    stages = [{"kind": "rack", "teeth": 20, "module": "1 mm"}, {"kind": "gears", "gears": [20, 60]}]
    return {"axis": {"lift": {"drive": {"kind": "stages", "stages": stages}}}}


def test_one_number_of_one_stage_can_be_changed_for_a_what_if():
    before = stage_document()
    after = with_changes(before, ["lift.drive.stages.2.backlash=0.2 mm"])
    assert after["axis"]["lift"]["drive"]["stages"][1]["backlash"] == "0.2 mm"
    assert before == stage_document()
    whole = with_changes(before, ['lift.drive.stages.1={ kind = "screw", pitch = "2 mm" }'])
    assert whole["axis"]["lift"]["drive"]["stages"][0] == {"kind": "screw", "pitch": "2 mm"}


@pytest.mark.parametrize("place", ["3", "0", "first"])
def test_a_stage_that_is_not_there_cannot_be_changed(place):
    with pytest.raises(UsageError) as refused:
        with_changes(stage_document(), [f"lift.drive.stages.{place}.backlash=0.2 mm"])
    assert str(refused.value) == f"--set: 'stages' has no '{place}'. Known: 1, 2."
