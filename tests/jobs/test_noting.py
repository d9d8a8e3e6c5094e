"""`note` keeps what was done to an axis, and says what must be done again because of it."""

from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.errors import DataError, UsageError
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.noting import note
from anglewright.jobs.opening import open_rig
from anglewright.rig import Rig
from anglewright.rigfile.diary import diary_file, read_diary

PLACES = (-20.0, 0.0, 20.0, 47.5, 70.0, 95.0, 115.0)


@pytest.fixture
def rig(rover: Path) -> Rig:
    """The rover without a record."""
    return open_rig(rover / "rig.toml")


def typed() -> list[tuple[float, float, str]]:
    """A sweep up and down on a shaft of 4096 counts in 170 deg, as the rover's shoulder has it."""
    sweep = [(q, "up") for q in PLACES] + [(q, "down") for q in PLACES[::-1]]
    return [(q, round(2048 + (q - 47.5) * 4096 / 170), side) for q, side in sweep]


# What the brief of the trade asks for after each part was touched (common practice, no source).
AGAIN = {
    "coupling": ["zero", "verify"],
    "sensor": ["calibrate", "signs"],
    "gear": ["calibrate", "signs"],
    "supply": ["calibrate"],
    "connector": ["testsheet"],
}


@pytest.mark.parametrize("touched", AGAIN)
def test_what_was_touched_says_what_must_be_done_again(rig: Rig, touched: str) -> None:
    result = note(rig, "shoulder", "looked after", date="2026-05-12", touched=touched)
    assert [each.task for each in result.left] == AGAIN[touched]


def test_the_whole_sentences(rig: Rig) -> None:
    result = note(rig, "shoulder", " hub  tightened\n", date="2026-05-12", touched="coupling")
    assert result.headline == (
        "Written in the diary of shoulder: 2026-05-12, hub tightened. To do before its numbers are trusted: "
        "zero it at a mark; verify it against fresh points."
    )
    assert [row[1] for row in result.tables()[0].rows] == [
        "Zero it at a mark: the coupling was touched on 2026-05-12 (hub tightened).",
        "Verify it against fresh points: the coupling was touched on 2026-05-12 (hub tightened).",
    ]


def test_a_line_that_touches_nothing_asks_for_nothing(rig: Rig) -> None:
    result = note(rig, "shoulder", "dusted", date="2026-05-12")
    assert result.headline == (
        "Written in the diary of shoulder: 2026-05-12, dusted. Nothing is to be done again."
    )
    assert result.summary == (
        "If a part was touched, write which: --touched coupling|sensor|gear|supply|connector."
    )
    assert result.tables() == ()


def test_lines_are_added_and_none_is_written_over(rig: Rig) -> None:
    shoulder = rig.axis("shoulder")
    note(rig, "shoulder", 'said "ouch" \\ and = [went] #on', date="2026-05-12")
    first = diary_file(rig, shoulder).read_text(encoding="utf-8")
    note(rig, "shoulder", "naïve Δ", date="2026-05-10", touched="gear")
    text = diary_file(rig, shoulder).read_text(encoding="utf-8")
    assert text.startswith(first.rstrip())
    assert [line.text for line in read_diary(rig, shoulder)] == [
        'said "ouch" \\ and = [went] #on',
        "naïve Δ",
    ]


def test_the_lines_of_another_machine_are_another_diary(rig: Rig) -> None:
    other = replace(rig, machine="field")
    note(rig, "shoulder", "hub tightened", date="2026-05-12", touched="coupling")
    assert note(other, "shoulder", "dusted", date="2026-05-12").left == ()
    assert [line.text for line in read_diary(other, rig.axis("shoulder"))] == ["dusted"]


def test_a_calibration_settles_what_came_before_it_and_not_what_comes_after(rig: Rig) -> None:
    note(rig, "shoulder", "new supply", date="2026-05-10", touched="supply")
    calibrate(rig, "shoulder", typed=typed(), date="2026-05-12")
    late = note(rig, "shoulder", "hub tightened last week", date="2026-05-11", touched="coupling")
    assert late.left == ()  # written late; the calibration of the day after holds
    same_day = note(rig, "shoulder", "hub tightened", date="2026-05-12", touched="coupling")
    assert [each.task for each in same_day.left] == ["zero", "verify"]


def test_the_test_sheet_done_settles_the_connector_and_the_signs(rig: Rig) -> None:
    note(rig, "shoulder", "new plug", date="2026-05-12", touched="connector")
    note(rig, "shoulder", "other gear", date="2026-05-12", touched="gear")
    left = note(rig, "shoulder", "sheet gone through", date="2026-05-12", done="testsheet").left
    assert [each.task for each in left] == ["calibrate"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"text": " "}, 'note: there is nothing to write. Say what was done, as in "hub tightened".'),
        (
            {"text": "x", "touched": "couplin"},
            "--touched: 'couplin' is not known. Did you mean 'coupling'?",
        ),
        (
            {"text": "x", "done": "zero"},
            "--done: 'zero' is not taken on word. Run zero: it keeps that by itself.",
        ),
        (
            {"text": "x", "date": "12.5.2026"},
            "date: '12.5.2026' is not a day. Write it as 2026-05-12.",
        ),
    ],
)
def test_what_a_tired_student_writes_is_refused_in_a_sentence(
    rig: Rig, words: dict[str, str], said: str
) -> None:
    given = {"date": "2026-05-12", **words}
    with pytest.raises(UsageError) as caught:
        note(rig, "shoulder", given.pop("text"), **given)
    assert str(caught.value) == said
    assert not diary_file(rig, rig.axis("shoulder")).exists()


def test_a_damaged_diary_is_named_and_left_alone(rig: Rig) -> None:
    path = diary_file(rig, rig.axis("shoulder"))
    path.parent.mkdir(parents=True)
    path.write_text('[[line]]\ndate = "2026-05-12"\ntext = "x"\ntouched = "bracket"\n', encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(DataError) as caught:
        note(rig, "shoulder", "hub tightened", date="2026-05-12")
    assert str(caught.value) == (
        f"{path}, line 1 of the diary: touched is 'bracket', known are coupling, sensor, gear, supply, "
        "connector. It is yours to mend: each line of it stands under [[line]] with a date and a text, in "
        "quotes."
    )
    assert path.read_bytes() == before


def test_the_json_has_its_keys(rig: Rig) -> None:
    found = note(rig, "shoulder", "hub tightened", date="2026-05-12", touched="coupling").as_json()
    assert set(found) == {"axis", "date", "machine", "text", "touched", "done", "file", "due"}
    assert [set(each) for each in found["due"]] == [{"task", "text", "since"}] * 2
