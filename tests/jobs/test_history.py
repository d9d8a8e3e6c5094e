"""`history` shows every record of an axis beside its diary, and how the zero moved."""

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.errors import DataError, UsageError
from anglewright.findings import Severity
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.history import history, zero_between
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig, with_serial
from anglewright.jobs.withdrawing import withdraw
from anglewright.rig import Rig
from anglewright.rigfile.diary import diary_file
from anglewright.rigfile.records import all_records

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
DEG = 4096 / 170  # counts in a degree of the shoulder


def calibrated(rig: Rig, date: str, *, moved: float = 0.0) -> None:
    """Keep a calibration of a shoulder whose sensor has moved. [deg]"""
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    typed = [(q, round(2048 + (q + moved - 47.5) * DEG), side) for q, side in sweep]
    calibrate(rig, "shoulder", typed=typed, date=date)


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover: calibrated, slipped by 0.8 deg, noted, calibrated again."""
    rig = open_rig(rover / "rig.toml")
    calibrated(rig, "2026-03-01")
    note(rig, "shoulder", "hub replaced", date="2026-04-02", touched="coupling")
    calibrated(rig, "2026-04-03", moved=0.8)
    return rig


def test_each_record_stands_with_its_state_and_how_the_zero_moved(rig: Rig) -> None:
    result = history(rig, "shoulder")
    first, second = result.entries
    assert (first.moved, first.severity) == (None, None)
    unit = rig.axis("shoulder").unit
    assert unit.difference_from_si(second.moved or 0.0) == pytest.approx(0.8, abs=0.02)
    assert second.severity is Severity.STOP  # more than half of the permissible 1 deg
    states = [row[-1] for row in result.tables()[0].rows]
    assert states == ["a newer one is in use", "in use"]
    assert result.headline == "shoulder: 2 records. In use: calibration 2026-04-03-1."


def test_the_move_is_that_of_the_two_lines_in_the_middle_of_the_points(rig: Rig) -> None:
    before, after = all_records(rig, rig.axis("shoulder"))
    moved, moved_95 = zero_between(before, after, changes=0.0)
    code = sum(point.raw for point in after.points) / len(after.points)
    assert moved == pytest.approx(
        before.offset + before.slope * code - after.offset - after.slope * code, abs=1e-12
    )
    before, after = (replace(each, error=None) for each in (before, after))  # as old records are
    moved_95 = zero_between(before, after, changes=0.0)[1]
    variance = 0.0
    for each in (before, after):
        (a, b), (_, c) = each.covariance
        variance += a + 2.0 * code * b + code**2 * c  # of a line at a code (JCGM 100, H.3.5)
    # Fourteen points leave 12 degrees of freedom to a line, about 24 to both: Student's factor is near 2.06.
    assert moved_95 == pytest.approx(2.06 * math.sqrt(variance), rel=0.02)


@pytest.mark.parametrize(
    "change", ["shoulder.converter.reference=3.3 V", "shoulder.converter.reference=3.3 V ± 1 %"]
)
def test_it_says_of_two_records_what_calibrate_said(rover: Path, change: str) -> None:
    """A supply that is another from day to day moves the zero too, and no slip: both say so, or neither."""
    rig = open_rig(rover / "rig.toml", changes=[change])
    calibrated(rig, "2026-03-01")
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    typed = [(q, round(2048 + (q + 0.6 - 47.5) * DEG), side) for q, side in sweep]
    shift = calibrate(rig, "shoulder", typed=typed, date="2026-03-02").shift
    entry = history(rig, "shoulder").entries[-1]
    assert shift is not None
    assert entry.moved == pytest.approx(shift.zero, rel=1e-9)
    assert entry.moved_95 == pytest.approx(shift.zero_95, rel=0.03)  # an old record knows less of itself
    assert (entry.severity is None) == ("%" in change)


def test_withdrawn_records_other_chains_and_other_sensors_say_why(rig: Rig) -> None:
    withdraw(rig, "shoulder", "2026-04-03-1", because="bad protractor")
    other = with_serial(rig, rig.axis("shoulder"), "12")
    calibrated(other, "2026-04-04")
    swapped = with_serial(rig, rig.axis("shoulder"), "13")
    states = [row[-1] for row in history(swapped, "shoulder").tables()[0].rows]
    assert states == [
        "in use",
        "is withdrawn (bad protractor)",
        "belongs to another sensor: to serial 12, and 13 is fitted now",
    ]


def test_records_of_another_machine_are_counted_and_left_out(rig: Rig) -> None:
    field = replace(rig, machine="field")
    calibrated(field, "2026-05-01")
    result = history(field, "shoulder")
    assert result.headline == ("shoulder of the machine 'field': 1 record. In use: calibration 2026-05-01-1.")
    assert result.summary == "2 records of other machines: see --machine."


def test_an_axis_without_a_record_says_so(rover: Path) -> None:
    result = history(open_rig(rover / "rig.toml"), "shoulder")
    assert result.headline == "shoulder: 0 records. None in use: no calibration yet."
    assert result.tables() == ()


def test_what_is_due_is_said(rig: Rig) -> None:
    note(rig, "shoulder", "new supply", date="2026-05-01", touched="supply")
    result = history(rig, "shoulder")
    assert result.headline.endswith("Still to do: calibrate.")
    assert result.tables()[-1].rows == (
        ("calibrate", "Calibrate it: the supply was touched on 2026-05-01 (new supply)."),
    )


def test_the_plot_shows_records_diary_and_need(rig: Rig, tmp_path: Path) -> None:
    svg = tmp_path / "zero.svg"
    history(rig, "shoulder", svg=svg, look="light")
    root = ET.fromstring(svg.read_text(encoding="utf-8"))
    texts = {element.text for element in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"2026-03-01-1", "2026-04-03-1, in use", "permissible error"} <= texts
    assert any(text and text.endswith("2026-04-02: hub replaced") for text in texts)
    assert any(text and text.startswith("zero beside that in use, deg") for text in texts)


def test_the_sticker_says_what_the_brief_of_a_bench_asks(rig: Rig, tmp_path: Path) -> None:
    page = tmp_path / "sticker.html"
    named = with_serial(replace(rig, machine="practice"), rig.axis("shoulder"), "12")
    calibrated(named, "2026-05-12")
    result = history(named, "shoulder", sticker=page)
    text = page.read_text(encoding="utf-8")
    record = result.choice.record
    assert record is not None
    for said in ("shoulder", "2026-05-12-1", "machine practice", "12", "Simulated data", "deg/count"):
        assert said in text
    assert "http" not in re.sub(r"<!doctype.*?</style>", "", text, flags=re.DOTALL)


def test_nothing_is_written_where_there_is_nothing_or_where_it_would_hurt(
    rover: Path, tmp_path: Path
) -> None:
    rig = open_rig(rover / "rig.toml")
    for named in ({"svg": tmp_path / "zero.svg"}, {"sticker": tmp_path / "sticker.html"}):
        with pytest.raises(UsageError) as caught:
            history(rig, "shoulder", **named)
        assert str(caught.value).endswith("Calibrate first.")
    calibrated(rig, "2026-05-12")
    mine = tmp_path / "sticker.html"
    mine.write_text("my notes", encoding="utf-8")
    with pytest.raises(DataError, match="Name another; yours is kept"):
        history(rig, "shoulder", sticker=mine)
    assert mine.read_text(encoding="utf-8") == "my notes"
    assert not (tmp_path / "zero.svg").exists()


def test_a_day_that_is_none_in_the_diary_is_named(rig: Rig) -> None:
    path = diary_file(rig, rig.axis("shoulder"))
    path.write_text('[[line]]\ndate = "12.5.26"\ntext = "x"\n', encoding="utf-8")
    with pytest.raises(DataError) as caught:
        history(rig, "shoulder")
    assert str(caught.value) == (
        f"{path}, line 1 of the diary: '12.5.26' is not a day, a day is written as 2026-05-12. "
        "It is yours to mend: each line of it stands under [[line]] with a date and a text, in quotes."
    )


def test_the_json_has_its_keys(rig: Rig) -> None:
    found = history(rig, "shoulder").as_json()
    assert set(found) == {
        "axis", "unit", "machine", "in_use", "why", "records", "diary", "due", "svg", "sticker",
    }  # fmt: skip
    assert {key for row in found["records"] for key in row} == {
        "record", "date", "kind", "based_on", "because", "machine", "serial", "model", "offset", "slope",
        "half_width_95", "n_points", "verdict", "withdrawn", "zero_moved", "zero_uncertainty_95",
        "severity", "state",
    }  # fmt: skip
    assert found["in_use"] == "2026-04-03-1"
