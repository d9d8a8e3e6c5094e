"""The parser of one command is that of the whole command line, without the others."""

import argparse

import pytest

from anglewright.cli.options import COMMANDS
from anglewright.cli.parser import Parser, build_parser


def inner_parsers(parser: Parser) -> dict[str, argparse.ArgumentParser]:
    """The parser of each command."""
    (inner,) = [each for each in parser._actions if isinstance(each, argparse._SubParsersAction)]
    return dict(inner.choices)


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_helps_in_the_same_words_alone_and_among_all(name: str) -> None:
    alone = inner_parsers(build_parser(name))
    assert list(alone) == [name]
    assert alone[name].format_help() == inner_parsers(build_parser())[name].format_help()
    assert alone[name].prog == f"anglewright {name}"
