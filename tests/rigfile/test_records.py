"""Calibration records: kept whole, never overwritten, the newest usable one in use."""

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord
from anglewright.errors import DataError, UsageError
from anglewright.jobs.opening import open_rig
from anglewright.rig import Rig, fingerprint
from anglewright.rigfile.recordfile import read_record, record_text
from anglewright.rigfile.records import (
    all_records,
    keep_record,
    next_name,
    record_in_use,
    records_folder,
    withdraw_record,
)

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover, with no record yet."""
    return open_rig(rover / "rig.toml")


def record(rig: Rig, name: str, **changes: str) -> CalibrationRecord:
    """A small record of the shoulder."""
    shoulder = rig.axis("shoulder")
    made = CalibrationRecord(
        name=name,
        date=name.rpartition("-")[0],
        rig=rig.name,
        axis="shoulder",
        chain=fingerprint(shoulder),
        sensor="Single turn, 340 deg",
        offset=-0.64,
        slope=0.000724,
        covariance=((1e-6, -2e-10), (-2e-10, 3e-13)),
        residual_sd=0.001,
        half_width_95=0.01,
        verdict="meets",
        points=(
            CalibrationPoint(reference=-0.3, raw=421.25, readings=4, raw_sd=1.5, approach=1),
            CalibrationPoint(reference=0.3, raw=1500.0, readings=1, raw_sd=None, approach=-1),
        ),
    )
    return replace(made, **changes)


numbers = st.floats(-10.0, 10.0).filter(lambda value: abs(value) > 1e-9)
texts = st.text(st.characters(codec="utf-8"), max_size=30)


@given(numbers, numbers, texts, st.lists(st.tuples(numbers, numbers), max_size=5))
def test_a_record_is_read_back_as_it_was_written(
    offset: float, slope: float, sensor: str, points: list[tuple[float, float]]
) -> None:
    rig = open_rig(ROVER / "rig.toml")
    shoulder = rig.axis("shoulder")
    given_points = tuple(CalibrationPoint(reference=q, raw=n, raw_sd=abs(n)) for q, n in points)
    made = replace(
        record(rig, "2026-05-12-1", sensor=sensor), offset=offset, slope=slope, points=given_points
    )
    text = record_text(made, shoulder.unit)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "2026-05-12-1.toml"
        path.write_text(text, encoding="utf-8", newline="\n")
        found = read_record(path, shoulder)
    # Written in degrees and read back into radians: a rounding of the last digit each way.
    assert (found.offset, found.slope) == pytest.approx((offset, slope), rel=1e-14)
    assert [point.raw for point in found.points] == [n for _, n in points]
    assert (found.sensor, found.name, found.verdict) == (sensor, made.name, "meets")


def test_names_count_up_within_a_day_whatever_else_lies_there(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    assert next_name(rig, shoulder, "2026-05-12") == "2026-05-12-1"
    for number in (1, 2, 10):
        keep_record(rig, shoulder, record(rig, f"2026-05-12-{number}"))
    folder = records_folder(rig, shoulder)
    (folder / "2026-05-12-old.toml").write_text("mine", encoding="utf-8")
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    assert next_name(rig, shoulder, "2026-05-12") == "2026-05-12-11"
    assert next_name(rig, shoulder, "2026-05-13") == "2026-05-13-1"
    assert [each.name for each in all_records(rig, shoulder)] == [
        "2026-05-12-1",
        "2026-05-12-2",
        "2026-05-12-10",
    ]


def test_a_record_is_never_overwritten(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    path = keep_record(rig, shoulder, record(rig, "2026-05-12-1"))
    before = path.read_bytes()
    with pytest.raises(DataError) as caught:
        keep_record(rig, shoulder, record(rig, "2026-05-12-1", verdict="fails"))
    assert str(caught.value) == f"{path}: there is a file of that name. Name another; yours is kept."
    assert path.read_bytes() == before


def test_the_newest_usable_record_is_in_use(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    assert record_in_use(rig, shoulder).why == "no calibration yet"
    keep_record(rig, shoulder, record(rig, "2026-05-12-2"))
    keep_record(rig, shoulder, record(rig, "2026-05-12-10"))
    assert record_in_use(rig, shoulder).why == "calibration 2026-05-12-10"
    keep_record(rig, shoulder, record(rig, "2026-05-13-1", chain="0" * 16))
    assert record_in_use(rig, shoulder).why == (
        "calibration 2026-05-12-10; the newer calibration 2026-05-13-1 belongs to another chain: "
        "a part or number changed since"
    )
    withdraw_record(rig, shoulder, "2026-05-12-10", because="slipped")
    assert record_in_use(rig, shoulder).why.startswith("calibration 2026-05-12-2; the newer ")
    withdraw_record(rig, shoulder, "2026-05-12-2", because="slipped")
    found = record_in_use(rig, shoulder)
    assert found.record is None
    assert found.why == (
        "calibration 2026-05-13-1 belongs to another chain: a part or number changed since, calibrate again"
    )


def test_a_record_asked_for_by_name_goes_before_and_says_what_speaks_against_it(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    keep_record(rig, shoulder, record(rig, "2026-05-12-1", chain="0" * 16))
    keep_record(rig, shoulder, record(rig, "2026-05-12-2"))
    withdraw_record(rig, shoulder, "2026-05-12-1", because="slipped")
    assert record_in_use(rig, shoulder, name="2026-05-12-1").why == (
        "calibration 2026-05-12-1, as asked for, although it is withdrawn (slipped) and of another chain "
        "than the file describes now"
    )
    with pytest.raises(UsageError) as caught:
        record_in_use(rig, shoulder, name="2026-05-12-3")
    assert str(caught.value) == (
        "axis 'shoulder': there is no calibration record '2026-05-12-3'. "
        "Did you mean '2026-05-12-2' or '2026-05-12-1'?"
    )


def test_withdrawing_marks_and_keeps_and_leaves_remarks_of_the_users_own(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    path = keep_record(rig, shoulder, record(rig, "2026-05-12-1"))
    path.write_text("# by the window\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    marked = withdraw_record(rig, shoulder, "2026-05-12-1", because='the "coupling"\nwas loose')
    assert marked.withdrawn == 'the "coupling"\nwas loose'
    assert all_records(rig, shoulder) == (read_record(path, shoulder),)
    assert all_records(rig, shoulder)[0].withdrawn == marked.withdrawn
    assert path.read_text(encoding="utf-8").startswith("# by the window\n")


def test_a_change_of_the_shown_unit_leaves_a_record_in_use(rig: Rig, rover: Path) -> None:
    shoulder = rig.axis("shoulder")
    keep_record(rig, shoulder, record(rig, "2026-05-12-1"))
    text = (
        (rover / "rig.toml")
        .read_text(encoding="utf-8")
        .replace('from = "-20 deg"', 'from = "-0.34906585 rad"')
    )
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    again = open_rig(rover / "rig.toml")
    found = record_in_use(again, again.axis("shoulder")).record
    assert found is not None
    assert found.slope == pytest.approx(0.000724, rel=1e-14)


def test_a_record_of_another_axis_or_name_is_refused(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    path = keep_record(rig, shoulder, record(rig, "2026-05-12-1"))
    other = path.with_name("2026-05-12-2.toml")
    other.write_bytes(path.read_bytes())
    with pytest.raises(DataError) as caught:
        all_records(rig, shoulder)
    assert str(caught.value) == (
        f"{other}: it holds the record '2026-05-12-1'. Move the file away; the other records stay usable."
    )
    other.unlink()
    path.write_text(record_text(record(rig, "2026-05-12-1", axis="mast"), shoulder.unit), encoding="utf-8")
    with pytest.raises(DataError) as caught:
        all_records(rig, shoulder)
    assert str(caught.value) == (
        f"{path}: it belongs to the axis 'mast'. Move the file away; the other records stay usable."
    )


def test_a_file_where_the_records_belong_is_a_sentence(rig: Rig, rover: Path) -> None:
    (rover / "rig.calibrations").mkdir()
    place = rover / "rig.calibrations" / "shoulder"
    place.write_text("mine", encoding="utf-8")
    with pytest.raises(DataError) as caught:
        all_records(rig, rig.axis("shoulder"))
    assert str(caught.value) == (
        f"{place}: it cannot be read (not a directory). The calibration records lie there: "
        "make it a folder that you may read."
    )


def test_a_rig_without_a_file_has_no_records_and_keeps_none(rig: Rig) -> None:
    loose = replace(rig, source="")
    shoulder = loose.axis("shoulder")
    assert all_records(loose, shoulder) == ()
    with pytest.raises(DataError) as caught:
        keep_record(loose, shoulder, record(rig, "2026-05-12-1"))
    assert str(caught.value) == (
        "Vine rover: the rig comes from no file, beside which its records could lie. "
        "Open it from a file, or do not keep the record."
    )
