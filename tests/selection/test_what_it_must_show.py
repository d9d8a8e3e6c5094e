"""Needs that every builder knows, chosen for from the shipped catalogue."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from anglewright.catalogue.loading import Catalogue
from anglewright.jobs.chosen import ChooseResult
from anglewright.selection.figures import Form
from anglewright.selection.reasons import reasons

WHEEL = """
[axis.wheel]
motion = { from = "-180 deg", to = "180 deg", endless = true, speed = "360 deg/s" }
need = { error = "2 deg", strokes = 100000, homing = "allowed" }
when_unpowered = "holds"
"""
ARM = """
[axis.arm]
motion = { from = "-20 deg", to = "115 deg", speed = "90 deg/s" }
need = { error = "8 deg", strokes = 5000 }
stops = { low = "-22 deg", high = "117 deg" }
when_unpowered = "drops"
coupling = { kind = "d-bore", play = "3 deg" }
"""
LIFT = """
[axis.lift]
motion = { from = "0 mm", to = "560 mm", speed = "100 mm/s" }
need = { error = "3 mm", strokes = 10000 }
stops = { low = "-5 mm", high = "565 mm" }
when_unpowered = "sinks"
"""
HEAD = """
[axis.head]
motion = { from = "-270 deg", to = "270 deg", speed = "90 deg/s" }
need = { error = "1 deg" }
when_unpowered = "holds"
coupling = { kind = "rigid" }
"""
FINE = """
[axis.fine]
motion = { from = "0 deg", to = "90 deg", speed = "90 deg/s" }
need = { error = "0.01 deg" }
when_unpowered = "holds"
coupling = { kind = "rigid" }
"""

Chosen = Callable[[str], ChooseResult]


def named(result: ChooseResult, sensor: str, drive: str) -> int:
    """Place of a choice."""
    places = range(len(result.judged.sensor))
    names = {(result.choice(k).sensor.name, result.choice(k).drive.name): k for k in places}
    return names[sensor, drive]


def form(result: ChooseResult, place: int) -> Form:
    found: Form = result.judged.sensors[int(result.judged.sensor[place])].form
    return found


def test_a_wheel_that_turns_endlessly_never_gets_a_track_with_ends(chosen: Chosen) -> None:
    result = chosen(WHEEL)
    assert len(result.kept)
    assert {form(result, k) for k in result.kept} == {Form.ABSOLUTE, Form.COUNTING}
    tracks = [k for k in range(len(result.judged.sensor)) if form(result, k) is Form.TRACK]
    assert len(tracks) > 1000
    assert all("endless motion" in {each.check for each in reasons(result.judged, k)} for k in tracks)


@pytest.mark.parametrize(("teeth", "fits"), [([48, 24], False), ([36, 24], True)])
def test_a_panel_potentiometer_takes_135_deg_at_1_5_to_1_and_not_at_2_to_1(
    make: Any, shipped: Catalogue, teeth: list[int], fits: bool
) -> None:
    panel = next(each for each in shipped.sensors if each.name == "panel, carbon, 270 deg")
    judged = make.judged(make.axis(ARM), [panel], [make.gears(teeth, backlash="0.1 mm")])
    told = {each.check: each.text for each in reasons(judged, 0)}
    assert ("travel" not in told) is fits
    if fits:
        assert told == {}
        assert judged.cost[0] == 2.5  # middle of 2 to 3 units of money
        return
    # by hand: 139 deg x 2, play 3 + 2 x 0.2387 (2 x 0.1 mm / 48 mm), clamping 3, 5 to spare, twice
    needed = 2 * 139 + 2 * (3 + 2 * np.degrees(2 * 0.1 / 48) + 3 + 5)
    assert float(re.findall(r"the shaft needs ([\d.]+) deg", told["travel"])[0]) == pytest.approx(
        needed, abs=0.05
    )
    assert told["travel"].endswith("the shortest track ends after 260 deg")  # 270 less 10


def test_a_lift_of_560_mm_on_a_pinion_of_20_teeth_gets_ten_turns(chosen: Chosen) -> None:
    result, drive = chosen(LIFT), "Rack, module 1 mm, pinion of 20"
    kept = [result.choice(k).sensor.name for k in result.kept if result.choice(k).drive.name == drive]
    assert kept[0].startswith("10-turn, wirewound")
    assert not any(name.startswith(("3-turn", "5-turn", "panel", "servo", "magnet")) for name in kept)
    five = reasons(result.judged, named(result, "5-turn, wirewound", drive))
    assert "travel" in {each.check for each in five}  # 570 mm / (pi x 20 mm) is 9.1 turns


def test_a_head_that_must_pass_360_deg_gets_an_endless_sensor(chosen: Chosen) -> None:
    result = chosen(HEAD)
    assert form(result, int(result.kept[0])) is Form.ABSOLUTE
    direct = [k for k in result.kept if result.choice(k).drive.name == "On the axis itself"]
    assert direct
    assert all(form(result, k) is Form.ABSOLUTE for k in direct)


def test_a_hundredth_of_a_degree_is_refused_with_the_number_that_fails(chosen: Chosen) -> None:
    result = chosen(FINE)
    assert (len(result.kept), result.exit_code) == (0, 1)
    place = named(result, "panel, carbon, 270 deg", "On the axis itself")
    text = next(each.text for each in reasons(result.judged, place) if each.check == "error")
    good = np.degrees(result.judged.half_width[place])
    assert text == f"error: calibrated it is good to ±{good:.3g} deg; ±0.01 deg is needed"
    # by hand: 5 % of 270 deg, uniform size: rms of a wave of height 1 is 0.71, of the size 0.58
    assert 0.5 * 0.05 * 270 * 0.58 * 0.71 < good < 2 * 0.05 * 270 * 0.58


@pytest.mark.slow
def test_counting_sensors_need_a_homing_that_is_allowed(chosen: Chosen) -> None:
    refused, allowed = (
        chosen(ARM),
        chosen(ARM.replace("strokes = 5000", 'strokes = 5000, homing = "allowed"')),
    )
    assert not any(form(refused, k) is Form.COUNTING for k in refused.kept)
    assert any(form(allowed, k) is Form.COUNTING for k in allowed.kept)
    counting = [k for k in range(len(refused.judged.sensor)) if form(refused, k) is Form.COUNTING]
    assert all("homing" in {each.check for each in reasons(refused.judged, k)} for k in counting)


def test_what_was_not_checked_is_said(chosen: Chosen) -> None:
    assert chosen(FINE.replace(', speed = "90 deg/s"', "")).unchecked == (
        "Speed is not checked: the motion names no speed.",
        "Life is not checked: the need names no strokes (and no hunting moves).",
        "The stops of the mechanism are assumed; write them down.",
    )
    assert chosen(ARM).unchecked == ()
