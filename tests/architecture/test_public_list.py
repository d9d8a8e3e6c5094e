"""`anglewright.__all__` is exactly what the package offers."""

import json
import subprocess
import sys

import anglewright

QUESTION = """
import json, types, anglewright as package
found = {name: getattr(package, name) for name in package.__all__}
visible = {name: getattr(package, name) for name in dir(package) if not name.startswith("_")}
public = {name for name, value in visible.items() if not isinstance(value, types.ModuleType)}
objects = {n: v for n, v in found.items() if isinstance(v, type | types.FunctionType)}
print(json.dumps({
    "offered": sorted(public),
    "strangers": sorted(n for n, v in objects.items() if not v.__module__.startswith("anglewright.")),
    "silent": sorted(n for n, v in objects.items() if not v.__doc__),
}))
"""


def answer() -> dict[str, list[str]]:
    """What a fresh interpreter finds, so that no other test has filled the package."""
    done = subprocess.run([sys.executable, "-c", QUESTION], capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def test_the_list_names_all_that_is_offered_and_nothing_else() -> None:
    listed = {name for name in anglewright.__all__ if not name.startswith("__")}
    assert listed == set(answer()["offered"])


def test_the_list_is_in_order_and_without_doubles() -> None:
    assert list(anglewright.__all__) == sorted(set(anglewright.__all__))


def test_all_that_is_offered_is_our_own_and_documented() -> None:
    found = answer()
    assert (found["strangers"], found["silent"]) == ([], [])


def test_an_unknown_name_is_refused() -> None:
    assert not hasattr(anglewright, "no_such_name")
