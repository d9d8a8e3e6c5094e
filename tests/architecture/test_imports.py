"""Who may import whom, beyond the contract in `pyproject.toml`."""

import ast
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

HEAVY = ("numpy", "scipy", "polars", "rich", "jinja2", "tomlkit")
LINKS = "anglewright.links."
SHARED_BY_LINKS = {
    "protocol",
    "fields",
    "ratio",
    "harness",
    "nodes",
    "track",
    "absolute",
    "readiness",
    "taps",
    "sampling",
    "bends",
    "conversion",
}
"""What every link may know: what a link is, how its keys are declared, and the constant ratio with play that
gears, racks, chains, belts, drums and screws all are, so that none of them repeats it.
"""

LOADED = """
import sys
{work}
print(*(name for name in {heavy} if name in sys.modules), file=sys.stderr)
"""
DOOR = """
sys.argv = ["anglewright", {option!r}]
from anglewright.__main__ import main
try:
    code = main()
except SystemExit as stopped:
    code = stopped.code
assert not code, code
"""


def heavy_modules(work: str) -> list[str]:
    """Which of the heavy packages a fresh interpreter holds after some work."""
    program = LOADED.format(work=work, heavy=HEAVY)
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return done.stderr.split()


def imports(text: str) -> Iterator[tuple[str, str]]:
    """Every import of a module: from where and what (empty for a plain import); dots kept."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from ((each.name, "") for each in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (("." * node.level + (node.module or ""), each.name) for each in node.names)


def from_the_root(name: str, text: str) -> list[str]:
    """Imports through the package root, relative ones and those of everything."""
    return [
        f"{name}: from {source} import {what}"
        for source, what in imports(text)
        if (source == "anglewright" and name != "anglewright") or source.startswith(".") or what == "*"
    ]


def other_links(name: str, text: str) -> list[str]:
    """Links that a link imports, those apart that are shared by all."""
    stem = name.removeprefix(LINKS)
    if stem in SHARED_BY_LINKS or not name.startswith(LINKS):
        return []
    wholes = [f"{source}.{what}" if source == LINKS[:-1] else source for source, what in imports(text)]
    known = {whole.removeprefix(LINKS) for whole in wholes if whole.startswith(LINKS)}
    return [f"{stem} knows {other}" for other in sorted(known - SHARED_BY_LINKS)]


def test_import_is_light() -> None:
    assert heavy_modules("import anglewright") == []


@pytest.mark.parametrize("option", ["--version", "--help"])
def test_version_and_help_are_light(option: str) -> None:
    assert heavy_modules(DOOR.format(option=option)) == []


def test_a_heavy_import_is_noticed() -> None:
    assert heavy_modules("import numpy") == ["numpy"]


def test_no_module_imports_from_the_root_or_everything(sources: Mapping[str, str]) -> None:
    assert [fault for name, text in sources.items() for fault in from_the_root(name, text)] == []


@pytest.mark.parametrize(
    "text", ["from anglewright import chain", "from . import chain", "from math import *"]
)
def test_an_import_from_the_root_is_caught(text: str) -> None:
    assert len(from_the_root("anglewright.rig", text)) == 1


def test_a_link_knows_no_other_link(sources: Mapping[str, str]) -> None:
    assert [fault for name, text in sources.items() for fault in other_links(name, text)] == []


@pytest.mark.parametrize("text", ["import anglewright.links.gears", "from anglewright.links import gears"])
def test_a_link_that_knows_another_is_caught(text: str) -> None:
    assert other_links("anglewright.links.wiring", text) == ["wiring knows gears"]


def contract(folder: Path) -> subprocess.CompletedProcess[str]:
    """The import contract, held against the package in a folder."""
    program = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    command = [sys.executable, "-c", program]
    # Plain environment: the folder's package must win over the installed one.
    env = {"PYTHONPATH": str(folder / "src")}
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, env=env, check=False)


def test_the_contract_is_kept(root: Path) -> None:
    done = contract(root)
    assert done.returncode == 0, done.stdout


@pytest.mark.slow
@pytest.mark.parametrize(
    ("module", "line", "broken"),
    [
        ("circuits.py", "import time", "reads no clock"),
        ("links/gears.py", "def f():\n    import random", "reads no clock"),
        ("errors.py", "import anglewright.chain", "Doors call jobs"),
        ("findings.py", "import anglewright.handover.plan", "Doors call jobs"),
        ("attic.py", "", "must be declared as a layer"),
    ],
)
def test_a_breach_of_the_contract_is_caught(
    root: Path, tmp_path: Path, *, module: str, line: str, broken: str
) -> None:
    shutil.copy(root / "pyproject.toml", tmp_path)
    package = Path(shutil.copytree(root / "src" / "anglewright", tmp_path / "src" / "anglewright"))
    with (package / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{line}\n")
    done = contract(tmp_path)
    assert done.returncode == 1
    assert broken in done.stdout
