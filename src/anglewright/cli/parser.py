"""Every command and option of the command line; nothing heavy is imported here."""

import argparse
import re
from itertools import islice

from anglewright.cli.options import COMMANDS
from anglewright.cli.upkeep import OF_A_MACHINE
from anglewright.errors import Problem, UsageError, nearest

TYPE_CHECKING = False  # a type checker takes it as true: help must be quick
if TYPE_CHECKING:
    from typing import NoReturn

FLAGS = (
    *("--json", "--typed", "--keep", "--no-keep", "--parts", "--no-reference", "--clipboard"),
    *("--dry-run", "--learn", "--endless", "--beyond-points", "--help", "--version"),
)
"""Options that take no value."""

EPILOG = """\
exit codes: 0 done and fine; 1 done, and a need is not met or a finding stops the work;
2 usage; 3 data or rig; 4 device

A position sensor in a control loop is not a safety device. Hard stops and a means to cut power come first.
"""

_ALIKE = 0.55  # of two names, from which on one is taken for a slip in the other [1]
_VALUE = re.compile(r"^-(\d|\.\d)")


class Parser(argparse.ArgumentParser):
    """A parser whose errors are sentences."""

    def options_of(self, command: str) -> "frozenset[str]":
        """Names of the options that a command has."""
        found = {
            name
            for action in self._actions
            if isinstance(action, argparse._SubParsersAction) and command in action.choices
            for name in action.choices[command]._option_string_actions
        }
        return frozenset(found)

    def error(self, message: str) -> "NoReturn":
        """Refuse a command line with a sentence."""
        command = self.prog.removeprefix("anglewright").strip()
        stray = message.partition("unrecognized arguments: ")[2]
        quotes = "" if not stray or stray.startswith("-") else "Put a value with a blank in it in quotes. "
        raise UsageError(Problem(command, message, "", f"{quotes}See: {self.prog} --help."))


def arranged(arguments: list[str]) -> list[str]:
    """The arguments with the options last, and a blank before a value that begins with a minus.

    So options may stand anywhere, and ``-20deg`` is a position. Who begins with ``--help`` gets help.

    Examples
    --------
    >>> arranged(["--json", "expect", "rig.toml", "--state", "zeroed", "shoulder", "-20deg"])
    ['expect', 'rig.toml', 'shoulder', ' -20deg', '--json', '--state=zeroed']
    """
    if arguments[:1] in (["--help"], ["-h"]):
        return arguments[:1]
    plain, options = [], []
    rest = iter(arguments)
    for each in rest:
        if each == "--":
            plain += [f" {last}" if last.startswith("-") else last for last in rest]
        elif not each.startswith("-") or each == "-":
            plain.append(each)
        elif _VALUE.match(each):
            plain.append(f" {each}")
        elif not each.startswith("--") or "=" in each or each in FLAGS:
            options.append(each)
        else:
            options.append("=".join([each, *islice(rest, 1)]))
    return plain + options


def parsed(parser: Parser, arguments: list[str]) -> argparse.Namespace:
    """What the arguments ask for; the blanks that `arranged` put before a minus are taken off again.

    Raises
    ------
    UsageError
        They cannot be understood.
    """
    words = arranged(arguments)
    _hold_options(parser, words)
    found = parser.parse_args(words)
    for name, value in vars(found).items():
        if isinstance(value, list):
            setattr(found, name, [_bare(each) for each in value])
        elif isinstance(value, str):
            setattr(found, name, _bare(value))
    return found


def _hold_options(parser: Parser, words: list[str]) -> None:
    """Refuse an option that the command has not, before it takes the next word as its value.

    Raises
    ------
    UsageError
        There is one.
    """
    command = next((each for each in words if not each.startswith("-")), "")
    known = parser.options_of(command)
    for each in words if known else ():
        name = each.partition("=")[0]
        if name.startswith("--") and name not in known:
            remedy = _nearest_option(name, known) or f"See: anglewright {command} --help."
            raise UsageError(Problem(command, f"there is no option {name}", "", remedy))


def _nearest_option(name: str, known: "frozenset[str]") -> str:
    """A question for the option that is nearest, without counting the dashes; empty where none is."""
    from difflib import get_close_matches

    bare = {each.strip("-"): each for each in known}
    close = get_close_matches(name.strip("-"), bare, n=1, cutoff=_ALIKE)
    return f"Did you mean {bare[close[0]]}?" if close else ""


def _bare(text: str) -> str:
    return text[1:] if text.startswith(" -") else text


def build_parser(only: str | None = None) -> Parser:
    """The parser of the whole command line, or of the one command that was named on it."""
    parser = Parser(
        prog="anglewright",
        description="From a shaft that turns to a number the control code can trust.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", "-V", action="store_true", help="tell the version")
    inner = parser.add_subparsers(dest="command", prog=parser.prog, metavar="COMMAND", parser_class=Parser)
    for name in COMMANDS if only is None else (only,):
        text, add_arguments = COMMANDS[name]
        description = text[:1].upper() + text[1:] + "."
        command = inner.add_parser(name, help=text, description=description, allow_abbrev=False)
        add_arguments(command)
        command.add_argument("--json", action="store_true", help="print one JSON object")
        if name in OF_A_MACHINE:
            command.add_argument(
                "--machine", metavar="NAME", help="which machine of this design; the rig file's otherwise"
            )
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


def known_command(arguments: list[str]) -> str | None:
    """The command that is named, or None; an unknown one is refused with the nearest known ones."""
    first = next((each for each in arguments if not each.startswith("-")), None)
    if first is not None and first not in COMMANDS:
        raise UsageError(Problem("", f"there is no command '{first.strip()}'", "", nearest(first, COMMANDS)))
    return first
