"""The pages that are built from the code are fresh, and leave nothing out."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def pages() -> ModuleType:
    """The program that writes the pages."""
    spec = importlib.util.spec_from_file_location("pages", ROOT / "docs" / "pages.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_built_page_says_what_the_code_says(pages: ModuleType) -> None:
    stale = [
        name
        for name, page in pages.PAGES.items()
        if (ROOT / "docs" / name).read_text(encoding="utf-8") != pages.BUILT + page()
    ]
    assert not stale, f"run: python docs/pages.py (stale: {', '.join(stale)})"


def test_every_source_finding_and_command_has_a_line(pages: ModuleType) -> None:
    wanted = [
        ("sources.md", pages.SOURCES),
        ("findings.md", pages.KEYS | pages.FINDING_KEYS),
        ("commands.md", pages.COMMANDS),
    ]
    for name, keys in wanted:
        text = (ROOT / "docs" / name).read_text(encoding="utf-8")
        assert [key for key in keys if key not in text] == []


def test_every_command_of_the_page_of_json_exists_and_none_is_missing(pages: ModuleType) -> None:
    text = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
    told = {line.split("`")[1] for line in text.splitlines() if line.startswith("| `")}
    assert told == set(pages.COMMANDS)
