"""The settings of the tools are as strict as they are meant to be, and the pins are those of the project."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import anglewright
from anglewright.version import VERSION

PURE = {
    "circuits",
    "shapes",
    "play",
    "links",
    "chain",
    "rig",
    "budget",
    "review",
    "calibration",
}
PIN = re.compile(r"^([A-Za-z0-9._-]+)==([^ ;\\]+)", re.MULTILINE)
ADDRESS = re.compile(r"://|--(?:extra-)?index-url|--find-links|--trusted-host|@ ")


@pytest.fixture(scope="module")
def project(root: Path) -> dict[str, Any]:
    """The project's settings."""
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))


def pins_of(text: str) -> dict[str, list[str]]:
    """Pinned versions by name; several where they depend on the Python."""
    found: dict[str, list[str]] = {}
    for name, version in PIN.findall(text):
        found.setdefault(canonicalize_name(name), []).append(version)
    return found


def unmet(wanted: list[str], pins: dict[str, list[str]]) -> Iterator[str]:
    """Requirements that the pins do not meet."""
    for requirement in map(Requirement, wanted):
        versions = pins.get(canonicalize_name(requirement.name), [])
        if not versions or not all(map(requirement.specifier.contains, versions)):
            yield f"{requirement} is pinned to {versions}"


def unhashed(text: str) -> list[str]:
    """Pins that no hash follows."""
    entries = re.split(r"\n(?=\S)", text.strip())
    return [entry.split()[0] for entry in entries if "--hash=sha256:" not in entry]


@pytest.mark.parametrize(("name", "groups"), [("run", ["build"]), ("dev", ["build", "dev"])])
def test_pins_meet_what_the_project_asks_for(
    name: str, groups: list[str], root: Path, project: dict[str, Any]
) -> None:
    text = (root / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    wanted = list(project["project"]["dependencies"])
    for group in groups:
        wanted += project["dependency-groups"][group]
    assert list(unmet(wanted, pins_of(text))) == []


@pytest.mark.parametrize("name", ["run", "dev"])
def test_every_pin_has_a_hash_and_no_address(name: str, root: Path) -> None:
    text = (root / "requirements" / f"{name}.txt").read_text(encoding="utf-8")
    assert unhashed(text) == []
    assert ADDRESS.search(text) is None


def test_a_user_and_a_developer_get_the_same_versions(root: Path) -> None:
    run, dev = (
        pins_of((root / "requirements" / f"{name}.txt").read_text(encoding="utf-8"))
        for name in ("run", "dev")
    )
    assert {name: dev.get(name) for name in run} == run


def test_faulty_pins_are_caught() -> None:
    assert list(unmet(["numpy>=2.0"], {"numpy": ["1.26.4"]})) == ["numpy>=2.0 is pinned to ['1.26.4']"]
    assert list(unmet(["Jinja2"], {})) == ["Jinja2 is pinned to []"]
    assert unhashed("a==1 \\\n    --hash=sha256:00\nb==2\n") == ["b==2"]


def test_every_room_of_physics_is_under_the_pure_contract(root: Path, project: dict[str, Any]) -> None:
    package = root / "src" / "anglewright"
    there = {
        room
        for room in PURE
        if (package / f"{room}.py").exists() or (package / room / "__init__.py").exists()
    }
    contract = next(each for each in project["tool"]["importlinter"]["contracts"] if each["id"] == "pure")
    assert {each.removeprefix("anglewright.") for each in contract["source_modules"]} >= there


def test_everything_in_the_package_is_shipped(tracked: Mapping[str, str], project: dict[str, Any]) -> None:
    data = project["tool"]["setuptools"]["package-data"]
    globs = [f"src/{package.replace('.', '/')}/{each}" for package, given in data.items() for each in given]
    files = [name for name in tracked if name.startswith("src/") and not name.endswith(".py")]
    assert [name for name in files if not any(Path(name).match(each) for each in globs)] == []


def test_no_contract_has_an_exception(project: dict[str, Any]) -> None:
    assert [
        each["id"] for each in project["tool"]["importlinter"]["contracts"] if "ignore_imports" in each
    ] == []


def test_types_are_checked_strictly_and_everywhere(project: dict[str, Any]) -> None:
    settings = project["tool"]["mypy"]
    assert settings["strict"] is True
    assert "overrides" not in settings
    assert {"src", "make.py", "benchmarks"} <= set(settings["files"])


def test_warnings_and_unexpected_passes_fail_a_test(project: dict[str, Any]) -> None:
    settings = project["tool"]["pytest"]["ini_options"]
    assert settings["filterwarnings"] == ["error"]
    assert settings["xfail_strict"] is True
    assert {"--strict-markers", "--strict-config"} <= set(settings["addopts"])


def test_the_newest_entry_of_the_changelog_is_this_version(root: Path) -> None:
    text = (root / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## (\d+\.\d+\.\d+)", text, re.MULTILINE)
    assert newest
    assert newest[1] == VERSION == anglewright.__version__


def test_version_stands_in_one_place(project: dict[str, Any]) -> None:
    assert project["project"]["dynamic"] == ["version"]
    assert "version" not in project["project"]
