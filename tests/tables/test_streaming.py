"""A long file is read in blocks, and gives what the same rows give in memory."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anglewright.quantities.units import UNITS
from anglewright.tables.blocks import Body, TextBody
from anglewright.tables.checking import Part
from anglewright.tables.numbers import NumberForm
from anglewright.tables.opening import open_table
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import Reader, open_sheet, read_sheet
from anglewright.tables.source import HEAD, Source, of_bytes
from anglewright.tables.text import sample_of
from anglewright.tables.wishes import NO_WISHES

WANTED = Wanted(unit=UNITS["deg"], raw_meaning="counts")
LONG = 60_000  # rows that are longer than what the first pass looks at
CELLS = [
    "1.5",
    "-20",
    "+3",
    "1e3",
    "7.",
    ".5",
    "-0.0",
    "ERR",
    "",
    " 12",
    "0x1F",
    "\u22125",
    "1_0",
    "nan",
    "12,5",
]


def long_text(rows: int = LONG) -> list[str]:
    """Lines of a simulated sweep: the time runs by hundredths, the code is twice the row."""
    return [
        "# simulated",
        "time_s,reference_deg,raw",
        *(f"{k / 100:.2f},{k / 500:.3f},{2 * k}" for k in range(rows)),
    ]


def source_of(lines: list[str]) -> Source:
    """Lines as a source."""
    return of_bytes(("\n".join(lines) + "\n").encode(), name="sweep.csv")


def read_by(source: Source, *, by_engine: bool, size: int) -> Reader:
    """The same source with its rows streamed, by the engine or line by line, in blocks of a size."""
    opened = open_table(source, wanted=WANTED, wishes=NO_WISHES, ask=None)
    data = source.head()
    sample = sample_of(source, data, whole=True)
    begin = opened.columns.header.begin
    body: Body = TextBody(
        sample=sample,
        after=opened.grid.rows[begin - 1].line if begin else 0,
        columns=tuple(range(len(opened.columns.header.forms))),
        by_engine=by_engine,
        size=size,
    )
    changed = dataclasses.replace(opened, body=body)
    return Reader(changed, wishes=NO_WISHES, wanted=WANTED)


@pytest.mark.slow
def test_a_long_file_is_read_whole_and_each_fault_is_named_with_its_line() -> None:
    lines = long_text()
    lines[30_001] = lines[30_001].rsplit(",", 1)[0] + ",ERR"  # line 30 002
    lines.insert(30_100, "radio: no link")  # line 30 101
    lines.insert(30_200, "time_s,reference_deg,raw")  # line 30 201
    lines.insert(30_300, "# a note, with, commas")
    lines.insert(30_400, "")
    lines[40_000] += ",7"  # line 40 001
    text = source_of(lines)
    assert len(text.head(2 * HEAD)) > HEAD
    sheet = read_sheet(text, wanted=WANTED)
    assert [(c.line, c.column, c.text, c.why) for c in sheet.refused] == [
        (30_002, "raw", "ERR", "is not a number")
    ]
    assert sheet.decisions == (
        "the header stands again in line 30201: the program restarted, or runs were joined",
        "lines that hold no row, passed over: 1, first line 30101: 'radio: no link'",
        "rows with more cells than there are columns: 1, first line 40001",
    )
    assert len(sheet.recording) == LONG - 1
    missing = 30_001 - 2
    codes = [2 * k for k in range(LONG) if k != missing]
    assert np.array_equal(sheet.recording.raw, codes)
    assert sheet.recording.place(LONG - 2) == f"sweep.csv, line {LONG + 2 + 4}"


@pytest.mark.slow
def test_the_cut_off_last_line_of_a_long_file_is_named() -> None:
    text = "\n".join(long_text())[:-7].encode()
    sheet = read_sheet(of_bytes(text, name="sweep.csv"), wanted=WANTED)
    assert [(c.line, c.column, c.why) for c in sheet.refused] == [
        (LONG + 2, "raw", "is cut off with the file")
    ]


@pytest.mark.slow
def test_blocks_hold_all_rows_in_their_order() -> None:
    reader = open_sheet(source_of(long_text()), wanted=WANTED)
    raw = np.concatenate([block.raw for block in reader.recordings()])
    assert np.array_equal(raw, np.arange(0, 2 * LONG, 2))


@pytest.mark.slow
@pytest.mark.parametrize(("most", "step"), [(LONG, 1), (LONG - 1, 2), (20_000, 4), (1000, 64)])
def test_of_too_long_a_file_every_n_th_row_is_kept_and_it_is_said(most: int, step: int) -> None:
    sheet = read_sheet(source_of(long_text()), wanted=WANTED, most_rows=most)
    assert np.array_equal(sheet.recording.raw, np.arange(0, 2 * LONG, 2 * step))
    said = f"of {LONG} rows one in {step} was kept, to save memory"
    assert (said in sheet.decisions) == (step > 1)


@pytest.mark.slow
@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(CELLS), st.sampled_from(CELLS)), min_size=1, max_size=30),
    st.integers(min_value=20, max_value=300),
    st.sampled_from([",", ";", "\t"]),
)
def test_the_engine_line_by_line_and_memory_agree(rows: list[tuple[str, str]], size: int, mark: str) -> None:
    good = [("1.0", "100"), ("2.0", "200"), ("3.0", "300")] * 20
    cells = [("reference_deg", "raw"), *good, *rows, *good]
    text = "".join(f"{one.replace(',', '.') if mark == ',' else one}{mark}{two}\n" for one, two in cells)
    source = of_bytes(text.encode(), name="rows.csv")
    memory = read_sheet(source, wanted=WANTED)
    for by_engine in (True, False):
        streamed = read_by(source, by_engine=by_engine, size=size).whole()
        for name in ("raw", "reference", "lines"):
            assert np.array_equal(getattr(streamed.recording, name), getattr(memory.recording, name))
        assert streamed.refused == memory.refused
        assert set(streamed.decisions) == set(memory.decisions)


FORMS = [NumberForm(), NumberForm(decimal_comma=True), NumberForm(suffix="%"), NumberForm(base=16)]
SIGNS = st.text(alphabet="0123456789+-.,eExXaAfF%_ \u2212\u0661infNA", max_size=8)


@pytest.mark.slow
@settings(max_examples=300, deadline=None)
@given(st.sampled_from(FORMS), st.lists(SIGNS, min_size=1, max_size=5))
def test_the_engine_takes_for_a_number_what_the_program_does(form: NumberForm, cells: list[str]) -> None:
    import polars as pl

    one, many = form.values(cells), form.values(pl.Series(cells, dtype=pl.String))
    assert np.array_equal(one, many, equal_nan=True)
    assert np.array_equal(np.signbit(one), np.signbit(many)) or np.isnan(one).any()


def test_rows_that_are_kept_hold_none_of_those_that_are_left_out() -> None:
    numbers = np.arange(1000.0)
    block = Part(lines=np.arange(1000), reference=numbers, raw=numbers, time_s=numbers, sides=None)
    kept = block.thinned(1, 8)
    assert kept.raw.tolist() == numbers[1::8].tolist()
    assert not any(np.shares_memory(kept.raw, held) for held in (block.raw, block.reference))
    assert kept.time_s is not None
    assert not np.shares_memory(kept.time_s, numbers)
    assert not np.shares_memory(kept.lines, block.lines)
