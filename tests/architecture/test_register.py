"""Every source that is cited is in the register, and every one in the register is cited."""

import ast
from collections.abc import Iterator, Mapping

import pytest

from anglewright.sources import SOURCES


def texts(tree: ast.AST) -> Iterator[str]:
    """Every string of a module, those between lines included."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value


def named_as_source(tree: ast.AST) -> Iterator[str]:
    """Strings given as `source=...` to a step or finding, or to `cite(...)`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func).lower()
            steps = "step" in name or "finding" in name
            given = [word.value for word in node.keywords if word.arg == "source" and steps]
            given += node.args if name.endswith("cite") else []
            words = [each.value for each in given if isinstance(each, ast.Constant)]
            yield from (word for word in words if isinstance(word, str) and word)


def unknown_keys(text: str) -> list[str]:
    """Keys given as a source that the register does not hold."""
    return sorted(set(named_as_source(ast.parse(text))) - set(SOURCES))


def used_keys(text: str) -> set[str]:
    """Keys of the register that stand in a module: as a string, or under References."""
    words = set()
    for each in texts(ast.parse(text)):
        words.add(each)
        _, _, references = each.partition("References\n")
        words |= {word.strip(" ,") for word in references.split()}
    return words & set(SOURCES)


def test_every_key_is_the_name_of_its_entry() -> None:
    assert {key: entry.key for key, entry in SOURCES.items()} == {key: key for key in SOURCES}


def test_every_cited_source_is_in_the_register(sources: Mapping[str, str]) -> None:
    assert {name: keys for name, text in sources.items() if (keys := unknown_keys(text))} == {}


def test_every_registered_source_is_cited(sources: Mapping[str, str]) -> None:
    others = [text for name, text in sources.items() if name != "anglewright.sources"]
    assert set(SOURCES) - set().union(*map(used_keys, others)) == set()


@pytest.mark.parametrize("text", ["Step(source='hearsay')", "cite('hearsay')"])
def test_an_unknown_key_is_caught(text: str) -> None:
    assert unknown_keys(text) == ["hearsay"]


def test_use_is_seen_in_calls_and_under_references() -> None:
    assert used_keys("step(source='gum')") == {"gum"}
    assert used_keys('def f():\n    """F.\n\n    References\n    ----------\n    iso54\n    """') == {"iso54"}
    assert used_keys("'a gum tree'") == set()
