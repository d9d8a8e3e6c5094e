"""Every command and option of the command line; nothing heavy is imported here."""

import argparse
import re

from anglewright.errors import Problem, UsageError, nearest

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import NoReturn

VALUE = re.compile(r"^-(\d|\.\d)")
"""What begins like this is a value and no option: ``-20deg``."""

EPILOG = """\
exit codes: 0 done and fine; 1 done, and a need is not met or a finding stops the work; 2 usage; 3 data or rig; 4 device

A position sensor in a control loop is not a safety device. Hard stops and a means to cut power come first.
"""


class Parser(argparse.ArgumentParser):
    """A parser whose errors are sentences, and that takes ``-20deg`` as a position."""

    def error(self, message: str) -> "NoReturn":
        """Refuse a command line with a sentence."""
        raise UsageError(Problem(self.prog, message, "", f"See: {self.prog} --help."))


def _rig(parser: argparse.ArgumentParser, *, axis: str | None = "?") -> None:
    parser.add_argument("rig", metavar="RIG", help="rig file, such as rig.toml")
    if axis == "?":
        parser.add_argument("axis", metavar="AXIS", nargs="?", help="name of an axis; all where none is named")
    elif axis:
        parser.add_argument("axis", metavar="AXIS", help="name of an axis")


def _line(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--state", choices=("datasheet", "zeroed", "calibrated"), help="which line to use")
    parser.add_argument("--record", metavar="NAME", help="calibration record to use, instead of the one in use")


def _date(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="day to write down; today otherwise")


def _new(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="DIR", help="folder for the new rig.toml")
    parser.add_argument("--moves", metavar="NAME", help="what moves: the axis's name")
    parser.add_argument("--from", dest="low", metavar="POSITION", help="low end of its range, such as -20deg")
    parser.add_argument("--to", dest="high", metavar="POSITION", help="high end of its range")
    parser.add_argument("--error", metavar="QUANTITY", help="how exact it must be, such as 1deg")
    parser.add_argument("--sensor", metavar="KIND", help="kind of sensor")
    parser.add_argument("--ratio", metavar="RATIO", help="turns of the sensor per turn of the axis, 2 or 48:24")


def _budget(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument(
        "--state",
        choices=("datasheet", "zeroed", "calibrated"),
        default="calibrated",
        help="whose contributions to list",
    )


def _expect(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument("positions", metavar="POSITION", nargs="*", help="position with its unit, or a mark")
    _line(parser)


def _read(parser: argparse.ArgumentParser) -> None:
    _rig(parser, axis="named")
    parser.add_argument("raws", metavar="RAW", nargs="+", help="raw reading as the controller shows it")
    _line(parser)


def _simulate(parser: argparse.ArgumentParser) -> None:
    _rig(parser, axis="named")
    parser.add_argument("--seed", type=int, default=1, help="everything random comes from it")
    parser.add_argument("--plant", metavar="KEY=VALUE", action="append", default=[], help="such as play=1.5deg")
    parser.add_argument("--out", metavar="FILE", required=True, help="CSV file; the truth goes beside it")


def _plan(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument("--out", metavar="FILE", help="write a blank sheet to fill")


def _calibrate(parser: argparse.ArgumentParser) -> None:
    _rig(parser, axis="named")
    parser.add_argument("file", metavar="FILE", nargs="?", help="CSV with a reference and a raw column")
    parser.add_argument("--typed", action="store_true", help="type readings: REFERENCE RAW [up|down], a line each")
    parser.add_argument("--no-keep", dest="keep", action="store_false", help="do not keep a record")
    _date(parser)


def _handover(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument("--language", metavar="NAME", default="c", help="c for C99")
    parser.add_argument("--out", metavar="DIR", required=True, help="folder for the files")
    _line(parser)


def _explain(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument("position", metavar="POSITION", nargs="?", help="position with its unit, or a mark")


def _report(parser: argparse.ArgumentParser) -> None:
    _rig(parser)
    parser.add_argument("--out", metavar="FILE", help="HTML file; beside the rig file otherwise")
    _date(parser)


def _withdraw(parser: argparse.ArgumentParser) -> None:
    _rig(parser, axis="named")
    parser.add_argument("record", metavar="RECORD", help="name of the record, such as 2026-05-12-1")
    parser.add_argument("--because", metavar="TEXT", required=True, help="why it must not be used any more")


COMMANDS: "dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]]" = {
    "new": ("a rig file from five questions", _new),
    "check": ("what is wrong with the design", lambda parser: _rig(parser)),
    "budget": ("how wrong each axis will be, and what to cure first", _budget),
    "expect": ("the card to hold beside a multimeter", _expect),
    "read": ("what a raw reading means", _read),
    "plan": ("where to calibrate, from which side, how often", _plan),
    "simulate": ("readings of a bench that does not exist, with the truth beside them", _simulate),
    "calibrate": ("from readings beside a reference to a line and a verdict", _calibrate),
    "withdraw": ("mark a calibration record as no longer to be used", _withdraw),
    "handover": ("constants and code for the controller", _handover),
    "explain": ("how each number came about, step by step", _explain),
    "report": ("one self-contained page to show and to print", _report),
}


def build_parser() -> Parser:
    """The parser of the whole command line."""
    parser = Parser(
        prog="anglewright",
        description="From a shaft that turns to a number the control code can trust.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser._negative_number_matcher = VALUE
    parser.add_argument("--version", "-V", action="store_true", help="tell the version")
    inner = parser.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for name, (text, add_arguments) in COMMANDS.items():
        command = inner.add_parser(name, help=text, description=text[:1].upper() + text[1:] + ".")
        command._negative_number_matcher = VALUE
        add_arguments(command)
        command.add_argument("--json", action="store_true", help="print one JSON object")
        if name != "new":
            command.add_argument(
                "--set",
                dest="changes",
                metavar="KEY=VALUE",
                action="append",
                default=[],
                help='what if: AXIS.TABLE.KEY=VALUE, such as shoulder.coupling.play="0 deg"',
            )
    return parser


def known_command(arguments: list[str]) -> None:
    """Refuse an unknown command with the nearest known ones."""
    first = next((each for each in arguments if not each.startswith("-")), None)
    if first is not None and first not in COMMANDS:
        raise UsageError(Problem("anglewright", f"there is no command '{first}'", "", nearest(first, COMMANDS)))
