"""A table written in any dialect is read back, and any bytes are read or refused with a sentence."""

import math
import random
import re
import time
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from anglewright.errors import AnglewrightError
from anglewright.quantities.units import UNITS
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import read_sheet
from anglewright.tables.source import of_bytes

CORPUS = Path(__file__).parent / "corpus"
WANTED = Wanted(
    unit=UNITS["deg"],
    raw_meaning="counts",
    low=math.radians(-90),
    high=math.radians(90),
    raw_low=0,
    raw_high=4095,
)
SEEDS = [path.read_bytes() for path in sorted(CORPUS.iterdir()) if path.stat().st_size < 4000]

angles = st.integers(min_value=-9000, max_value=9000).map(lambda n: n / 100)
tables = st.lists(st.tuples(angles, st.integers(min_value=0, max_value=4095)), min_size=3, max_size=30)
encodings = st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"])


@st.composite
def dialects(draw: st.DrawFn) -> tuple[list[tuple[float, int]], bytes]:
    """A table and its text in a dialect drawn by chance."""
    rows = draw(tables)
    comma = draw(st.booleans())
    mark = draw(st.sampled_from([";", "\t"] if comma else [",", ";", "\t", " ", ", ", " | "]))
    quote = draw(st.sampled_from(["", '"'] if mark in (",", ";", "\t") else [""]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    head = draw(st.sampled_from([("reference_deg", "raw"), ("Angle/deg", "counts"), ("ref_deg", "adc")]))
    above = draw(st.sampled_from(["", "# simulated" + end, "# a" + end + "# b, c" + end]))
    lines = [mark.join(quote + cell + quote for cell in head)]
    for angle, code in rows:
        text = f"{angle:.2f}".replace(".", "," if comma else ".")
        lines.append(mark.join(quote + cell + quote for cell in (text, str(code))))
    last = end if draw(st.booleans()) else ""
    return rows, (above + end.join(lines) + last).encode(draw(encodings))


@pytest.mark.slow
@settings(max_examples=200, deadline=None)
@given(dialects())
def test_a_table_in_any_dialect_is_read_back(written: tuple[list[tuple[float, int]], bytes]) -> None:
    rows, data = written
    sheet = read_sheet(of_bytes(data, name="table"), wanted=WANTED)
    reference = sheet.recording.reference
    assert reference is not None
    assert [math.degrees(q) for q in reference] == pytest.approx([q for q, _ in rows], abs=1e-9)
    assert sheet.recording.raw.tolist() == [code for _, code in rows]
    assert sheet.refused == ()


def used_or_refused(data: bytes) -> None:
    """Read bytes, or see them refused in sentences that name a remedy."""
    try:
        sheet = read_sheet(of_bytes(data, name="run"), wanted=WANTED)
    except AnglewrightError as fault:
        for problem in fault.problems:
            assert str(problem).endswith((".", ")", "?"))
            assert problem.remedy
        return
    assert len(sheet.recording) > 0


FUZZ = settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@FUZZ
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    used_or_refused(data)


PIECES = st.one_of(
    st.binary(max_size=8),
    st.sampled_from(
        [b"\n", b"\r", b",", b";", b'"', b"\t", b"[", b"{", b"1", b"-", b"#", b"\0", b"\xff\xfe", b"e9"]
    ),
)


@pytest.mark.slow
@FUZZ
@given(st.sampled_from(SEEDS), st.lists(st.tuples(st.floats(0, 1), st.integers(0, 9), PIECES), max_size=6))
def test_a_damaged_file_of_the_corpus_is_read_or_refused(
    data: bytes, wounds: list[tuple[float, int, bytes]]
) -> None:
    for place, lost, piece in wounds:
        start = int(place * len(data))
        data = data[:start] + piece + data[start + lost :]
    used_or_refused(data)


@FUZZ
@given(st.text(alphabet='0123456789.,;:-+eE"#|[](){}= \t\nrawdeg%_TZ', max_size=200))
def test_any_signs_of_a_table_are_read_or_refused(text: str) -> None:
    used_or_refused(text.encode())


SENTENCE = re.compile(r"'[^']*'|[-+.\d]+|run[^:]*")


def wounded(data: bytes, other: bytes, rng: random.Random) -> bytes:
    """A file with a piece lost, doubled, changed, or taken from another."""
    start = rng.randrange(len(data) + 1)
    end = min(len(data), start + rng.choice((0, 1, 2, 8, 40)))
    piece = rng.choice(
        (b"", data[start:end] * 2, rng.randbytes(2), other[start:end], b"\n", b",", b";", b'"')
    )
    return data[:start] + piece + data[end:]


def said_of(data: bytes) -> tuple[bool, frozenset[str]]:
    """Whether a file was read, and the kinds of sentences that were said about it."""
    try:
        sheet = read_sheet(of_bytes(data, name="run"), wanted=WANTED)
    except AnglewrightError as fault:
        return False, frozenset(SENTENCE.sub("", str(problem)) for problem in fault.problems)
    return True, frozenset(SENTENCE.sub("", text) for text in (*sheet.decisions, sheet.why))


@pytest.mark.slow
def test_a_fuzzer_led_by_what_the_reader_says_finds_no_traceback_and_no_hang(long: bool) -> None:
    rng, pool, seen = random.Random(7), list(SEEDS), set[frozenset[str]]()
    inputs, parsed, longest = 200_000 if long else 2_000, 0, 0.0
    for _ in range(inputs):
        data = wounded(rng.choice(pool), rng.choice(pool), rng)
        start = time.perf_counter()
        read, said = said_of(data)
        longest = max(longest, time.perf_counter() - start)
        parsed += read
        if said not in seen and len(data) < 4000:  # it led somewhere new: go on from there
            seen.add(said)
            pool.append(data)
    assert parsed >= inputs / 2
    assert longest < 5.0
