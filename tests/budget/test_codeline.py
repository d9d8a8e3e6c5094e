"""A line in the code against the divider written out here, in degrees of the joint."""

import math

import numpy as np
import pytest

from anglewright.budget.builds import virtual_builds
from anglewright.budget.codeline import built_with, judged, line_in_code
from anglewright.budget.mistakes import likely_mistake
from anglewright.budget.states import STATES, State, errors_in
from anglewright.budget.totals import POSITIONS, budget_axis, widest
from anglewright.budget.trials import HowMany
from anglewright.errors import RigError

SLOPE = 340.0 / 2.0 / 4096.0  # joint for one count, travel over ratio over codes [deg]
OFFSET = 47.5 - 85.0 + SLOPE / 2.0  # middle of code 0; the shaft was clamped at mid travel at 47.5 deg [deg]


def line(axis, slope, offset):
    return line_in_code(axis, slope=math.radians(slope), offset=math.radians(offset))


def mistake(axis, slope, offset):
    judgement = line(axis, slope, offset)
    return likely_mistake(axis, judgement, judged(axis, judgement))


@pytest.mark.parametrize(
    ("slope", "offset"), [(0.0439, -65.2), (SLOPE, OFFSET), (-0.04, 100.0), (0.0415, 0.0)]
)
def test_the_bias_of_a_line_is_that_of_an_unloaded_divider(shoulder, slope, offset):
    # code n of a busy input: 4096 x - 1/2, x = 1/2 + 2 (q - 47.5) / 340
    axis = shoulder("no-pull")
    found = judged(axis, line(axis, slope, offset))
    q = np.linspace(-20.0, 115.0, POSITIONS)
    code = 4096.0 * (0.5 + 2.0 * (q - 47.5) / 340.0) - 0.5
    assert np.allclose(np.degrees(found.bias), offset + slope * code - q, atol=1e-9)
    worst = np.argmax(np.abs(offset + slope * code - q))
    assert found.state is State.CODE_LINE
    assert found.half_width_95 >= abs(math.radians(offset + slope * code[worst] - q[worst]))


@pytest.mark.parametrize("variant", ["rig", "no-pull"])
def test_the_line_of_the_data_sheet_in_the_code_is_the_state_of_the_data_sheet(shoulder, variant):
    axis = shoulder(variant)
    found = judged(axis, line(axis, SLOPE, OFFSET))
    sheet = budget_axis(axis).of(State.DATASHEET)
    assert np.allclose(found.half_width, sheet.half_width, rtol=1e-9)
    assert found.worst_case == pytest.approx(sheet.worst_case, rel=1e-9)


def test_constants_for_volts_count_from_the_middle_of_a_code(shoulder):
    # 3.3 V over 4096 codes: 170 deg over 3.3 V, and 0 V stands 85 deg below the mark
    axis = shoulder("no-pull", "shoulder.converter.raw=volts")
    found = judged(axis, line(axis, 170.0 / 3.3, 47.5 - 85.0))
    assert np.abs(np.degrees(found.bias)).max() < 1e-9


def test_uncertainty_of_a_line_grows_with_its_slope(shoulder):
    # the same codes, read with twice the slope, are twice as uncertain
    axis = shoulder("no-pull")
    once, twice = (judged(axis, line(axis, k * SLOPE, 0.0)) for k in (1.0, 2.0))
    assert np.allclose(twice.standard_uncertainty, 2.0 * once.standard_uncertainty, rtol=1e-9)


def test_virtual_builds_of_a_line_agree_with_its_first_order(shoulder):
    axis = shoulder("no-pull")
    code = line(axis, 0.0439, -42.0)
    found = built_with(virtual_builds(axis, how_many=HowMany(most=20_000), seed=3, states=STATES[:1]), code)
    assert [each.state for each in found.states] == [State.DATASHEET, State.CODE_LINE]
    built, first = found.of(State.CODE_LINE), judged(axis, code)
    bias = np.interp(built.positions, first.positions, first.bias)
    u = np.interp(built.positions, first.positions, first.standard_uncertainty)
    # four standard deviations of a mean of 20 000; standard deviations to 4 %
    assert np.all(np.abs(built.bias - bias) < 4.0 * u / math.sqrt(20_000.0))
    assert np.allclose(built.standard_uncertainty, u, rtol=0.04)


MISTAKES = [
    (-SLOPE, 132.5, "The slope is that of the data sheet with its sign reversed: the code turns the sensor "),
    (2.0 * SLOPE, -122.5, "The slope is 2 times that of the data sheet: the drive's 2 to 1 was left out. "),
    (SLOPE / 2.0, 5.0, "The slope is 1/2 of that of the data sheet: the drive's 2 to 1 was put in twice. "),
    (4.0 * SLOPE, -292.5, "The slope is 4 times that of the data sheet: a quarter of the counts of a turn "),
    (SLOPE / 4.0, 26.2, "The slope is a quarter of that of the data sheet: 4 times the counts of a turn "),
    (SLOPE * 15.0 / 16.0, -32.2, "The slope is 15/16 of that of the data sheet: 16 counts were taken where "),
    (SLOPE * 450.0 / 360.0, -58.8, "The slope is 450/360 of that of the data sheet: 360 counts were taken "),
    (-SLOPE * 6.0, 558.0, "The slope is 6 times that of the data sheet, with its sign reversed: turns per "),
    (math.radians(SLOPE), -37.5, "The slope is pi/180 of that of the data sheet: it is in radians where "),
    (
        SLOPE * 360.0 / 340.0,
        -42.5,
        "The slope is 1.059 times that of the data sheet: a whole turn, 360 deg, ",
    ),
    (SLOPE * 4096.0 / 4095.0, OFFSET, "The slope is 4096/4095 of that of the data sheet: the highest code, "),
    (SLOPE, OFFSET + 180.0, "The offset is too high by about one turn of the sensor, 180 deg. "),
    (SLOPE, OFFSET - 90.0, "The offset is too low by about half a turn of the sensor, 90 deg. "),
    (SLOPE, OFFSET + 360.0, "The offset is too high by about one turn of the axis, 360 deg. "),
    (SLOPE, -OFFSET, "The offset has the wrong sign: about -37.5 deg goes with this slope. "),
]


@pytest.mark.parametrize(("slope", "offset", "said"), MISTAKES)
def test_a_known_mistake_is_named(shoulder, slope, offset, said):
    assert mistake(shoulder("no-pull"), slope, offset).startswith(said)


@pytest.mark.parametrize(
    ("slope", "offset"), [(SLOPE, OFFSET), (1.02 * SLOPE, OFFSET), (1.5 * SLOPE, 0.0), (SLOPE, OFFSET + 33.0)]
)
def test_where_nothing_known_fits_nothing_is_said(shoulder, slope, offset):
    assert mistake(shoulder("no-pull"), slope, offset) == ""


def test_the_turn_between_the_stops_is_told_from_the_electrical_travel(shoulder):
    axis = shoulder(
        "no-pull", "shoulder.sensor.electrical_travel=300 deg", "shoulder.sensor.mechanical_travel=320 deg"
    )
    assert mistake(axis, 320.0 / 2.0 / 4096.0, 47.5 - 80.0) == (
        "The slope is 1.067 times that of the data sheet: the turn between its stops, 320 deg, was taken for "
        "the sensor's electrical travel, 300 deg. Move the axis from one mark to another by hand and compare "
        "what the code makes of it."
    )


def test_constants_beyond_all_sense_are_refused_by_the_number_that_they_spoil(shoulder):
    axis = shoulder("no-pull")
    with pytest.raises(RigError) as refused:
        judged(axis, line(axis, 1e308, 0.0))
    assert str(refused.value) == (
        "axis 'shoulder': the budget cannot be computed: the position that the code computes is no finite "
        "number at -20 deg. Look at the numbers of that part, and at where the axis was clamped."
    )


@pytest.mark.parametrize("variant", ["rig", "no-pull"])
@pytest.mark.parametrize("settles", ["two-sided", "one-sided", "dithered"])
@pytest.mark.parametrize("approach", ["one side", "both sides"])
def test_one_state_alone_is_what_it_is_among_the_three(shoulder, variant, settles, approach):
    axis = shoulder(variant, f"shoulder.motion.settles={settles}", f"shoulder.plan.approach={approach}")
    three = budget_axis(axis)
    for state in STATES:
        alone = widest(errors_in(axis, axis.positions(POSITIONS), state=state))
        assert alone == pytest.approx(three.of(state).half_width_95, rel=1e-9)
