"""The parts of the first pass: clocks, marks, gaps, proposals, kinds of files, spreadsheets."""

import io
import math
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from anglewright.errors import DataError, UsageError
from anglewright.quantities.units import UNITS
from anglewright.tables.clocks import clock_of, over_midnight
from anglewright.tables.gaps import TimeWatch
from anglewright.tables.marks import suspected_marks
from anglewright.tables.numbers import PLAIN
from anglewright.tables.opening import open_table
from anglewright.tables.proposing import Column, Wanted, plausible_units
from anglewright.tables.reading import read_sheet
from anglewright.tables.source import of_bytes, of_path, of_stream
from anglewright.tables.wishes import NO_WISHES, Wishes, wishes_from

DEG = UNITS["deg"]
WANTED = Wanted(unit=DEG, raw_meaning="counts", low=DEG.to_si(-20), high=DEG.to_si(115))


def opened(data: bytes, wishes: Wishes = NO_WISHES) -> object:
    """The first pass over bytes."""
    return open_table(of_bytes(data, name="run"), wanted=WANTED, wishes=wishes, ask=None)


@pytest.mark.parametrize(
    ("cells", "seconds"),
    [
        # ISO 8601, by hand: a zone two hours ahead, and Greenwich two hours earlier, are the same moment
        (["2026-05-12T12:00:00+02:00", "2026-05-12T10:00:01Z"], [0.0, 1.0]),
        (["12.05.2026 10:00:00,5", "12.05.2026 10:01:00,5"], [0.0, 60.0]),
        (["05/13/2026 00:00:00", "05/14/2026 00:00:00"], [0.0, 86_400.0]),
        (["1780000000.000001", "1780000000.500001"], [0.0, 0.5]),
        (["1780000000000", "1780000000250"], [0.0, 0.25]),
        (["0.5", "0.75"], [0.5, 0.75]),
    ],
)
def test_a_clock_is_told_in_seconds(cells: list[str], seconds: list[float]) -> None:
    clock = clock_of("when", cells, numbers=PLAIN)
    assert clock is not None
    assert clock.seconds(cells).tolist() == pytest.approx(seconds, abs=1e-6)


WHOLE = [
    (["0", "1", "2", "3"], 1.0, "its whole numbers are taken as s (--as clock=ms where they are ms)"),
    (["0", "10", "20", "30"], 1e-3, "its whole numbers are taken as ms (--as clock=s where they are s)"),
]


@pytest.mark.parametrize(("cells", "size", "said"), WHOLE)
def test_whole_numbers_without_a_unit_say_what_they_were_taken_for(
    cells: list[str], size: float, said: str
) -> None:
    clock = clock_of("t", cells, numbers=PLAIN)
    assert clock is not None
    assert (clock.size_s, clock.said) == (size, f"column 't' names no unit; {said}")
    asked = clock_of("t", cells, numbers=PLAIN, unit="ms")
    assert asked is not None
    assert asked.size_s == pytest.approx(1e-3)


STROKES = [
    (["03/04/2026 12:00:00", "04/04/2026 12:00:00"], 86_400.0, "the day first as 2026-04-03; if the month"),
    (["13/04/2026 12:00:00", "14/04/2026 12:00:00"], 86_400.0, "the day first"),
    (["03/31/2026 12:00:00", "04/01/2026 12:00:00"], 86_400.0, "the month first"),  # one rule for all rows
]


@pytest.mark.parametrize(("cells", "step", "said"), STROKES)
def test_a_date_parted_by_strokes_says_how_it_was_read(cells: list[str], step: float, said: str) -> None:
    clock = clock_of("when", cells, numbers=PLAIN)
    assert clock is not None
    assert float(np.diff(clock.seconds(cells))[0]) == step
    assert said in clock.said


def test_words_tell_no_time() -> None:
    assert clock_of("when", ["morning", "noon"], numbers=PLAIN) is None


def test_a_clock_without_a_day_goes_on_over_midnight_and_over_blocks() -> None:
    first = over_midnight(np.array([86_398.0, 86_399.0, 1.0]), last=math.nan)
    assert first.tolist() == [86_398.0, 86_399.0, 86_401.0]
    assert over_midnight(np.array([2.0, 3.0]), last=float(first[-1])).tolist() == [86_402.0, 86_403.0]


def test_faults_of_the_time_are_counted_over_blocks() -> None:
    watch = TimeWatch()
    watch.see(np.linspace(0.0, 0.99, 100), np.arange(100))
    watch.see(np.array([0.99, 0.5, 40.0]), np.array([100, 101, 102]))
    assert watch.decisions() == (
        "rows with the time of the row before: 1 (0.98 %), first line 100",
        "the time runs back 1 times, first in line 101: 2 stretches, each in its own time",
        "gaps in time: 1, the longest 39.5 s before line 102",
    )


def test_pauses_between_the_positions_of_a_bench_are_no_gaps() -> None:
    watch = TimeWatch()
    times = np.concatenate([20.0 * k + np.arange(4) * 0.01 for k in range(9)])
    watch.see(times, np.arange(len(times)))
    assert watch.decisions() == ()


def test_a_value_that_recurs_far_from_its_neighbours_is_told_and_one_on_the_way_is_not() -> None:
    sweep = np.arange(0.0, 4096.0, 16.0)
    assert suspected_marks(sweep, np.arange(len(sweep))) == ()
    sweep[[60, 100, 140]] = 3839.0  # a failed read: 0x0EFF
    assert suspected_marks(sweep, np.arange(2, len(sweep) + 2)) == (
        "3839 stands 3 times far from the readings beside it, first line 62: "
        "a mark for a failed reading, perhaps (--as missing=3839 leaves it out)",
    )


def test_the_common_divisor_is_told_and_not_the_smallest_step() -> None:
    # steps of 48 and 80 between neighbours, and all of them whole sixteens: a 12-bit code moved up by four
    column = Column(index=0, name="raw", values=np.array([16.0, 64.0, 144.0, 224.0]))
    assert column.divisor == 16
    assert column.describe() == "whole numbers from 16 to 224, all multiples of 16"


@pytest.mark.parametrize(
    ("low", "high", "names"),
    [(-20, 115, ["deg"]), (-0.35, 2.0, ["rad"]), (-0.055, 0.32, ["rad", "turn"]), (900, 1000, [])],
)
def test_a_unit_is_plausible_where_the_values_fit_the_axis(low: float, high: float, names: list[str]) -> None:
    column = Column(index=0, name="angle", values=np.linspace(low, high, 9))
    assert [unit.name for unit in plausible_units(column, WANTED)] == names


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"%PDF-1.7 table", "run: it is a PDF. Save the table as CSV."),
        (b"PAR1 nothing more", "run: it is Parquet, and damaged. Write it anew."),
        (
            b"PK\x03\x04 nothing more",
            "run: it is packed, and damaged or cut off. "
            "Save it anew as .xlsx or .ods, or save the table as CSV.",
        ),
        (b"BZh9", "run: it is packed with bzip2. Unpack it, or pack it with gzip."),
    ],
)
def test_a_file_of_another_kind_is_refused_by_its_kind(data: bytes, said: str) -> None:
    with pytest.raises(DataError) as refused:
        opened(data)
    assert str(refused.value) == said


def book(members: dict[str, str]) -> bytes:
    """A packed folder."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for name, text in members.items():
            packed.writestr(name, text)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("members", "said"),
    [
        (
            {"readings.csv": "reference,raw"},
            "run: it is a packed folder and no spreadsheet. "
            "Unpack it and name the table, or pack a single table with gzip.",
        ),
        (
            {"content.xml": '<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>'},
            "run: its tables cannot be read. Save it anew as .xlsx or .ods, or save the table as CSV.",
        ),
        ({"content.xml": "<x/>"}, "run: it is empty. Name the file with the readings."),
    ],
)
def test_a_packed_file_without_a_table_is_refused(members: dict[str, str], said: str) -> None:
    with pytest.raises(DataError) as refused:
        opened(book(members))
    assert str(refused.value) == said


def test_a_sheet_that_is_not_there_is_refused_with_those_that_are() -> None:
    data = (Path(__file__).parent / "corpus" / "03-two-sheets.xlsx").read_bytes()
    with pytest.raises(DataError) as refused:
        opened(data, Wishes(sheet="Third"))
    expected = "run: it has no sheet 'Third' with anything in it. There are: Notes, Bench, Second."
    assert str(refused.value) == expected


def test_a_long_stream_goes_through_a_file_and_can_be_read_twice() -> None:
    data = bytes(range(256)) * (160 << 10)  # 40 MB
    with of_stream(io.BytesIO(data), name="standard input") as source:
        assert source.head(300) == data[:300]
        assert source.tail(300) == data[-300:]


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(DataError, match=r"none\.csv: there is no such file\. Check the path\.$"):
        of_path(tmp_path / "none.csv").head()


@pytest.mark.parametrize(
    ("texts", "check"),
    [
        (["decimal=comma", "delimiter=tab"], lambda w: (w.decimal_comma, w.delimiter) == (True, "\t")),
        (["header=none"], lambda w: w.header == -1),
        (["turned=no", "encoding=latin-1"], lambda w: (w.turned, w.encoding) == (False, "latin-1")),
    ],
)
def test_a_wish_is_understood(texts: list[str], check: Callable[[Wishes], bool]) -> None:
    assert check(wishes_from(texts))


def test_wishes_go_before_what_the_first_pass_would_find() -> None:
    text = "a;b\n1,5;200\n2,5;300\n"
    grid = open_table(
        of_bytes(text.encode(), name="run"),
        wanted=Wanted(unit=DEG, raw_meaning="counts"),
        wishes=wishes_from(["delimiter=semicolon", "decimal=comma", "reference=1", "raw=2"]),
        ask=None,
    )
    assert (grid.columns.reference, grid.columns.raw, grid.columns.why) == (0, 1, "as was asked")
    with pytest.raises(UsageError, match="run has no column 'c'"):
        opened(text.encode(), Wishes(raw="c"))


def test_a_long_file_without_line_ends_is_refused_as_that() -> None:
    with pytest.raises(DataError) as refused:
        opened(b"1," * 600_000)
    said = "run: its first 1 MB have no line end. Name a file of lines, a row for each reading."
    assert str(refused.value) == said


SHOULDER = Wanted(
    unit=DEG, raw_meaning="counts", low=DEG.to_si(-20), high=DEG.to_si(115), raw_low=0.0, raw_high=4095.0
)
PLACES = (-20, 0, 20, 48, 70, 95, 115)
CODES = (422, 904, 1385, 2060, 2590, 3193, 3674)
ROWS = tuple(zip(PLACES, CODES, strict=True))
OHMS = "angle_deg,resistance_ohm\n" + "".join(f"{q},{c}\n" for q, c in ROWS)
SWAPPED = "raw,reference_deg\n" + "".join(f"{q - 0.5},{c}\n" for q, c in ROWS)
BLANK = "reference_deg,raw\n" + "".join(f",{c}\n" for _, c in ROWS)
MARKED = "reference_deg,raw\n" + "".join(f"{q},{c}\n{q},65535\n{q},{c}\n" for q, c in ROWS)
MOVING = "reference_deg,raw\n" + "".join(f"{q},{c}\n,{c + 150}\n,{c + 300}\n" for q, c in ROWS)
PLAINLY = {
    "ohms as the only column that is left": (
        OHMS,
        "run, column 'resistance_ohm': its name says ohm, and the rig file says that the controller shows "
        "counts. Log what the controller shows beside the reference, or mend the column's name.",
    ),
    "two columns under each other's names": (
        SWAPPED,
        "run: its columns look swapped: 'raw' holds numbers from -20.5 to 114.5, and 'reference_deg' whole "
        'numbers from 422 to 3674. Give --as "reference=raw" --as "raw=reference_deg", or mend the header.',
    ),
    "a reference that is written nowhere": (
        BLANK,
        "run, column 'reference_deg': it is empty on every line. Write there, on every line with a raw "
        "reading, where the axis really stood: measured, not where it was aimed.",
    ),
    "a reference that is written nowhere, beside the aims": (
        BLANK.replace("\n,", "\n20,,").replace("reference_deg", "aim,reference_deg"),
        "run, line 2, column 'reference_deg': it is empty, and 7 of 7 rows are like it. Write there, on "
        "every line with a raw reading, where the axis really stood: measured, not where it was aimed.",
    ),
    "a raw reading that is written nowhere": (
        "reference_deg,raw\n" + "".join(f"{q},\n" for q in PLACES),
        "run, column 'raw': it is empty on every line. Write there, on every line, what the controller "
        "showed.",
    ),
    "a mark that no converter can give": (
        MARKED,
        "run, line 3, column 'raw': 65535 stands in 7 of 21 rows, and the rig file's converter gives 0 to "
        '4095. If that stands for a failed reading, give --as "missing=65535"; otherwise '
        "correct converter.bits or converter.raw, or name another column.",
    ),
    "a reference in every third row of an axis that moves": (
        MOVING,
        "run, column 'reference_deg': it is blank in 14 of 21 rows, each below a filled one. Give "
        '--as "pair=before" (the reference above them, right only while the axis stands still).',
    ),
}


@pytest.mark.parametrize("name", PLAINLY)
def test_a_slip_that_can_be_seen_is_named_with_what_mends_it(name: str) -> None:
    text, said = PLAINLY[name]
    with pytest.raises(DataError) as refused:
        read_sheet(of_bytes(text.encode(), name="run"), wanted=SHOULDER)
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("text", "wishes", "rows"),
    [
        (SWAPPED, ["reference=raw", "raw=reference_deg"], 7),
        (MARKED, ["missing=65535"], 14),
        (MOVING, ["pair=before"], 21),
    ],
)
def test_what_the_refusal_tells_to_give_is_enough(text: str, wishes: list[str], rows: int) -> None:
    sheet = read_sheet(of_bytes(text.encode(), name="run"), wanted=SHOULDER, wishes=wishes_from(wishes))
    assert len(sheet.recording) == rows
    assert sheet.recording.raw.max() <= 4095


def test_a_reading_in_ohms_is_refused_under_whichever_column_was_asked_for() -> None:
    with pytest.raises(DataError, match="its name says ohm"):
        read_sheet(
            of_bytes(OHMS.encode(), name="run"),
            wanted=SHOULDER,
            wishes=wishes_from(["reference=angle_deg", "raw=resistance_ohm"]),
        )


def test_a_key_without_its_value_is_told_and_not_asked_back() -> None:
    with pytest.raises(UsageError, match=r"'raw' is said without its value. Write --as raw=VALUE."):
        wishes_from(["raw"])
