"""Runs one command: arguments in, one job called, its result shown, an exit code out."""

import argparse
import sys

from anglewright.cli.parser import build_parser, known_command
from anglewright.errors import AnglewrightError

INTERRUPTED = 130


def run(arguments: list[str]) -> int:
    """Run a command line and give its exit code; every error is a sentence on standard error."""
    as_json = "--json" in arguments
    try:
        known_command(arguments)
        parser = build_parser()
        options = parser.parse_args(arguments)
        if options.command is None:
            parser.print_help()
            return 0
        return _run(options)
    except AnglewrightError as fault:
        return _refuse(fault, as_json=as_json)
    except KeyboardInterrupt:
        print("anglewright: stopped; nothing half done was kept.", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def _run(options: argparse.Namespace) -> int:
    from anglewright.cli.commands import answer

    outcome = answer(options)
    if options.json:
        import json

        print(json.dumps(outcome.as_json(), ensure_ascii=False, indent=2, allow_nan=False))
    else:
        from anglewright.cli.showing import show_outcome

        show_outcome(outcome)
    return outcome.exit_code


def _refuse(fault: AnglewrightError, *, as_json: bool) -> int:
    for problem in fault.problems:
        print(f"anglewright: {problem}", file=sys.stderr)
    if as_json:
        import json

        rows = [
            {"where": each.where, "found": each.found, "limit": each.limit, "remedy": each.remedy}
            for each in fault.problems
        ]
        print(json.dumps({"errors": rows, "exit_code": fault.exit_code}, ensure_ascii=False, indent=2))
    return fault.exit_code
