"""Runs one command: arguments in, one job called, its result shown, an exit code out."""

import argparse
import sys

from anglewright.cli.parser import arranged, build_parser, known_command, parsed
from anglewright.cli.streams import hush, speak_any_text, visible
from anglewright.errors import AnglewrightError, Problem, UsageError
from anglewright.version import VERSION

INTERRUPTED = 130


def run(arguments: list[str]) -> int:
    """Run a command line and give its exit code; every error is a sentence on standard error. [1]"""
    speak_any_text()
    try:
        code = _answered(arguments)
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        print("anglewright: stopped; nothing half done was kept.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        hush(sys.stdout)
        return 0


def _answered(arguments: list[str]) -> int:
    try:
        return _run(arguments)
    except AnglewrightError as fault:
        return _refuse(fault, as_json="--json" in arguments)


def _run(arguments: list[str]) -> int:
    if {"--version", "-V"} & set(arguments):
        print(f"anglewright {VERSION}")
        return 0
    _hold_text(arguments)
    parser = build_parser(known_command(arranged(arguments)))
    options = parsed(parser, arguments)
    if options.command is None:
        parser.print_help()
        return 0
    return _show(options)


def _show(options: argparse.Namespace) -> int:
    from anglewright.cli.commands import answer

    outcome = answer(options)
    if options.json:
        _print_json(outcome.as_json())
    else:
        from anglewright.cli.showing import show_outcome

        show_outcome(outcome)
    return outcome.exit_code


def _print_json(found: dict[str, object]) -> None:
    import json

    print(json.dumps(_finite(found), ensure_ascii=False, indent=2, allow_nan=False))


def _finite(value: object) -> object:
    """The same with null for what is no finite number: JSON knows none."""
    if isinstance(value, dict):
        return {key: _finite(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(each) for each in value]
    return None if isinstance(value, float) and not abs(value) < float("inf") else value


def _refuse(fault: AnglewrightError, *, as_json: bool) -> int:
    for problem in fault.problems:
        print(f"anglewright: {visible(str(problem))}", file=sys.stderr)
    if as_json:
        rows = [
            {"where": each.where, "found": each.found, "limit": each.limit, "remedy": each.remedy}
            for each in fault.problems
        ]
        _print_json({"errors": rows, "exit_code": fault.exit_code})
    return fault.exit_code


def _hold_text(arguments: list[str]) -> None:
    """Refuse arguments that are not text."""
    for each in arguments:
        if any("\ud800" <= sign <= "\udfff" for sign in each):
            found = f"{each.encode('utf-8', 'backslashreplace').decode()!r} is not text"
            raise UsageError(Problem("", found, "", "Write it in the encoding of your terminal."))
