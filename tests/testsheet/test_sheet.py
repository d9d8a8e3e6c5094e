"""The sheet itself: the safe order, values worked out by hand, cautions."""

from collections.abc import Callable

import pytest

from anglewright.testsheet.checks import Stage
from anglewright.testsheet.meter import meter_error
from anglewright.testsheet.precautions import precautions
from anglewright.testsheet.sheet import AxisUnderTest

Sheet = Callable[[str], AxisUnderTest]
AXIS = """
rig = "Bench"
[axis.a]
motion = {{ from = "-20 deg", to = "115 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "{unpowered}"
[axis.a.marks]
low = {{ at = "-20 deg" }}
mid = {{ at = "{mid}" }}
high = {{ at = "110 deg" }}
{rest}
"""


def axis_text(rest: str = "", *, mid: str = "47.5 deg", unpowered: str = "holds") -> str:
    return AXIS.format(rest=rest, mid=mid, unpowered=unpowered)


def test_the_stages_come_in_the_safe_order(shoulder: AxisUnderTest) -> None:
    order = [list(Stage).index(check.stage) for check in shoulder.checks]
    assert order == sorted(order)
    keys = [check.key for check in shoulder.checks]
    assert keys[:4] == ["resistance-ends", "resistance-low", "resistance-high", "resistance-sum"]
    assert keys.index("feed-alone") < keys.index("signal-at-stow") < keys.index("noise")
    assert (
        keys.index("noise")
        < keys.index("wiggle-coupling")
        < keys.index("wiggle-cable")
        < keys.index("stop-low")
    )
    assert keys[-3:] == ["sign-by-hand", "sign-of-motor", "sign-of-loop"]


def test_the_three_signs_and_nothing_else_are_signed(shoulder: AxisUnderTest) -> None:
    assert [check.key for check in shoulder.checks if check.signed] == [
        "sign-by-hand", "sign-of-motor", "sign-of-loop",
    ]  # fmt: skip
    assert "5 to 10 % drive for 0.3 s" in shoulder.check("sign-of-motor").do
    assert "at no more than 20 % drive, a hand on the cut-off" in shoulder.check("sign-of-loop").do


def test_voltage_and_code_at_the_marks_are_those_of_the_shoulder_worked_out_by_hand(
    bare_shoulder: AxisUnderTest,
) -> None:
    """340 deg of track at 2 : 1, mid-track at 47.5 deg, 3.3 V: -20 deg gives 0.33971 V and code 421."""
    assert bare_shoulder.check("signal-at-stow").expected == pytest.approx(0.33971, abs=5e-6)
    assert bare_shoulder.check("code-at-stow").expected == pytest.approx(421, abs=1.0)
    assert bare_shoulder.check("signal-at-pin").expected == pytest.approx(1.65)
    assert bare_shoulder.check("code-at-pin").expected == pytest.approx(2048, abs=1.0)


def test_the_ohms_are_those_of_the_two_parts_of_the_track(bare_shoulder: AxisUnderTest) -> None:
    """By hand: 35 of 340 deg of 10 kohm below the wiper; a sound contact has 0 to 3 % of the track."""
    ends = bare_shoulder.check("resistance-ends")
    assert ends.expected == pytest.approx(10e3)
    assert ends.low == pytest.approx(
        8000.0 - 120.5
    )  # 20 % tolerance, then 1 %, 0.5 ohm and 2 digits of 40 kohm
    assert ends.high == pytest.approx(12000.0 + 120.5)
    assert bare_shoulder.check("resistance-low").expected == pytest.approx(10e3 * 35 / 340 + 150.0)
    assert bare_shoulder.check("resistance-high").expected == pytest.approx(10e3 * 305 / 340 + 150.0)


def test_the_sum_of_the_ohms_is_held_on_one_side_by_twice_the_wiper(bare_shoulder: AxisUnderTest) -> None:
    """By hand: twice 3 % of 10 kohm, and the errors of two readings of 10 and one of 5 kohm."""
    check = bare_shoulder.check("resistance-sum")
    assert check.low is None
    assert check.high == pytest.approx(600.0 + 2 * (100.0 + 0.5 + 20.0) + (50.0 + 0.5 + 20.0))


def test_a_pull_down_of_220_ohm_leaves_a_quarter_of_a_volt(sheet: Sheet) -> None:
    """60 % of a 10 kohm track on 5 V into 220 ohm: 0.252 V (a field report, recomputed by hand)."""
    rest = """
[axis.a.sensor]
wiper_resistance = "0 ohm"
electrical_travel = "340 deg"
[axis.a.mount]
clamped_at = "mid"
reading = "60 %"
within = "0 deg"
[axis.a.wiring]
feed = "5 V"
series = "0 ohm"
pull = { down = "220 ohm", at = "lead" }
[axis.a.converter]
reference = "5 V"
"""
    found = sheet(axis_text(rest, mid="0 deg")).check("signal-at-mid")
    assert found.expected == pytest.approx(0.252, abs=5e-4)


def test_a_pull_shows_with_the_plug_off_and_without_one_the_pin_wanders(
    shoulder: AxisUnderTest, bare_shoulder: AxisUnderTest
) -> None:
    assert shoulder.check("signal-alone").expected == 0.0
    assert bare_shoulder.check("signal-alone").expected is None
    assert "wanders" in bare_shoulder.check("signal-alone").do


def test_a_falling_sensor_is_expected_to_fall(sheet: Sheet) -> None:
    rest = '[axis.a.mount]\nclamped_at = "mid"\noutput = "falls"\n'
    assert sheet(axis_text(rest)).check("sign-by-hand").good == ("falls",)


def test_ends_of_the_range_are_visited_where_the_marks_lie_together(sheet: Sheet) -> None:
    text = axis_text('[axis.a.mount]\nclamped_at = "mid"\n').replace('-20 deg" }\nmid', '40 deg" }\nmid')
    keys = [check.key for check in sheet(text.replace("110 deg", "50 deg")).checks]
    assert {"code-at-end-low", "code-at-end-high"} <= set(keys)


@pytest.mark.parametrize(
    ("sensor", "present", "absent"),
    [
        (
            'kind = "magnetic"',
            {"supply-current", "signal-at-mid", "signal-alone"},
            {"resistance-ends", "frame"},
        ),
        (
            'kind = "pulse-width"',
            {"supply-current", "frame", "code-at-mid"},
            {"signal-at-mid", "signal-alone"},
        ),
        ('kind = "serial"', {"supply-current", "frame", "code-at-mid"}, {"signal-at-mid", "homing-twice"}),
        (
            'kind = "incremental"\nlines = 1024',
            {"supply-current", "homing-twice", "out-and-back"},
            {"frame", "signal-at-mid"},
        ),
    ],
)
def test_sensors_without_a_track_have_an_electrical_part_of_their_own(
    sheet: Sheet, sensor: str, present: set[str], absent: set[str]
) -> None:
    keys = {check.key for check in sheet(axis_text(f"[axis.a.sensor]\n{sensor}\n")).checks}
    assert present <= keys
    assert not absent & keys


def test_the_frame_of_a_pulse_is_told_in_microseconds(sheet: Sheet) -> None:
    """4098 clocks of 1 us each."""
    assert "about 4098 us" in sheet(axis_text('[axis.a.sensor]\nkind = "pulse-width"\n')).check("frame").do


@pytest.mark.parametrize(
    ("unpowered", "word"), [("holds", "hold"), ("sinks", "sinks"), ("drops", "drops"), ("springs", "Springs")]
)
def test_the_cautions_follow_from_what_it_does_unpowered(unpowered: str, word: str) -> None:
    by_hand = " ".join(precautions(Stage.PLUGGED, unpowered))
    assert word in by_hand
    assert "motor's power physically removed" in by_hand
    assert "lock it out" in " ".join(precautions(Stage.UNPLUGGED, unpowered))
    last = " ".join(precautions(Stage.FIRST_POWER, unpowered))
    assert "not a safety device" in last
    assert ("coasts" in last) == (unpowered != "holds")


def test_the_error_of_a_meter_grows_with_its_range() -> None:
    """By hand: 0.5 % and two of 4000 digits of 4 V; 1 %, 0.5 ohm and two digits of 400 ohm."""
    assert meter_error(3.3, unit="V") == pytest.approx(0.0165 + 0.002)
    assert meter_error(100.0, unit="ohm") == pytest.approx(1.0 + 0.5 + 0.2)
    assert meter_error(2048.0, unit="count") == 0.0
