"""What is wrong with a rig file is said whole: where, what was found, the limit, one remedy."""

from pathlib import Path

import pytest

from anglewright.errors import AnglewrightError, DataError, RigError, UsageError
from anglewright.rigfile.document import load_document, parse_document
from anglewright.rigfile.reading import build_rig, read_rig

AXIS = "rover.toml, axis 'shoulder', "
TEETH = "Write the teeth from the axis to the sensor in pairs that mesh, as in [48, 24]."
COMMA = "has a comma in its number, numbers are written with a point and without marks between thousands."


@pytest.fixture
def rover_text(root):
    return (root / "examples" / "rover" / "rig.toml").read_text(encoding="utf-8")


def complaints(text, *changes):
    """What the reader says of a rig text after some replacements, as lines."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    with pytest.raises(RigError) as refused:
        build_rig(parse_document(text, source="rover.toml"), source="rover.toml")
    assert refused.value.exit_code == 3
    return str(refused.value).splitlines()


ONE_FAULT = [
    # a wrong unit, a missing unit, a thing that is no quantity
    (
        ('play = "3 deg"', 'play = "3 mm"'),
        AXIS + "coupling.play: '3 mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ('play = "3 deg"', "play = 3"),
        AXIS + "coupling.play: '3' has no unit, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ('play = "3 deg"', "play = [3]"),
        AXIS + 'coupling.play: [3] is not a quantity. Write a number with its unit in quotes, "10 kohm".',
    ),
    (
        ('to = "115 deg"', 'to = "115 mm"'),
        AXIS + "motion.to: '115 mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        ('speed = "90 deg/s"', 'speed = "90 mm/s"'),
        AXIS + "motion.speed: '90 mm/s' is a speed along a line, a speed of turning is asked for. "
        "Write it in deg/s, rpm or rad/s.",
    ),
    # numbers that cannot be
    (
        ("gears    = [48, 24]", "gears    = [48, -24]"),
        AXIS + f"drive.gears: a gear of -24 teeth cannot mesh, 4 teeth is the least. {TEETH}",
    ),
    (
        ("gears    = [48, 24]", "gears    = [48, 24, 12]"),
        AXIS + f"drive.gears: '[48, 24, 12]' is not a row of pairs. {TEETH}",
    ),
    (("gears    = [48, 24]", ""), AXIS + f"drive.gears: it is missing. {TEETH}"),
    (
        ('play = "3 deg"', 'play = "-3 deg"'),
        AXIS + "coupling.play: '-3 deg' can be as low as -3 deg, it cannot be less than nothing. "
        "Mend the value or its spread.",
    ),
    (
        ('"10 kohm ± 20 %"', '"10 kohm ± 120 %"'),
        AXIS + "sensor.track: '10 kohm ± 120 %' is not above zero over its whole spread. "
        "Mend the value or its spread.",
    ),
    (
        ('error = "1.0 deg"', 'error = "0 deg"'),
        AXIS + "need.error: '0 deg' is not above zero. Mend the value or its spread.",
    ),
    (
        ("bits = 12", "bits = 40"),
        AXIS + "converter.bits: it is '40', a whole number from 4 to 24 belongs here. "
        "Give the bits of the code.",
    ),
    (
        ('linearity = "1 %"', 'linearity = "80 %"'),
        AXIS + "sensor.linearity: '80 %' cannot be, a limit lies in 0 to 50 %. "
        'Write the limit, as in "1 %".',
    ),
    # a decimal comma
    (('"0.10 mm"', '"0,10 mm"'), AXIS + f"drive.backlash: '0,10 mm' {COMMA} Write 0.10."),
    (('at = "47.5 deg"', 'at = "47,5 deg"'), AXIS + f"marks.pin.at: '47,5 deg' {COMMA} Write 47.5."),
    # what does not fit together
    (
        ("gears    = [48, 24]", "gears    = [48, 12]"),
        AXIS + "sensor: the motion turns the shaft 540 deg, the track ends at 340 deg, a gap of 20 deg "
        "follows. Divide the ratio by at least 1.59, or take a sensor with more turns.",
    ),
    (
        ('reading = "50 %"', 'reading = "20 %"'),
        AXIS + "sensor: clamped where it reads 20 %, the motion takes the wiper from -19.7 % to 59.7 %, "
        "the track ends at 0 % and 100 %, a gap of 20 deg lies between. "
        "Clamp it where it reads 50 % at the same mark: that centres the motion.",
    ),
    (
        ('from = "-20 deg", to = "115 deg"', 'from = "115 deg", to = "-20 deg"'),
        AXIS + "motion: it ends before it begins. Give the lower end as from, the higher as to.",
    ),
    (
        ('low = "-28 deg"', 'low = "-8 deg"'),
        AXIS + "stops: they lie inside the working range. Stops belong at or beyond its ends.",
    ),
    # unknown names, each with the nearest known one
    (("backlash =", "backlsh ="), AXIS + "drive: key 'backlsh' is not known. Did you mean 'backlash'?"),
    (
        ('kind = "d-bore"', 'kind = "dbore"'),
        AXIS + "coupling: kind 'dbore' is not known. Did you mean 'd-bore'?",
    ),
    (
        ("simulated = true", "simulatd = true"),
        "rover.toml: key 'simulatd' is not known. Did you mean 'simulated'?",
    ),
    (
        ('clamped_at = "pin"', 'clamped_at = "pn"'),
        AXIS + "mount.clamped_at: there is no mark 'pn'. Did you mean 'pin'?",
    ),
    (
        ('zero_at = "pin"', 'zero_at = ["pin"]'),
        AXIS + "plan.zero_at: there is no mark '['pin']'. Did you mean 'pin'?",
    ),
    (
        ('"drops"', '"falls"'),
        AXIS + "when_unpowered: 'falls' is none of its words. Known: drops, holds, sinks, springs.",
    ),
    (
        ('output = "rises"', 'output = "rise"'),
        AXIS + "mount.output: 'rise' is none of its words. Did you mean 'rises'?",
    ),
    (
        ('raw = "counts"', 'raw = "count"'),
        AXIS + "converter.raw: 'count' is none of its words. Did you mean 'counts'?",
    ),
    # what is no table, or no yes or no
    (
        ('pull = { down = "100 kohm", at = "pin" }', 'pull = "100 kohm"'),
        AXIS + "wiring.pull: '100 kohm' stands where a table should. Write it as { key = \"value\" }.",
    ),
    (
        ("simulated = true", 'simulated = "yes"'),
        "rover.toml, simulated: 'yes' is not true or false. Write true or false.",
    ),
]


@pytest.mark.parametrize(
    ("change", "text"), ONE_FAULT, ids=[change[1] or "left out" for change, _ in ONE_FAULT]
)
def test_one_fault_is_one_whole_sentence(rover_text, change, text):
    assert complaints(rover_text, change) == [text]


def test_all_faults_of_a_file_are_shown_together(rover_text):
    found = complaints(
        rover_text,
        ("backlash =", "backlsh ="),
        ('play = "3 deg"', 'play = "3 mm"'),
        ('"10 kohm ± 20 %"', '"-10 kohm"'),
        ("points = 9", "points = 1"),
        ("simulated = true", "simulatd = true"),
    )
    assert found == [
        "rover.toml: key 'simulatd' is not known. Did you mean 'simulated'?",
        AXIS + "drive: key 'backlsh' is not known. Did you mean 'backlash'?",
        AXIS + "coupling.play: '3 mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
        AXIS + "sensor.track: '-10 kohm' is not above zero. Mend the value or its spread.",
        AXIS + "plan.points: it is '1', a whole number from 2 to 1000 belongs here. "
        "Give the positions to calibrate at.",
    ]


def test_faults_of_two_axes_are_shown_together(rover_text):
    second = rover_text[rover_text.index("[axis.shoulder]") :].replace("axis.shoulder", "axis.elbow")
    text = rover_text + second.replace("bits = 12", "bits = 2")
    assert complaints(
        text, ('"0.10 mm"\nmodule   = "1 mm"\n\n[axis.shoulder.c', '"1 V"\n\n[axis.shoulder.c')
    ) == [
        AXIS + "drive.backlash: '1 V' is a voltage, a length is asked for. Write it in mm, m or in.",
        "rover.toml, axis 'elbow', converter.bits: it is '2', a whole number from 4 to 24 belongs here. "
        "Give the bits of the code.",
    ]


def test_an_axis_without_motion_says_what_to_write(rover_text):
    assert complaints(rover_text, ("motion   = {", "motoin   = {")) == [
        "rover.toml, axis 'shoulder': key 'motoin' is not known. Did you mean 'motion'?",
        AXIS + 'motion: it is missing. Write motion = { from = "-20 deg", to = "115 deg" }.',
    ]


@pytest.mark.parametrize("text", ['rig = "x"\n', "axis = 5\n", "[axis]\n"])
def test_a_rig_without_axes_is_refused(text):
    assert complaints(text) == [
        "rover.toml: the rig has no axes. Describe one under [axis.NAME], or run: anglewright new DIR."
    ]


def test_a_length_is_not_taken_for_an_angle():
    text = '[axis.lift]\nmotion = { from = "0 mm", to = "900 mm" }\nneed = { error = "5 mm" }\n'
    assert complaints(text + 'when_unpowered = "holds"\n') == [
        "rover.toml, axis 'lift', drive: the motion is a length, and this drive takes an angle. "
        "Take a drive for lengths: rack, chain, belt, drum, screw or draw-wire."
    ]


def test_a_missing_file_is_named(tmp_path):
    path = tmp_path / "nowhere.toml"
    with pytest.raises(DataError) as refused:
        read_rig(path)
    remedy = "Check the path, or make a new rig with: anglewright new DIR."
    assert str(refused.value) == f"{path}: there is no such file. {remedy}"


def test_a_folder_is_not_a_rig_file(tmp_path):
    with pytest.raises(DataError) as refused:
        load_document(tmp_path)
    assert str(refused.value).startswith(f"{tmp_path}: it cannot be read (")
    assert str(refused.value).endswith("). Name a rig file.")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("play = 3 deg", "expected newline or end of document after a statement (at line 1, column 10)"),
        ("rig = 'x'\n[axis\n", "expected ']' at the end of a table declaration (at line 2, column 6)"),
    ],
)
def test_what_is_not_toml_is_shown_with_its_line(tmp_path, text, found):
    path = tmp_path / "rover.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RigError) as refused:
        read_rig(path)
    assert str(refused.value) == (
        f'{path}: it is not TOML: {found}. Quantities stand in quotes: play = "3 deg".'
    )


def test_bytes_that_are_no_text_are_shown_with_their_place(tmp_path):
    path = tmp_path / "rover.toml"
    path.write_bytes(b'rig = "\xe9"\n')
    with pytest.raises(RigError) as refused:
        read_rig(path)
    assert str(refused.value) == f"{path}: byte 7 is not UTF-8 text. Save the file as UTF-8."


def test_a_mark_at_the_head_of_the_file_does_no_harm(rover_text, tmp_path):
    path = tmp_path / "rover.toml"
    path.write_text(rover_text, encoding="utf-8-sig")
    assert read_rig(path).name == "Vine rover"


def test_an_unknown_axis_or_mark_comes_with_the_nearest(root):
    rig = read_rig(root / "examples" / "rover" / "rig.toml")
    for ask, text in (
        (lambda: rig.axis("sholder"), "there is no axis 'sholder'. Did you mean 'shoulder'?"),
        (lambda: rig.axis("shoulder").mark("pim"), "there is no mark 'pim'. Did you mean 'pin'?"),
        (lambda: rig.axis("shoulder").mark("crate"), "there is no mark 'crate'. Known: pin, stow."),
    ):
        with pytest.raises(UsageError) as refused:
            ask()
        assert str(refused.value).endswith(f": {text}")
        assert refused.value.exit_code == 2


@pytest.mark.parametrize(
    "text", ["", "[axis.a]\n", "[axis.a.motion]\nfrom = 3\n", "[[axis]]\n", "axis.a.b.c = 1\n"]
)
def test_a_scrap_of_a_rig_is_refused_and_breaks_nothing(text):
    with pytest.raises(AnglewrightError, match=r"^rover\.toml"):
        build_rig(parse_document(text, source="rover.toml"), source="rover.toml")


def test_no_sentence_shows_a_class_or_a_traceback(rover_text):
    for change, text in ONE_FAULT:
        assert not any(word in text for word in ("Error", "Traceback", "None", "object", str(Path.cwd()))), (
            change
        )
