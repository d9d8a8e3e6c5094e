"""Arguments that several commands share; nothing heavy is imported here."""

import argparse

from anglewright.errors import Problem, UsageError

SAID = (
    "raw",
    "reference",
    "time",
    "side",
    "unit",
    "clock",
    "header",
    "delimiter",
    "decimal",
    "encoding",
    "comment",
    "missing",
    "pair",
    "sheet",
    "rests",
    "turned",
)
"""What can be said about a file of readings; a test holds that the reader knows no more and no less."""


def rig_and_axis(parser: argparse.ArgumentParser, *, alone: bool = False) -> None:
    """A rig file and an axis of it; `alone` where the command works on one axis at a time."""
    axes = "the only one where none is named" if alone else "all where none is named"
    parser.add_argument("rig", metavar="RIG", help="rig file, such as rig.toml")
    parser.add_argument("axis", metavar="AXIS", nargs="?", help=f"name of an axis; {axes}")


def day(parser: argparse.ArgumentParser) -> None:
    """The day that is written down."""
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="day to write down; today otherwise")


def readings(parser: argparse.ArgumentParser) -> None:
    """A table of readings, or where else they come from, and how it is to be read."""
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="table with a reference and a raw column; - is standard input"
    )
    parser.add_argument("--clipboard", action="store_true", help="take the table from the clipboard")
    parser.add_argument(
        "--as",
        dest="wishes",
        metavar="KEY=VALUE",
        action="append",
        default=[],
        help="how to read the table, where it would be read otherwise: " + ", ".join(SAID),
    )


def points(text: str) -> dict[int, str]:
    """Numbers of points to leave out, each with the reason, as ``--without-point`` takes them. [1]

    Raises
    ------
    UsageError
        There is no number.

    Examples
    --------
    >>> points("3,7: the table was bumped")
    {3: 'the table was bumped', 7: 'the table was bumped'}
    """
    numbers, _, because = text.partition(":")
    each = [number.strip() for number in numbers.split(",")]
    if not all(number.isdecimal() and int(number) for number in each):
        found = f"'{numbers.strip()}' is no number of a point"
        remedy = 'Write it as in --without-point 7, or --without-point "3,7: the table was bumped".'
        raise UsageError(Problem("--without-point", found, "", remedy))
    return dict.fromkeys(map(int, each), because.strip())


def dry_run(parser: argparse.ArgumentParser) -> None:
    """A trial that leaves nothing behind."""
    parser.add_argument(
        "--dry-run",
        "--no-keep",
        dest="keep",
        action="store_false",
        help="show all of it and keep nothing",
    )


def serial(parser: argparse.ArgumentParser) -> None:
    """Which sensor is fitted."""
    parser.add_argument("--serial", metavar="SERIAL", help="serial of the sensor; the rig file's otherwise")


def drawing(parser: argparse.ArgumentParser, what: str) -> None:
    """A drawing as a file."""
    parser.add_argument("--svg", metavar="FILE", help=f"draw the {what} into a file")
    parser.add_argument(
        "--look",
        metavar="LOOK",
        default="screen",
        help="of the file: screen (follows the reader's choice), light, dark or print",
    )
