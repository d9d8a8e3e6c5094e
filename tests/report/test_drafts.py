"""Dial and schematic: what is there is drawn, what is not is not; their files bring their own colours."""

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from markupsafe import Markup

from anglewright.errors import UsageError
from anglewright.report.dial import Dial, Place, draw_dial
from anglewright.report.drafting import LOOKS, as_file
from anglewright.report.schematic import Schematic, Stage, draw_schematic
from anglewright.report.tokens import COLOURS

SVG = "{http://www.w3.org/2000/svg}"
PLAN = Schematic(
    title="Circuit of shoulder",
    description="Track, series resistor, converter.",
    sensor=("track", "10 kohm ± 2 kohm"),
    track=True,
    cable=("cable", "2 m, gauge 24"),
    contacts=("1 feed", "2 wiper", "3 ground"),
    stages=(Stage(series=("series", "1 kohm")),),
    controller=("converter", "12 bit"),
    feed="feed 3.3 V",
    reference=("reference", "the feed"),
    ratiometric=True,
)
DIAL = Dial(
    title="Mounting of shoulder",
    description="Clamp at 170 deg.",
    scale=(0.0, 340.0),
    working=(35.0, 305.0),
    reached=(19.0, 321.0),
    places=(
        Place(at_deg=170.0, lines=("clamp at 'pin'", "1.65 V"), kind="clamp"),
        Place(at_deg=35.0, lines=("-20 deg", "0.34 V"), kind="end"),
    ),
    clamp_half_deg=3.0,
)


def texts(svg: Markup) -> list[str]:
    """Every text of a drawing."""
    return [each.text or "" for each in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("svg", [draw_dial(DIAL), draw_schematic(PLAN)], ids=["dial", "schematic"])
def test_a_drawing_says_in_words_what_it_is_and_shows(svg: Markup) -> None:
    root = ET.fromstring(svg)
    assert root.get("role") == "img"
    assert [each.tag for each in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert all(each.text for each in list(root)[:2])


@pytest.mark.parametrize(
    ("stage", "symbols", "label"),
    [
        (Stage(series=("series", "1 kohm")), 1, "1\u00a0k\u03a9"),
        (Stage(up=("pull-up", "47 kohm"), down=("pull-down", "100 kohm")), 2, "47\u00a0k\u03a9"),
        (Stage(capacitor=("capacitor", "100 nF")), 0, "100 nF"),
    ],
)
def test_each_part_that_is_there_is_drawn_once_with_its_value(stage: Stage, symbols: int, label: str) -> None:
    bare, full = (draw_schematic(replace(PLAN, stages=stages)) for stages in ((), (stage,)))
    assert full.count('<rect class="part"') - bare.count('<rect class="part"') == symbols
    assert texts(full).count(label) == 1
    assert label not in texts(bare)


def test_a_capacitor_has_two_plates() -> None:
    svg = draw_schematic(replace(PLAN, stages=(Stage(capacitor=("capacitor", "100 nF")),)))
    plates = re.findall(r'class="wire strong" d="(M[^"]*)"', svg)
    assert [plate.count("h26") for plate in plates] == [2]


def test_a_sensor_without_a_track_is_a_box() -> None:
    svg = draw_schematic(replace(PLAN, track=False))
    assert 'class="track"' not in svg
    assert 'class="live"' not in svg


def test_only_a_long_cable_is_ringed_as_twisted_or_shielded() -> None:
    assert "<ellipse" not in draw_schematic(PLAN)
    assert "<ellipse" in draw_schematic(replace(PLAN, twisted=True))


def test_a_wire_with_a_resistance_of_its_own_shows_it() -> None:
    assert "2.5\u00a0\u03a9" in texts(draw_schematic(replace(PLAN, wires=("", "2.5 ohm", ""))))


def test_the_signal_lies_between_feed_and_ground() -> None:
    heights = [float(y) for y in re.findall(r'y="([\d.]+)" text-anchor="start">[123] ', draw_schematic(PLAN))]
    assert heights == sorted(heights)
    assert heights[1] - heights[0] == pytest.approx(heights[2] - heights[1], abs=0.2)


SIGNALS = replace(
    PLAN,
    track=False,
    contacts=("1 feed", "2 A", "3 B", "4 index", "5 ground"),
    stages=(),
    reference=(),
    ratiometric=False,
)


def test_each_signal_has_a_row_of_its_own_in_the_order_of_the_connector() -> None:
    found = re.findall(r'y="([\d.]+)" text-anchor="start">([1-5]) ', draw_schematic(SIGNALS))
    assert [contact for _, contact in sorted(found, key=lambda each: float(each[0]))] == list("12345")
    heights = sorted(float(y) for y, _ in found)
    assert heights[1] - heights[0] == pytest.approx(heights[4] - heights[3], abs=0.2)
    assert heights[2] - heights[1] == pytest.approx(heights[3] - heights[2], abs=0.2)


@pytest.mark.parametrize(
    ("stage", "symbols", "labels"),
    [
        (Stage(series=("series", "1 kohm")), 3, 1),
        (Stage(up=("pull-up", "47 kohm")), 3, 3),
        (Stage(down=("pull-down", "47 kohm")), 3, 3),
    ],
)
def test_a_part_is_drawn_in_or_on_each_signal(stage: Stage, symbols: int, labels: int) -> None:
    bare, full = draw_schematic(SIGNALS), draw_schematic(replace(SIGNALS, stages=(stage,)))
    assert full.count('<rect class="part"') - bare.count('<rect class="part"') == symbols
    assert texts(full).count((stage.series or stage.up or stage.down)[0]) == labels


def test_the_controllers_own_pull_hangs_on_each_signal() -> None:
    own = draw_schematic(replace(SIGNALS, own=Stage(up=("own pull", "40 kohm"))))
    assert texts(own).count("own pull") == 3


def test_each_wire_shows_its_resistance() -> None:
    assert texts(draw_schematic(replace(SIGNALS, wires=("2.5 ohm",) * 5))).count("2.5\u00a0\u03a9") == 5


def test_what_has_no_reference_is_drawn_digital_all_over() -> None:
    diagonal = r'class="quiet" d="M\S+ \S+L'
    assert re.search(diagonal, draw_schematic(PLAN))
    assert not re.search(diagonal, draw_schematic(SIGNALS))


def test_a_converter_with_a_reference_of_its_own_is_not_tied_to_the_feed() -> None:
    own = replace(PLAN, ratiometric=False, reference=("reference", "2.5 V"))
    assert "2.5\u00a0V" in texts(draw_schematic(own))
    assert draw_schematic(own).count("<circle") == draw_schematic(PLAN).count("<circle") + 1


def ray(svg: Markup, css: str) -> tuple[float, float]:
    """Outer end of the first line of a class, clockwise from the top in degrees, and its radius."""
    found = re.search(rf'class="{css}" d="M\S+ \S+?L(-?[\d.]+) (-?[\d.]+)"', svg)
    assert found
    x, y = float(found[1]), float(found[2])
    return math.degrees(math.atan2(x, -y)), math.hypot(x, y)


@pytest.mark.parametrize(("at", "angle"), [(170.0, 0.0), (260.0, 90.0), (80.0, -90.0), (35.0, -135.0)])
def test_the_clamp_line_stands_at_its_angle_with_the_middle_of_the_track_at_the_top(
    at: float, angle: float
) -> None:
    svg = draw_dial(replace(DIAL, places=(Place(at_deg=at, lines=("clamp",), kind="clamp"),)))
    assert ray(svg, "mark strong")[0] == pytest.approx(angle, abs=0.05)


def test_the_gap_of_an_endless_track_is_hatched_and_a_wrap_is_one_line() -> None:
    gapped, wrapping = draw_dial(DIAL), draw_dial(replace(DIAL, scale=(0.0, 360.0), ends="wrap"))
    assert 'class="hatch"' in gapped
    assert 'class="hatch"' not in wrapping
    assert 'class="wire strong"' in wrapping


def test_numbers_of_the_scale_do_not_lie_under_the_clamp_line() -> None:
    assert "180" not in texts(draw_dial(DIAL))
    assert {"0", "30", "150", "210", "330"} <= set(texts(draw_dial(DIAL)))


def test_more_than_a_turn_is_drawn_as_a_strip_of_turns() -> None:
    strip = replace(
        DIAL,
        scale=(0.0, 3600.0),
        working=(300.0, 3000.0),
        reached=(200.0, 3100.0),
        sensor_stops=(-20.0, 3620.0),
    )
    found = texts(draw_dial(strip))
    assert [each for each in found if each.isdigit()] == [str(turn) for turn in range(11)]


def test_the_arrow_turns_round_with_the_direction() -> None:
    one, other = draw_dial(DIAL), draw_dial(replace(DIAL, sense=-1))
    tips = [re.search(r'class="tip".*?rotate\((-?[\d.]+)\)', svg) for svg in (one, other)]
    assert [float(tip[1]) for tip in tips if tip] == [34.0, 146.0]


@pytest.mark.parametrize("svg", [draw_dial(DIAL), draw_schematic(PLAN)], ids=["dial", "schematic"])
@pytest.mark.parametrize("look", LOOKS)
def test_a_file_is_one_well_formed_svg_that_needs_nothing_else(svg: Markup, look: str) -> None:
    text = as_file(svg, look=look)
    ET.fromstring(text)
    assert "var(" not in text
    assert "url(" not in text
    assert "<script" not in text


def test_on_paper_there_is_no_colour() -> None:
    colours = re.findall(r"#([0-9a-f]{6})", as_file(draw_dial(DIAL), look="print"))
    assert colours
    assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)


def test_dark_and_light_files_bring_the_tokens() -> None:
    light, dark, screen = (as_file(draw_dial(DIAL), look=look) for look in ("light", "dark", "screen"))
    copper = COLOURS["copper"]
    assert (copper.light in light, copper.dark in light) == (True, False)
    assert (copper.light in dark, copper.dark in dark) == (False, True)
    assert screen.index(copper.light) < screen.index("prefers-color-scheme:dark") < screen.index(copper.dark)


def test_an_unknown_look_is_answered_with_the_nearest() -> None:
    with pytest.raises(UsageError) as caught:
        as_file(draw_dial(DIAL), look="drak")
    assert str(caught.value) == "--look: there is no look 'drak'. Did you mean 'dark'?"


def test_what_a_rig_brings_is_shown_and_never_run() -> None:
    bad = "</text><script>alert(1)</script>\x00\u202e" + "W" * 80
    svg = draw_schematic(
        replace(PLAN, title=bad, description=bad, sensor=(bad,), feed=bad, contacts=(bad,) * 3)
    )
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "\u202e" not in svg
