"""The files speak of the project alone, and no rule is switched off in passing."""

import re
from collections.abc import Mapping

import pytest

TRACES = {
    "a path of one computer": r"(?<![\w.])/(?:work|tmp|root|home|Users)/\w|[A-Z]:\\Users\\",
    "an address of a package index": r"pypi\.or[g]|pythonhosted\.or[g]|npmjs\.co[m]",
    "how the text came about": r"\b(?:A[I]|LL[M])\b|language mode[l]|coding assistan[t]",
}
SWITCHES = {
    "a type check switched off": r"#\s*type:\s*ignore",
    "a lint rule switched off": r"#\s*(?:ruff:\s*)?noqa",
    "a test switched off": r"pytest\.mark\.(?:skip|xfail)\b",
    "an except that swallows everything": r"except(?:\s+(?:Base)?Exception\b.*)?\s*:",
}


def found_in(text: str, patterns: Mapping[str, str]) -> list[str]:
    """What of the patterns occurs in a text, with the line."""
    return [
        f"line {number}: {what}"
        for number, line in enumerate(text.splitlines(), start=1)
        for what, pattern in patterns.items()
        if re.search(pattern, line)
    ]


def test_no_file_tells_where_or_how_it_was_made(tracked: Mapping[str, str]) -> None:
    found = {name: lines for name, text in tracked.items() if (lines := found_in(text, TRACES))}
    assert found == {}


def test_no_rule_is_switched_off(tracked: Mapping[str, str]) -> None:
    programs = {name: text for name, text in tracked.items() if name.endswith(".py")}
    assert {name: lines for name, text in programs.items() if (lines := found_in(text, SWITCHES))} == {}


@pytest.mark.parametrize(
    "text",
    [
        "see /" + "tmp/notes.txt",
        "'/" + "home/anna/rig.toml'",
        "--index-url https://pypi" + ".org/simple",
        "made by an A" + "I",
    ],
)
def test_a_trace_is_caught(text: str) -> None:
    assert len(found_in(f"fine\n{text}", TRACES)) == 1


@pytest.mark.parametrize(
    "text",
    [
        "x = y  # type" + ": ignore[misc]",
        "import os  # no" + "qa: F401",
        "@pytest.mark" + ".skip(reason='later')",
        "except" + ":",
        "except" + " Exception as error:",
    ],
)
def test_a_switch_is_caught(text: str) -> None:
    assert len(found_in(text, SWITCHES)) == 1


@pytest.mark.parametrize("text", ["build/work/rover", "except OSError:", "a tmp folder", "AIR"])
def test_harmless_text_passes(text: str) -> None:
    assert found_in(text, {**TRACES, **SWITCHES}) == []
