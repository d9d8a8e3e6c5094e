"""The emitted C, compiled with every warning an error, and run over every code."""

import math
import subprocess
from collections.abc import Callable, Mapping
from dataclasses import replace
from math import isnan
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from anglewright.errors import RangeError, UsageError
from anglewright.handover.floats import float_text
from anglewright.handover.languages import emit
from anglewright.handover.plan import HandoverPlan, judge
from anglewright.links.protocol import CodeRange

Rows = list[tuple[int, float, bool, int]]
Run = Callable[[Path, HandoverPlan, list[int]], Rows]
Tested = Callable[[Path, Mapping[str, str]], "subprocess.CompletedProcess[str]"]

BEYOND = [-(2**31), -65536, -1, 4096, 65535, 65536, 2**31 - 1]
VARIANTS: list[tuple[str, Callable[[HandoverPlan], HandoverPlan]]] = [
    ("12 bit", lambda plan: plan),
    ("band to both ends", lambda plan: replace(plan, low_code=0, high_code=4095)),
    ("falling line", lambda plan: replace(plan, slope=-plan.slope, offset=132.5)),
    ("far zero", lambda plan: replace(plan, offset=1500.0)),
    (
        "10 bit, millimetres",
        lambda plan: replace(
            plan, codes=CodeRange.of_bits(10), unit="mm", slope=1.7, low_code=37, high_code=999
        ),
    ),
    (
        "14 bit",
        lambda plan: replace(
            plan, codes=CodeRange.of_bits(14), slope=360.0 / 2**14, low_code=1, high_code=16382
        ),
    ),
    (
        "16 bit, metres",
        lambda plan: replace(
            plan, codes=CodeRange.of_bits(16), unit="m", slope=3e-5, offset=0.2, high_code=64000
        ),
    ),
    (
        "endless, every code valid, the turn cut in the middle of the codes",
        lambda plan: replace(
            plan,
            codes=CodeRange(low=0, high=4095, period=4096, ends_valid=True),
            slope=360.0 / 4096.0,
            offset=17.0,
            low_code=0,
            high_code=4095,
            turn=360.0,
            turn_from=-180.0,
        ),
    ),
    (
        "counter below and above zero",
        lambda plan: replace(
            plan,
            codes=CodeRange(low=-2048, high=2047, period=4096, ends_valid=True),
            low_code=-1500,
            high_code=900,
        ),
    ),
    (
        "counter of 32 bit",
        lambda plan: replace(
            plan,
            codes=CodeRange(low=-(2**31), high=2**31 - 1, period=2**32, ends_valid=True),
            low_code=-1500,
            high_code=900,
        ),
    ),
]
HOSTILE = [
    "*/ int y; /*", "??/", "a\\\nb", "../../x", "int", "math", "", "肩 ±3°", "x_vectors",
    "$stem ${STEM} {stem}", "*", "/",
    "%s\"; //", "#error", "\ud800\x00\x1b[31m", "long " * 60, "x", "errno", "con",
]  # fmt: skip


@pytest.mark.parametrize("change", [change for _, change in VARIANTS], ids=[name for name, _ in VARIANTS])
def test_every_code_gives_the_position_of_the_line_and_the_fault_of_the_rule(
    run: Run, tmp_path: Path, shoulder: HandoverPlan, change: Callable[[HandoverPlan], HandoverPlan]
) -> None:
    plan = change(shoulder)
    first, last = max(plan.codes.low, -5000), min(plan.codes.high, 70000)
    end = 0 if plan.codes.ends_valid else 1
    low, high = max(plan.low_code, plan.codes.low + end), min(plan.high_code, plan.codes.high - end)
    travel = abs(plan.slope) * (high - low)
    raws = [*range(first, last + 1), last + 1, *BEYOND]
    rows = run(tmp_path, plan, raws)
    assert [row[0] for row in rows] == raws
    for raw, place, valid, fault in rows:
        assert fault == judge(raw, plan)
        assert valid == (low <= raw <= high)
        if valid:
            line = plan.offset + plan.slope * raw
            if plan.turn:  # an angle and the same angle a turn on are one place
                assert plan.turn_from - 1e-3 <= place <= plan.turn_from + plan.turn + 1e-3
                line = place + math.remainder(line - place, plan.turn)
            assert abs(place - line) <= 1e-5 * travel
        else:
            assert isnan(place)


@pytest.mark.parametrize("change", [change for _, change in VARIANTS], ids=[name for name, _ in VARIANTS])
def test_the_self_test_passes_on_what_was_emitted(
    tested: Tested, tmp_path: Path, shoulder: HandoverPlan, change: Callable[[HandoverPlan], HandoverPlan]
) -> None:
    done = tested(tmp_path, emit(change(shoulder), language="c"))
    assert done.returncode == 0
    assert ": 0 of " in done.stdout


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("raw < SHOULDER_LOW_CODE", "raw <= SHOULDER_LOW_CODE"),
        ("raw > SHOULDER_HIGH_CODE", "raw >= SHOULDER_HIGH_CODE"),
        ("raw > SHOULDER_TOP_CODE", "raw > SHOULDER_TOP_CODE + 1"),
        ("raw < SHOULDER_BOTTOM_CODE ||", "raw < SHOULDER_BOTTOM_CODE - 1 ||"),
        ("SHOULDER_SLOPE *", "-SHOULDER_SLOPE *"),
        ("SHOULDER_MIDDLE_POSITION +", "0.01f + SHOULDER_MIDDLE_POSITION +"),
        ("reading.valid = true;", "reading.valid = false;"),
    ],
)
def test_the_self_test_sees_a_controller_whose_copy_is_wrong(
    tested: Tested, tmp_path: Path, shoulder: HandoverPlan, good: str, bad: str
) -> None:
    files = emit(shoulder, language="c")
    assert good in files["shoulder.c"]
    files["shoulder.c"] = files["shoulder.c"].replace(good, bad)
    assert tested(tmp_path, files).returncode == 1


@given(st.one_of(st.sampled_from(HOSTILE), st.text(st.characters(), max_size=40)), st.sampled_from(HOSTILE))
@example("*", "/")
@example("/", "*")
@example("*/ int y; /*", "??/")
@settings(max_examples=8, deadline=None)
def test_no_name_breaks_the_emitted_code(
    tested: Tested, shoulder: HandoverPlan, name: str, other: str
) -> None:
    source = replace(shoulder.provenance, record=name, date=other, chain_hash=name, version=other)
    plan = replace(
        shoulder, rig=name, axis=other, unit=name, fault_action=name, cautions=(name, other),
        provenance=source, stem="",
    )  # fmt: skip
    with TemporaryDirectory() as folder:
        assert tested(Path(folder), emit(plan, language="c")).returncode == 0


@pytest.mark.parametrize("name", HOSTILE)
def test_emitted_text_is_plain_ascii_in_files_that_stay_in_their_folder(
    shoulder: HandoverPlan, name: str
) -> None:
    plan = replace(shoulder, axis=name, unit=name, rig=name, cautions=(name,), stem="")
    for file, text in emit(plan, language="c").items():
        assert Path(file).name == file
        assert text.isascii()
        assert set(text) >= {"\n"}
        assert all(sign == "\n" or " " <= sign <= "~" for sign in text)


def test_two_axes_build_into_one_program(tested: Tested, tmp_path: Path, shoulder: HandoverPlan) -> None:
    # "x" is the axis whose names come nearest to those of the system (X_OK of unistd.h).
    axes = [replace(shoulder, axis=name, stem="") for name in ("x", "x_fault")]
    texts: dict[str, str] = {}
    for plan in axes:
        texts |= emit(plan, language="c")
    del texts["x_fault_selftest.c"]
    texts["both.h"] = '#include "x_fault_vectors.h"\n#include "x_vectors.h"\n'
    assert tested(tmp_path, texts).returncode == 0


def test_a_line_is_handed_over_without_a_table_of_codes(shoulder: HandoverPlan) -> None:
    files = emit(shoulder, language="c")
    assert "[" not in files["shoulder.c"]
    assert files["shoulder_vectors.h"].count("INT32_C") == 12
    assert all(len(text) < 6000 for text in files.values())
    assert not any(word in files["shoulder.c"] for word in ("malloc", "double", "static int", "static float"))


def test_the_same_plan_gives_the_same_bytes(shoulder: HandoverPlan) -> None:
    assert emit(shoulder, language="c") == emit(replace(shoulder), language="c")


def test_provenance_and_cautions_stand_at_the_top_of_the_header(shoulder: HandoverPlan) -> None:
    plan = replace(shoulder, cautions=("An open ground cannot be seen above 93 deg.",))
    comment = emit(plan, language="c")["shoulder.h"].split("*/")[0]
    flat = " ".join(comment.replace("\n * ", " ").split())
    for said in (
        "state: calibrated", "record: 2025-03-01-1", "chain: ab12cd34", "+/- 0.42 deg",
        "not a safety device", "With the motor off this mechanism drops.", "First power-up", "ISO 12100",
        "An open ground cannot be seen above 93 deg.", "Brake and hold; do not let the motor coast.",
    ):  # fmt: skip
        assert said in flat


def test_a_part_of_a_millisecond_of_hold_off_is_rounded_up(shoulder: HandoverPlan) -> None:
    assert "SHOULDER_HOLD_OFF_MS      UINT32_C(33)" in emit(shoulder, language="c")["shoulder.h"]


@given(st.floats(width=32, allow_nan=False, allow_infinity=False))
def test_a_constant_of_nine_digits_gives_the_same_float_back(value: float) -> None:
    # Nine significant digits identify any 32-bit float (IEEE 754, conversion to decimal and back).
    text = float_text(value)
    assert float(text.strip("()").removesuffix("f")) == pytest.approx(value, rel=2.0**-25, abs=2.0**-150)


def test_a_line_that_a_float_cannot_hold_is_refused(shoulder: HandoverPlan) -> None:
    with pytest.raises(RangeError) as caught:
        emit(replace(shoulder, offset=1e6), language="c")
    assert str(caught.value) == (
        "axis 'shoulder', hand-over in C: positions up to 1e+06 deg over a travel of 151 deg, a 32-bit float "
        "cannot hold them to 1e-5 of the travel. Move the zero of the axis nearer to its travel."
    )


def test_a_slope_too_small_for_a_float_is_refused(shoulder: HandoverPlan) -> None:
    with pytest.raises(RangeError) as caught:
        emit(replace(shoulder, slope=1e-40, offset=0.0), language="c")
    assert str(caught.value) == (
        "axis 'shoulder', hand-over in C: slope 1e-40, position up to 3.87e-37 deg, a 32-bit float is "
        "trusted from 1e-30 to 1e30. Choose another unit of the axis."
    )


def test_an_unknown_language_is_answered_with_the_known_ones(shoulder: HandoverPlan) -> None:
    with pytest.raises(UsageError) as caught:
        emit(shoulder, language="cobol")
    assert str(caught.value) == "hand-over: nothing is handed over in the language 'cobol'. Known: c."
