"""Sheets of the rover's shoulder, and what a healthy one reads."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from anglewright.jobs.cells import Cell, readings_of, scale_of
from anglewright.jobs.opening import open_rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig
from anglewright.testsheet.diagnosis import Diagnosis, diagnosis
from anglewright.testsheet.sheet import AxisUnderTest, sheet_of

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"
Sheet = Callable[[str], AxisUnderTest]
Said = Callable[..., Diagnosis]


@pytest.fixture(scope="session")
def shoulder() -> AxisUnderTest:
    """The rover's shoulder, with its pull-down."""
    return sheet_of(open_rig(ROVER / "rig.toml").axis("shoulder"))


@pytest.fixture(scope="session")
def bare_shoulder() -> AxisUnderTest:
    """The same without a pull."""
    return sheet_of(open_rig(ROVER / "no-pull.toml").axis("shoulder"))


@pytest.fixture(scope="session")
def sheet() -> Sheet:
    """The sheet of the one axis of a text."""

    def of(text: str) -> AxisUnderTest:
        return sheet_of(
            next(iter(build_rig(parse_document(text, source="a.toml"), source="a.toml").axes.values()))
        )

    return of


@pytest.fixture(scope="session")
def said() -> Said:
    """What a healthy axis reads, but for what is given; without what is named in `without`."""

    def of(tested: AxisUnderTest, changes: Mapping[str, str], *, without: tuple[str, ...] = ()) -> Diagnosis:
        cells = {check.key: _healthy(tested, check.key) for check in tested.checks} | dict(changes)
        kept = [Cell(check=key, text=text, where="test") for key, text in cells.items() if key not in without]
        return diagnosis(tested, readings_of(kept, tested.checks, tested.axis))

    return of


def _healthy(tested: AxisUnderTest, key: str) -> str:
    check = tested.check(key)
    if not check.is_number:
        return check.good[0]
    if check.expected is None and (check.low is None or check.high is None):
        return "wanders"
    low, high = check.low or 0.0, check.high or 0.0
    value = (low + high) / 2.0 if check.expected is None else check.expected
    scale = scale_of(check, tested.axis)
    unit = "" if scale.unit in ("count", "share") else scale.unit
    shown = scale.shown(value)
    return f"{shown:.0f}" if scale.unit == "count" else f"{shown:.6g} {unit}".strip()
