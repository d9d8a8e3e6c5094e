"""Each reason for refusing a choice, its whole text and what would cure it."""

import re
from typing import Any

import numpy as np
import pytest

from anglewright.quantities.units import UNITS
from anglewright.selection.reasons import above, apart, below, reasons

AXIS = """
[axis.a]
motion = {{ from = "{low}", to = "{high}", speed = "{speed}"{more} }}
need = {{ error = "{error}", strokes = {strokes}, hunting = 1000, hunting_size = "1 deg" }}
stops = {{ low = "{low}", high = "{high}" }}
when_unpowered = "holds"
coupling = {{ kind = "rigid" }}
wiring = {{ feed = "{feed}" }}
converter = {{ reference = "{reference}", noise = "0 LSB", bits = {bits} }}
mount = {{ within = "2 deg" }}
[axis.a.plan]
reference = {{ per_point = "0.001 deg" }}
"""
USUAL = {
    "low": "0 deg",
    "high": "90 deg",
    "speed": "60 deg/s",
    "more": "",
    "error": "20 deg",
    "strokes": 5000,
    "feed": "3.3 V",
    "reference": "feed",
    "bits": 12,
}
POT = {
    "kind": "potentiometer",
    "track": "10 kohm",
    "electrical_travel": "300 deg ± 10 deg",
    "mechanical_travel": "320 deg ± 5 deg",
    "linearity": "1 %",
    "power": "1 W",
}
SERIAL = {
    "kind": "serial",
    "bits": 12,
    "non_linearity": "0.5 deg",
    "hysteresis": "0 deg",
    "noise": "0.01 deg rms",
}
COUNTING = {"kind": "incremental", "lines": 500, "line_error": "0.1 deg"}


def told(
    make: Any, sensor: dict[str, Any], teeth: list[int], given: dict[str, Any], **facts: Any
) -> dict[str, str]:
    """Text and cure of every reason, by its check."""
    axis = make.axis(AXIS.format(**(USUAL | given)))
    judged = make.judged(axis, [make.sensor("it", sensor, **facts)], [make.gears(teeth)])
    return {each.check: f"{each.text} | {each.cure}" for each in reasons(judged, 0)}


def flat(text: str) -> str:
    """A text on one line."""
    return " ".join(text.split())


def test_nothing_is_said_of_what_fits(make: Any) -> None:
    assert told(make, POT, [24, 24], {}) == {}


def test_travel_and_stops(make: Any) -> None:
    found = told(make, POT, [84, 24], {"error": "30 deg"})  # 3.5 x 90 = 315, 2 x 2 clamping, 2 x 5 to spare
    travel = """travel: from stop to stop, with play, clamping and 5 deg to spare at each end, the shaft
        needs 329 deg; the shortest track ends after 290 deg | a drive with a ratio 1.14 times lower, or a
        track of at least 329 deg"""
    stops = """stops: the drive can turn the shaft by 319 deg; the sensor's own stops are 315 deg apart, and
        any gearmotor is stronger than they are | a drive with a ratio 1.01 times lower, or a sensor without
        stops"""
    assert found == {"travel": flat(travel), "stops": flat(stops)}


def test_an_endless_motion(make: Any) -> None:
    given = {"low": "-180 deg", "high": "180 deg", "more": ", endless = true"}
    track = told(make, POT | {"mechanical_travel": "endless"}, [20, 30], given)["endless motion"]
    assert track == flat(
        """endless motion: the axis turns round and round, and the track has ends or a gap | a sensor that
        turns and reads endlessly"""
    )
    wrap = """wrap: the axis turns endlessly, and the reading comes round after 0.6667 of its turns | a ratio
        of 1, or gears of which the range is a whole number of turns"""
    assert told(make, SERIAL, [30, 20], given) == {"wrap": flat(wrap)}
    assert told(make, SERIAL, [30, 30], given) == {}


def test_a_wrap_inside_the_range(make: Any) -> None:
    wrap = """wrap: from stop to stop, with play, clamping and 5 deg to spare at each end, the shaft needs 374
        deg; the reading comes round again after 360 deg | a drive with a ratio 1.04 times lower, or a sensor
        that tells more turns apart"""
    assert told(make, SERIAL, [80, 20], {}) == {"wrap": flat(wrap)}


def test_speed(make: Any) -> None:
    found = told(make, SERIAL, [40, 20], {"speed": "300 deg/s"}, top_speed=60.0 * 2.0 * np.pi / 60.0)
    speed = """speed: the shaft turns at 100 rpm; the sensor takes 60 rpm | a drive with a ratio 1.67 times
        lower, or a slower axis"""
    assert found == {"speed": flat(speed)}


@pytest.mark.parametrize(
    ("facts", "text"),
    [
        (
            {"life_cycles": 5500},
            "it goes through 6000 strokes; it lasts 5500",
        ),  # 5000 strokes, 1000 small moves
        # 5000 x 2 x 90 + 1000 x 2 x 1 deg at a ratio of 2: 5011.1 turns of the shaft
        ({"life_turns": 5000}, "it goes through 5011 turns of the shaft; it lasts 5000"),
    ],
)
def test_life_counts_the_hunting_moves(make: Any, facts: dict[str, int], text: str) -> None:
    cure = "a sensor that does not wear, or spares to change in time"
    assert told(make, POT, [48, 24], {}, **facts) == {"life": f"life: with the hunting moves {text} | {cure}"}


def test_homing(make: Any) -> None:
    homing = """homing: it counts from a home that must be found after each start, and the need does not allow
        it | need.homing = "allowed" """
    assert told(make, COUNTING, [24, 24], {}) == {"homing": flat(homing)}


def test_resolution(make: Any) -> None:
    # 2^8 codes over 300 deg, error 5 deg: 4.27 codes; 2 more bits make 17
    found = told(make, POT | {"linearity": "0.1 %"}, [24, 24], {"error": "5 deg", "bits": 8})
    resolution = """resolution: the permissible error is 4.27 codes; at least 10 are wanted | a drive with a
        ratio 2.34 times higher, or 2 more bits"""
    assert found == {"resolution": flat(resolution)}


def test_a_counter_that_goes_round(make: Any) -> None:
    tables = {"converter": {"kind": "counter", "width": 8, "home_phase": "0.5 LSB"}}
    # 90 deg of 2000 counts a turn: 500 counts; an 8-bit register holds 127 above its home
    counter = """counter: from stop to stop there are 500 counts; the register holds 127 to either side of its
        home | a wider register, or fewer lines"""
    assert told(make, COUNTING, [24, 24], {}, tables=tables)["counter"] == flat(counter)


def test_a_counter_and_a_sensor_that_are_too_slow(make: Any) -> None:
    # 60 deg/s of 500 lines and 2000 edges a turn: 83.3 lines and 333.3 edges a second
    slow = {"converter": {"kind": "counter", "top_rate": "300 Hz"}}
    assert "speed" in told(make, COUNTING, [24, 24], {}, tables=slow)
    assert "speed" in told(make, COUNTING | {"top_rate": "80 Hz"}, [24, 24], {})
    fast = {"converter": {"kind": "counter", "top_rate": "340 Hz"}}
    assert "speed" not in told(make, COUNTING | {"top_rate": "85 Hz"}, [24, 24], {}, tables=fast)


def test_voltages(make: Any) -> None:
    assert told(make, SERIAL, [24, 24], {"feed": "5 V"}, supply=(4.5, 5.5)) == {}
    assert told(make, SERIAL, [24, 24], {}, supply=(4.5, 5.5)) == {
        "voltage": "voltage: the sensor needs at least 4.5 V, and the feed is 3.3 V | another feed, or a "
        "divider before the pin"
    }
    assert told(make, SERIAL, [24, 24], {"feed": "6 V"}, supply=(4.5, 5.5))["voltage"].startswith(
        "voltage: the feed is 6 V, and 5.5 V is what may be | "
    )
    found = told(make, POT, [24, 24], {"feed": "5 V", "reference": "3.3 V"})
    assert found["voltage"].startswith("voltage: the pin at full output is 5 V, and 3.3 V is what may be | ")
    found = told(make, POT | {"power": "1 mW"}, [24, 24], {"feed": "5 V"})  # 1 mW in 10 kohm: 3.162 V
    assert found["voltage"].startswith(
        "voltage: the feed, for the power of the track, is 5 V, and 3.162 V is "
    )


def test_error_tells_the_number_and_the_need_that_would_do(make: Any) -> None:
    error = told(make, POT | {"linearity": "3 %"}, [24, 24], {"error": "2 deg"})["error"]
    pattern = (
        r'error: calibrated it is good to ±([\d.]+) deg; ±2 deg is needed \| need.error = "([\d.]+) deg"'
    )
    found = re.fullmatch(pattern, error)
    assert found is not None, error
    good, needed = found.groups()
    assert 2.0 < float(good) <= float(needed) < 1.01 * float(good)


def test_reach_of_a_wire(make: Any) -> None:
    text = AXIS.format(**(USUAL | {"low": "0 mm", "high": "600 mm", "speed": "10 mm/s", "error": "50 mm"}))
    axis = make.axis(text.replace('"1 deg"', '"1 mm"').replace("0.001 deg", "0.001 mm"))
    table = {"kind": "draw-wire", "travel_per_turn": "1000 mm"}
    wire = make.drive(table, built_in=True)
    judged = make.judged(axis, [make.sensor("it", POT, drive=wire, longest_m=0.5)], [wire])
    told = {each.check: f"{each.text} | {each.cure}" for each in reasons(judged, 0)}
    assert told == {"reach": "reach: from stop to stop it is 600 mm; the wire is 500 mm long | a longer wire"}


def test_rounding_goes_the_safe_way() -> None:
    unit = UNITS["deg"]
    assert apart(np.radians(1.0004), np.radians(1.0), unit) == ("1.0004 deg", "1 deg")
    assert (above(np.radians(1.2341), unit), below(np.radians(1.2349), unit)) == ("1.24 deg", "1.234 deg")
    assert (above(np.radians(1.2), unit), below(np.radians(1.2), unit)) == ("1.2 deg", "1.2 deg")
