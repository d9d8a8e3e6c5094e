"""Travel of racks, chains, belts, drums and screws against the tables of the trade.

Lengths in millimetres as the tables have them; what a formula gives in metres is scaled by 1000.
"""

import math

import pytest

from anglewright.links.belt_chain import pulley_diameter, speed_ripple, sprocket_diameter
from anglewright.links.drum import drum_travel
from anglewright.links.gears import backlash_angle, ratio_of
from anglewright.links.rack import rack_travel
from anglewright.links.screw import lead

# Pitch diameters of sprockets for a chain of 25.4 mm pitch: table of tandwiel.info (published), in mm
TABLE_25_4 = {
    8: 66.37, 9: 74.26, 10: 82.20, 11: 90.16, 12: 98.14, 13: 106.14, 14: 114.15, 15: 122.17, 16: 130.20,
    17: 138.23, 18: 146.27, 19: 154.32, 20: 162.37, 22: 178.48, 24: 194.60, 25: 202.66, 28: 226.86,
    30: 243.00, 32: 259.14, 36: 291.43, 40: 323.74, 45: 364.12, 48: 388.36, 60: 485.33, 72: 582.31,
    96: 776.31, 100: 808.64, 112: 905.65, 120: 970.32, 150: 1212.85,
}  # fmt: skip

# Pitch diameters for 1 inch pitch: ANSI/ASME B29.1 in Machinery's Handbook (from memory), in inches
B29_1 = {12: 3.8637, 15: 4.8097, 16: 5.1258, 32: 10.2023}


@pytest.mark.parametrize(("teeth", "diameter_mm"), TABLE_25_4.items())
def test_sprockets_of_an_inch_chain_have_the_diameters_of_the_table(teeth, diameter_mm):
    assert 1e3 * sprocket_diameter(25.4e-3, teeth=teeth) == pytest.approx(diameter_mm, abs=0.01)


@pytest.mark.parametrize(("teeth", "diameter_in"), B29_1.items())
def test_sprockets_of_one_inch_pitch_have_the_diameters_of_the_standard(teeth, diameter_in):
    assert sprocket_diameter(25.4e-3, teeth=teeth) / 25.4e-3 == pytest.approx(diameter_in, abs=5e-5)


def test_a_sprocket_of_22_teeth_differs_in_the_last_digit_that_is_printed():
    # the handbook prints 7.0266 in, the exact value is 7.02667
    assert sprocket_diameter(1.0, teeth=22) == pytest.approx(7.02667, abs=5e-6)


@pytest.mark.parametrize(("pitch_mm", "diameter_mm"), [(6.35, 32.549), (9.525, 48.823)])
def test_small_chains_on_sixteen_teeth(pitch_mm, diameter_mm):
    # chains 25 and 35 of ANSI B29.1: 1/4 and 3/8 inch; p / sin(pi / 16) worked out by hand
    assert 1e3 * sprocket_diameter(pitch_mm * 1e-3, teeth=16) == pytest.approx(diameter_mm, abs=1e-3)


@pytest.mark.parametrize(("teeth", "percent"), [(16, 1.92), (11, 4.05)])
def test_the_speed_of_a_chain_ripples(teeth, percent):
    # 1 - cos(pi / N), plain arithmetic
    assert 100 * speed_ripple(teeth) == pytest.approx(percent, abs=0.005)


@pytest.mark.parametrize(
    ("pitch_mm", "teeth", "diameter_mm"),
    [
        (2.0, 16, 10.186),
        (2.0, 20, 12.732),
        (3.0, 24, 22.918),
        (5.0, 15, 23.873),
        (5.08, 10, 16.170),
        (9.525, 10, 30.319),
        (8.0, 22, 56.023),
    ],
)
def test_pulleys_of_toothed_belts(pitch_mm, teeth, diameter_mm):
    # p N / pi, arithmetic on the pitches of ISO 5296 and of the metric belts
    assert 1e3 * pulley_diameter(pitch_mm * 1e-3, teeth=teeth) == pytest.approx(diameter_mm, abs=5e-4)


@pytest.mark.parametrize(("module_mm", "teeth", "travel_mm"), [(1.0, 20, 62.8319), (3.0, 25, 235.6194)])
def test_travel_of_a_rack_per_turn(module_mm, teeth, travel_mm):
    # pi m z; the pinion of module 3 mm with 25 teeth has the published pitch diameter of 75 mm
    assert 1e3 * rack_travel(module_mm * 1e-3, teeth=teeth) == pytest.approx(travel_mm, abs=5e-5)


def test_a_ten_turn_sensor_on_twenty_teeth_of_module_one_spans_628_mm():
    assert 10e3 * rack_travel(1e-3, teeth=20) == pytest.approx(628.3, abs=0.05)  # common practice


@pytest.mark.parametrize(("layer", "travel_mm"), [(1, 169.646), (2, 194.779)])
def test_a_drum_takes_up_more_rope_in_its_second_layer(layer, travel_mm):
    # 50 mm drum, 4 mm rope: pi (D + (2 n - 1) d), arithmetic
    assert 1e3 * drum_travel(50e-3, rope_m=4e-3, layer=layer) == pytest.approx(travel_mm, abs=5e-4)


def test_ten_turns_of_a_screw_of_four_starts():
    assert 1e3 * lead(2e-3, starts=4) == pytest.approx(8.0)  # lead = starts times pitch
    assert 10e3 * lead(2e-3, starts=4) == pytest.approx(80.0)


def test_backlash_as_an_angle():
    # 2 j / d: 0.1 mm on 50 mm of pitch diameter
    assert math.degrees(backlash_angle(0.1e-3, module_m=1e-3, teeth=50)) == pytest.approx(0.22918, abs=5e-6)


def test_backlash_from_a_centre_distance_that_is_too_long():
    # j = 2 da tan(20 deg): 0.05 mm gives 0.03640 mm; on 50 mm that is 0.08343 deg, 2 j / d by hand
    backlash_m = 2 * 0.05e-3 * math.tan(math.radians(20.0))
    assert 1e3 * backlash_m == pytest.approx(0.03640, abs=5e-6)
    turn = math.degrees(backlash_angle(backlash_m, module_m=1e-3, teeth=50))
    assert turn == pytest.approx(math.degrees(2 * 0.0363970 / 50), rel=1e-5)


def test_a_train_of_two_meshes_multiplies():
    assert ratio_of((48, 24, 36, 12)) == 6.0  # 2 times 3
