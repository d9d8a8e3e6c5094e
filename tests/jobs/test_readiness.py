"""`ready` says in two minutes whether a whole machine may be used, and if not, why."""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.errors import AnglewrightError, DataError
from anglewright.findings import Severity
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig
from anglewright.jobs.readiness import ReadyResult, readings_in, ready
from anglewright.jobs.readycheck import CHECKS, READY_KEYS
from anglewright.rig import Rig

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)
DEG = 4096 / 170  # counts in a degree of the shoulder
DAY = "2026-05-13"


def code(q: float) -> int:
    """What the shoulder reads at a position. [deg to count]"""
    return round(2048 + (q - 47.5) * DEG)


STOWED = [code(-20.0) + k for k in (-1, 0, 1)]


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover of one axis: calibrated, its signs tested."""
    rig = open_rig(rover / "rig.toml")
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    calibrate(rig, "shoulder", typed=[(q, code(q), side) for q, side in sweep], date="2026-05-12")
    note(rig, "shoulder", "all three", date="2026-05-12", done="signs")
    return rig


def looked(rig: Rig, raws: Sequence[float | str], *, at: str | None = None) -> ReadyResult:
    """The check of the rover with readings of its shoulder."""
    return ready(rig, {"shoulder": raws}, date=DAY, at=at)


def keys(result: ReadyResult) -> list[tuple[str, Severity]]:
    return [(finding.key, finding.severity) for finding in result.findings]


def test_a_sound_machine_is_ready(rig: Rig) -> None:
    result = looked(rig, STOWED)
    assert (result.ready, result.exit_code, result.findings) == (True, 0, ())
    assert result.headline == "READY: Vine rover, its one axis."
    (row,) = result.tables()[0].rows
    assert (row[0], row[1], row[-1]) == ("shoulder", "stow", "ready")
    assert row[4:-1] == ("ok",) * len(CHECKS)


def test_a_and_b_are_half_the_need_or_the_interval_beside_the_mark(rig: Rig) -> None:
    (seen,) = looked(rig, STOWED).axes
    # The calibration is better than ±0.5 deg, half of the permissible 1 deg, which is then the window:
    # -20.5 deg and -19.5 deg on a line of 24.09 counts a degree, rounded inwards.
    assert rig.axis("shoulder").unit.difference_from_si(seen.window) == pytest.approx(0.5)
    low, high = seen.limits
    assert low == pytest.approx(2048 + (-20.5 - 47.5) * DEG, abs=1.5)
    assert high == pytest.approx(2048 + (-19.5 - 47.5) * DEG, abs=1.5)
    assert looked(rig, [low, low, low]).ready
    assert looked(rig, [high, high, high]).ready
    assert not looked(rig, [low - 3] * 3).ready
    assert not looked(rig, [high + 3] * 3).ready


def test_an_axis_off_its_mark_is_not_ready_and_says_where_to_look(rig: Rig) -> None:
    result = looked(rig, [code(-18.0)] * 3)
    assert keys(result) == [("ready-reading", Severity.STOP)]
    assert result.headline == "NOT READY: Vine rover. shoulder (reading)."
    (finding,) = result.findings
    # The place read is the nearest code to -18 deg, a count of 0.04 deg beside it at the most.
    assert re.fullmatch(
        r"shoulder reads (1\.9[6-9]|2|2\.0[1-4]) deg above 'stow', where up to 0\.5 deg is right\.",
        finding.text,
    )
    assert finding.remedy.startswith("See that it stands at 'stow'. To tell which, look at the witness lines")


def test_another_mark_may_be_named(rig: Rig) -> None:
    assert looked(rig, [code(47.5)] * 3, at="pin").ready
    assert not looked(rig, STOWED, at="pin").ready


def test_a_reading_beyond_the_band_is_named(rig: Rig) -> None:
    result = looked(rig, [4095, 4095, 4095])
    assert keys(result) == [("ready-reading", Severity.STOP)]
    assert result.findings[0].text == "4095 is above band."


def test_an_axis_that_nobody_read_keeps_the_machine_from_use(rig: Rig) -> None:
    result = ready(rig, {}, date=DAY)
    assert keys(result) == [("ready-reading", Severity.STOP)]
    assert str(result.findings[0].text) == "No reading of shoulder was given."
    assert result.as_json()["axes"][0]["checks"]["noise"] == "note"


def test_noise_beyond_its_own_stops_and_one_reading_cannot_show_it(rig: Rig) -> None:
    loose = looked(rig, [code(-20.0) - 9, code(-20.0), code(-20.0) + 9])
    assert keys(loose) == [("ready-noise", Severity.STOP)]
    # 1.5 LSB of the converter; six standard deviations and one count for rounding are 10 counts.
    assert loose.findings[0].text == (
        "The readings of shoulder spread over 18 counts, and noise over 10 at most."
    )
    one = looked(rig, [code(-20.0)])
    assert one.ready
    assert keys(one) == [("ready-noise", Severity.NOTE)]


def test_a_reading_that_never_changes_is_frozen(rig: Rig) -> None:
    frozen = looked(rig, [code(-20.0)] * 8)
    assert keys(frozen) == [("ready-noise", Severity.STOP)]
    assert frozen.findings[0].remedy == (
        "Move it by hand: a reading that does not follow is an old one, or the shaft is out."
    )
    assert looked(rig, [code(-20.0)] * 7).ready


def test_signs_that_were_not_tested_since_the_plug_was_changed_stop(rig: Rig) -> None:
    note(rig, "shoulder", "new plug", date="2026-05-13", touched="connector")
    result = looked(rig, STOWED)
    assert keys(result) == [("ready-signs", Severity.STOP), ("ready-due", Severity.STOP)]
    note(rig, "shoulder", "sheet gone through", date="2026-05-13", done="testsheet")
    assert looked(rig, STOWED).ready


def test_a_record_of_another_machine_is_none_of_this_one(rig: Rig) -> None:
    other = replace(rig, machine="field")
    found = looked(other, STOWED)
    assert ("ready-record", Severity.STOP) in keys(found)
    assert any("no calibration of the machine 'field' yet" in finding.text for finding in found.findings)


def test_a_record_that_fails_the_need_stops(rover: Path) -> None:
    rig = open_rig(rover / "rig.toml")
    calibrate(rig, "shoulder", file=rover / "shoulder-bench.csv", date="2026-05-12")
    note(rig, "shoulder", "all three", date="2026-05-12", done="signs")
    result = ready(rig, {"shoulder": STOWED}, date=DAY)
    (finding,) = [each for each in result.findings if each.key == "ready-record"]
    assert finding.severity is Severity.STOP
    assert finding.text.endswith("the need is ±1 deg: it does not meet the need.")


def test_what_is_due_stops(rig: Rig) -> None:
    note(rig, "shoulder", "hub tightened", date="2026-05-13", touched="coupling")
    result = looked(rig, STOWED)
    assert keys(result) == [("ready-due", Severity.STOP)] * 2


TURRET = """
rig = "Turret"
simulated = true
[axis.turret]
motion = { from = "-360 deg", to = "360 deg", speed = "90 deg/s" }
need = { error = "2 deg" }
stops = { low = "-400 deg", high = "400 deg" }
when_unpowered = "holds"
[axis.turret.marks]
stow = { at = "10 deg", within = "0.2 deg" }
[axis.turret.drive]
kind = "direct"
[axis.turret.coupling]
kind = "rigid"
[axis.turret.sensor]
kind = "incremental"
lines = 1024
[axis.turret.mount]
kind = "homed"
clamped_at = "stow"
[axis.turret.converter]
kind = "counter"
width = 32
[axis.turret.plan]
zero_at = "stow"
"""


@pytest.mark.parametrize("turns", [1, -1])
def test_a_count_of_turns_that_was_lost_is_said_as_such(tmp_path: Path, turns: int) -> None:
    """FIELD, F26: the same pose reads a whole turn off after the power went, within the travel or beyond."""
    path = tmp_path / "turret.toml"
    path.write_text(TURRET, encoding="utf-8")
    rig = open_rig(path)
    at_home = [0, 1, 0]  # homed at stow, the counter stands at 0 there
    good = ready(rig, {"turret": at_home}, date=DAY)
    assert good.axes[0].state("reading") is None
    lost = ready(rig, {"turret": [raw + turns * 4096 for raw in at_home]}, date=DAY)  # 4 counts a line
    (finding,) = [each for each in lost.findings if each.key == "ready-reading"]
    assert finding.severity is Severity.STOP
    assert finding.text.endswith("That is a whole turn: the count of turns was lost when the power went.")
    assert finding.remedy == "Home it, or let the code pick the one turn that lies within the travel."
    slipped = ready(rig, {"turret": [raw + 700 for raw in at_home]}, date=DAY)
    assert "whole turn" not in slipped.findings[0].text


def test_the_whole_rover_needs_all_of_its_axes(rover: Path) -> None:
    rig = open_rig(rover / "rover.toml")
    result = ready(rig, {"shoulder": STOWED}, date=DAY)
    assert len(result.axes) == len(rig.axes)
    assert not result.ready
    places = {each.axis.name: each.place.name for each in result.axes}
    # stow where an axis has it, else the mark at which its plan zeroes
    assert places == {
        "shoulder": "stow", "mast": "rest", "pan": "ahead", "tilt": "level", "steer": "ahead", "reel": "in",
    }  # fmt: skip


def test_the_card_says_it_by_shape_and_word(rig: Rig, tmp_path: Path) -> None:
    page = tmp_path / "card.html"
    good = ready(rig, {"shoulder": STOWED}, date=DAY, html=page)
    text = page.read_text(encoding="utf-8")
    assert good.html == page
    body = text.partition("</style>")[2]
    assert body.count('class="said good"') == len(CHECKS)
    assert "READY: Vine rover" in body
    assert "Simulated data" in body
    ready(rig, {"shoulder": [code(-10.0)] * 3}, date=DAY, html=page)
    body = page.read_text(encoding="utf-8").partition("</style>")[2]
    assert 'class="said stop"' in body
    assert "M7 1h10l6 6v10l-6 6H7l-6-6V7Z" in body  # the octagon
    assert "NOT READY: Vine rover" in body


def test_a_file_of_yours_is_not_written_over(rig: Rig, tmp_path: Path) -> None:
    mine = tmp_path / "card.html"
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(DataError, match="Name another; yours is kept"):
        ready(rig, {"shoulder": STOWED}, date=DAY, html=mine)


def test_a_short_recording_has_a_column_for_each_axis(rover: Path, tmp_path: Path) -> None:
    rig = open_rig(rover / "rover.toml")
    log = tmp_path / "rest.csv"
    log.write_text(
        "time_s,shoulder,Mast raw,pan (counts)\n0.0,430,220,2048\n0.1,431,,2047\n0.2,430,221,x\n",
        encoding="utf-8",
    )
    assert readings_in(rig, log) == {"shoulder": [430, 431, 430], "mast": [220, 221], "pan": [2048, 2047]}


@pytest.mark.parametrize(
    ("readings", "at", "said"),
    [
        ({"sholder": [1]}, None, "there is no axis 'sholder'. Did you mean 'shoulder'?"),
        (
            {"shoulder": ["4x1"]},
            None,
            "raw: '4x1' is not a number. Give what the controller shows, as in 2048.",
        ),
        ({"shoulder": STOWED}, "stwo", "--at: no axis has a mark 'stwo'. Did you mean 'stow'?"),
    ],
)
def test_what_a_tired_student_does_is_refused_in_a_sentence(
    rig: Rig, readings: dict[str, list[float | str]], at: str | None, said: str
) -> None:
    with pytest.raises(AnglewrightError) as caught:
        ready(rig, readings, date=DAY, at=at)
    assert str(caught.value).endswith(said)


def test_the_json_has_its_keys(rig: Rig) -> None:
    found = looked(rig, STOWED).as_json()
    assert set(found) == {"rig", "machine", "date", "ready", "axes", "findings", "html"}
    (axis,) = found["axes"]
    assert set(axis) == {
        "axis", "unit", "ready", "place", "place_at", "raw_low", "raw_high", "raws", "position", "off",
        "window", "record", "checks",
    }  # fmt: skip
    assert axis["checks"] == dict.fromkeys(CHECKS, "ok")
    assert set(READY_KEYS) == {f"ready-{check}" for check in CHECKS}
