"""An axis with a drive of one's own choice, behind a usual rest of the chain."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from anglewright.errors import RigError
from anglewright.rig import Axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

FRAME = """
[axis.lift]
motion = {{ from = "{low}", to = "{high}" }}
need = {{ error = "{error}" }}
when_unpowered = "holds"
drive = {drive}
coupling = {coupling}
sensor = {{ electrical_travel = "{travel}", mechanical_travel = "endless" }}
"""

Build = Callable[..., Axis]


def build(drive: str, *, coupling: str = '{ kind = "rigid" }', **given: str) -> Axis:
    """The axis; 0 to 100 mm, and a sensor of many turns, unless said otherwise."""
    usual = {"low": "0 mm", "high": "100 mm", "travel": "36000 deg"} | given
    error = f"1 {usual['low'].split()[-1]}"
    text = FRAME.format(drive=drive, coupling=coupling, error=error, **usual)
    return build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("lift")


@pytest.fixture
def axis_of() -> Build:
    """Builds an axis from the table of its drive."""
    return build


@pytest.fixture
def complaint_of() -> Callable[..., list[str]]:
    """The lines with which a drive is refused, without the file and axis before them."""

    def complaint(drive: str, **given: Any) -> list[str]:
        with pytest.raises(RigError) as refused:
            build(drive, **given)
        return [str(each).removeprefix("rover.toml, axis 'lift', ") for each in refused.value.problems]

    return complaint


@pytest.fixture
def there_and_back() -> np.ndarray:
    """A path that goes up, back, and up again, in turns of a sine of growing size. [1]"""
    k = np.arange(600.0)
    return np.sin(k / 23.0) * k / 600.0


@pytest.fixture
def built() -> Callable[[str], Axis]:
    """Builds the one axis of a rig file's text."""

    def axis(text: str) -> Axis:
        (found,) = build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axes.values()
        return found

    return axis


@pytest.fixture
def complaints() -> Callable[[str], list[str]]:
    """The lines with which a rig file's text is refused, without the file and axis before them."""

    def lines(text: str) -> list[str]:
        with pytest.raises(RigError) as refused:
            build_rig(parse_document(text, source="rover.toml"), source="rover.toml")
        return [re.sub(r"^rover.toml, axis '\w+', ", "", str(each)) for each in refused.value.problems]

    return lines
