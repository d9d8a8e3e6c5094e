"""From answers to a draft that holds: which drive lets the sensor reach, and where it has to be clamped."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from anglewright.catalogue.loading import load_catalogue
from anglewright.errors import Problem, RigError, UsageError
from anglewright.jobs.answers import Answers, Reach, held_error, held_mark, held_reach
from anglewright.jobs.meaning import centred_reading, drive_said
from anglewright.jobs.rigtext import Draft
from anglewright.jobs.sorts import Sort, sort_named
from anglewright.jobs.turnedby import WORDS, Turning, teeth_of, turning
from anglewright.links.mount import ClampPart
from anglewright.rig import Axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

SPARE = 1.2  # of the motion, which an assumed drive lets the sensor reach: stops and ends [1]
PINIONS = (20, 40, 60)  # teeth of an assumed rack's pinion, module 1 mm [1]
REDUCTIONS = ((1, 2), (1, 3), (1, 4), (1, 5), (2, 3), (2, 4), (2, 5), (3, 4), (3, 5), (4, 4), (4, 5), (5, 5))
"""Pairs of gears that an assumed drive turns the sensor slower by, each pair by at most five. [1]"""

FURTHER = ((5, 5, 2), (5, 5, 4), (5, 5, 5), (5, 5, 5, 5))
"""The same for a motion that is long for its sensor: a winch, a wheel. [1]"""

_FILE = "rig.toml"


def drafted(answers: Answers) -> Draft:
    """The draft of the answers, with a drive where none was named, and with what to read at the mark.

    Raises
    ------
    UsageError
        An answer cannot be read; it is named.
    RigError
        The answers do not make a rig; every problem is named.
    """
    reach = held_reach(answers.low, answers.high, endless=answers.endless)
    _hold(answers, reach)
    sort, turned_by = sort_named(answers.sensor), answers.drive or answers.ratio
    if not turned_by:
        return _usual(answers, sort, reach)
    return settled(Draft(answers=answers, sort=sort, turning=turned(turned_by, reach)))


def _hold(answers: Answers, reach: Reach) -> None:
    """Refuse answers that cannot be read, all of them together."""
    checks: list[tuple[Callable[[str, Reach], object], str]] = [
        (held_error, answers.error),
        (lambda name, _: sort_named(name), answers.sensor),
        *((turned, words) for words in (answers.ratio, answers.drive) if words),
        *((held_mark, mark) for mark in answers.marks),
    ]
    problems: list[Problem] = []
    for check, text in checks:
        try:
            check(text, reach)
        except UsageError as fault:
            problems.extend(fault.problems)
    if answers.drive and answers.ratio:
        found = f"the ratio {answers.ratio} and the drive '{answers.drive}' are both given"
        problems.append(Problem("drive", found, "", "Leave one of them out."))
    if not answers.moves.strip():
        problems.append(Problem("moves", "it has no name", "", "Give what moves a short name."))
    if problems:
        raise UsageError(problems)


def turned(words: str, reach: Reach) -> Turning:
    """What turns the sensor, by the words of the answer.

    Raises
    ------
    UsageError
        They cannot be understood; or a ratio of turns is given for a motion along a line.
    """
    plain = words.replace(":", "").replace(".", "").replace(" ", "").isdigit()
    if plain and not reach.rotary:
        found = f"'{words}' is a ratio of turns, and the motion is a length"
        raise UsageError(Problem("drive", found, "", f"Say what turns the sensor: {WORDS}."))
    return turning(words, rotary=reach.rotary)


def settled(draft: Draft) -> Draft:
    """The same draft with what the sensor reads at its mark, and what the drive means."""
    axis = axis_in(draft, fitted=False)
    mount = axis.part("mount")
    reading = None
    if isinstance(mount, ClampPart) and not axis.motion.endless:
        drive, sensor = axis.part("drive"), axis.part("sensor")
        reading = centred_reading(axis, drive=drive, sensor=sensor, output=mount.output)
    return replace(draft, reading=reading, said=drive_said(axis))


def axis_in(draft: Draft, *, fitted: bool = True) -> Axis:
    """The axis of a draft.

    Raises
    ------
    RigError
        It is none; every problem is named.
    """
    document = parse_document(draft.text, source=_FILE)
    return next(iter(build_rig(document, source=_FILE, fitted=fitted).axes.values()))


def _usual(answers: Answers, sort: Sort, reach: Reach) -> Draft:
    """The first usual drive by which the sensor reaches over the motion and some more; else the first."""
    first: Draft | None = None
    for kind in _sorts(sort, endless=answers.endless):
        for table in _drives(kind, reach, endless=answers.endless):
            draft = settled(Draft(answers=answers, sort=kind, turning=table, turned_by_choice=True))
            if _reaches(draft, reach):
                return draft
            first = first or draft
    if first is None:
        raise ValueError("there is no drive to begin with")
    return first


def _sorts(sort: Sort, *, endless: bool) -> Iterator[Sort]:
    """The sort itself; for an endless axis and a bare kind also the rows of the catalogue of that kind."""
    yield sort
    if endless and not sort.row:
        for offer in load_catalogue().sensors:
            if offer.part.kind == sort.kind and offer.drive is None:
                yield sort_named(offer.name)


def _drives(sort: Sort, reach: Reach, *, endless: bool) -> Iterator[Turning]:
    """Usual drives, the sensor's own alone where it has one, from fast to slow."""
    if "drive" in sort.tables:
        yield Turning(table=dict(sort.tables["drive"]))
        return
    if reach.rotary:
        yield turning("direct", rotary=True)
        rows = () if endless else (*REDUCTIONS, *FURTHER)
        yield from (turning(_geared(row), rotary=True) for row in rows)
        return
    yield from (turning(f"rack m 1, z {teeth}", rotary=False) for teeth in PINIONS)
    for row in (*REDUCTIONS, *FURTHER):
        yield turning(f"rack m 1, z {PINIONS[0]} + {_geared(row)}", rotary=False)


def _geared(row: tuple[int, ...]) -> str:
    return "gears " + ":".join(f"20:{20 * step}" for step in row)


def _reaches(draft: Draft, reach: Reach) -> bool:
    """Whether the sensor could follow a motion longer by what is to be spare."""
    answers = draft.answers
    if not answers.endless:
        (low, high), unit = reach.numbers, reach.unit
        more = (SPARE - 1.0) / 2.0 * (high - low)
        marks = answers.marks or (f"stow={answers.low}",)
        ends = f"{low - more:.9g} {unit}", f"{high + more:.9g} {unit}"
        answers = replace(answers, low=ends[0], high=ends[1], marks=marks)
    try:
        axis_in(replace(draft, answers=answers))
    except RigError:
        return False
    return True


def swapped_fits(answers: Answers) -> str:
    """The ratio turned round, where the rig would be one with it; else empty."""
    ratio = answers.ratio or answers.drive
    try:
        first, second = teeth_of(ratio)
        round_ = f"{second}:{first}"
        axis_in(drafted(replace(answers, ratio=round_, drive="")))
    except (UsageError, RigError):
        return ""
    return round_ if first != second else ""
