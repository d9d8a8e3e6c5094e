"""The shipped catalogue: enough classes, a source on every number, and stock whose pieces go together."""

import re
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from anglewright.catalogue.drives import MOST_RATIO, NEAR, drive_offers
from anglewright.catalogue.loading import SHIPPED, TEMPLATE, load_catalogue, read_catalogue, shipped_text
from anglewright.catalogue.rows import numbers_in
from anglewright.links.gears import GearsPart, ratio_of
from anglewright.sources import SOURCES

CATALOGUE = load_catalogue()


def rows() -> Iterator[dict[str, Any]]:
    """Every row of the shipped files."""
    for name in SHIPPED:
        for kind in tomllib.loads(shipped_text(name)).values():
            yield from kind


ROWS = list(rows())


def test_there_are_about_thirty_classes_of_every_kind() -> None:
    assert len(CATALOGUE.sensors) >= 30
    kinds = [each.part.kind for each in CATALOGUE.sensors]
    assert {kind: kinds.count(kind) for kind in set(kinds)} == {
        "potentiometer": 20,
        "magnetic": 3,
        "pulse-width": 2,
        "serial": 3,
        "gear-pair": 2,
        "incremental": 8,
    }
    assert sum(each.drive is not None for each in CATALOGUE.sensors) == 4  # draw-wires


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_every_number_has_a_source_of_the_register(row: dict[str, Any]) -> None:
    named = {row["source"], *row.get("sources", {}).values()}
    assert named <= set(SOURCES)
    assert set(row.get("sources", {})) <= set(numbers_in(row))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_no_row_names_a_make(row: dict[str, Any]) -> None:
    plain = re.sub(r"[0-9.]+ V\b", "", row["name"])
    assert not re.search(r"[A-Z]", plain), "a name that begins with a capital looks like that of a maker"


def test_the_handbooks_classes_are_as_it_has_them() -> None:
    """HANDBOOK 11: panel, servo of the 340 deg class, ten-turn wirewound."""
    by_name = {each.name: each for each in CATALOGUE.sensors}
    panel = by_name["panel, carbon, 270 deg"]
    assert (panel.price.low, panel.price.high) == (2.0, 3.0)
    assert panel.life_cycles is not None
    assert 10_000 <= panel.life_cycles <= 25_000
    ten = by_name["10-turn, wirewound"]
    assert ten.life_turns is not None
    assert 0.3e6 <= ten.life_turns <= 1e6
    servos = [each for name, each in by_name.items() if "340 deg" in name]
    assert len(servos) == 2
    for servo in servos:
        assert servo.life_cycles is not None
        assert 1e6 <= servo.life_cycles <= 1e7
        assert servo.price.low > 5 * panel.price.high


def test_the_template_is_a_catalogue() -> None:
    found = read_catalogue([(TEMPLATE, tomllib.loads(shipped_text(TEMPLATE)))])
    assert [each.name for each in found.sensors] == ["my potentiometer", "my serial sensor"]
    assert [each.teeth for each in found.stock] == [(20, 30, 40)]


def test_every_drive_is_made_of_teeth_that_are_sold() -> None:
    sold = {teeth for each in CATALOGUE.of("gear") for teeth in each.teeth}
    trains = [offer.part for offer in drive_offers(CATALOGUE, rotary=True)]
    gears = [part.teeth for part in trains if isinstance(part, GearsPart)]
    assert all(set(teeth) <= sold for teeth in gears)
    single = [ratio_of(teeth) for teeth in gears if len(teeth) == 2]
    assert len(single) == len(set(single))
    double = [ratio_of(teeth) for teeth in gears if len(teeth) == 4]
    assert double
    assert all(1 / MOST_RATIO <= ratio <= MOST_RATIO for ratio in single + double)


def test_two_stages_are_offered_only_where_one_does_not_come_near() -> None:
    trains = [offer.part for offer in drive_offers(CATALOGUE, rotary=True)]
    gears = [part.teeth for part in trains if isinstance(part, GearsPart)]
    single = [ratio_of(teeth) for teeth in gears if len(teeth) == 2]
    for ratio in (ratio_of(teeth) for teeth in gears if len(teeth) == 4):
        nearest = min(max(ratio / one, one / ratio) for one in single)
        assert nearest > 1 + NEAR


def test_along_a_line_there_are_racks_drums_screws_belts_and_wires() -> None:
    offers = drive_offers(CATALOGUE, rotary=False, length_m=0.6)
    assert {offer.part.kind for offer in offers} == {
        "rack", "stages", "belt", "chain", "drum", "screw", "draw-wire"
    }  # fmt: skip
    rack = next(offer for offer in offers if offer.name == "Rack, module 1 mm, pinion of 20")
    assert rack.pieces[0] == ("rack, module 1", 2)  # 600 mm of it, sold by 500 mm
    assert rack.price.middle == 2 * 12 + 3.5  # middles of 8 to 16 and 2 to 5
