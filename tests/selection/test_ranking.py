"""The order of the kept and the refused, the front, what a need rules out, and what would open a choice."""

import re
from typing import Any

import numpy as np
import pytest

from anglewright.selection.judging import CHECKS, Judged
from anglewright.selection.opening import opening, told
from anglewright.selection.ranking import front, kept, refused, rules_out

AXIS = """
[axis.a]
motion = {{ from = "0 deg", to = "{to}", speed = "{speed}" }}
need = {{ error = "{error}", homing = "{homing}", strokes = {strokes} }}
stops = {{ low = "0 deg", high = "{to}" }}
when_unpowered = "holds"
coupling = {{ kind = "rigid" }}
wiring = {{ feed = "{feed}" }}
mount = {{ within = "2 deg" }}
"""
USUAL = {
    "to": "90 deg",
    "speed": "60 deg/s",
    "error": "5 deg",
    "homing": "not allowed",
    "strokes": 1000,
    "feed": "3.3 V",
}
POT = {
    "kind": "potentiometer",
    "electrical_travel": "300 deg ± 10 deg",
    "mechanical_travel": "320 deg ± 5 deg",
    "linearity": "1 %",
    "power": "1 W",
}
COUNTING = {"kind": "incremental", "lines": 500, "line_error": "0.1 deg"}


def judged(make: Any, sensors: list[Any], drives: list[Any], **given: Any) -> Judged:
    """Sensors at drives for the need with some of it changed."""
    found: Judged = make.judged(make.axis(AXIS.format(**(USUAL | given))), sensors, drives)
    return found


def names(found: Judged, places: Any) -> list[tuple[str, str]]:
    drives = found.drives.offers
    return [(found.sensors[found.sensor[k]].offer.name, drives[found.drive[k]].name) for k in places]


def test_the_kept_stand_by_cost_then_margin_then_name(make: Any) -> None:
    sensors = [
        make.sensor("b", POT, cost=5.0),
        make.sensor("a", POT, cost=5.0),
        make.sensor("better", POT | {"linearity": "0.5 %"}, cost=5.0),
        make.sensor("cheap", POT | {"linearity": "2 %"}, cost=4.0),
    ]
    found = judged(make, sensors, [make.gears([24, 24])])
    assert [sensor for sensor, _ in names(found, kept(found))] == ["cheap", "better", "a", "b"]


def test_nothing_cheaper_than_one_on_the_front_is_as_exact(make: Any, chosen: Any) -> None:
    result = chosen(AXIS.format(**USUAL))
    found, order = result.judged, result.kept
    edge = front(found, order).tolist()
    assert len(edge) > 2
    best = np.inf
    for place in order.tolist():  # by cost, the cheapest first
        assert (place in edge) == (found.half_width[place] < best)
        best = min(best, float(found.half_width[place]))


def test_the_refused_begin_with_the_one_that_misses_by_the_least(make: Any) -> None:
    sensors = [
        make.sensor("coarse", POT | {"linearity": "8 %"}),
        make.sensor("nearly", POT | {"linearity": "4 %"}),
        make.sensor("counting and slow", COUNTING, top_speed=0.1),
    ]
    found = judged(make, sensors, [make.gears([24, 24])], error="1 deg")
    assert [sensor for sensor, _ in names(found, refused(found))] == ["nearly", "coarse", "counting and slow"]


def test_each_need_is_counted_once_a_choice(make: Any) -> None:
    sensors = [make.sensor("counting", COUNTING), make.sensor("coarse", POT | {"linearity": "8 %"})]
    drives = [make.gears([24, 24]), make.gears([96, 24])]  # 4 x 90 = 360 deg: travel and stops, one need
    assert rules_out(judged(make, sensors, drives)) == {
        "no homing": 2,
        "the motion and its stops": 1,
        "the permissible error": 1,
    }


def test_no_single_change_opens_a_choice_that_two_needs_rule_out(make: Any) -> None:
    found = judged(make, [make.sensor("it", COUNTING, top_speed=0.1)], [make.gears([24, 24])])
    assert opening(found) is None


OPENINGS = [
    ("error", POT | {"linearity": "8 %"}, {}, {}, r'need\.error = "([\d.]+ deg)"', "error"),
    ("travel", POT, {}, {"to": "310 deg"}, r"stops no further apart than ([\d.]+ deg), and the motion", "to"),
    ("speed", POT, {"top_speed": 0.5}, {}, r"a top speed of ([\d.]+ deg/s)", "speed"),
    ("voltage", POT, {"supply": (4.5, 5.5)}, {}, r"a feed of ([\d.]+ V)", "feed"),
    ("homing", COUNTING, {}, {}, r'need\.homing = "(allowed)"', "homing"),
]


@pytest.mark.parametrize(("check", "sensor", "facts", "given", "change", "key"), OPENINGS)
def test_the_change_that_is_named_opens_a_choice(
    make: Any, check: str, sensor: Any, facts: Any, given: Any, change: str, key: str
) -> None:
    sensors, drives = [make.sensor("it", sensor, **facts)], [make.gears([24, 24])]
    before = judged(make, sensors, drives, **given)
    assert not len(kept(before))
    found = opening(before)
    assert found is not None
    assert CHECKS[int(np.argmax(before.ruled_out[:, found.place]))] == check
    named = re.match(change, found.change)
    assert named is not None, found.change
    assert len(kept(judged(make, sensors, drives, **(given | {key: named[1]}))))
    less = _a_little_less(named[1], check)
    if less:
        assert not len(kept(judged(make, sensors, drives, **(given | {key: less}))))


def _a_little_less(change: str, check: str) -> str:
    """A change that is 2 % too small to open anything; none of a matter of yes or no."""
    number, _, unit = change.partition(" ")
    if not unit:
        return ""
    return f"{float(number) * (0.98 if check in ('error', 'voltage') else 1.02)!r} {unit}"


def test_the_smallest_change_of_all_is_named(make: Any) -> None:
    sensors = [make.sensor("coarse", POT | {"linearity": "20 %"}), make.sensor("slow", POT, top_speed=1.0)]
    found = opening(judged(make, sensors, [make.gears([24, 24])]))
    assert found is not None
    assert (found.need, found.change) == (
        "the speed",
        "a top speed of 57.29 deg/s",
    )  # 1 rad/s is 57.296 deg/s


def test_life_opens_with_fewer_strokes(make: Any) -> None:
    sensors, drives = [make.sensor("it", POT, life_cycles=500)], [make.gears([24, 24])]
    before = judged(make, sensors, drives)
    found = opening(before)
    assert found is not None
    assert found.change == "strokes and hunting moves at 50 % of what they are, or spares to change in time"
    assert len(kept(judged(make, sensors, drives, strokes=500)))
    assert told(before, found).startswith(
        f"The smallest change that opens one: {found.change}, for 'it', Gears 24 : 24"
    )
