"""Readings of every axis of a machine that stands still: named on the command line, typed, or recorded."""

import argparse
import sys
from collections.abc import Iterable, Mapping

from anglewright.errors import DataError, Problem, UsageError, nearest
from anglewright.jobs.readiness import readings_in, stands_at
from anglewright.rig import Rig
from anglewright.tables.numbers import looks_like_number

Readings = Mapping[str, list[float | str]]

_FORM = "Write axis and readings: shoulder 421 422 420."


def readings_given(rig: Rig, options: argparse.Namespace) -> Readings:
    """Readings by axis, from the one place that was given; at a terminal they are asked for.

    Raises
    ------
    UsageError
        None or several places are given, or a word is no reading.
    DataError
        Typed lines, or a recording, cannot be read.
    """
    given = {"AXIS=RAW": options.readings, "--typed": options.typed, "--log": options.log}
    named = [name for name, value in given.items() if value]
    if len(named) > 1:
        found = f"{' and '.join(named)} are both given"
        raise UsageError(Problem("ready", found, "", "Leave one of them out."))
    if options.log:
        return readings_in(rig, options.log)
    if options.typed:
        return _typed(rig)
    if options.readings:
        return _named(options.readings)
    if sys.stdin.isatty() and sys.stderr.isatty():
        return _asked(rig, options.at)
    example = " ".join(f"{name}=RAW" for name in rig.axes)
    raise UsageError(Problem("ready", "no readings are given", "", f"Give {example}, --typed or --log FILE."))


def _named(words: Iterable[str]) -> Readings:
    """``shoulder=421,422``; an axis that is named twice has the readings of both."""
    found: dict[str, list[float | str]] = {}
    for word in words:
        name, mark, values = word.partition("=")
        raws = [value for value in values.replace(";", ",").split(",") if value.strip()]
        if not (mark and name.strip() and raws):
            found_text = f"'{word}' is no reading of an axis"
            raise UsageError(Problem("ready", found_text, "", "Write it as shoulder=421,422,420."))
        found.setdefault(name.strip(), []).extend(raws)
    return found


def _typed(rig: Rig) -> Readings:
    """``shoulder 421 422``, a line each, until an empty line or the end; at a terminal slips are asked again.

    Raises
    ------
    DataError
        From a pipe, a line without a reading.
    """
    if sys.stdin.isatty():
        print("AXIS RAW RAW ..., one axis a line; an empty line ends.", file=sys.stderr)
    found: dict[str, list[float | str]] = {}
    for number, line in enumerate(sys.stdin, 1):
        words = line.replace("=", " ").replace(",", " ").replace(";", " ").split()
        if not words:
            break
        problem = _slip(rig, words, where=f"typed line {number}")
        if problem is not None:
            if not sys.stdin.isatty():
                raise DataError(problem)
            print(f"anglewright: {problem} Type it again.", file=sys.stderr)
            continue
        found.setdefault(words[0], []).extend(words[1:])
    return found


def _slip(rig: Rig, words: list[str], *, where: str) -> Problem | None:
    """What is wrong with a typed line, None where nothing is; of names and numbers the job tells more."""
    if len(words) == 1:
        return Problem(where, f"'{words[0]}' has an axis and no reading", "", _FORM)
    if not sys.stdin.isatty():
        return None
    if words[0] not in rig.axes:
        return Problem(where, f"there is no axis '{words[0]}'", "", nearest(words[0], rig.axes))
    bad = next((word for word in words[1:] if not looks_like_number(word, decimal_comma=False)), None)
    return None if bad is None else Problem(where, f"'{bad}' is no number", "", _FORM)


def _asked(rig: Rig, at: str | None) -> Readings:
    """A question for each axis; an empty answer leaves the axis out."""
    found: dict[str, list[float | str]] = {}
    for name, axis in rig.axes.items():
        place = stands_at(axis, at)
        how = axis.marks[place.name].how
        where = f"{place.words} ({how})" if how else place.words
        print(f"{name} at {where}, three readings: ", end="", file=sys.stderr, flush=True)
        found[name] = [*sys.stdin.readline().replace(",", " ").replace(";", " ").split()]
    return found
