"""A what-if that names no axis: meant for the one that is looked at, or refused with those it could mean."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]


def test_a_change_without_an_axis_is_meant_for_the_axis_that_is_named(door: Door) -> None:
    # The pan sits on its own shaft and has no backlash to be set: it is left alone.
    short = door("budget", "rover.toml", "shoulder", "--set", "drive.backlash=0 mm", "--json").json
    whole = door("budget", "rover.toml", "shoulder", "--set", "shoulder.drive.backlash=0 mm", "--json").json
    assert short["what_if"]["states"] == whole["what_if"]["states"] != short["states"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            "drive.backlash=0 mm",
            "'drive.backlash=0 mm' names no axis, and rover.toml has 6. "
            'Write --set "shoulder.drive.backlash=0 mm", or another of shoulder, mast, tilt; '
            "or name the axis behind the file.",
        ),
        (
            "drive.rope=21 mm",
            "'drive.rope=21 mm' names no axis, and rover.toml has 6. "
            'Write --set "reel.drive.rope=21 mm"; or name the axis behind the file.',
        ),
        (
            "sholder.drive.backlash=0 mm",
            "there is no axis 'sholder' in rover.toml. Did you mean 'shoulder'?",
        ),
        ("drve.backlash=0 mm", "there is no table 'drve' in rover.toml. Did you mean 'drive'?"),
    ],
)
def test_among_several_axes_it_says_which_it_could_mean(door: Door, change: str, said: str) -> None:
    for command in ("budget", "check", "expect"):
        answer = door(command, "rover.toml", "--set", change)
        assert answer.err == f"anglewright: --set: {said}\n"
        assert (answer.code, answer.out) == (2, "")


def test_of_one_axis_it_needs_no_name(door: Door, rover: Path) -> None:
    assert door("budget", "rig.toml", "--set", "drive.backlash=0 mm").code in (0, 1)
    said = door("budget", "rig.toml", "--set", "drve.backlash=0 mm")
    assert (
        said.err == "anglewright: rig.toml, axis 'shoulder': key 'drve' is not known. Did you mean 'drive'?\n"
    )
