"""The four-bar linkage on an axis: its branch, its varying ratio, its way back, and where it stops."""

import math

import numpy as np
import pytest

from anglewright.links.linkage import FourBar
from anglewright.rig import at_nominal, datasheet_line, realise

BAR = (
    '{{ kind = "four-bar", ground = "{ground}", input = "{input}", coupler = "{coupler}", '
    'output = "{output}", input_at_zero = "{zero}", assembly = "{assembly}", play = "{play}" }}'
)
USUAL = {
    "ground": "100 mm",
    "input": "30 mm",
    "coupler": "95 mm",
    "output": "45 mm",
    "zero": "60 deg",
    "assembly": "open",
    "play": "0.4 deg",
}
ANGLES = {"low": "-15 deg", "high": "90 deg", "travel": "340 deg"}


def bar(**changes):
    return BAR.format(**USUAL | changes)


def linkage(axis):
    return realise(axis, at_nominal).links[1]


def random_bars(count):
    """Linkages and ranges over which they close and keep turning one way, by sampling."""
    rng = np.random.default_rng(5)
    while count:
        d, a, b, c = rng.uniform(20.0, 100.0, 4)
        low = rng.uniform(-6.0, 3.0)
        high = low + rng.uniform(0.3, 2.5)
        made = FourBar(
            ground=d,
            input=a,
            coupler=b,
            output=c,
            input_zero_rad=rng.uniform(-3.0, 3.0),
            half_play_rad=0.01,
            clamped_at_rad=rng.uniform(low, high),
            assembly=int(rng.choice([-1, 1])),
        )
        ratio = made.ratio(np.linspace(low - 0.03, high + 0.03, 400))
        if np.all(np.isfinite(ratio)) and abs(np.sign(ratio).sum()) == 400 and np.abs(ratio).min() > 0.02:
            count -= 1
            yield made, np.linspace(low, high, 57)


def test_the_way_back_keeps_to_the_branch_of_the_clamping():
    for made, u in random_bars(200):
        for side in (-1, 0, 1):
            back = made.backward(made.forward(u, side=side), side=side)
            assert np.allclose(back, u, rtol=0.0, atol=1e-7), made


def test_the_shaft_rises_with_the_axis_and_never_jumps():
    for made, u in random_bars(200):
        fine = np.linspace(u[0], u[-1], 2000)
        rises = np.diff(made.forward(fine))
        assert np.all(rises > 0.0)
        steepest = np.abs(made.ratio(fine)).max()
        assert rises.max() < 1.5 * steepest * (fine[1] - fine[0])


def test_the_ratio_is_the_slope_of_the_shaft():
    for made, u in random_bars(50):
        still = 1e-5
        slope = (made.levers(u + still)[2] - made.levers(u - still)[2]) / (2.0 * still)
        assert np.allclose(made.ratio(u), slope, rtol=1e-5, atol=1e-6)


def test_a_parallelogram_passes_the_turn_on(axis_of):
    made = linkage(axis_of(bar(input="40 mm", output="40 mm", coupler="100 mm"), **ANGLES))
    u = np.linspace(made.clamped_at_rad, math.radians(90.0), 9)
    assert np.allclose(made.ratio(u), 1.0, rtol=0.0, atol=1e-12)
    assert np.allclose(made.forward(u) - made.forward(u[0]), u - u[0], rtol=0.0, atol=1e-12)


def test_levers_on_a_large_scale_turn_as_on_a_small_one(axis_of):
    small = linkage(axis_of(bar(), **ANGLES))
    inches = {name: USUAL[name].replace("mm", "in") for name in ("ground", "input", "coupler", "output")}
    large = linkage(axis_of(bar(**inches), **ANGLES))
    u = np.linspace(-0.2, 1.5, 11)
    assert np.allclose(small.forward(u), large.forward(u), rtol=0.0, atol=1e-12)


def test_beyond_its_reach_there_is_no_position(axis_of):
    made = linkage(axis_of(bar(), **ANGLES))
    assert math.isnan(made.backward(made.forward(0.5) + 2.5))


def test_the_play_of_its_joints_is_felt_whole_at_the_axis(axis_of):
    made = linkage(axis_of(bar(), **ANGLES))
    assert math.degrees(made.lag) == pytest.approx(0.2)  # half of 0.4 deg
    u = math.radians(40.0)
    apart = made.backward(made.forward(u, side=-1)) - made.backward(made.forward(u, side=1))
    assert math.degrees(apart) == pytest.approx(0.4, rel=1e-9)


def test_the_line_of_the_data_sheet_goes_through_the_ends_where_the_sensor_is_hardly_used(axis_of):
    axis = axis_of(bar(), **ANGLES)
    chain, line = realise(axis, at_nominal), datasheet_line(axis)
    for place in (axis.motion.low, axis.motion.high):
        assert line.forward(chain.unrounded().forward(place)) == pytest.approx(place, abs=1e-12)


CLOSE = "Keep the motion short of it, or lengthen the coupler or the output."
ALIKE = "Keep the motion short of it, or make coupler and output more alike."
TURNS = "Keep the motion on one side of it, or change the lengths of the levers."
# the angles are from the cosine rule, by hand: (d^2 + a^2 - r^2) / (2 d a) with r the reach
STUCK = [
    # r = 65 + 45: cos = (10000 + 900 - 12100) / 6000 = -0.2, 101.537 deg, less 60;
    # at 90 deg r^2 = 10900 - 6000 cos 150
    (
        {"coupler": "65 mm"},
        "drive: the linkage cannot close from 41.54 deg on, coupler and output reach 110 mm and 126.9 mm "
        f"are needed. {CLOSE}",
    ),
    # r = 125 - 45: cos = (10900 - 6400) / 6000 = 0.75, 41.41 deg, less 50;
    # at -15 deg r^2 = 10900 - 6000 cos 35
    (
        {"coupler": "125 mm", "zero": "50 deg"},
        "drive: the linkage cannot close from -8.59 deg on, coupler and output differ by 80 mm and may "
        f"differ by 77.36 mm. {ALIKE}",
    ),
    # input and coupler in line, 125 mm from the axis to the eye of the output: cos of the angle there
    # (15625 + 10000 - 2025) / 25000 = 0.944, 19.266 deg, less 60
    (
        {"low": "-60 deg"},
        "drive: the sensor's lever turns back at -40.73 deg, beyond it two positions give one reading. "
        f"{TURNS}",
    ),
    # r = 70 + 44 at the lower limits: cos = (10900 - 12996) / 6000, 110.446 deg, less 60;
    # at 52 deg r^2 = 10900 - 6000 cos 112
    (
        {"coupler": "72 mm ± 2 mm", "output": "45 mm ± 1 mm", "high": "52 deg"},
        "drive: the linkage cannot close from 50.45 deg on with its numbers at their limits, "
        f"coupler and output reach 114 mm and 114.7 mm are needed. {CLOSE}",
    ),
]


@pytest.mark.parametrize(("changes", "text"), STUCK)
def test_a_linkage_that_cannot_pass_its_range_is_refused_with_the_place(complaint_of, changes, text):
    given = ANGLES | {name: value for name, value in changes.items() if name in ANGLES}
    lengths = {name: value for name, value in changes.items() if name not in ANGLES}
    assert complaint_of(bar(**lengths), **given) == [text]


def test_a_linkage_that_cannot_be_put_together_at_all_is_refused(complaint_of):
    (text,) = complaint_of(bar(coupler="10 mm"), **ANGLES)
    assert text.startswith("drive: the linkage cannot close from 37.5 deg on, coupler and output reach 55 mm")


def test_a_linkage_on_a_motion_along_a_line_is_refused(complaint_of):
    assert complaint_of(bar()) == [
        "drive: the motion is a length, and this drive takes an angle. "
        "Take a drive for lengths: rack, chain, belt, drum, screw or draw-wire."
    ]
