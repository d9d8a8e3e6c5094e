"""Small files as people bring them, one quirk each; every one is read as its hand-written table says."""

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest

from anglewright.errors import AnglewrightError
from anglewright.quantities.units import UNITS
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import read_sheet
from anglewright.tables.sheet import Sheet
from anglewright.tables.wishes import wishes_from

CORPUS = Path(__file__).parent / "corpus"
EXPECTED = tomllib.loads((CORPUS / "expected.toml").read_text(encoding="utf-8"))
FILES: dict[str, dict[str, Any]] = {each["name"]: each for each in EXPECTED["file"]}
READ = [name for name, each in FILES.items() if "refused" not in each]
REFUSED = [name for name, each in FILES.items() if "refused" in each]
TOP = {"counts": 4095.0, "volts": 3.3, "fraction": 1.0}
"""The rover's shoulder: 12 bits over 3.3 V."""


def wanted(each: dict[str, Any]) -> Wanted:
    """What the shoulder expects, or an axis without ends."""
    meaning, unit = each.get("raw_meaning", "counts"), UNITS["deg"]
    if each.get("endless"):
        return Wanted(unit=unit, raw_meaning=meaning)
    return Wanted(
        unit=unit,
        raw_meaning=meaning,
        low=unit.to_si(-20.0),
        high=unit.to_si(115.0),
        raw_low=0.0,
        raw_high=TOP[meaning],
    )


def read(name: str) -> Sheet:
    """A file of the corpus, with what its entry says about it."""
    each = FILES[name]
    return read_sheet(CORPUS / name, wanted=wanted(each), wishes=wishes_from(each.get("wishes", ())))


def test_there_are_files_for_every_point_and_every_file_is_expected() -> None:
    there = {path.name for path in CORPUS.iterdir()} - {"expected.toml", ".gitattributes"}
    assert there == set(FILES)
    assert len(FILES) >= 60
    assert len(REFUSED) <= 10
    assert {each["point"] for each in FILES.values()} == {str(point) for point in range(1, 11)}


@pytest.mark.parametrize("name", READ)
def test_a_file_is_read_as_its_table_says(name: str) -> None:
    each, sheet = FILES[name], read(name)
    recording = sheet.recording
    assert recording.reference is not None
    degrees = [math.degrees(value) for value in recording.reference]
    assert degrees == pytest.approx(each.get("reference", EXPECTED["reference"]), abs=1e-9)
    assert recording.raw.tolist() == pytest.approx(each.get("raw", EXPECTED["raw"]), abs=1e-12)
    if each.get("time"):
        assert recording.time_s is not None
        assert recording.time_s.tolist() == pytest.approx(each["time"], abs=1e-6)
    if "time" in each and not each["time"]:
        assert recording.time_s is None
    if "sides" in each:
        assert recording.approach is not None
        assert recording.approach.tolist() == each["sides"]


@pytest.mark.parametrize("name", READ)
def test_what_is_unusual_is_said_and_every_cell_lost_is_named(name: str) -> None:
    each, sheet = FILES[name], read(name)
    for text in each.get("says", ()):
        assert any(text in said for said in sheet.decisions), sheet.decisions
    cells = [f"{cell.line} {cell.column} '{cell.text}' {cell.why}" for cell in sheet.refused]
    assert cells == each.get("cells", [])
    assert sheet.refused_cells == len(cells)


@pytest.mark.parametrize("name", REFUSED)
def test_a_file_that_may_be_refused_says_what_to_do(name: str) -> None:
    with pytest.raises(AnglewrightError) as refused:
        read(name)
    assert str(refused.value) == FILES[name]["refused"].format(file=CORPUS / name)
