import re
import xml.etree.ElementTree as ET

import pytest

from anglewright.report.document import (
    Arc,
    Circuit,
    Clamp,
    CodeSheet,
    Drawing,
    Gears,
    Joint,
    Staircase,
    Track,
)
from anglewright.report.drawings import HEIGHT, WIDTH, draw

DRAWINGS: list[Drawing] = [
    Arc(low_deg=-20, high_deg=115),
    Arc(low_deg=-400, high_deg=400),
    Gears(teeth=(48, 24)),
    Gears(teeth=(17, 240)),
    Joint(play=True),
    Joint(),
    Clamp(),
    Track(travel_deg=340),
    Track(travel_deg=3600),
    Circuit(),
    Circuit(series=True, capacitor=True, pull="down"),
    Circuit(pull="up"),
    Staircase(),
    CodeSheet(),
]


@pytest.mark.parametrize("drawing", DRAWINGS, ids=repr)
def test_every_drawing_is_well_formed_stays_in_its_box_and_moves(drawing: Drawing) -> None:
    still, moved = draw(drawing, 0.25), draw(drawing, 0.75)
    ET.fromstring(still)
    assert still != moved
    for path in re.findall(r' d="(M[^"]*)"', still):
        pairs = re.findall(r"(?:^M| L)(-?[\d.]+) (-?[\d.]+)", path)
        assert all(0 <= float(x) <= WIDTH and 0 <= float(y) <= HEIGHT for x, y in pairs), path


def test_the_second_wheel_turns_by_the_ratio_the_other_way() -> None:
    """48 teeth on 24: one turn of the axis is two turns of the sensor, the other way round."""
    svg = draw(Gears(teeth=(48, 24)), 90.0)
    assert [float(turn) for turn in re.findall(r"rotate\((\S+)", svg)] == [-90.0, 180.0]


def test_wheels_carry_the_teeth_that_were_asked_for() -> None:
    rims = re.findall(r'class="ln" d="(M[^"]*Z)"', draw(Gears(teeth=(48, 24)), 0.0))
    assert [rim.count("L") + 1 for rim in rims] == [48 * 4, 24 * 4]  # four corners a tooth


def test_teeth_too_many_to_draw_keep_their_ratio() -> None:
    rims = re.findall(r'class="ln" d="(M[^"]*Z)"', draw(Gears(teeth=(240, 60)), 0.0))
    assert [(rim.count("L") + 1) / 4 for rim in rims] == [60, 15]


@pytest.mark.parametrize(("share", "angle"), [(0.0, 0.0), (0.5, 170.0), (1.0, 340.0)])
def test_the_wiper_runs_from_end_to_end_of_the_track(share: float, angle: float) -> None:
    svg = draw(Track(travel_deg=340.0), share)
    assert f"rotate({angle} " in svg
    assert f'stroke-dasharray="{share} 2"' in svg


@pytest.mark.parametrize(
    ("circuit", "resistors"),
    [
        (Circuit(), 0),
        (Circuit(series=True), 1),
        (Circuit(pull="up"), 1),
        (Circuit(series=True, pull="down"), 2),
    ],
)
def test_the_circuit_shows_the_resistors_that_are_there(circuit: Circuit, resistors: int) -> None:
    assert draw(circuit, 0.5).count("<rect") == resistors
