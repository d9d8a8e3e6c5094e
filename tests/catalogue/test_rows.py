"""Rows that cannot be are refused by file, row and key."""

import tomllib
from pathlib import Path

import pytest

from anglewright.catalogue.loading import load_catalogue, read_catalogue
from anglewright.errors import RigError

SENSOR = """
[[sensor]]
name = "it"
price = { low = 2, high = 3, year = 2025 }
shaft = "6 mm"
bush = "bush"
connector = "3-pin"
source = "data sheet"
sensor = { kind = "potentiometer", electrical_travel = "270 deg", mechanical_travel = "300 deg" }
"""
STOCK = """
[[stock]]
name = "wheels"
kind = "gear"
module = "1 mm"
teeth = [12, 20]
backlash = "0.1 mm"
price = { low = 2, high = 3, year = 2025 }
source = "practice"
"""
AT = "own.toml, sensor 'it'"


def problems(text: str) -> list[str]:
    """The sentences with which a catalogue is refused."""
    with pytest.raises(RigError) as refused:
        read_catalogue([("own.toml", tomllib.loads(text))])
    return [str(each) for each in refused.value.problems]


def test_a_right_row_is_read() -> None:
    found = read_catalogue([("own.toml", tomllib.loads(SENSOR + STOCK))])
    assert [each.name for each in found.sensors] == ["it"]
    assert [each.name for each in found.of("gear")] == ["wheels"]


UPWARDS = "from 0 upwards belongs here. Write price = { low = 2, high = 3, year = 2025 }, in units of money."
BAD = [
    (
        "low = 2, high = 3,",
        "low = 4, high = 3,",
        f"price: it runs from 4 to 3, {UPWARDS}",
    ),
    (
        "low = 2, high = 3,",
        "low = -1, high = 3,",
        f"price: it runs from -1 to 3, {UPWARDS}",
    ),
    (
        "year = 2025",
        "year = 25",
        "price.year: it is 25, 1980 to 2100 belongs here. Write the year that the prices are of.",
    ),
    ('"6 mm"', '"0 mm"', "shaft: '0 mm' is not above zero. Mend the value or its spread."),
    ('"6 mm"', '"6 m"', "shaft: it is 6000 mm, 100 mm is the most. Write its diameter."),
    (
        '"300 deg"',
        '"260 deg"',
        "sensor.mechanical_travel: its stops are 260 deg apart, its track is 270 deg long. "
        "Correct one of them.",
    ),
    (
        '"270 deg"',
        '"-270 deg"',
        "sensor.electrical_travel: '-270 deg' is not above zero. Mend the value or its spread.",
    ),
    ('bush = "bush"', 'bush = ""', "bush: '' is no text. Write it in quotes."),
    ('source = "data sheet"', "", "source: it is missing. Write it in quotes."),
    (
        'source = "data sheet"',
        'source = "data sheet"\nlife_cycles = 0',
        "life_cycles: it is '0', a whole number from 1 to 1000000000 belongs here. "
        "Give the life in full strokes.",
    ),
    (
        'source = "data sheet"',
        'source = "data sheet"\nlife_cycles = 5\nlife_turns = 5',
        "life_turns: 'life_cycles' stands beside it. Leave one of them out.",
    ),
    (
        'source = "data sheet"',
        'source = "data sheet"\nsources = { shaf = "practice" }',
        "sources.shaf: the row has no such number. Did you mean 'shaft'?",
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), BAD)
def test_a_number_that_cannot_be_is_refused_by_row_and_key(old: str, new: str, text: str) -> None:
    assert old in SENSOR
    assert problems(SENSOR.replace(old, new)) == [f"{AT}, {text}"]


def test_an_unknown_key_and_an_unknown_kind_are_answered_with_the_nearest() -> None:
    text = SENSOR.replace("shaft =", "shaft_size =").replace('"potentiometer"', '"potentiometr"')
    found = problems(text)
    assert f"{AT}, key 'shaft_size' is not known" not in found
    assert any(
        line.startswith(f"{AT}: key 'shaft_size' is not known. Did you mean 'shaft'") for line in found
    )
    assert f"{AT}, shaft: it is missing. Give the diameter of the shaft." in found
    assert any("kind 'potentiometr' is not known. Did you mean 'potentiometer'?" in line for line in found)


@pytest.mark.parametrize(
    ("old", "new", "text"),
    [
        (
            "[12, 20]",
            "[12, 3]",
            "teeth: 3 stands among them, a whole number from 6 to 1000 belongs here. Write the numbers that "
            "are sold, as in teeth = [12, 15, 20].",
        ),
        (
            "[12, 20]",
            "[]",
            "teeth: '[]' is not a row. Write the numbers that are sold, as in teeth = [12, 15, 20].",
        ),
        ('module = "1 mm"', "", "module: it is missing. Give the module."),
        ('backlash = "0.1 mm"', "", "backlash: it is missing. Give the backlash, total, along its run."),
    ],
)
def test_stock_that_cannot_be_is_refused_by_row_and_key(old: str, new: str, text: str) -> None:
    assert problems(STOCK.replace(old, new)) == [f"own.toml, stock 'wheels', {text}"]


def test_every_problem_of_a_file_is_told_at_once() -> None:
    text = SENSOR.replace('"6 mm"', '"0 mm"') + STOCK.replace("year = 2025", "year = 1")
    assert [line.partition(",")[2].partition(":")[0] for line in problems(text)] == [
        " sensor 'it', shaft",
        " stock 'wheels', price.year",
    ]


def test_two_of_one_name_are_refused() -> None:
    assert problems(SENSOR * 2) == ["sensor 'it': there are two of that name. Give one of them another name."]


def test_a_file_that_is_no_catalogue_is_refused() -> None:
    assert problems('axis = 1\nsensor = "it"') == [
        "own.toml: key 'axis' is not known. Known: sensor, stock.",
        "own.toml, sensor: it is no row of tables. Begin each row with two pairs of brackets.",
    ]


def test_own_parts_stand_behind_the_shipped_ones(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    file.write_text(SENSOR, encoding="utf-8")
    assert load_catalogue([file]).sensors[-1].name == "it"
    assert len(load_catalogue([file]).sensors) == len(load_catalogue().sensors) + 1
