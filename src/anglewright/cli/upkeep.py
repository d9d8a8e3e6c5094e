"""The arguments of the commands that look after a calibration; nothing heavy is imported here."""

import argparse

from anglewright.cli.arguments import day, drawing, dry_run, readings, rig_and_axis

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from collections.abc import Callable

TOUCHED = ("coupling", "sensor", "gear", "supply", "connector")
DONE = ("signs", "testsheet")

OF_A_MACHINE = (
    *("expect", "read", "calibrate", "note", "zero", "verify", "withdraw", "history", "ready", "handover"),
    *("explain", "report"),
)
"""Commands that use or keep the records of one machine."""


def _note(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("text", metavar="TEXT", nargs="?", help='what was done, in quotes: "hub tightened"')
    parser.add_argument("--touched", metavar="PART", default="", help=f"one of {', '.join(TOUCHED)}")
    parser.add_argument("--done", metavar="TASK", default="", help=f"what was due: {' or '.join(DONE)}")
    day(parser)


def _zero(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("raws", metavar="RAW", nargs="*", help="reading at the place; several are better")
    parser.add_argument(
        "--at",
        metavar="PLACE",
        help="mark, 'low stop', 'high stop' or index at which it stands; the plan's mark otherwise",
    )
    parser.add_argument(
        "--within", metavar="QUANTITY", help="how far the place may lie off; what its mark says otherwise"
    )
    parser.add_argument("--came", metavar="SIDE", default="", help="up or down: how the place was reached")
    parser.add_argument("--far", metavar="REASON", default="", help="why a move beyond the bounds is right")
    dry_run(parser)
    day(parser)


def _verify(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    readings(parser)
    parser.add_argument(
        "--typed", action="store_true", help="type readings: REFERENCE RAW [up|down], a line each"
    )
    parser.add_argument(
        "--record", metavar="NAME", help="calibration record to check, instead of the one in use"
    )
    parser.add_argument(
        "--code-line",
        metavar="SLOPE,OFFSET",
        help="check constants that the code already has: position for one unit of the reading, and at 0",
    )
    dry_run(parser)
    day(parser)


def _withdraw(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("record", metavar="RECORD", help="name of the record, such as 2026-05-12-1")
    parser.add_argument("--because", metavar="TEXT", required=True, help="why it must not be used any more")


def _history(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    drawing(parser, "zero over the days")
    parser.add_argument("--sticker", metavar="FILE", help="write the record in use as a page to stick on")


def _ready(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("rig", metavar="RIG", help="rig file, such as rig.toml")
    parser.add_argument(
        "readings", metavar="AXIS=RAW", nargs="*", help="readings of an axis, several parted by commas"
    )
    parser.add_argument("--typed", action="store_true", help="type readings: AXIS RAW RAW ..., a line each")
    parser.add_argument(
        "--log", metavar="FILE", help="short recording at rest, a column named after each axis"
    )
    parser.add_argument("--at", metavar="MARK", help="where it stands: stow, or the plan's mark, otherwise")
    parser.add_argument("--html", metavar="FILE", help="write a card to print")
    day(parser)


UPKEEP: "dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]]" = {
    "note": ("a dated line in the diary of an axis, and what must be done again", _note),
    "zero": ("move the zero alone, from readings at one place", _zero),
    "verify": ("whether fresh points prove that the record in use still holds", _verify),
    "history": ("every record of an axis with its diary, and how the zero moved", _history),
    "ready": ("the two-minute check of a whole machine before use", _ready),
    "withdraw": ("mark a calibration record as no longer to be used", _withdraw),
}
