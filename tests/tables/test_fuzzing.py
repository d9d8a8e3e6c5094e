"""A fuzzer led by the lines of the reader that an input runs through: no traceback, no hang.

It begins with the corpus, changes a file, reads it, and keeps the change where the reader went a way that
it had not gone before.
"""

import _thread
import contextlib
import dataclasses
import gzip
import inspect
import io
import math
import random
import sys
import threading
import time
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.errors import AnglewrightError
from anglewright.quantities.units import UNITS
from anglewright.tables.blocks import TextBody
from anglewright.tables.opening import open_table
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import Reader, open_sheet
from anglewright.tables.source import of_bytes
from anglewright.tables.text import sample_of
from anglewright.tables.wishes import NO_WISHES, Ask, Question, wishes_from

CORPUS = Path(__file__).parent / "corpus"
ROOM = str(Path(inspect.getfile(sample_of)).parent)
LONGEST = 2500  # bytes of a file that is changed further
LIMIT_S = 20.0  # that one input may take
PATIENCE, SELDOM = 100, 50  # calls of a function that are all followed, and one in so many after them
WANTED = Wanted(
    unit=UNITS["deg"],
    raw_meaning="counts",
    low=math.radians(-20.0),
    high=math.radians(115.0),
    raw_low=0,
    raw_high=4095,
)
SEEDS = [
    path.read_bytes()
    for path in sorted(CORPUS.iterdir())
    if path.stat().st_size < LONGEST and path.name != ".gitattributes"
]
TOKENS = [
    *(b"\n", b"\r\n", b"\r", b",", b";", b"\t", b" ", b"|", b'"', b"#", b"%", b"=", b":", b"'", b"\\"),
    *(b"[", b"]", b"{", b"}", b"(", b")", b"[[", b"null", b"true", b"NaN", b"1e999", b"[1,2]", b'"a":'),
    *(
        b"-",
        b"+",
        b".",
        b"0",
        b"1",
        b"0x",
        b"0x1F",
        b"03D4",
        b"e9",
        b"1,5",
        b"1.5",
        b"12 %",
        b"3839",
        b"-0.0",
    ),
    *(b"deg", b"raw", b"reference", b"time", b"up", b"down", b"ms", b"rad", b"mm", b"volts", b"ERR"),
    *(b"2026-05-12T10:00:00", b"23:59:59.9", b"99:99", b"1780000000", b"arm: ", b"// ", b"--", b"|---|"),
    *(b"\0", b"\xff", b"\xff\xfe", b"\xef\xbb\xbf", "\u2212".encode(), "\u0663".encode(), b"\xb0", b"\x85"),
    *(b'"1;2;3"', b"9" * 30, b",,,,,", b"\n\n", b"<row/>", b"&a;", b't="s"', b"A1", b"4294967296"),
]
WISHES = [
    *("delimiter=comma", "delimiter=blank", "delimiter=bar", "decimal=comma", "decimal=point", "header=none"),
    *("header=1", "header=3", "turned=yes", "turned=no", "raw=2", "raw=1", "reference=1", "reference=raw"),
    *("time=none", "time=1", "side=3", "unit=rad", "unit=turn", "clock=ms", "comment=1", "missing=422,NA"),
    *("pair=before", "encoding=utf-16-le", "encoding=latin-1", "encoding=shift-jis", "sheet=Bench"),
]


class Trail:
    """The ways through the reader: each line of it with the line that was run before in the same call.

    A function that has shown nothing new for many calls is followed in few of them, to save time.
    """

    def __init__(self) -> None:
        self.seen: set[tuple[CodeType, int, int]] = set()
        self._calls: dict[CodeType, float] = {}
        self.fresh = False

    def took_fresh(self) -> bool:
        """Whether there was something new since this was last asked."""
        fresh, self.fresh = self.fresh, False
        return fresh

    @contextlib.contextmanager
    def followed(self) -> Iterator[None]:
        """Follow what is run within, and keep in `fresh` whether any of it is new."""
        before = sys.gettrace()
        sys.settrace(self._called)
        try:
            yield
        finally:
            sys.settrace(before)

    def _called(self, frame: FrameType, event: str, arg: object) -> Callable[..., Any] | None:
        code, last = frame.f_code, 0
        calls = self._calls[code] = self._calls[code] + 1 if code in self._calls else self._first(code)
        if calls < 0 or (calls > PATIENCE and calls % SELDOM):
            return None
        seen = self.seen

        def stepped(frame: FrameType, event: str, arg: object) -> Callable[..., Any]:
            nonlocal last
            if event == "line":
                way = (code, last, frame.f_lineno)
                last = frame.f_lineno
                if way not in seen:
                    seen.add(way)
                    self._calls[code] = 0
                    self.fresh = True
            return stepped

        return stepped

    @staticmethod
    def _first(code: CodeType) -> float:
        """Begin to count the calls of a function, outside the reader at minus infinity."""
        return 1.0 if code.co_filename.startswith(ROOM) else -math.inf


class Watchdog:
    """Breaks off what takes too long, even within one regular expression."""

    def __init__(self) -> None:
        self._since, self._ended = math.inf, threading.Event()
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def __enter__(self) -> "Watchdog":
        self._thread.start()
        return self

    def __exit__(self, *fault: object) -> None:
        self._ended.set()
        self._thread.join()

    def _watch(self) -> None:
        while not self._ended.wait(0.5):
            if time.monotonic() - self._since > LIMIT_S:
                self._since = math.inf
                _thread.interrupt_main()

    @contextlib.contextmanager
    def limited(self, data: bytes) -> Iterator[None]:
        """Hold what is run within to the limit."""
        self._since = time.monotonic()
        try:
            yield
        except KeyboardInterrupt:
            if self._since < math.inf:
                raise  # a person's own
            pytest.fail(f"over {LIMIT_S} s for {data!r}")
        finally:
            self._since = math.inf


def wounded(data: bytes, other: bytes, rng: random.Random) -> bytes:
    """A file changed within, also where it is packed."""
    if data.startswith(b"\x1f\x8b") and rng.random() < 0.9:
        with contextlib.suppress(EOFError, OSError, zlib.error):
            return gzip.compress(wounded(gzip.decompress(data), other, rng), 1)
    if data.startswith(b"PK") and rng.random() < 0.9:
        with contextlib.suppress(zipfile.BadZipFile, EOFError, RuntimeError, ValueError, OSError, zlib.error):
            return repacked(data, other, rng)
    for _ in range(rng.choice((1, 1, 2, 4))):
        data = rng.choice(CHANGES)(data, other, rng)
    return data


def repacked(data: bytes, other: bytes, rng: random.Random) -> bytes:
    """A spreadsheet with one of its parts changed."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    name = rng.choice(list(parts))
    parts[name] = wounded(parts[name], other, rng)
    if rng.random() < 0.05:
        del parts[name]
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as book:
        for each, content in parts.items():
            book.writestr(each, content)
    return stream.getvalue()


def _token(data: bytes, other: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data) + 1)
    return data[:start] + rng.choice(TOKENS) + data[start + rng.choice((0, 0, 1, 3)) :]


def _lost(data: bytes, other: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data) + 1)
    return data[:start] + data[start + rng.choice((1, 2, 8, 40)) :]


def _taken(data: bytes, other: bytes, rng: random.Random) -> bytes:
    start, there = rng.randrange(len(data) + 1), rng.randrange(len(other) + 1)
    return data[:start] + other[there : there + rng.choice((4, 20, 100))] + data[start:]


def _byte(data: bytes, other: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(data) + 1)
    return data[:start] + rng.randbytes(1) + data[start + 1 :]


def _lines(data: bytes, other: bytes, rng: random.Random) -> bytes:
    lines, more = data.split(b"\n"), other.split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[one] = rng.choice((lines[two], rng.choice(more), b"", lines[one] + b"\n" + lines[one]))
    return b"\n".join(lines)


def _swapped(data: bytes, other: bytes, rng: random.Random) -> bytes:
    """One mark made another throughout."""
    return data.replace(rng.choice(TOKENS[:20]), rng.choice(TOKENS[:20]))


def _again(data: bytes, other: bytes, rng: random.Random) -> bytes:
    return data + rng.choice((data, other, data[-40:]))


def _recoded(data: bytes, other: bytes, rng: random.Random) -> bytes:
    text = data.decode("utf-8", "replace")
    return text.encode(rng.choice(("utf-16", "utf-16-le", "utf-16-be", "latin-1", "utf-8-sig")), "replace")


def _packed(data: bytes, other: bytes, rng: random.Random) -> bytes:
    return gzip.compress(data, 1)


CHANGES = [*[_token] * 6, *[_lost] * 3, *[_taken] * 2, *[_byte] * 2, *[_lines] * 3, _swapped, _again]
RARE = [_recoded, _packed]


def said_of(data: bytes, wishes: list[str], ask: Ask | None) -> bool:
    """Whether a file was read; a refusal must be a sentence with a remedy."""
    try:
        sheet = open_sheet(of_bytes(data, name="run"), wanted=WANTED, wishes=wishes_from(wishes), ask=ask)
        recording = sheet.whole().recording
    except AnglewrightError as fault:
        for problem in fault.problems:
            assert problem.remedy, str(problem)
            assert "\n" not in str(problem), repr(str(problem))
        return False
    assert len(recording) > 0
    return True


@pytest.mark.slow
def test_a_fuzzer_led_by_the_lines_it_reaches_finds_no_traceback_and_no_hang(long: bool) -> None:
    rng, trail = random.Random(11), Trail()
    inputs, parsed = 200_000 if long else 2_000, 0
    pools: dict[bool, list[bytes]] = {True: [], False: []}

    def answer(question: Question) -> str:
        return rng.choice(question.answers)[0]

    with Watchdog() as dog:
        for data in SEEDS:
            with dog.limited(data), trail.followed():
                read = said_of(data, [], None)
            pools[read].append(data)
        began = len(trail.seen)
        for _ in range(inputs):
            pool = pools[rng.random() < 0.85]
            chosen = min(rng.choice(pool), rng.choice(pool), key=len)  # short ones are read sooner
            data = wounded(chosen, rng.choice(SEEDS), rng)
            if rng.random() < 0.03:
                data = rng.choice(RARE)(data, data, rng)
            wishes = rng.sample(WISHES, rng.choice((1, 1, 2))) if rng.random() < 0.1 else []
            follow = trail.followed() if rng.random() < 0.5 else contextlib.nullcontext()
            with dog.limited(data), follow:
                read = said_of(data, wishes, answer if rng.random() < 0.3 else None)
            parsed += read
            if trail.took_fresh() and len(data) < LONGEST:
                pools[read].append(data)
    assert len(trail.seen) > began
    assert parsed >= inputs / 2


def read_by_blocks(data: bytes, *, by_engine: bool, size: int) -> Reader | None:
    """Lines of text on their way through blocks of a size, None where the file is of another kind."""
    source = of_bytes(data, name="run")
    opened = open_table(source, wanted=WANTED, wishes=NO_WISHES, ask=None)
    if opened.grid.place != "line":
        return None
    header = opened.columns.header
    body = TextBody(
        sample=sample_of(source, source.head(), whole=True),
        after=opened.grid.rows[header.begin - 1].line if header.begin else 0,
        columns=tuple(range(len(header.forms))),
        by_engine=by_engine and not header.forms[opened.columns.raw].listed,
        size=size,
    )
    return Reader(dataclasses.replace(opened, body=body), wishes=NO_WISHES, wanted=WANTED)


def outcome(reader: Reader | None) -> tuple[object, ...] | None:
    """What a reader makes of a file: rows and their lines, or none."""
    if reader is None:
        return None
    try:
        sheet = reader.whole()
    except AnglewrightError:
        return ()
    recording = sheet.recording
    assert recording.reference is not None
    assert recording.lines is not None
    columns = (recording.raw, recording.reference, recording.lines)
    return (*(column.tolist() for column in columns), sheet.refused_cells)


@pytest.mark.slow
def test_a_damaged_file_reads_alike_by_the_engine_in_blocks_and_in_memory(long: bool) -> None:
    rng, compared = random.Random(5), 0
    short = [data for data in SEEDS if len(data) < 400]
    for _ in range(20_000 if long else 300):
        data = wounded(rng.choice(short), rng.choice(short), rng)
        try:
            whole = outcome(open_sheet(of_bytes(data, name="run"), wanted=WANTED))
        except AnglewrightError:
            continue
        for by_engine in (True, False):
            found = outcome(read_by_blocks(data, by_engine=by_engine, size=rng.choice((20, 60, 1000))))
            assert found in (None, whole), data
            compared += found is not None
    assert compared > 200


@pytest.mark.parametrize(
    "line",
    [
        b'0,35",9\n',  # quotes that stand alone, within a cell, and in pairs within cells
        b'"70","2590"5"95","3193"\n',
        b'12",5"\n',
        b"-20\r,422\n",
        b'"70", "2590"\n',
    ],
)
def test_where_quotes_stand_oddly_the_engine_and_memory_agree(line: bytes) -> None:
    data = b"reference_deg,raw\n" + b"10,100\n20,200\n30,300\n" * 5 + line + b"40,400\n50,500\n" * 5
    whole = outcome(open_sheet(of_bytes(data, name="run"), wanted=WANTED))
    assert whole
    assert outcome(read_by_blocks(data, by_engine=True, size=1000)) == whole


def used_or_refused(data: bytes) -> None:
    """Read bytes, or see them refused in sentences."""
    said_of(data, [], None)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    used_or_refused(data)


@given(st.text(alphabet='0123456789.,;:-+eE"#|[](){}= \t\nrawdeg%_TZ', max_size=200))
def test_any_signs_of_a_table_are_read_or_refused(text: str) -> None:
    used_or_refused(text.encode())


LONG_LINES = [b"1,", b";1", b"a=1 ", b"- ", b'",', b"[1,", b"abc ", b"0x", b"1e", b"(", b"-20,422\r", b"1\n"]


@pytest.mark.slow
@pytest.mark.parametrize("piece", LONG_LINES)
def test_a_file_of_one_thing_again_and_again_is_refused_soon(piece: bytes) -> None:
    data = (piece * 100_000)[:200_000] + b"\n"
    with Watchdog() as dog, dog.limited(data[:40]):
        assert not said_of(data, [], None)
