"""The arguments of each command; nothing heavy is imported here."""

import argparse

from anglewright.cli.arguments import day, drawing, dry_run, readings, rig_and_axis, serial
from anglewright.cli.upkeep import UPKEEP
from anglewright.errors import Problem, UsageError, nearest

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from collections.abc import Callable

MOTION_KINDS = ("plan", "sweep", "trapezoid", "sine", "steps", "hold", "marks")
MOTION_OPTIONS = (
    ("seconds", "TIME", "length of the run"),
    ("rate", "FREQUENCY", "rows in a second of a run, 100 Hz where none is given"),
    ("amplitude", "SIZE", "of the motion about its middle; the whole range where none is given"),
    ("frequency", "FREQUENCY", "of the motion; what takes a quarter of the top speed where none is given"),
    ("at", "POSITION", "middle of the motion or place of a hold: a position or a mark"),
)
STATES = ("datasheet", "zeroed", "calibrated")


def state(text: str) -> str:
    """The name of a state, as ``--state`` takes it.

    Raises
    ------
    UsageError
        There is no such state.
    """
    if text not in STATES:
        raise UsageError(Problem("--state", f"there is no state '{text}'", "", nearest(text, STATES)))
    return text


def builds(text: str) -> int:
    """How many virtual builds, as ``--builds`` takes it: a number above zero, or -1 for ``enough``. [1]

    Raises
    ------
    UsageError
        It is neither.
    """
    if text == "enough":
        return -1
    if text.isdigit() and int(text):
        return int(text)
    found = f"'{text.strip()}' is no number of builds"
    raise UsageError(Problem("--builds", found, "", "Write it as in --builds 100000, or --builds enough."))


def whole(text: str) -> int:
    """A whole number, as ``--seed`` takes it. [1]

    Raises
    ------
    UsageError
        It is none.
    """
    try:
        return int(text)
    except ValueError:
        found = f"'{text.strip()}' is not a whole number"
        raise UsageError(Problem("--seed", found, "", "Write it as in --seed 7.")) from None


def _line(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--state", type=state, metavar="STATE", help=f"line to use: {', '.join(STATES)}")
    parser.add_argument(
        "--record", metavar="NAME", help="calibration record to use, instead of the one in use"
    )


def _new(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="DIR", help="folder for the new rig.toml")
    parser.add_argument("--moves", metavar="NAME", help="what moves: the axis's name")
    parser.add_argument("--from", dest="low", metavar="POSITION", help="low end of its range, such as -20deg")
    parser.add_argument("--to", dest="high", metavar="POSITION", help="high end of its range")
    parser.add_argument("--error", metavar="QUANTITY", help="how exact it must be, such as 1deg")
    parser.add_argument(
        "--sensor", metavar="KIND", help="kind of sensor, ten-turn, or the name of a row of the catalogue"
    )
    parser.add_argument(
        "--ratio", metavar="RATIO", help="turns of the sensor per turn of the axis, 2 or 48:24"
    )
    parser.add_argument(
        "--drive",
        metavar="WORDS",
        help='what turns the sensor: "rack m 1, z 20", "drum 50 mm, rope 4 mm", "screw 8 mm", "gears 48:24"',
    )
    parser.add_argument("--endless", action="store_true", help="it turns round and round, without stops")
    parser.add_argument(
        "--mark",
        dest="marks",
        metavar="NAME=POSITION",
        action="append",
        default=[],
        help="a place that can be found again, such as pin=47.5deg; the sensor is clamped at the first",
    )


def _budget(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    shown = f"whose contributions to list: {', '.join(STATES)}"
    parser.add_argument("--state", type=state, metavar="STATE", help=shown)
    parser.add_argument(
        "--builds",
        type=builds,
        metavar="N",
        default=0,
        help="also build the machine N times by chance; 'enough': until two digits stand still",
    )
    parser.add_argument(
        "--seed", type=whole, metavar="N", default=1, help="everything random in the builds comes from it"
    )
    parser.add_argument(
        "--code-line",
        metavar="SLOPE,OFFSET",
        help="judge constants that the code already has: position for one unit of the reading, and at 0",
    )


def _expect(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    parser.add_argument("positions", metavar="POSITION", nargs="*", help="position with its unit, or a mark")
    _line(parser)


def _read(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("raws", metavar="RAW", nargs="+", help="raw reading as the controller shows it")
    _line(parser)


def _simulate(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument(
        "--plant",
        metavar="NAME[=SIZE][@TIME]",
        action="append",
        default=[],
        help="a number of the secret machine, play=1.5deg, or a fault, slip=5deg@12s; help lists them",
    )
    parser.add_argument(
        "--seed", type=whole, metavar="N", default=1, help="where everything random comes from"
    )
    for name, metavar, text in MOTION_OPTIONS:
        parser.add_argument(f"--{name}", metavar=metavar, default="", help=text)
    parser.add_argument(
        "--motion",
        metavar="KIND",
        default="plan",
        help=f"{', '.join(MOTION_KINDS)}, or a CSV of time and position",
    )
    parser.add_argument(
        "--no-reference", dest="reference", action="store_false", help="leave the reference's column out"
    )
    parser.add_argument("--out", metavar="FILE", required=True, help="CSV file; the truth goes beside it")


def _testsheet(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("--html", metavar="FILE", help="write the sheet as a page to print")
    parser.add_argument("--csv", metavar="FILE", help="write the sheet as a table to fill in")
    parser.add_argument("--filled", metavar="FILE", help="the table filled in: say which link is at fault")
    parser.add_argument(
        "--typed", action="store_true", help="type what was read: CHECK READING, a line each; say the same"
    )
    parser.add_argument(
        "--keep", action="store_true", help="write what was measured better into the rig file, if healthy"
    )


def _plan(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    parser.add_argument("--out", metavar="FILE", help="write a blank sheet to fill")


def _calibrate(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    readings(parser)
    parser.add_argument(
        "--typed", action="store_true", help="type readings: REFERENCE RAW [up|down], a line each"
    )
    parser.add_argument(
        "--model", metavar="NAME", help="what to fit, instead of the plan's: a model, or best"
    )
    parser.add_argument(
        "--without-point",
        dest="without",
        metavar="N[: WHY]",
        action="append",
        default=[],
        help="leave a point out of the fit, by its number in the table of points, and why; 3,7 for two",
    )
    parser.add_argument("--html", metavar="FILE", help="write a page with its pictures, to show and to print")
    parser.add_argument(
        "--learn",
        action="store_true",
        help="write measured noise and play into the rig file; asks at a terminal",
    )
    dry_run(parser)
    serial(parser)
    day(parser)


def _handover(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    parser.add_argument("--language", metavar="NAME", default="c", help="c for C99")
    parser.add_argument("--out", metavar="DIR", required=True, help="folder for the files")
    parser.add_argument(
        "--beyond-points", action="store_true", help="give positions where nothing was calibrated, too"
    )
    _line(parser)


def _explain(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    parser.add_argument("position", metavar="POSITION", nargs="?", help="position with its unit, or a mark")
    _line(parser)


def _report(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser)
    parser.add_argument("--out", metavar="FILE", help="HTML file; beside the rig file otherwise")
    day(parser)


def _mount(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument("--at", metavar="MARK", help="mark at which it stands; the rig file's otherwise")
    drawing(parser, "dial")


def _wire(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    drawing(parser, "schematic")


def _choose(parser: argparse.ArgumentParser) -> None:
    rig_and_axis(parser, alone=True)
    parser.add_argument(
        "--catalogue",
        metavar="FILE",
        action="append",
        default=[],
        help="parts of your own, beside those that are shipped",
    )
    parser.add_argument("--template", metavar="FILE", help="write a template for parts of your own, and stop")
    parser.add_argument(
        "--apply", metavar="N|NAME", help="write a choice into the rig file: its number, or its sensor"
    )
    parser.add_argument("--parts", action="store_true", help="also list what to buy")


COMMANDS: "dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]]" = {
    "new": ("a rig file from a few questions", _new),
    "choose": ("which sensor at which drive, and why not the others", _choose),
    "check": ("what is wrong with the design", rig_and_axis),
    "budget": ("how wrong each axis will be, and what to cure first", _budget),
    "expect": ("the card to hold beside a multimeter", _expect),
    "read": ("what a raw reading means", _read),
    "mount": ("where to clamp the sensor, what it must read there, the room at both ends", _mount),
    "wire": ("pin table, wire list and schematic", _wire),
    "testsheet": ("checks before first power-up, and which link is at fault when one fails", _testsheet),
    "plan": ("where to calibrate, from which side, how often", _plan),
    "simulate": ("readings of a bench that does not exist, with the truth beside them", _simulate),
    "calibrate": ("from readings beside a reference to a line and a verdict", _calibrate),
    **UPKEEP,
    "handover": ("constants and code for the controller", _handover),
    "explain": ("how each number came about, step by step", _explain),
    "report": ("one self-contained page to show and to print", _report),
}
