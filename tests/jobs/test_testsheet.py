"""The sheet and its diagnosis as jobs: files, cells, what is written back into the rig."""

import csv
import io
from pathlib import Path

import pytest

from anglewright.errors import DataError, RigError, UsageError
from anglewright.jobs import testsheet as sheets
from anglewright.jobs.cells import Cell, readings_of
from anglewright.jobs.diagnosing import diagnose, diagnose_cells
from anglewright.jobs.filled import cells_in, typed_cells
from anglewright.jobs.measured import Measured, kept_text
from anglewright.jobs.opening import open_rig
from anglewright.testsheet.sheet import sheet_of

HEALTHY = {
    "resistance-ends": "9.83 kohm", "resistance-low": "1.2 kohm", "resistance-high": "8.9 kohm",
    "resistance-turning": "even", "witness-line": "whole", "feed-alone": "3.29 V", "signal-alone": "0",
    "signal-at-stow": "0.337 V", "code-at-stow": "414", "signal-at-pin": "1.60 V", "code-at-pin": "1975",
    "noise": "4", "wiggle-coupling": "30", "wiggle-cable": "3", "stop-low": "225", "stop-high": "3803",
}  # fmt: skip


def filled(path: Path, readings: dict[str, str], *, mark: str = ",") -> Path:
    """A blank sheet with readings put into their column, as a spreadsheet would save it."""
    lines = path.read_text(encoding="utf-8").splitlines()
    rows = list(csv.reader(line for line in lines if not line.startswith("#")))
    place = rows[0].index("reading")
    for row in rows[1:]:
        row[place] = readings.get(row[1], "")
    out = io.StringIO()
    csv.writer(out, delimiter=mark).writerows(rows)
    path.write_text(out.getvalue(), encoding="utf-8")
    return path


def refusals(rover: Path, readings: dict[str, str]) -> list[str]:
    """What is said of readings that cannot be used."""
    with pytest.raises(DataError) as refused:
        diagnose(open_rig(rover / "rig.toml"), "shoulder", readings)
    return [str(problem) for problem in refused.value.problems]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_a_sheet_that_was_written_is_read_back_once_it_is_filled(rover: Path, mark: str) -> None:
    rig = open_rig(rover / "rig.toml")
    sheets.test_sheet(rig, "shoulder", csv=rover / "sheet.csv")
    point = "." if mark == "," else ","  # as a spreadsheet of another country saves it
    bare = {key: text.split()[0].replace(".", point) for key, text in HEALTHY.items()}
    path = filled(rover / "sheet.csv", bare, mark=mark)
    found = diagnose_cells(rig, "shoulder", cells_in(path))
    assert found.found.verdict == "healthy"
    assert found.found.readings["resistance-ends"].value == pytest.approx(9830.0)  # the sheet's unit is kohm
    assert {check.key for check in found.unread} == {"sign-by-hand", "sign-of-motor", "sign-of-loop"}


def test_a_sheet_is_not_written_over(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    (rover / "sheet.csv").write_text("mine", encoding="utf-8")
    (rover / "sheet.html").write_text("mine", encoding="utf-8")
    for kind in ("csv", "html"):
        with pytest.raises(DataError, match="there is a file of that name"):
            sheets.test_sheet(rig, "shoulder", **{kind: rover / f"sheet.{kind}"})
        assert (rover / f"sheet.{kind}").read_text(encoding="utf-8") == "mine"


def test_the_page_loads_nothing_and_shows_a_name_as_text(rover: Path) -> None:
    text = (rover / "rig.toml").read_text(encoding="utf-8").replace("Vine rover", "<script>x</script>")
    (rover / "odd.toml").write_text(text, encoding="utf-8")
    sheets.test_sheet(open_rig(rover / "odd.toml"), "shoulder", html=rover / "sheet.html")
    page = (rover / "sheet.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert "&lt;script&gt;x&lt;/script&gt;" in page
    assert "default-src 'none'" in page
    assert page.count('<span class="day">tested on') == 3
    assert "Simulated data" in page


def test_readings_may_come_with_their_unit_by_number_and_as_numbers(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    found = diagnose(rig, "shoulder", {"1": "9830 ohm", "resistance-low": 1.2, "feed-alone": "3290 mV"})
    values = {key: reading.value for key, reading in found.found.readings.items()}
    assert values == pytest.approx({"resistance-ends": 9830.0, "resistance-low": 1200.0, "feed-alone": 3.29})


@pytest.mark.parametrize("raw", ["volts", "fraction"])
def test_codes_are_read_as_the_controller_shows_them(rover: Path, raw: str) -> None:
    """Half of the scale is code 2048 in every form, less the half code of its middle."""
    text = (rover / "rig.toml").read_text(encoding="utf-8").replace('raw = "counts"', f'raw = "{raw}"')
    (rover / "other.toml").write_text(text, encoding="utf-8")
    tested = sheet_of(open_rig(rover / "other.toml").axis("shoulder"))
    shown = {"volts": "1.65 V", "fraction": "0.5"}[raw]
    read = readings_of([Cell(check="code-at-pin", text=shown)], tested.checks, tested.axis)
    assert read["code-at-pin"].value == pytest.approx(2047.5)
    change = readings_of([Cell(check="wiggle-cable", text=shown)], tested.checks, tested.axis)
    assert change["wiggle-cable"].value == pytest.approx(2048.0)


@pytest.mark.parametrize(
    ("text", "ohms"), [("9,8 kohm", 9800.0), ("9,85kohm", 9850.0), ("0,385 kohm", 385.0), ("0", 0.0)]
)
def test_a_decimal_comma_and_a_bare_nothing_are_readings(rover: Path, text: str, ohms: float) -> None:
    found = diagnose(open_rig(rover / "rig.toml"), "shoulder", {"resistance-ends": text}).found
    assert found.readings["resistance-ends"].value == pytest.approx(ohms)


BAD = {
    "a comma that may part thousands": (
        {"resistance-ends": "9,830 kohm"},
        "readings, check 'resistance-ends': the comma in '9,830 kohm' may be a decimal mark, or part "
        "thousands. Write 9.830 or 9830.",
    ),
    "unknown check": (
        {"wigle-cable": "3"},
        "readings: there is no check 'wigle-cable'. Did you mean 'wiggle-cable' or 'wiggle-coupling'?",
    ),
    "unit missing": (
        {"resistance-ends": "9.83"},
        "readings, check 'resistance-ends': '9.83' has no unit. Write it with its unit, as in 9.83 kohm.",
    ),
    "another kind": (
        {"feed-alone": "3.3 kohm"},
        "readings, check 'feed-alone': '3.3 kohm' is a resistance, a voltage is asked for. "
        "Write it in V, mV or uV.",
    ),
    "no number": (
        {"code-at-pin": "about 2000"},
        "readings, check 'code-at-pin': 'about 2000' has no number that can be read, a number of counts is "
        "asked for. Write a number and its unit, such as '10 count'.",
    ),
    "a tolerance": (
        {"feed-alone": "3.3 V ± 1 %"},
        "readings, check 'feed-alone': '3.3 V ± 1 %' has a tolerance. "
        "Write what the meter or the controller shows.",
    ),
    "open volts": (
        {"feed-alone": "open"},
        "readings, check 'feed-alone': 'open' is a reading of ohms. Write what it shows in V.",
    ),
    "no answer": (
        {"witness-line": "gone"},
        "readings, check 'witness-line': 'gone' is none of its answers. "
        "Write one of: whole, shaft, body, none.",
    ),
    "two readings": (
        {"1": "9.8 kohm", "resistance-ends": "9.8 kohm"},
        "readings, check 'resistance-ends': it has two readings. Leave one of them out.",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_reading_that_cannot_be_used_is_refused_with_a_sentence(rover: Path, name: str) -> None:
    readings, said = BAD[name]
    assert refusals(rover, readings) == [said]


def test_all_that_is_wrong_is_told_together(rover: Path) -> None:
    assert len(refusals(rover, {"feed-alone": "x", "noise": "y", "nothing": "z"})) == 3


def test_a_file_names_its_line_and_one_without_the_columns_is_refused(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    sheets.test_sheet(rig, "shoulder", csv=rover / "sheet.csv")
    path = filled(rover / "sheet.csv", {"feed-alone": "yes"})
    with pytest.raises(DataError) as refused:
        diagnose_cells(rig, "shoulder", cells_in(path))
    assert str(refused.value).startswith(f"{path}, line 8, check 'feed-alone': 'yes' has no number")
    with pytest.raises(DataError, match="no line of it names the columns check and reading"):
        cells_in(rover / "shoulder-bench.csv")


def test_a_typed_line_without_a_reading_is_refused() -> None:
    with pytest.raises(DataError) as refused:
        typed_cells(["feed-alone 3.29 V", "noise"])
    assert str(refused.value) == (
        "typed line 2: 'noise' has no reading. Write the check and what was read: feed-alone 3.29 V."
    )


def test_what_was_measured_better_is_written_and_all_else_of_the_file_stays(rover: Path) -> None:
    path = rover / "rig.toml"
    before = path.read_text(encoding="utf-8")
    found = diagnose(open_rig(path), "shoulder", HEALTHY, keep=True)
    assert found.kept == f'{path}: sensor.track = "9.83 kohm ± 1.2 %" (it was 10 kohm ± 20 %).'
    after = path.read_text(encoding="utf-8")
    assert after == before.replace('track = "10 kohm ± 20 %"', 'track = "9.83 kohm ± 1.2 %"')
    low, high = open_rig(path).axis("shoulder").part("sensor").numbers[0].variate.limits
    assert (low, high) == pytest.approx((9830 * 0.988, 9830 * 1.012))


def test_without_the_word_nothing_is_written(rover: Path) -> None:
    path = rover / "rig.toml"
    before = path.read_text(encoding="utf-8")
    found = diagnose(open_rig(path), "shoulder", HEALTHY)
    assert [(each.name, each.old) for each in found.measured] == [("sensor.track", "10 kohm ± 20 %")]
    assert path.read_text(encoding="utf-8") == before


def test_a_fault_is_never_written_into_the_file(rover: Path) -> None:
    path = rover / "rig.toml"
    before = path.read_text(encoding="utf-8")
    found = diagnose(open_rig(path), "shoulder", HEALTHY | {"noise": "300"}, keep=True)
    assert (found.measured, found.kept, found.exit_code) == ((), "", 1)
    assert path.read_text(encoding="utf-8") == before


def test_a_what_if_is_not_written(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=2 deg"])
    with pytest.raises(UsageError, match="the rig is not as its file has it"):
        diagnose(rig, "shoulder", HEALTHY, keep=True)


def test_a_missing_table_is_made_and_a_broken_rig_is_refused(rover: Path) -> None:
    text = 'rig = "R"\n[axis.a]  # the only one\nmotion = { from = "0 deg", to = "90 deg" }\n'
    text += 'need = { error = "1 deg" }\nwhen_unpowered = "holds"\n'
    good = Measured(room="sensor", key="track", old="", new="9.8 kohm ± 1 %")
    changed = kept_text(text, "a", (good,), source="r.toml")
    assert "# the only one" in changed
    assert 'track = "9.8 kohm ± 1 %"' in changed
    with pytest.raises(RigError):
        kept_text(text, "a", (Measured(room="sensor", key="track", old="", new="-1 ohm"),), source="r.toml")


def test_the_pair_that_no_check_parts_is_told_what_would(rover: Path) -> None:
    """With a pull-down an open feed and an open signal at the plug leave nothing, and so does a short."""
    volts = dict.fromkeys(("signal-at-stow", "signal-at-pin"), "0 V")
    codes = dict.fromkeys(("code-at-stow", "code-at-pin", "stop-low", "stop-high"), "0")
    found = diagnose(open_rig(rover / "rig.toml"), "shoulder", HEALTHY | volts | codes)
    assert {"open feed", "open wiper", "short to ground"} <= set(found.found.names)
    assert found.findings[0].key == "cannot-tell"
    assert "volts from feed to ground at the sensor itself" in found.findings[0].remedy
    assert found.exit_code == 1
