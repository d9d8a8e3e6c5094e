"""Every public object is documented, and what the docstrings say matches the code.

- Modules, classes, functions and methods without a leading underscore have a docstring.
- In the rooms where numbers are worked out (`NUMERIC`) a module-level function that takes or gives
  numbers and does more than three lines of work has the sections Parameters and Returns.
- Wherever a section Parameters stands, it names the parameters of the signature in their order.
- Each numeric entry of Parameters and Returns ends with its unit in brackets, `[1]` for a plain number;
  a function without a section Returns that gives numbers says the unit at the end of its first line
  (not the methods of a Protocol, whose unit is that of the class which fulfils it).
- References are keys of the register of sources.
"""

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import pytest
from numpydoc.docscrape import NumpyDocString

from anglewright.sources import SOURCES

NUMERIC = ("links", "chain", "circuits", "shapes", "play", "budget", "calibration", "simulation")
TRIVIAL = 3  # code lines of a body that needs no sections
NUMBER = re.compile(r"\b(float|int|array|ndarray|Array|ArrayLike|Numeric|NDArray)\b")
NUMBERS = {"float", "Numeric", "Array", "NDArray[np.float64]"}
UNIT = re.compile(r"\[[^\[\]]+\]\.?$")

Function = ast.FunctionDef | ast.AsyncFunctionDef
Public = ast.Module | ast.ClassDef | Function


@dataclass(frozen=True, slots=True)
class Entry:
    """One public object: where it stands, its node, and the class it is a method of."""

    place: str
    node: Public
    owner: ast.ClassDef | None = None


def public_objects(name: str, tree: ast.Module) -> Iterator[Entry]:
    """The module, its public classes and functions, and their public methods."""
    yield Entry(name, tree)
    yield from _public_children(name, tree)


def _public_children(place: str, holder: ast.Module | ast.ClassDef) -> Iterator[Entry]:
    owner = holder if isinstance(holder, ast.ClassDef) else None
    for node in holder.body:
        if isinstance(node, ast.ClassDef | Function) and not node.name.startswith("_"):
            yield Entry(f"{place}.{node.name}", node, owner)
            if isinstance(node, ast.ClassDef):
                yield from _public_children(f"{place}.{node.name}", node)


def signature(function: Function, *, method: bool) -> list[str]:
    """Names of the parameters, stars included, `self` apart."""
    arguments = function.args
    names = [each.arg for each in arguments.posonlyargs + arguments.args]
    names += [f"*{arguments.vararg.arg}"] if arguments.vararg else []
    names += [each.arg for each in arguments.kwonlyargs]
    names += [f"**{arguments.kwarg.arg}"] if arguments.kwarg else []
    static = any(ast.unparse(mark) == "staticmethod" for mark in function.decorator_list)
    return names[1:] if method and not static else names


def is_numeric(annotation: str) -> bool:
    """Whether a type is that of numbers in a unit of the program; a text brings its own unit."""
    return bool(NUMBER.search(annotation)) and not re.search(r"\bstr\b", annotation)


def handles_numbers(function: Function) -> bool:
    """Whether a function takes or gives numbers."""
    arguments = function.args.posonlyargs + function.args.args + function.args.kwonlyargs
    annotations = [each.annotation for each in arguments] + [function.returns]
    return any(is_numeric(ast.unparse(each)) for each in annotations if each)


def without_unit(text: str) -> bool:
    """Whether a description does not end with a unit in brackets."""
    return UNIT.search(text.strip()) is None


def faults_of_sections(entry: Entry, sections: NumpyDocString) -> Iterator[str]:
    """What is wrong with the sections of one function."""
    documented = [each.name for each in sections["Parameters"]]
    if documented and isinstance(entry.node, Function):
        names = [one.strip() for each in documented for one in each.split(",")]
        if names != (real := signature(entry.node, method=entry.owner is not None)):
            yield f"Parameters are {names}, the signature has {real}"
    for each in [*sections["Parameters"], *sections["Returns"], *sections["Yields"]]:
        if is_numeric(each.type) and without_unit(" ".join(each.desc)):
            yield f"'{each.name or each.type}' ends without its unit in brackets"


def faults_of_references(text: str) -> Iterator[str]:
    """Keys under References that the register does not hold."""
    _, found, tail = text.partition("References\n----------\n")
    for line in tail.splitlines() if found else []:
        if not line.strip() or line.startswith("-"):
            return
        for key in line.split(","):
            if key.strip() not in SOURCES:
                yield f"no source '{key.strip()}' in the register"


def body_lines(function: Function) -> int:
    """Lines of the body after the docstring."""
    rest = function.body[1:]
    return (rest[-1].end_lineno or 0) - rest[0].lineno + 1 if rest else 0


def needs_sections(entry: Entry) -> bool:
    """Whether a function works out numbers and is more than trivial."""
    room = entry.place.split(".")[1]
    return (
        isinstance(entry.node, Function)
        and entry.owner is None
        and room in NUMERIC
        and bool(signature(entry.node, method=False))
        and handles_numbers(entry.node)
        and body_lines(entry.node) > TRIVIAL
    )


def faults_of_function(entry: Entry, function: Function, text: str) -> Iterator[str]:
    """What is wrong with the docstring of one function or method."""
    sections = NumpyDocString(text)
    yield from faults_of_sections(entry, sections)
    if needs_sections(entry):
        yield from (f"no section {name}" for name in ("Parameters", "Returns") if not sections[name])
    gives = ast.unparse(function.returns).strip("'\"") if function.returns else ""
    promised = entry.owner is not None and any(ast.unparse(each) == "Protocol" for each in entry.owner.bases)
    told = promised or bool(sections["Returns"]) or not without_unit(text.split("\n\n")[0])
    if gives in NUMBERS and not told:
        yield "gives a number, and its first line ends without the unit in brackets"


def faults(entry: Entry) -> Iterator[str]:
    """All that is wrong with the docstring of one public object."""
    text = ast.get_docstring(entry.node)
    if not text:
        yield f"{entry.place}: no docstring"
        return
    yield from (f"{entry.place}: {fault}" for fault in faults_of_references(text))
    if isinstance(entry.node, Function):
        yield from (f"{entry.place}: {fault}" for fault in faults_of_function(entry, entry.node, text))


def all_faults(name: str, text: str) -> list[str]:
    """All that is wrong in one module."""
    return [fault for entry in public_objects(name, ast.parse(text)) for fault in faults(entry)]


def test_every_public_object_says_what_it_is_and_in_which_unit(sources: Mapping[str, str]) -> None:
    found = [fault for name, text in sources.items() for fault in all_faults(name, text)]
    assert not found, "\n" + "\n".join(found)


GOOD = '''"""A module."""

def ratio(travel: float, *, load_ohm: float) -> float:
    """Share of the supply.

    Parameters
    ----------
    travel : float
        Travel, 0 to 1. [1]
    load_ohm : float
        Load. [ohm]

    Returns
    -------
    float
        Share. [1]

    References
    ----------
    thevenin
    """
    a = travel
    b = load_ohm
    c = a * b
    return c
'''


def test_a_good_docstring_passes() -> None:
    assert all_faults("anglewright.circuits", GOOD) == []


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('"""A module."""', "", ": no docstring"),
        ("Load. [ohm]", "Load.", ".ratio: 'load_ohm' ends without its unit in brackets"),
        ("Share. [1]", "Share.", ".ratio: 'float' ends without its unit in brackets"),
        ("    thevenin", "    hearsay", ".ratio: no source 'hearsay' in the register"),
        (
            "travel : float",
            "travels : float",
            ".ratio: Parameters are ['travels', 'load_ohm'], the signature has ['travel', 'load_ohm']",
        ),
        (
            "    Returns\n    -------\n    float\n        Share. [1]\n\n",
            "",
            ".ratio: no section Returns",
        ),
    ],
)
def test_a_planted_fault_is_caught(old: str, new: str, fault: str) -> None:
    assert old in GOOD
    assert f"anglewright.circuits{fault}" in all_faults("anglewright.circuits", GOOD.replace(old, new, 1))


def test_a_number_without_a_unit_in_its_one_line_is_caught() -> None:
    text = '"""M."""\nclass A:\n    """A."""\n    def size(self) -> float:\n        """Size."""\n'
    expected = "m.A.size: gives a number, and its first line ends without the unit in brackets"
    assert all_faults("m", text) == [expected]
    assert all_faults("m", text.replace("Size.", "Size. [m]")) == []
