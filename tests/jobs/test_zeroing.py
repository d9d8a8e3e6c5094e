"""`zero` moves the zero of the record in use alone, within bounds, and can be undone."""

import re
from collections.abc import Sequence
from pathlib import Path

import pytest

from anglewright.errors import AnglewrightError, DataError, UsageError
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reading import read_raw
from anglewright.jobs.withdrawing import withdraw
from anglewright.jobs.zeroing import USUAL, Zeroing, ZeroResult, zero
from anglewright.rig import Rig
from anglewright.rigfile.records import all_records, record_in_use

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
DEG = 4096 / 170  # counts in a degree of the shoulder: 340 deg of sensor through 2:1 gears
WITNESS = (
    "A new zero would hide what moved: slipped, body turned, or re-seated. To tell which, look at the "
    "witness lines: broken between shaft and hub, the shaft slipped; between body and bracket, the body "
    "turned; whole, it was re-seated or the reference moved."
)


def code(q: float, *, moved: float = 0.0) -> int:
    """What the shoulder reads at a position, its sensor `moved`. [deg to count]"""
    return round(2048 + (q + moved - 47.5) * DEG)


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover with a shoulder without play, calibrated on 12 May."""
    rig = open_rig(rover / "rig.toml")
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    calibrate(rig, "shoulder", typed=[(q, code(q), side) for q, side in sweep], date="2026-05-12")
    return rig


def at_pin(rig: Rig, moved: float, *, date: str = "2026-05-13", how: Zeroing = USUAL) -> ZeroResult:
    """Three readings at the pin of a sensor that has moved. [deg]"""
    return zero(rig, "shoulder", [code(47.5, moved=moved) + k for k in (-1, 0, 1)], date=date, how=how)


def refused(kind: type[AnglewrightError], *given: object, **named: object) -> str:
    """What a call is refused with."""
    with pytest.raises(kind) as caught:
        zero(*given, **named)
    return str(caught.value)


def test_the_zero_moves_and_the_slope_stays(rig: Rig) -> None:
    before = record_in_use(rig, rig.axis("shoulder")).record
    result = at_pin(rig, 0.3, how=Zeroing(came="up"))
    assert before is not None
    assert (result.record.kind, result.record.based_on) == ("zero", before.name)
    assert result.record.slope == before.slope
    row = read_raw(rig, "shoulder", [code(47.5, moved=0.3)]).readings[0]
    assert row.in_use.record is not None
    assert row.in_use.record.name == "2026-05-13-1"
    assert rig.axis("shoulder").unit.from_si(row.position or 0.0) == pytest.approx(47.5, abs=0.01)


def test_the_whole_sentence(rig: Rig) -> None:
    result = at_pin(rig, 0.3, how=Zeroing(came="up"))
    numbers = r"[0-9.]+ deg"
    assert re.fullmatch(
        rf"At 'pin' shoulder read {numbers} \(±{numbers}\) too high\. Kept as 2026-05-13-1, in use from now "
        rf"on\. One reading is within ±{numbers} \(95 %\), the need is ±1 deg\.",
        result.headline,
    )
    # 7 counts of 0.0415 deg are 0.291 deg; the line through rounded readings may differ by a hundredth.
    assert result.as_json()["moved"] == pytest.approx(7 / DEG, abs=0.02)
    assert result.exit_code == 0


def test_a_dry_run_keeps_nothing(rig: Rig) -> None:
    result = at_pin(rig, 0.3, how=Zeroing(keep=False))
    assert (result.file, result.kept) == (None, "Not kept")
    assert len(all_records(rig, rig.axis("shoulder"))) == 1


def test_a_zero_of_an_earlier_day_says_that_it_is_not_in_use(rig: Rig) -> None:
    early = at_pin(rig, 0.1, date="2026-05-01")
    assert early.kept == "Kept as 2026-05-01-1; in use stays 2026-05-12-1, which is of a later day"


def test_it_is_undone_by_withdraw(rig: Rig) -> None:
    at_pin(rig, 0.3)
    result = withdraw(rig, "shoulder", "2026-05-13-1", because="wrong pin")
    assert result.now.record is not None
    assert result.now.record.name == "2026-05-12-1"


def test_a_zero_upon_a_zero_rests_on_the_calibration(rig: Rig) -> None:
    at_pin(rig, 0.2)
    again = at_pin(rig, 0.3)
    assert (again.record.name, again.record.based_on) == ("2026-05-13-2", "2026-05-12-1")
    withdraw(rig, "shoulder", "2026-05-12-1", because="wrong reference")
    why = record_in_use(rig, rig.axis("shoulder")).why
    assert "rests on 2026-05-12-1, which is withdrawn (wrong reference)" in why


def test_a_slip_is_not_hidden_unless_the_diary_knows_of_it(rig: Rig) -> None:
    with pytest.raises(DataError) as caught:
        at_pin(rig, 0.8)
    said = str(caught.value)
    assert said.startswith("axis 'shoulder', zero: it moved by 0.7")
    assert said.endswith(
        "times its uncertainty, and the diary knows of nothing that was touched since 2026-05-12-1. "
        f"{WITNESS} Mend it and write it down with note, or give the reason with --far."
    )
    note(rig, "shoulder", "hub tightened", date="2026-05-13", touched="coupling")
    result = at_pin(rig, 0.8)
    assert [each.task for each in result.left] == ["verify"]  # the zero is done, the check is not


def test_a_mesh_that_jumped_is_told_in_teeth(rig: Rig) -> None:
    with pytest.raises(DataError) as caught:
        at_pin(rig, -7.5)  # 360 deg over 24 teeth of the sensor's wheel, behind gears of 2:1
    assert "It is as much as 1 tooth of the drive (7.5 deg)" in str(caught.value)


def test_a_far_move_needs_a_reason_and_keeps_it(rig: Rig) -> None:
    note(rig, "shoulder", "hub replaced", date="2026-05-13", touched="coupling")
    with pytest.raises(DataError) as caught:
        at_pin(rig, 2.5)
    assert str(caught.value).endswith(
        "since 2026-05-12-1, more than 2 deg, twice the permissible error. "
        f"{WITNESS} Then calibrate anew, or give the reason with --far."
    )
    result = at_pin(rig, 2.5, how=Zeroing(far="new hub"))
    assert (result.record.because, result.as_json()["because"]) == ("new hub", "new hub")
    kept = record_in_use(rig, rig.axis("shoulder")).record
    assert kept is not None
    assert kept.because == "new hub"
    at_pin(rig, 2.6)  # small beside the one with the reason, from which moves are counted now


def test_small_moves_do_not_add_up_to_a_far_one_unseen(rig: Rig) -> None:
    for day, moved in (("2026-05-13", 0.9), ("2026-05-14", 1.8)):
        note(rig, "shoulder", "hub tightened", date=day, touched="coupling")
        at_pin(rig, moved, date=day)
    note(rig, "shoulder", "hub tightened", date="2026-05-15", touched="coupling")
    with pytest.raises(DataError) as caught:
        at_pin(rig, 2.4, date="2026-05-15")
    assert "it would move by 2.4" in str(caught.value)
    assert "since 2026-05-12-1, more than 2 deg" in str(caught.value)


def test_the_bound_is_three_degrees_where_the_need_is_wide(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml", changes=["shoulder.need.error=5 deg"])
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    calibrate(rig, "shoulder", typed=[(q, code(q), side) for q, side in sweep], date="2026-05-12")
    with pytest.raises(DataError, match="more than 3 deg, the most that is usual"):
        at_pin(rig, 3.5)


def test_without_a_calibration_there_is_no_slope_to_stand_on(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    assert refused(UsageError, rig, "shoulder", [2048], date="2026-05-13") == (
        "axis 'shoulder': no calibration yet, and a zero alone needs a slope to stand on. "
        "Run: anglewright calibrate RIG shoulder FILE."
    )


REFUSED: list[tuple[Sequence[object], dict[str, object], str]] = [
    ([], {}, "zero: there are no readings. Give one or more: 2041 2043 2042."),
    (
        [2040, 2080],
        {},
        "axis 'shoulder', zero at 'pin': the readings run from 2040 to 2080 counts, more than noise does: "
        "the axis moved, or a contact is loose. Let it come to rest, and read again.",
    ),
    (
        [4095],
        {},
        "axis 'shoulder', zero at 'pin': 4095 is above band. No zero mends that: look for a broken lead or a "
        "sensor beyond its range.",
    ),
    ([2048], {"at": "pni"}, "axis 'shoulder': there is no mark 'pni'. Did you mean 'pin'?"),
    (
        [2048],
        {"at": "low stop"},
        "axis 'shoulder', low stop: how well its place is known is not said. "
        'Give it, as in --within "0.5 deg".',
    ),
    ([2048], {"how": Zeroing(came="left")}, "--came: 'left' is no side. Write up or down, or leave it out."),
    (
        [2048],
        {"how": Zeroing(within="-1 deg")},
        "--within: '-1 deg' is below zero. Give it without a sign.",
    ),
    (
        ["20 48"],
        {},
        "raw: '20 48' is not a number. Give what the controller shows, as in 2048.",
    ),
]


@pytest.mark.parametrize(("raws", "named", "said"), REFUSED, ids=range(len(REFUSED)))
def test_what_a_tired_student_does_is_refused_in_a_sentence(
    rig: Rig, raws: Sequence[object], named: dict[str, object], said: str
) -> None:
    assert refused(AnglewrightError, rig, "shoulder", raws, date="2026-05-13", **named) == said
    assert len(all_records(rig, rig.axis("shoulder"))) == 1


def test_a_stop_serves_where_its_place_is_said(rig: Rig) -> None:
    raws = [code(-28.0, moved=0.2)] * 3
    result = zero(
        rig, "shoulder", raws, at="low stop", date="2026-05-13", how=Zeroing(within="0.3 deg", came="down")
    )
    assert result.place.words == "the low stop"
    assert result.as_json()["moved"] == pytest.approx(0.2, abs=0.05)
    # A limit of 0.3 deg to either side is a rectangular spread: 0.3 / sqrt 3 (JCGM 100, 4.3.7).
    assert result.as_json()["place"]["standard_uncertainty"] == pytest.approx(0.3 / 3**0.5)


def test_readings_on_both_sides_of_the_wrap_are_one_place(rover: Path) -> None:
    """The steered wheel turns without end; its readings at a mark may stand at both ends of the codes."""
    rig = open_rig(rover / "rover.toml", changes=["steer.mount.reading=0 %"])
    axis = rig.axis("steer")
    around = [axis.codes.highest_valid, axis.codes.lowest_valid]
    sweep = [
        (float(q), raw, side)
        for side, places in (("up", range(-160, 161, 40)), ("down", range(160, -161, -40)))
        for q, raw in zip(places, _readings_of(rig, [float(q) for q in places]), strict=True)
    ]
    calibrate(rig, "steer", typed=sweep, date="2026-05-12")
    assert max(around) - min(around) > axis.codes.count / 2  # they do stand on both sides
    result = zero(rig, "steer", around, at="ahead", date="2026-05-13")
    assert abs(result.as_json()["moved"]) < 0.2


def _readings_of(rig: Rig, places: Sequence[float]) -> list[float]:
    """What a steer built as the data sheet says shows at places. [deg to raw]"""
    from anglewright.jobs.expecting import expect

    rows = expect(rig, axis="steer", positions=[f"{q} deg" for q in places]).as_json()["readings"]
    return [float(row["code"]) for row in rows]


def test_the_json_has_its_keys(rig: Rig) -> None:
    found = at_pin(rig, 0.3).as_json()
    assert set(found) == {
        "axis", "unit", "machine", "record", "file", "based_on", "place", "code", "readings", "moved",
        "moved_uncertainty_95", "offset", "slope", "half_width_95", "parts", "because", "due", "verdict",
    }  # fmt: skip
