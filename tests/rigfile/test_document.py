"""Changes of a what-if are put into the tables of a rig file, which stay as they were."""

import copy

import pytest

from anglewright.errors import UsageError
from anglewright.rigfile.document import parse_document, with_changes

TEXT = """
[axis.shoulder.coupling]
play = "3 deg"
[axis.shoulder.drive]
gears = [48, 24]
[axis."arm.left".coupling]
play = "1 deg"
"""


@pytest.fixture
def document():
    return parse_document(TEXT, source="rover.toml")


@pytest.mark.parametrize(
    ("change", "path", "value"),
    [
        ("shoulder.coupling.play=0 deg", ("shoulder", "coupling", "play"), "0 deg"),
        ('shoulder.coupling.play="0 deg"', ("shoulder", "coupling", "play"), "0 deg"),
        (" shoulder.coupling.play = 0 deg ", ("shoulder", "coupling", "play"), "0 deg"),
        ("shoulder.drive.gears=[60, 20]", ("shoulder", "drive", "gears"), [60, 20]),
        ("shoulder.converter.bits=10", ("shoulder", "converter", "bits"), 10),
        ('shoulder.wiring.pull={ up = "47k" }', ("shoulder", "wiring", "pull"), {"up": "47k"}),
        ("shoulder.wiring.pull.at=lead", ("shoulder", "wiring", "pull"), {"at": "lead"}),
        ("arm.left.coupling.play=2 deg", ("arm.left", "coupling", "play"), "2 deg"),
    ],
)
def test_a_change_lands_in_its_table_and_nowhere_else(document, change, path, value):
    before = copy.deepcopy(document)
    changed = with_changes(document, [change])
    assert document == before
    axis, table, key = path
    assert changed["axis"][axis][table].pop(key) == value
    was = before["axis"][axis].get(table, {})
    was.pop(key, None)
    before["axis"][axis].setdefault(table, was)
    assert changed == before


def test_several_changes_apply_in_their_order(document):
    changed = with_changes(document, ["shoulder.coupling.play=1 deg", "shoulder.coupling.play=2 deg"])
    assert changed["axis"]["shoulder"]["coupling"]["play"] == "2 deg"


def test_a_change_without_an_axis_is_meant_for_all_that_are_named(document):
    changed = with_changes(document, ["coupling.play=0 deg"], axes=document["axis"])
    assert [axis["coupling"]["play"] for axis in changed["axis"].values()] == ["0 deg", "0 deg"]


@pytest.mark.parametrize("change", ["shoulder.coupling.play", "play=3", "=3", "shoulder..play=3", ""])
def test_what_is_no_change_is_refused(document, change):
    with pytest.raises(UsageError) as refused:
        with_changes(document, [change])
    assert str(refused.value) == (
        f"--set: '{change}' is not a change. "
        'Write AXIS.TABLE.KEY=VALUE, as in --set shoulder.coupling.play="0 deg".'
    )


def test_a_table_inside_a_value_is_refused(document):
    with pytest.raises(UsageError) as refused:
        with_changes(document, ["shoulder.coupling.play.least=3"])
    assert str(refused.value) == (
        "--set: 'play' is a value, not a table, so 'least' cannot stand in it. Check the name of the key."
    )


@pytest.mark.parametrize("text", ["[1,", '"half', "{a", "4k7", "007", "²"])
def test_a_value_that_is_no_toml_is_kept_as_text(document, text):
    changed = with_changes(document, [f"shoulder.coupling.play={text}"])
    assert changed["axis"]["shoulder"]["coupling"]["play"] == text
