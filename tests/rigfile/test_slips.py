"""Tables and keys that stand twice or are misspelt: a sentence with the nearest known name and the line."""

from pathlib import Path

import pytest

from anglewright.errors import RigError
from anglewright.rigfile.document import load_document, parse_document, with_changes
from anglewright.rigfile.headers import header_above, headers, key_on, line_of
from anglewright.rigfile.reading import build_rig, read_rig

SHOULDER = """\
rig = "bench"
[axis.shoulder]
motion = { from = "0 deg", to = "90 deg" }
need = { error = "1 deg" }
when_unpowered = "drops"
"""


def complaints(text: str) -> list[str]:
    """What is wrong with a rig file."""
    with pytest.raises(RigError) as refused:
        build_rig(parse_document(text, source="rig.toml"), source="rig.toml")
    return str(refused.value).splitlines()


def test_the_sound_file_is_one(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_text(SHOULDER, encoding="utf-8")
    assert list(read_rig(path).axes) == ["shoulder"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            '[axis.shoulder.coupling]\nplay = "3 deg"\n\nplay = "2 deg"\n',
            "rig.toml, line 9: 'play' stands twice in [axis.shoulder.coupling], first in line 7. "
            "Leave one of them out.",
        ),
        (
            '[axis.shoulder.coupling]\nplay = "3 deg"\n[axis.shoulder.drive]\n[axis.shoulder.coupling]\n',
            "rig.toml, line 9: the table [axis.shoulder.coupling] stands twice, first in line 6. "
            "Put their keys into one of them.",
        ),
        (
            '[axis.shoulder.wiring]\npull = { up = "47k", up = "22k" }\n',
            "rig.toml, line 7: 'up' stands twice in one table. Leave one of them out.",
        ),
        (
            '[axis.shoulder.wiring]\npull = { up = "47k" }\n[axis.shoulder.wiring.pull]\nat = "lead"\n',
            "rig.toml, line 8: a name stands here a second time, as a key and as a table. "
            "Leave one of them out.",
        ),
    ],
)
def test_what_stands_twice_is_named_with_its_line(more: str, said: str) -> None:
    assert complaints(SHOULDER + more) == [said]


def test_a_key_that_stands_twice_at_the_top_has_no_table() -> None:
    assert complaints('rig = "a"\nrig = "b"\n' + SHOULDER[13:]) == [
        "rig.toml, line 2: 'rig' stands twice, first in line 1. Leave one of them out."
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            SHOULDER.replace("[axis.", "[axes."),
            "rig.toml, line 2: table 'axes' is not known. Did you mean 'axis'?",
        ),
        (
            SHOULDER + '[axis.shoulder.sensr]\nkind = "magnetic"\n',
            "rig.toml, line 6, axis 'shoulder': table 'sensr' is not known. Did you mean 'sensor'?",
        ),
        (
            SHOULDER + '[axis.sholder.sensr]\nkind = "magnetic"\n',
            "rig.toml, line 6: axis 'sholder' has no motion, and there is an axis 'shoulder'. "
            "Did you mean [axis.shoulder.sensor]?",
        ),
        (
            SHOULDER + '[axs.elbow]\nmotion = { from = "0 deg", to = "9 deg" }\n',
            "rig.toml, line 6: table 'axs' is not known. Did you mean 'axis'?",
        ),
    ],
)
def test_a_misspelt_table_is_named_with_its_line_and_the_nearest_name(text: str, said: str) -> None:
    assert complaints(text) == [said]


def test_an_axis_of_its_own_is_not_taken_for_another() -> None:
    said = complaints(SHOULDER + '[axis.wrist.sensor]\nkind = "magnetic"\n')
    assert said[0] == (
        "rig.toml, axis 'wrist', motion: it is missing. "
        'Write motion = { from = "-20 deg", to = "115 deg" }.'
    )


def test_a_key_within_its_line_keeps_the_place_it_has() -> None:
    said = complaints(SHOULDER + 'lop = { crossover = "2 Hz" }\n')
    assert said == ["rig.toml, axis 'shoulder': key 'lop' is not known. Did you mean 'loop'?"]


def test_the_text_is_still_known_after_a_what_if(tmp_path: Path) -> None:
    path = tmp_path / "rig.toml"
    path.write_text(SHOULDER + '[axis.shoulder.sensr]\nkind = "magnetic"\n', encoding="utf-8")
    changed = with_changes(load_document(path), ["shoulder.need.error=2 deg"])
    with pytest.raises(RigError, match="line 6, axis 'shoulder': table 'sensr' is not known"):
        build_rig(changed, source=str(path))


def test_headers_are_found_with_quotes_remarks_and_blanks() -> None:
    text = '  [ axis . "arm.left" ]  # [axis.right]\ncurve = [\n  ["1 V", 3]\n]\n[[row]]\n[axis.a.drive]\n'
    assert [(each.line, each.names) for each in headers(text)] == [
        (1, ("axis", "arm.left")),
        (6, ("axis", "a", "drive")),
    ]
    assert line_of(text, "axis", "a") == 6
    assert line_of(text, "axis", "b") is None
    above = header_above(text, 4)
    assert above is not None
    assert above.shown == "[axis.arm.left]"


@pytest.mark.parametrize(
    ("line", "key"),
    [("  play = 3", "play"), ('"a b" = 1', '"a b"'), ("# play = 3", ""), ("[x]", ""), ("", "")],
)
def test_the_key_of_a_line(line: str, key: str) -> None:
    assert key_on(line) == key
