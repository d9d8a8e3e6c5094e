"""What is typed: answers to the five questions of a new rig, and readings of a calibration."""

import argparse
import math
import re
import sys

from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.rigtext import Answers
from anglewright.tables.wishes import Question

SIDES = {"up": "up", "down": "down", "u": "up", "d": "down", "": ""}
_RANGE = re.compile(r"(.+?)\s+to\s+(.+)", re.IGNORECASE)
_PARTED = re.compile(r"\s*;\s*|,\s+|\s+,")
_REMEDY = "Write the reference, the raw reading, and up or down: 47.5 2048 up."
_MOST_SHOWN = 10  # lines that are no readings and are shown [1]


def ask_for(options: argparse.Namespace) -> Answers:
    """The five answers, from options where they are given, else asked for.

    Raises
    ------
    UsageError
        The input ended before the last answer.
    """
    moves = options.moves or _ask("What moves? A short name", "shoulder", option="--moves")
    low, high = options.low, options.high
    if low is None and high is None:
        low, high = _range(_ask("From where to where", "0 deg to 90 deg", option="--from and --to"))
    return Answers(
        moves=moves,
        low=low or _ask("From which position", "0 deg", option="--from"),
        high=high or _ask("To which position", "90 deg", option="--to"),
        error=options.error or _ask("How exact must it be", "1 deg", option="--error"),
        sensor=options.sensor or _ask("Which kind of sensor", "potentiometer", option="--sensor"),
        ratio=options.ratio
        or _ask("Turns of the sensor per turn of the axis, or teeth as 48:24", "1", option="--ratio"),
    )


def _range(text: str) -> tuple[str, str | None]:
    """Both ends of ``-20 deg to 115 deg``; one alone is the lower, and the upper is asked for."""
    ends = _RANGE.fullmatch(text)
    return (ends[1], ends[2]) if ends else (text, None)


def _ask(question: str, usual: str, *, option: str) -> str:
    """One question on the terminal; an empty answer takes the usual one."""
    print(f"{question} [{usual}]: ", end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    if not line:
        print(file=sys.stderr)
        remedy = f"Answer it, with an empty line for '{usual}', or give {option}."
        raise UsageError(Problem("new", f"'{question}' was not answered", "", remedy))
    return line.strip() or usual


def typed_rows() -> tuple[tuple[float, float, str], ...]:
    """Readings typed a line each, until an empty line or the end: reference, raw, side.

    On a terminal a line that is no reading is asked for again, so that nothing typed before is lost.

    Raises
    ------
    DataError
        From a pipe, lines that are no readings; they are shown together.
    """
    if sys.stdin.isatty():
        print("REFERENCE RAW [up|down], one reading a line; an empty line ends.", file=sys.stderr)
    rows, problems = [], []
    for number, line in enumerate(sys.stdin, 1):
        if not line.strip():
            break
        row = typed_row(line)
        if row is not None:
            rows.append(row)
            continue
        problem = Problem(f"typed line {number}", f"'{line.strip()}' is no reading", "", _REMEDY)
        if sys.stdin.isatty():
            print(f"anglewright: {problem} Type it again.", file=sys.stderr)
        else:
            problems.append(problem)
    if problems:
        raise DataError(problems[:_MOST_SHOWN])
    return tuple(rows)


def typed_lines() -> tuple[str, ...]:
    """Lines typed until an empty one or the end."""
    if sys.stdin.isatty():
        print("CHECK READING, one a line, such as feed-alone 3.29 V; an empty line ends.", file=sys.stderr)
    lines = []
    for line in sys.stdin:
        if not line.strip():
            break
        lines.append(line.strip())
    return tuple(lines)


def agrees(question: str) -> bool:
    """Whether a person at a terminal says yes; without a terminal nobody does."""
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
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


def typed_row(line: str) -> tuple[float, float, str] | None:
    """Reference, raw and side of a typed line, None where it is no reading.

    Examples
    --------
    Cells parted by blanks, commas or semicolons; beside blanks or semicolons a comma is a decimal mark:

    >>> typed_row("47.5, 2048, up"), typed_row("47,5 2048 d"), typed_row("47.5")
    ((47.5, 2048.0, 'up'), (47.5, 2048.0, 'down'), None)
    """
    cells = _PARTED.sub(" ", line.replace("\u2212", "-")).split()
    if len(cells) == 1:
        cells = cells[0].split(",")
    if len(cells) not in (2, 3):
        return None
    values = [_value(cell) for cell in cells[:2]]
    side = SIDES.get(cells[2].lower() if len(cells) > 2 else "")
    if side is None or values[0] is None or values[1] is None:
        return None
    return values[0], values[1], side


def _value(cell: str) -> float | None:
    try:
        value = float(cell.replace(",", ".", 1))
    except ValueError:
        return None
    return value if math.isfinite(value) else None
