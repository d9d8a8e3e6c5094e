"""A simulated table written in a dialect drawn by chance is read back as it was written."""

import csv
import gzip
import io
import json
import math
import os
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from anglewright.quantities.units import UNITS
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import read_sheet
from anglewright.tables.source import of_bytes
from anglewright.tables.wishes import wishes_from

WANTED = Wanted(
    unit=UNITS["deg"],
    raw_meaning="counts",
    low=math.radians(-90),
    high=math.radians(90),
    raw_low=0,
    raw_high=4095,
)
EXAMPLES = 2000 if os.environ.get("ANGLEWRIGHT_LONG") else 100
PHASES = [Phase.explicit, Phase.reuse, Phase.generate, Phase.shrink]
MARK_CODE = 3839
"""A code that stands for a failed reading; no true reading of these tables has it."""
ENDS = [(-80.0, 0x0ABC), (80.0, 0x0F0D)]
"""In every table: they cover the axis, and their codes are hexadecimal by their letters."""

angles = st.integers(min_value=-9000, max_value=9000).map(lambda n: n / 100)
codes = st.integers(min_value=0, max_value=4095).filter(lambda code: code != MARK_CODE)
tables = st.lists(st.tuples(angles, codes), min_size=1, max_size=30).map(lambda rows: [*ENDS, *rows])
Columns = dict[str, list[str]]


@dataclass(frozen=True, slots=True)
class Expected:
    """What must be read from a file, the cells it has lost, and what must be said about it."""

    degrees: list[float]
    codes: list[int]
    times: list[float] | None
    lost: int
    wishes: tuple[str, ...] = ()


REFERENCES = {
    "deg": ("reference_deg", "Angle/deg", "Angle (deg)", "true position [deg]", "ref", "Winkel deg"),
    "rad": ("reference_rad", "Angle/rad", "Angle (rad)"),
    "turn": ("reference_turn", "angle [turn]"),
}
RAWS = ("raw", "counts", "ADC", "Raw reading", "/shoulder/raw")
TIMES = {"s": ("time_s", "Time/s", "t (s)"), "ms": ("t_ms", "millis"), "iso": ("timestamp", "Date time")}


@st.composite
def columns(draw: st.DrawFn) -> tuple[Columns, Expected]:
    """Columns of texts with decimal points, and what they say."""
    rows = draw(tables)
    places = st.sets(st.integers(len(ENDS), len(rows) - 1), max_size=len(rows) // 4)
    holes, marks = draw(places), draw(places)
    unit, clock = draw(st.sampled_from(list(REFERENCES))), draw(st.sampled_from(["", *TIMES]))
    times = [0.25 * k for k in range(len(rows))]
    found = {draw(st.sampled_from(TIMES[clock])): [told(time, clock) for time in times]} if clock else {}
    found[draw(st.sampled_from(REFERENCES[unit]))] = in_unit([angle for angle, _ in rows], unit)
    found[draw(st.sampled_from(RAWS))] = raw = draw(raws([code for _, code in rows], marks))
    for hole in holes:
        raw[hole] = ""
    if draw(st.booleans()):
        found["note"] = [("", "ok", "hub")[k % 3] for k in range(len(rows))]
    kept = [k for k in range(len(rows)) if k not in holes | marks]
    return {name: found[name] for name in draw(st.permutations(list(found)))}, Expected(
        degrees=[rows[k][0] for k in kept],
        codes=[rows[k][1] for k in kept],
        times=[times[k] for k in kept] if clock else None,
        lost=len(holes),
        wishes=(f"missing={MARK_CODE}",) if marks - holes else (),
    )


def in_unit(degrees: list[float], unit: str) -> list[str]:
    """Angles as texts in a unit."""
    size = UNITS[unit].size / UNITS["deg"].size
    return [f"{angle:.2f}" if unit == "deg" else f"{angle / size:.12f}" for angle in degrees]


@st.composite
def raws(draw: st.DrawFn, codes: list[int], marks: set[int]) -> list[str]:
    """Codes as texts in one of the forms that programs print, some of them a mark for a failed reading."""
    form = draw(st.sampled_from(["{}", "{}.0", "0x{:X}", "{:04X}", "{:e}"]))
    return [form.format(MARK_CODE if k in marks else code) for k, code in enumerate(codes)]


def told(time: float, clock: str) -> str:
    if clock == "iso":
        return f"2026-05-12T10:{int(time) // 60:02}:{time % 60:06.3f}"
    return f"{time:.3f}" if clock == "s" else f"{1e3 * time:.0f}"


@st.composite
def delimited(draw: st.DrawFn, table: Columns) -> str:
    """Lines of cells, with all that may stand around and between them."""
    comma = draw(st.booleans())
    mark = draw(st.sampled_from([";", "\t"] if comma else [",", ";", "\t", ", ", ",  "]))
    quoted = draw(st.booleans())
    spacer = draw(st.booleans())
    rows = [list(table), *map(list, zip(*table.values(), strict=True))]
    stream = io.StringIO()
    writer = csv.writer(
        stream, delimiter=mark[0], quoting=csv.QUOTE_ALL if quoted else csv.QUOTE_MINIMAL, lineterminator="\n"
    )
    for number, row in enumerate(rows):
        cells = [cell.replace(".", ",") if comma and number else cell for cell in row]
        writer.writerow([*cells, *[""] * spacer])
    lines = [
        line.replace(mark[0], mark) if len(mark) > 1 else line for line in stream.getvalue().splitlines()
    ]
    above = draw(st.sampled_from([[], ["# simulated"], ["# simulated", "#"], ["Bench, the window side"]]))
    return "\n".join([*above, *draw(disturbed(lines))])


@st.composite
def disturbed(draw: st.DrawFn, lines: list[str]) -> list[str]:
    """Lines with a comment, a blank line or the header once more among them."""
    place = draw(st.integers(3, len(lines)))
    extra = draw(st.sampled_from([[], ["# the hub was warm"], [""], [lines[0]], ["", "# again", lines[0]]]))
    return [*lines[:place], *extra, *lines[place:]]


@st.composite
def barred(draw: st.DrawFn, table: Columns) -> str:
    """A table as it stands in a page of notes."""
    rule = draw(st.sampled_from(["---", ":--", "--:"]))
    rows = [list(table), [rule] * len(table), *map(list, zip(*table.values(), strict=True))]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)


@st.composite
def turned(draw: st.DrawFn, table: Columns) -> str:
    """A line for each variable."""
    mark = draw(st.sampled_from([",", ";", "\t"]))
    return "\n".join(mark.join([name, *cells]) for name, cells in table.items())


@st.composite
def documented(draw: st.DrawFn, table: Columns) -> str:
    """JSON in one of its forms, numbers bare where they may be."""
    names = list(table)
    rows = [list(row) for row in zip(*map(bare, table.values()), strict=True)]
    records = [dict(zip(names, row, strict=True)) for row in rows]
    form = draw(st.sampled_from(["list", "within", "lines", "columns", "rows"]))
    if form == "lines":
        return "\n".join(json.dumps(record) for record in records)
    if form == "columns":
        return json.dumps({name: [row[k] for row in rows] for k, name in enumerate(names)})
    if form == "rows":
        return json.dumps([names, *rows])
    return json.dumps({"simulated": True, "data": records} if form == "within" else records)


def bare(cells: list[str]) -> list[float | str | None]:
    """Cells of a column as JSON has them: numbers where all are some."""
    try:
        return [float(cell) if cell else None for cell in cells]
    except ValueError:
        return [*cells]


WAYS: dict[str, Callable[[Columns], st.SearchStrategy[str]]] = {
    "delimited": delimited,
    "barred": barred,
    "turned": turned,
    "documented": documented,
}


@st.composite
def files(draw: st.DrawFn, way: str) -> tuple[bytes, Expected]:
    """A file in a dialect, and what must be read from it."""
    table, expected = draw(columns())
    text = draw(WAYS[way](table))
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    text = text.replace("\n", end) + draw(st.sampled_from(["", end, end + end]))
    codec = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"]))
    data = text.encode(codec)
    if way == "turned":
        expected = replace(expected, wishes=(*expected.wishes, "turned=yes"))
    return gzip.compress(data, mtime=0) if draw(st.booleans()) else data, expected


@pytest.mark.slow
@pytest.mark.parametrize("way", WAYS)
@settings(max_examples=EXAMPLES, phases=PHASES, report_multiple_bugs=False)
@given(data=st.data())
def test_a_table_in_any_dialect_is_read_back(way: str, data: st.DataObject) -> None:
    content, expected = data.draw(files(way))
    sheet = read_sheet(of_bytes(content, name="table"), wanted=WANTED, wishes=wishes_from(expected.wishes))
    recording = sheet.recording
    assert recording.reference is not None
    assert [math.degrees(q) for q in recording.reference] == pytest.approx(expected.degrees, abs=1e-8)
    assert recording.raw.tolist() == expected.codes
    assert sheet.refused_cells == expected.lost
    if expected.times is None:
        assert recording.time_s is None
    else:
        assert recording.time_s is not None
        assert recording.time_s.tolist() == pytest.approx(expected.times, abs=1e-6)
