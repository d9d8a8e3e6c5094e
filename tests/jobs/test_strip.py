"""The strip of the chain: every kind of part has its drawing, moved by what its link lets through."""

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import anglewright.links
from anglewright.jobs.frames import frames
from anglewright.jobs.lines import line_in_use
from anglewright.jobs.opening import open_rig
from anglewright.jobs.passages import POSITIONS, Passage, passages, phases
from anglewright.jobs.strip import DRAWINGS, drawing_of, rooms
from anglewright.links.gears import DirectPart
from anglewright.links.stages import StagesPart
from anglewright.report.document import Frame
from anglewright.report.drawings import draw
from anglewright.report.symbols import Arc, Box, Circle, FourBar, Helix, Rack, Rail, Row, Track
from anglewright.rig import Rig

ROWS = {("drive", "stages")}  # drawn as a row of the drawings of its stages
RIG = open_rig(Path(__file__).resolve().parents[1] / "report" / "every-kind.toml")


def kinds() -> set[tuple[str, str]]:
    """Every kind of part that a module of the links declares."""
    modules = pkgutil.iter_modules(anglewright.links.__path__)
    loaded = [importlib.import_module(f"anglewright.links.{module.name}") for module in modules]
    return {(part.room, part.kind) for module in loaded for part in getattr(module, "PARTS", ())}


def every_passage(rig: Rig = RIG) -> Iterator[Passage]:
    for axis in rig.axes.values():
        yield from passages(axis)


def frames_of(name: str) -> tuple[Frame, ...]:
    return frames(line_in_use(RIG, RIG.axis(name)))


def the(axis: str, room: str) -> Passage:
    return next(each for each in passages(RIG.axis(axis)) if each.part.room == room)


PASSAGES = {f"{each.axis.name} {each.part.room}": each for each in every_passage()}


def test_every_kind_has_a_drawing_of_its_own() -> None:
    assert kinds() == {*DRAWINGS} | ROWS


def test_every_kind_is_in_the_rig_that_is_looked_at() -> None:
    assert {(each.part.room, each.part.kind) for each in every_passage()} == kinds()


@pytest.mark.parametrize("name", PASSAGES)
def test_no_link_is_drawn_as_a_box_and_each_moves_with_the_position(name: str) -> None:
    passage = PASSAGES[name]
    drawing = drawing_of(passage)
    moving = phases(passage, drawing)
    assert not isinstance(drawing, Box)
    assert [each.shape for each in moving] == [(POSITIONS,)] * drawing.phases
    shown = [draw(drawing, tuple(float(each[k]) for each in moving)) for k in range(POSITIONS)]
    assert len(set(shown)) > POSITIONS // 4


def test_two_kinds_in_a_room_are_not_drawn_alike() -> None:
    drawn: dict[str, set[tuple[str, str]]] = {}
    for passage in every_passage():
        look = draw(drawing_of(passage), (0.3,) * drawing_of(passage).phases)
        drawn.setdefault(look, set()).add((passage.part.room, passage.part.kind))
    assert [found for found in drawn.values() if len(found) > 1] == []


class Worm(DirectPart):
    """A kind of drive that the package does not know."""

    kind = "worm"


def test_a_kind_from_outside_is_a_box_that_fills_with_its_output() -> None:
    passage = replace(the("pan", "drive"), part=Worm())
    drawing = drawing_of(passage)
    (place,) = phases(passage, drawing)
    assert drawing == Box()
    assert (place[0], place[-1]) == (0.0, 1.0)


def test_a_kind_from_outside_within_stages_is_a_box_among_them() -> None:
    passage = the("lift", "drive")
    assert isinstance(passage.part, StagesPart)
    mixed = replace(passage, part=replace(passage.part, stages=(passage.part.stages[0], Worm())))
    drawing = drawing_of(mixed)
    assert drawing == Row(stages=(Rack(teeth=20), Box()))
    assert len(phases(mixed, drawing)) == drawing.phases == 3


@pytest.mark.parametrize(
    ("axis", "drawing"),
    [
        ("arm", Arc(low_deg=-20.0, high_deg=115.0)),
        ("wrist", Arc(low_deg=0.0, high_deg=-90.0)),  # its positive way is the clock's
        ("steer", Circle()),
        ("mast", Rail(way="up")),
        ("gate", Rail(way="down")),
        ("table", Rail(way="left")),
        ("reel", Rail(way="right")),
    ],
)
def test_a_motion_is_drawn_as_it_goes(axis: str, drawing: object) -> None:
    assert drawing_of(the(axis, "motion")) == drawing


def test_a_carriage_stands_at_the_ends_of_its_rail_at_the_ends_of_the_range() -> None:
    found = frames_of("mast")
    assert (found[0].phases[0], found[-1].phases[0]) == ((0.0,), (1.0,))


def test_a_track_of_several_turns_is_a_helix() -> None:
    assert isinstance(drawing_of(the("arm", "sensor")), Track)
    assert drawing_of(the("mast", "sensor")) == Helix(turns=10.0)


def test_the_bars_of_a_linkage_close_at_every_position() -> None:
    """A closed polygon: ground and output lever end where input lever and rod end, whatever the position."""
    passage = the("tilt", "drive")
    bar = drawing_of(passage)
    assert isinstance(bar, FourBar)
    theta, rod, out = (np.radians(each) for each in phases(passage, bar))
    tip = bar.input * np.exp(1j * theta) + bar.coupler * np.exp(1j * (theta + rod))
    end = bar.ground + bar.output * np.exp(1j * out)
    assert np.max(np.abs(tip - end)) < 1e-9
    left, low, right, high = bar.box
    for place in (bar.input * np.exp(1j * theta), end):
        assert np.all((place.real >= left - 1e-9) & (place.real <= right + 1e-9))
        assert np.all((place.imag >= low - 1e-9) & (place.imag <= high + 1e-9))


def test_a_universal_joint_shows_both_its_shafts() -> None:
    """10 deg of bend lead by up to atan(tan^2(5 deg)) on the sine of twice the turn: 0.4386 deg either way.

    Peak of the lead of a single joint, sine of it tan^2(half the bend): universal-joint in the register.
    """
    passage = the("table", "coupling")
    near, far = phases(passage, drawing_of(passage))
    apart = float(np.max(np.abs(far - near)))
    assert apart <= 0.4386 + 1e-4
    assert apart > 0.40


def test_stages_are_moved_each_by_its_own_shaft() -> None:
    """180 mm over a rack of 62.83 mm a turn are 1031.3 deg; 20 teeth on 66 leave 312.5 deg of them."""
    found = frames_of("lift")[-1].phases[1]
    assert found == pytest.approx((1.0, 1031.32, 1.0, 312.52), abs=0.01)


LEAVES = [
    ("arm", ["deg", "deg", "deg", "deg", "", "V", "", "deg"]),
    ("mast", ["mm", "deg", "deg", "deg", "", "V", "", "mm"]),
    ("steer", ["deg", "deg", "deg", "deg", "", "", "", "deg"]),
    ("reel", ["m", "deg", "deg", "deg", "", "", "", "m"]),
]


@pytest.mark.parametrize(("axis", "units"), LEAVES)
def test_what_leaves_a_link_has_the_unit_of_its_signal(axis: str, units: list[str]) -> None:
    for frame in frames_of(axis):
        assert [value.partition(" ")[2] for value in frame.values] == units


def test_what_leaves_is_named_by_its_signal() -> None:
    def named(axis: str) -> list[str]:
        in_use = line_in_use(RIG, RIG.axis(axis))
        return [room.leaves for room in rooms(in_use, in_use.budget)]

    assert named("arm")[3:6] == ["since it was clamped", "of the track", "at the pin"]
    assert named("reel")[3:6] == [
        "since it was homed",
        "turns since it was homed",
        "turns since it was homed",
    ]
    assert named("nod")[4:7] == ["of the full output", "of the full output", "counts"]


def test_no_value_says_minus_nought_or_is_too_long_for_its_room() -> None:
    for name in RIG.axes:
        for frame in frames_of(name):
            for value in frame.values:
                assert not value.startswith("-0.00 ")
                assert value not in ("-0", "-0.0000", "-0.000")
                assert len(value) <= 11


def test_a_turn_the_other_way_round_is_drawn_the_other_way_round() -> None:
    """The wrist's positive way is the clock's: what turns with it turns with the clock."""
    frame = frames_of("wrist")[-1]
    motion, drive, *_ = frame.phases
    assert motion == pytest.approx((-90.0,))
    assert drive[1] == pytest.approx(-270.0)  # 48 : 24 and 36 : 24 are three turns a turn


def test_a_share_of_the_feed_stays_within_the_feed() -> None:
    for passage in every_passage():
        if passage.part.room in ("sensor", "wiring", "converter") and passage.part.kind not in (
            "incremental",
            "counter",
        ):
            level = phases(passage, drawing_of(passage))[0]
            counts = passage.part.room == "wiring" and passage.axis.part("sensor").kind == "incremental"
            assert counts or bool(np.all((level >= 0.0) & (level <= 1.0)))
