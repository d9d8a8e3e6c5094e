"""The small drawings: well formed, inside their box, and moved by the plain geometry of what they show."""

import math
import re
import xml.etree.ElementTree as ET
from typing import get_args

import pytest

from anglewright.errors import DataError
from anglewright.report.drawings import draw
from anglewright.report.strokes import HEIGHT, WIDTH
from anglewright.report.symbols import (
    Arc,
    Bellows,
    Box,
    Cable,
    Circle,
    Circuit,
    Clamp,
    ClampHub,
    CodeSheet,
    DBore,
    Direct,
    Drawing,
    DrawWire,
    Drum,
    Edges,
    FourBar,
    Gears,
    Helix,
    Home,
    Lines,
    Loop,
    Magnet,
    Pair,
    Pulse,
    Rack,
    Rail,
    Rollers,
    Row,
    Run,
    Screw,
    Staircase,
    Symbol,
    Track,
    Tube,
    Universal,
    Word,
)

BAR = FourBar(ground=100.0, input=35.0, coupler=98.0, output=40.0, box=(0.0, 0.0, 140.0, 40.0))
DRAWINGS: list[Drawing] = [
    Arc(low_deg=-20, high_deg=115),
    Arc(low_deg=-400, high_deg=400),
    Arc(low_deg=20, high_deg=-115),
    Circle(),
    *(Rail(way=way) for way in ("right", "left", "up", "down")),
    Direct(),
    Gears(teeth=(48, 24)),
    Gears(teeth=(17, 240)),
    Gears(teeth=(48, 24, 36, 12, 40, 60)),
    Rack(teeth=20),
    Rack(teeth=4),
    Rack(teeth=500),
    *(Loop(teeth=teeth, rollers=rollers) for teeth in ((36, 18), (9, 200)) for rollers in (True, False)),
    Run(rollers=True),
    Run(rollers=False),
    Drum(),
    Drum(layer=20),
    DrawWire(),
    Screw(),
    Screw(starts=20),
    BAR,
    DBore(play=True),
    DBore(),
    ClampHub(),
    Bellows(),
    Tube(),
    Universal(),
    Rollers(ratio=0.02),
    Rollers(ratio=50.0),
    Clamp(),
    Home(),
    Home(index=True),
    Track(travel_deg=340),
    Track(travel_deg=360),
    Helix(turns=10),
    Helix(turns=1.2),
    *(Magnet(sends=form) for form in ("voltage", "pulse", "word")),
    Lines(lines=1),
    Lines(lines=1024, index=True),
    Pair(teeth=(40, 17, 16)),
    Pair(teeth=(10, 200, 7)),
    Circuit(),
    Circuit(series=True, capacitor=True, pull="down"),
    Circuit(pull="up", driven=True),
    Cable(),
    Staircase(),
    Pulse(),
    Pulse(whole=False),
    Word(),
    *(Edges(counted=counted) for counted in (1, 2, 4)),
    CodeSheet(),
    Box(),
    Row(stages=(Rack(teeth=20), Gears(teeth=(20, 66)))),
    Row(stages=(Gears(teeth=(20, 40)), Loop(teeth=(20, 30), rollers=False), BAR)),
]


def phases(drawing: Drawing, share: float) -> tuple[float, ...]:
    """As many phases as a drawing needs, all the same share."""
    return (share,) * drawing.phases


def turns(svg: str) -> list[float]:
    """How far the turning parts have turned, clockwise. [deg]"""
    return [float(turn) for turn in re.findall(r'data-turn="[^>]*rotate\((\S+)', svg)]


def moves(svg: str) -> list[dict[str, float]]:
    """What the moving parts say of themselves."""
    groups = re.findall(r"<[^>]*data-of[^>]*>", svg)
    return [
        {key: float(value) for key, value in re.findall(r'data-(\w+)="(\S+?)"', group)} for group in groups
    ]


def test_every_kind_of_drawing_is_among_those_looked_at() -> None:
    assert {type(drawing) for drawing in DRAWINGS} == {*get_args(Symbol), Row}


@pytest.mark.parametrize("drawing", DRAWINGS, ids=repr)
def test_every_drawing_is_well_formed_stays_in_its_box_and_moves(drawing: Drawing) -> None:
    still, moved = draw(drawing, phases(drawing, 0.25)), draw(drawing, phases(drawing, 0.75))
    ET.fromstring(still)
    assert still != moved
    windows = re.sub(r"<svg x=.*?</svg>", "", still)  # cut off at their own edges
    for path in re.findall(r' d="(M[^"]*)"', windows):
        pairs = re.findall(r"(?:^M| L)(-?[\d.]+) (-?[\d.]+)", path)
        assert all(0 <= float(x) <= WIDTH and 0 <= float(y) <= HEIGHT for x, y in pairs), path


@pytest.mark.parametrize("drawing", DRAWINGS, ids=repr)
def test_each_of_its_phases_is_one_that_it_can_be_moved_by(drawing: Drawing) -> None:
    ranks = {move["of"] for move in moves(draw(drawing, phases(drawing, 0.5)))}
    assert ranks <= set(range(drawing.phases))
    assert ranks


def test_too_few_phases_are_refused() -> None:
    with pytest.raises(DataError) as caught:
        draw(Rack(teeth=20), (0.5,))
    text = "drawing of a link: 1 phases for a Rack, it needs 2. Correct what fills the report."
    assert str(caught.value) == text


def test_the_second_wheel_turns_by_the_ratio_the_other_way() -> None:
    """48 teeth on 24: one turn of the axis is two turns of the sensor, the other way round."""
    assert turns(draw(Gears(teeth=(48, 24)), (0.5, 180.0))) == [-90.0, 180.0]


def test_in_a_train_two_wheels_share_the_shaft_between() -> None:
    """48 on 24, then 36 on 24: 2 times 1.5 turns; 90 deg of the axis are 180 and 270, back and forth."""
    assert turns(draw(Gears(teeth=(48, 24, 36, 24)), (0.5, 270.0))) == [-90.0, 180.0, 180.0, -270.0]


def test_wheels_carry_the_teeth_that_were_asked_for() -> None:
    rims = re.findall(r'class="ln" d="(M[^"]*Z)"', draw(Gears(teeth=(48, 24)), (0.0, 0.0)))
    assert [rim.count("L") + 1 for rim in rims] == [48 * 4, 24 * 4]  # four corners a tooth


def test_teeth_too_many_to_draw_keep_their_ratio() -> None:
    rims = re.findall(r'class="ln" d="(M[^"]*Z)"', draw(Gears(teeth=(240, 60)), (0.0, 0.0)))
    assert [(rim.count("L") + 1) / 4 for rim in rims] == [60, 15]


@pytest.mark.parametrize("teeth", [10, 17, 18, 20, 23, 24])
def test_the_rack_rolls_without_slip_and_has_a_gap_where_the_pinion_has_a_tooth(teeth: int) -> None:
    """Rolling without slip: the shift is radius times angle, a tooth of it a whole circle over the teeth."""
    svg = draw(Rack(teeth=teeth), (0.0, 0.0))
    rack, pinion = moves(svg)
    pitch = 2 * math.pi * 20.0 / teeth
    assert pinion["turn"] == -1.0
    assert rack["dx"] == pytest.approx(20.0 * math.pi / 180.0, rel=1e-5)
    assert rack["dx"] * rack["every"] == pytest.approx(pitch, rel=1e-5)
    gaps = [float(x) for x in re.findall(r"L(-?[\d.]+) 9\.00", svg)]
    rim = re.findall(r'class="ln" d="(M[^"]*Z)"', svg)[0]
    corners = [(float(x) - 60, 31 - float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", rim)]
    tips = [corner for corner in corners if math.hypot(*corner) > 20]
    for (x1, y1), (x2, y2) in zip(tips[::2], tips[1::2], strict=True):
        rolled = 60 + 20.0 * (math.atan2(y1 + y2, x1 + x2) + math.pi / 2)  # of a tooth, on the rack
        off = (rolled - (8 + (gaps[0] + gaps[1]) / 2)) / pitch
        assert off == pytest.approx(round(off), abs=0.01)


@pytest.mark.parametrize("rollers", [True, False])
def test_both_wheels_of_a_loop_run_as_fast_as_what_runs_round_them(rollers: bool) -> None:
    """36 and 18 teeth of one pitch: radii as 2 to 1, turns as 1 to 2, one speed at both rims."""
    svg = draw(Loop(teeth=(36, 18), rollers=rollers), (0.0, 0.0))
    first, second, band = moves(svg)
    assert (first["turn"], second["turn"]) == (-0.5, -1.0)
    radii = [float(r) + 4.5 for r in re.findall(r'class="ln" cx="[\d.]+" cy="40" r="([\d.]+)"', svg)]
    assert radii[0] / radii[1] == pytest.approx(2.0)
    assert band["run"] == pytest.approx(radii[1] * math.pi / 180.0, rel=1e-5)


@pytest.mark.parametrize("starts", [1, 2, 4])
def test_a_turn_of_a_screw_moves_its_thread_by_its_starts(starts: int) -> None:
    svg = draw(Screw(starts=starts), (0.0, 0.0))
    thread, nut = moves(svg)
    places = [float(x) for x in re.findall(r"M(-?\d+) 14l", svg)]
    assert thread["dx"] * 360.0 == pytest.approx(starts * (places[1] - places[0]), rel=1e-5)
    assert thread["every"] == 360.0 / starts
    assert nut["of"] == 0


def test_a_four_bar_drawn_at_a_closed_position_closes() -> None:
    """A parallelogram, 100 by 40, both levers at 90 deg: the rod is level and ends at the output's tip."""
    bar = FourBar(ground=100.0, input=40.0, coupler=100.0, output=40.0, box=(0.0, 0.0, 100.0, 40.0))
    svg = draw(bar, (90.0, -90.0, 90.0))
    assert turns(svg) == [-90.0, 90.0, -90.0]
    lengths = [math.dist(*ends) for ends in straight_lines(svg)]
    ground, lever, rod, output = lengths
    assert (lever / ground, rod / ground, output / ground) == pytest.approx((0.4, 1.0, 0.4), abs=1e-3)


def straight_lines(svg: str) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Ends of the lines with just two of them."""
    found = re.findall(r' d="M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+)"', svg)
    return [((float(a), float(b)), (float(c), float(d))) for a, b, c, d in found]


@pytest.mark.parametrize(("share", "angle"), [(0.0, 0.0), (0.5, 170.0), (1.0, 340.0)])
def test_the_wiper_runs_from_end_to_end_of_the_track(share: float, angle: float) -> None:
    svg = draw(Track(travel_deg=340.0), (share, 0.0))
    assert f"rotate({angle} " in svg
    assert f'stroke-dasharray="{share} 2"' in svg


def test_the_wiper_of_ten_turns_runs_from_side_to_side_over_ten_coils() -> None:
    svg = draw(Helix(turns=10.0), (1.0, 0.0))
    coil = re.findall(r'class="bed wire" d="(M[^"]*)"', svg)[0]
    assert coil.count(" 34.00") == 10
    assert "translate(96.0 0.0)" in svg


def test_the_gears_of_a_pair_turn_by_the_teeth_that_drive_them() -> None:
    """40 teeth on 17 and 16: the driving gear at 136 deg has turned them 320 and 340 deg, backwards."""
    assert turns(draw(Pair(teeth=(40, 17, 16)), (0.0, 136.0))) == pytest.approx(
        [-136.0, 320.0, 340.0], abs=0.01
    )


def test_the_heads_of_a_disc_stand_a_quarter_of_a_line_apart() -> None:
    svg = draw(Lines(lines=24), (0.0, 0.0))
    heads = re.findall(r'class="sl thick" d="M([\d.]+) ([\d.]+) L([\d.]+) ([\d.]+)"', svg)
    first, second = (math.degrees(math.atan2(40 - float(y), float(x) - 54)) for x, y, _, _ in heads)
    assert ((first - second) / 15.0) % 1.0 == pytest.approx(0.25, abs=0.01)  # 24 lines are 15 deg apart


@pytest.mark.parametrize(("counted", "ticks"), [(1, 1), (2, 2), (4, 4)])
def test_so_many_edges_of_a_line_are_marked_as_count(counted: int, ticks: int) -> None:
    """A line is 32 px long; each count moves the tracks on by one mark."""
    svg = draw(Edges(counted=counted), (0.0, 0.0))
    places = [float(x) for x in re.findall(r"M([\d.]+) 41v9", svg)]
    assert sum(1 for place in places if 32.0 <= place < 64.0) == ticks
    assert moves(svg)[0]["dx"] == places[0] - places[1]


@pytest.mark.parametrize(("share", "bits"), [(0.1, "0001"), (0.4, "0110"), (0.64, "1010"), (0.97, "1111")])
def test_the_line_over_a_word_shows_its_bits(share: float, bits: str) -> None:
    """A word of four bits at a share of its range: the whole sixteenths in base two."""
    svg = draw(Word(), (share,))
    at = 12 + 96 * share
    rows = re.findall(r'class="bit" d="([^"]*)"', svg)
    shown = ["01"[any(float(x) <= at < float(x) + float(w) for x, w in CELLS.findall(row))] for row in rows]
    assert "".join(shown) == bits == f"{int(16 * share):04b}"


CELLS = re.compile(r"M([\d.]+) [\d.]+h([\d.]+)v")


@pytest.mark.parametrize(("way", "first", "last"), [("right", 20, 100), ("left", 100, 20)])
def test_the_carriage_runs_along_its_rail(way: str, first: float, last: float) -> None:
    rail = Rail(way="right" if way == "right" else "left")
    svg = draw(rail, (1.0,))
    start = float(re.findall(r'class="sg thick" d="M([\d.]+) ', svg)[0])
    shift = float(re.findall(r"translate\((\S+) ", svg)[0])
    assert (start, start + shift) == (first, last)


def test_the_opening_of_a_loose_coupling_does_not_depend_on_where_it_stands() -> None:
    """What the script moves is the phase alone; the opening is drawn inside of it."""
    opened = re.findall(r'<g transform="rotate\((\S+) 60 40\)">', draw(DBore(play=True), (77.0, 77.0)))
    assert opened == ["-12"]
    assert turns(draw(DBore(play=True), (77.0, 77.0))) == [-77.0, -77.0]


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
    assert draw(circuit, (0.5,)).count("<rect") == resistors
