"""No name of a rig or axis can break a path, an identifier or a comment."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.handover.identifiers import ascii_text, comment_text, is_stem, stem_of, stems

HOSTILE = [
    "", " ", "../x", "..\\..\\x", "/etc/passwd", "C:\\x", "con", "COM7", "int", "math", "while", "9", "_",
    "__x", "x_vectors", "x_selftest", "*/ int y; /*", "a\\\nb", "??/", "a\x00b", "шарнир", "肩",
    "Schulter ±3°", "%s%n", "\ud800", "x" * 400, "\"; system(\"x\"); //", "${stem}", "{{ x }}",
    "\u2028", "e1", "x.h",
]  # fmt: skip
NAMES = st.one_of(st.sampled_from(HOSTILE), st.text(st.characters(), max_size=60))


@given(NAMES)
def test_every_name_gives_a_stem_that_is_a_safe_file_and_a_c_identifier(name: str) -> None:
    stem = stem_of(name)
    assert re.fullmatch(r"[a-z][a-z0-9_]{0,21}", stem)
    assert "__" not in stem
    assert is_stem(stem)


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("shoulder", "shoulder"), ("../x", "x"), ("int", "axis_int"), ("math", "axis_math"),
        ("CON", "axis_con"), ("lpt1", "axis_lpt1"), ("2nd", "axis_2nd"), ("Ellbögen", "ellbogen"),
        ("x_vectors", "axis_x_vectors_axis"),
    ],
)  # fmt: skip
def test_a_name_keeps_as_much_of_itself_as_is_safe(name: str, stem: str) -> None:
    assert stem_of(name) == stem


@given(st.lists(NAMES, max_size=12))
def test_no_two_axes_of_a_rig_share_a_stem(names: list[str]) -> None:
    made = stems(names)
    assert list(made) == list(dict.fromkeys(names))
    assert len(set(made.values())) == len(made)
    assert all(is_stem(stem) for stem in made.values())


def test_names_that_shorten_to_the_same_letters_stay_apart() -> None:
    # Six digits of SHA-256 over the UTF-8 bytes of the name, as `printf 'arm-a' | sha256sum` shows them.
    assert stems(["arm a", "arm-a"]) == {"arm a": "arm_a", "arm-a": "arm_a_b056dc"}


def test_two_names_in_a_script_without_latin_letters_stay_apart() -> None:
    assert stem_of("肩") != stem_of("肘")


@given(NAMES)
def test_text_in_a_comment_can_neither_end_it_nor_open_another_nor_form_a_trigraph(name: str) -> None:
    text = comment_text(name)
    assert text.isascii()
    assert "\\" not in text
    assert '"' not in text
    assert all(" " <= sign <= "~" for sign in text)
    assert not re.search(r"\*/|/\*|//\*|\?\?", text)


def test_signs_of_the_trade_are_spelt_out() -> None:
    assert ascii_text("10 kΩ ± 20 %, 3°, 5 µm, 2 × 4 – fine") == "10 kohm +/- 20 %, 3deg, 5 um, 2 x 4 - fine"
