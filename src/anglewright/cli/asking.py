"""What is typed: answers to the questions of a new rig, and readings of a calibration."""

import argparse
import math
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from anglewright.errors import AnglewrightError, DataError, Problem, UsageError
from anglewright.jobs.answers import ALONG, ROUND, Answers, Reach, held, held_error, held_reach
from anglewright.tables.wishes import Question

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from anglewright.rig import Axis

TypedRow = tuple[float | str, float, str]
SIDES = {"up": "up", "down": "down", "u": "up", "d": "down", "": ""}
_RANGE = re.compile(r"(.+?)\s+to\s+(.+)", re.IGNORECASE)
_FROM_TO = "From where to where (or endless)"
_FITS = "what fits"
_PARTED = re.compile(r"\s*;\s*|,\s+|\s+,")
_NAME = re.compile(r"[^\W\d][\w -]*")
_REMEDY = "Write the reference, the raw reading, and up or down: 47.5 2048 up."
_MOST_SHOWN = 10  # lines that are no readings and are shown [1]


def ask_for(options: argparse.Namespace) -> Answers:
    """The answers, from options where they are given, else asked for; at a terminal a slip is asked again.

    Raises
    ------
    UsageError
        An answer cannot be read, or the input ended before the last one that is needed.
    """
    from anglewright.jobs.sorts import brings_a_drive

    moves = options.moves or _ask("What moves? A short name", "shoulder", option="--moves")
    low, high, endless = _ends(options)
    reach = held_reach(low, high, endless=endless)
    error = options.error or _ask(
        "How exact must it be",
        "1 deg" if reach.rotary else "3 mm",
        option="--error",
        check=lambda text: held_error(text, reach),
    )
    sensor = _sensor(options, reach, endless=endless)
    said = bool(options.ratio or options.drive) or brings_a_drive(sensor)
    return Answers(
        moves=moves,
        low=low,
        high=high,
        error=error,
        sensor=sensor,
        ratio=options.ratio or "",
        drive=(options.drive or "") if said else _drive(reach),
        endless=endless,
        marks=tuple(options.marks),
    )


def _ends(options: argparse.Namespace) -> tuple[str, str, bool]:
    """Both ends of the motion, and whether it has none."""
    low, high, endless = options.low, options.high, options.endless
    if low is None and high is None:
        usual = "0 deg to 90 deg"
        text = "" if endless else _ask(_FROM_TO, usual, option="--from and --to", check=_check_range)
        endless = endless or text.strip().lower() == "endless"
        low, high = ROUND if endless else _range(text)
    low = low or _ask("From which position", "0 deg", option="--from", check=_check_end)
    high = high or _ask("To which position", "90 deg", option="--to", check=lambda to: held_reach(low, to))
    return low, high, endless


def _check_range(text: str) -> None:
    """Refuse what is no range; one end alone, and the word endless, are fine."""
    low, high = _range(text)
    if text.strip().lower() != "endless":
        _check_end(low) if high is None else held_reach(low, high)


def _check_end(text: str) -> None:
    held(text, kinds=ALONG, where="from")


def _sensor(options: argparse.Namespace, reach: Reach, *, endless: bool) -> str:
    """The sort of sensor."""
    from anglewright.jobs.sorts import WORDS, sort_named
    from anglewright.rigfile.kinds import kinds_in

    if options.sensor:
        return str(options.sensor)
    known = ", ".join([*kinds_in("sensor"), *WORDS])
    usual = "magnetic" if endless else "potentiometer" if reach.rotary else "ten-turn"
    question = f"Which kind of sensor ({known})"
    return _ask(question, usual, option="--sensor", check=sort_named)


def _drive(reach: Reach) -> str:
    """What turns the sensor; empty where it is left to the program."""
    from anglewright.jobs.drafting import turned
    from anglewright.jobs.turnedby import WORDS

    question = "Turns of the sensor per turn of the axis, or teeth as 48:24"
    if not reach.rotary:
        question = f"What turns the sensor ({WORDS})"

    def check(text: str) -> None:
        if text != _FITS:
            turned(text, reach)

    try:
        words = _ask(question, _FITS, option="--drive", check=check)
    except EndOfAnswersError:
        return ""
    return "" if words == _FITS else words


def _range(text: str) -> tuple[str, str | None]:
    """Both ends of ``-20 deg to 115 deg``; one alone is the lower, and the upper is asked for."""
    ends = _RANGE.fullmatch(text)
    return (ends[1], ends[2]) if ends else (text, None)


class EndOfAnswersError(UsageError):
    """The input ended before an answer."""


def _ask(question: str, usual: str, *, option: str, check: Callable[[str], object] = str) -> str:
    """One question on the terminal; an empty answer takes the usual one, a slip is asked again."""
    while True:
        print(f"{question} [{usual}]: ", end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            print(file=sys.stderr)
            remedy = f"Answer it, with an empty line for '{usual}', or give {option}."
            raise EndOfAnswersError(Problem("new", f"'{question}' was not answered", "", remedy))
        text = line.strip() or usual
        try:
            check(text)
        except UsageError as fault:
            if not sys.stdin.isatty():
                raise
            print(f"anglewright: {fault}", file=sys.stderr)
        else:
            return text


def typed_rows(axis: "Axis") -> tuple[TypedRow, ...]:
    """Readings typed a line each, until an empty line or the end: reference, raw, side.

    On a terminal a line that is no reading of the axis is asked for again, so that nothing typed before is
    lost.

    Raises
    ------
    DataError
        From a pipe, lines that are no readings; they are shown together.
    """
    from anglewright.jobs.typedrow import problem_of

    if sys.stdin.isatty():
        print("REFERENCE|MARK RAW [up|down], one reading a line; an empty line ends.", file=sys.stderr)
    rows, problems = [], []
    for number, line in enumerate(sys.stdin, 1):
        if not line.strip():
            break
        row, where = typed_row(line), f"typed line {number}"
        if row is None:
            problem = Problem(where, f"'{line.strip()}' is no reading", "", _REMEDY)
        else:
            wrong = problem_of(axis, row, where=where)
            if wrong is None:
                rows.append(row)
                continue
            problem = wrong
        if sys.stdin.isatty():
            print(f"anglewright: {problem} Type it again.", file=sys.stderr)
        else:
            problems.append(problem)
    if problems:
        raise DataError(problems[:_MOST_SHOWN])
    return tuple(rows)


@contextmanager
def not_lost(rows: Sequence[TypedRow]) -> Iterator[None]:
    """Show what was typed at a terminal where it could not be used in the end, so that it can be kept."""
    try:
        yield
    except AnglewrightError:
        if rows and sys.stdin.isatty():
            print("What was typed, as the rows of a file:\nreference,raw,approach", file=sys.stderr)
            for at, raw, side in rows:
                place = at if isinstance(at, str) else f"{at:.10g}"
                print(f"{place},{raw:.10g},{side}", file=sys.stderr)
        raise


def typed_lines(check: Callable[[Sequence[str]], object]) -> tuple[str, ...]:
    """Lines typed until an empty one or the end; at a terminal what `check` refuses is asked again."""
    if sys.stdin.isatty():
        print("CHECK READING, one a line, such as feed-alone 3.29 V; an empty line ends.", file=sys.stderr)
    lines = []
    for line in sys.stdin:
        if not line.strip():
            break
        lines.append(line.strip())
        if sys.stdin.isatty():
            try:
                check(lines)
            except AnglewrightError as fault:
                lines.pop()
                print(f"anglewright: {fault} Type it again.", file=sys.stderr)
    return tuple(lines)


def at_a_terminal() -> bool:
    """Whether there is a person who can be asked."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def agrees(question: str) -> bool:
    """Whether a person at a terminal says yes; without a terminal nobody does."""
    if not at_a_terminal():
        return False
    print(f"{question} [y/N]: ", end="", file=sys.stderr, flush=True)
    return sys.stdin.readline().strip().lower() in ("y", "yes")


def choose_one(question: Question) -> str:
    """One of the answers to a question about a file, by its number on the terminal.

    Raises
    ------
    UsageError
        The input ended before an answer.
    """
    print(f"{question.where}: {question.found}.", file=sys.stderr)
    for number, (answer, meaning) in enumerate(question.answers, 1):
        print(f"  {number}  {answer}  ({meaning})", file=sys.stderr)
    while True:
        print(f"{question.asks} [1-{len(question.answers)}]: ", end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            print(file=sys.stderr)
            raise UsageError(question.problem())
        if line.strip().isdecimal() and 1 <= int(line) <= len(question.answers):
            return question.answers[int(line) - 1][0]


def typed_row(line: str) -> TypedRow | None:
    """Reference or the name of a mark, raw and side of a typed line, None where it is no reading.

    Examples
    --------
    Cells parted by blanks, commas or semicolons; beside blanks or semicolons a comma is a decimal mark:

    >>> typed_row("47.5, 2048, up"), typed_row("47,5 2048 d"), typed_row("47.5")
    ((47.5, 2048.0, 'up'), (47.5, 2048.0, 'down'), None)
    >>> typed_row("pin 2048 up"), typed_row("low stop 431")
    (('pin', 2048.0, 'up'), ('low stop', 431.0, ''))
    """
    cells = _PARTED.sub(" ", line.replace("\u2212", "-")).split()
    if len(cells) == 1:
        cells = cells[0].split(",")
    side = SIDES.get(cells[-1].lower()) if len(cells) > 2 else None
    name, raw = " ".join(cells[: -2 if side is not None else -1]), cells[-2 if side is not None else -1]
    reference, value = _value(name), _value(raw)
    if value is None or (reference is None and not _NAME.fullmatch(name)):
        return None
    return name if reference is None else reference, value, side or ""


def _value(cell: str) -> float | None:
    try:
        value = float(cell.replace(",", ".", 1))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
