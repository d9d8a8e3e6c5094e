"""Functions and files stay small enough to read.

Limits: 40 code lines a function and nine in ten under 25 (from `def` to the end, without docstring,
blank lines and comments), 400 lines a file, 6 parameters (`self` apart). At most three parameters
go by position, as many as the path of a link has (`u, t, state`); whatever has a default goes by
name, unless it is the only one.
"""

import ast
from collections.abc import Iterator, Mapping
from statistics import quantiles

import pytest

LONGEST_FUNCTION = 40
NINE_IN_TEN = 25
LONGEST_FILE = 400
MOST_PARAMETERS = 6
MOST_BY_POSITION = 3

Function = ast.FunctionDef | ast.AsyncFunctionDef


def functions(tree: ast.Module) -> Iterator[tuple[Function, bool]]:
    """Every function, and whether it is a method."""
    for holder in ast.walk(tree):
        for child in ast.iter_child_nodes(holder):
            if isinstance(child, Function):
                yield child, isinstance(holder, ast.ClassDef)


def code_lines(function: Function, text: str) -> int:
    """Lines of code of a function, its docstring, blank lines and comments not counted."""
    first = function.body[0]
    documented = ast.get_docstring(function) is not None
    skipped = range(first.lineno, (first.end_lineno or 0) + 1) if documented else range(0)
    lines = text.splitlines()
    numbers = (n for n in range(function.lineno, (function.end_lineno or 0) + 1) if n not in skipped)
    return sum(1 for n in numbers if lines[n - 1].strip() and not lines[n - 1].lstrip().startswith("#"))


def faults_of_parameters(function: Function, *, method: bool) -> list[str]:
    """What is wrong with the parameters of a public function."""
    bound = method and not any(ast.unparse(mark) == "staticmethod" for mark in function.decorator_list)
    by_position = (function.args.posonlyargs + function.args.args)[1 if bound else 0 :]
    count = len(by_position) + len(function.args.kwonlyargs)
    faults = []
    if count > MOST_PARAMETERS:
        faults.append(f"{count} parameters")
    if len(by_position) > MOST_BY_POSITION:
        faults.append(f"{len(by_position)} parameters by position")
    if len(by_position) > 1 and function.args.defaults:
        faults.append("a parameter with a default goes by position")
    return faults


def too_long(name: str, text: str) -> list[str]:
    """A file and its functions that are too long."""
    found = []
    if (lines := len(text.splitlines())) > LONGEST_FILE:
        found.append(f"{name}: {lines} lines")
    for function, _ in functions(ast.parse(text)):
        if (long := code_lines(function, text)) > LONGEST_FUNCTION:
            found.append(f"{name}:{function.lineno} {function.name}: {long} code lines")
    return found


def too_many(name: str, text: str) -> list[str]:
    """Public functions of a module whose parameters are too many, or by position."""
    return [
        f"{name}:{function.lineno} {function.name}: {fault}"
        for function, method in functions(ast.parse(text))
        if not function.name.startswith("_")
        for fault in faults_of_parameters(function, method=method)
    ]


def test_every_function_and_file_is_short(tracked: Mapping[str, str]) -> None:
    programs = {name: text for name, text in tracked.items() if name.endswith(".py")}
    found = [line for name, text in programs.items() for line in too_long(name, text)]
    assert not found, "\n" + "\n".join(found)


def test_every_public_function_takes_few_parameters(sources: Mapping[str, str]) -> None:
    found = [line for name, text in sources.items() for line in too_many(name, text)]
    assert not found, "\n" + "\n".join(found)


def test_nine_functions_in_ten_are_short(sources: Mapping[str, str]) -> None:
    lengths = [
        code_lines(function, text) for text in sources.values() for function, _ in functions(ast.parse(text))
    ]
    assert quantiles(lengths, n=10)[8] < NINE_IN_TEN


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("def f():\n" + "    x = 1\n" * 40, "m:1 f: 41 code lines"),
        ("x = 1\n" * 401, "m: 401 lines"),
        ("def f(a, *, b, c, d, e, g, h): ...", "m:1 f: 7 parameters"),
        ("def f(a, b, c, d): ...", "m:1 f: 4 parameters by position"),
        ("def f(a, b=1): ...", "m:1 f: a parameter with a default goes by position"),
        ("class C:\n    def f(self, a, b, c, d): ...", "m:2 f: 4 parameters by position"),
    ],
)
def test_a_breach_is_caught(text: str, fault: str) -> None:
    assert too_long("m", text) + too_many("m", text) == [fault]


def test_docstring_blank_lines_and_comments_are_not_code() -> None:
    text = 'def f():\n    """One.\n\n    Two.\n    """\n\n    # why\n    return 1\n'
    function, _ = next(functions(ast.parse(text)))
    assert code_lines(function, text) == 2  # counted by hand: the first and the last line


@pytest.mark.parametrize("text", ["def f(a=1): ...", "class C:\n    def f(self, u, t, state): ..."])
def test_what_is_allowed_passes(text: str) -> None:
    assert too_long("m", text) + too_many("m", text) == []
