"""Quantities as people write them; expected values are worked by hand beside each text."""

import math

import pytest

from anglewright.quantities.reading import read_quantity
from anglewright.quantities.spread import Persistence, Shape
from anglewright.quantities.units import Kind

DEG = math.pi / 180
POSITION = (Kind.ANGLE, Kind.LENGTH)
INCH = 0.0254  # exact by definition [m]


@pytest.mark.parametrize(
    ("text", "kinds", "value"),
    [
        ("10k", Kind.RESISTANCE, 10e3),
        ("10 k", Kind.RESISTANCE, 10e3),
        ("10 R", Kind.RESISTANCE, 10.0),
        ("1 M", Kind.RESISTANCE, 1e6),
        ("10 mohm", Kind.RESISTANCE, 0.01),
        ("10 Mohm", Kind.RESISTANCE, 10e6),
        ("10 k\u2126", Kind.RESISTANCE, 10e3),
        ("10 k\u03a9", Kind.RESISTANCE, 10e3),
        ("12\u2009345.5 ohm", Kind.RESISTANCE, 12345.5),
        ("100 nF", Kind.CAPACITANCE, 100e-9),
        ("100n", Kind.CAPACITANCE, 100e-9),
        ("4.7 uF", Kind.CAPACITANCE, 4.7e-6),
        ("4.7 \u00b5F", Kind.CAPACITANCE, 4.7e-6),
        ("4.7 \u03bcF", Kind.CAPACITANCE, 4.7e-6),
        ("270\u00b0", Kind.ANGLE, 270 * DEG),
        ("0.25 rev", Kind.ANGLE, 90 * DEG),
        ("10-turn", Kind.ANGLE, 3600 * DEG),
        ("-20 deg", POSITION, -20 * DEG),
        ("-20deg", POSITION, -20 * DEG),
        ("\u221220 deg", POSITION, -20 * DEG),
        ("+20 deg", POSITION, 20 * DEG),
        ("1e2 mrad", Kind.ANGLE, 0.1),
        ("10 m", POSITION, 10.0),
        ("0.1 mm", POSITION, 1e-4),
        ("0.5 in", Kind.LENGTH, INCH / 2),
        ('0.5"', Kind.LENGTH, INCH / 2),
        ("1/4 in", Kind.LENGTH, INCH / 4),
        ("1 1/4 in", Kind.LENGTH, 1.25 * INCH),
        ("-1\u00bd in", Kind.LENGTH, -1.5 * INCH),
        ("12'", Kind.LENGTH, 144 * INCH),
        (".5 mm", Kind.LENGTH, 5e-4),
        ("12 bit", Kind.BITS, 12.0),
        ("12-bit", Kind.BITS, 12.0),
        ("12", Kind.BITS, 12.0),
        (12, Kind.BITS, 12.0),
        (4095, Kind.COUNT, 4095.0),
        (0.5, Kind.FRACTION, 0.5),
        ("50 %", Kind.FRACTION, 0.5),
        ("90 deg/s", (Kind.ANGULAR_SPEED, Kind.LINEAR_SPEED), 90 * DEG),
        ("0.2 m/s", (Kind.ANGULAR_SPEED, Kind.LINEAR_SPEED), 0.2),
        ("30 rpm", Kind.ANGULAR_SPEED, math.pi),
        ("5 N mm", Kind.TORQUE, 0.005),
        ("3 Nm", Kind.TORQUE, 3.0),
        ("25 degC", Kind.TEMPERATURE, 298.15),
        ("25 C", Kind.TEMPERATURE, 298.15),
        ("50 ppm/degC", Kind.TEMPERATURE_COEFFICIENT, 50e-6),
        ("5e-5 1/K", Kind.TEMPERATURE_COEFFICIENT, 50e-6),
        ("2 ms", Kind.TIME, 0.002),
    ],
)
def test_a_text_of_the_trade_is_read_as_it_is_meant(
    text: str | float, kinds: Kind | tuple[Kind, ...], value: float
) -> None:
    quantity = read_quantity(text, kinds=kinds)
    assert quantity.value == pytest.approx(value, rel=1e-12)
    assert (quantity.below, quantity.above, quantity.rms) == (0.0, 0.0, False)
    assert quantity.text == str(text)


# Letter codes of IEC 60062, its lists of examples, from memory.
@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("R47", 0.47),
        ("4R7", 4.7),
        ("47R", 47.0),
        ("470R", 470.0),
        ("4K7", 4.7e3),
        ("47K", 47e3),
        ("1M0", 1e6),
        ("4k7", 4.7e3),
        ("2k2", 2.2e3),
        ("5k11", 5110.0),
        ("0R05", 0.05),
        ("1G0", 1e9),
        ("4k7 ohm", 4.7e3),
    ],
)
def test_the_letter_code_of_a_resistor_is_read(text: str, ohm: float) -> None:
    assert read_quantity(text, kinds=Kind.RESISTANCE).value == pytest.approx(ohm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "farad"),
    [
        ("p33", 0.33e-12),
        ("3p3", 3.3e-12),
        ("33p", 33e-12),
        ("n33", 330e-12),
        ("3n3", 3.3e-9),
        ("33n", 33e-9),
        ("u33", 0.33e-6),
        ("\u00b533", 0.33e-6),
        ("3\u03bc3", 3.3e-6),
        ("33u", 33e-6),
        ("4n7 F", 4.7e-9),
    ],
)
def test_the_letter_code_of_a_capacitor_is_read(text: str, farad: float) -> None:
    assert read_quantity(text, kinds=Kind.CAPACITANCE).value == pytest.approx(farad, rel=1e-12)


def test_a_supply_is_read_with_its_letter_for_a_point() -> None:
    # common practice on circuit diagrams, no source
    assert read_quantity("3V3", kinds=Kind.VOLTAGE).value == pytest.approx(3.3, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kinds", "value", "below", "above"),
    [
        ("10 kohm ± 20 %", Kind.RESISTANCE, 10e3, 2e3, 2e3),
        ("10 kohm±20%", Kind.RESISTANCE, 10e3, 2e3, 2e3),
        ("10 kohm +/- 5 %", Kind.RESISTANCE, 10e3, 500.0, 500.0),
        ("10 kohm + / - 5 %", Kind.RESISTANCE, 10e3, 500.0, 500.0),
        ("10 kohm +- 100 ohm", Kind.RESISTANCE, 10e3, 100.0, 100.0),
        ("10 kohm ± 1k5", Kind.RESISTANCE, 10e3, 1.5e3, 1.5e3),
        ("10 kohm ± 2", Kind.RESISTANCE, 10e3, 2e3, 2e3),
        ("2k2 ± 1 %", Kind.RESISTANCE, 2.2e3, 22.0, 22.0),
        ("10 kohm +10/-20 %", Kind.RESISTANCE, 10e3, 2e3, 1e3),
        ("100 nF -20 % / +80 %", Kind.CAPACITANCE, 100e-9, 20e-9, 80e-9),
        ("270 deg ± 5 deg", Kind.ANGLE, 270 * DEG, 5 * DEG, 5 * DEG),
        ("270 ± 5 deg", Kind.ANGLE, 270 * DEG, 5 * DEG, 5 * DEG),
        ("(270 ± 5) deg", Kind.ANGLE, 270 * DEG, 5 * DEG, 5 * DEG),
        ("270 deg ± 2 %", Kind.ANGLE, 270 * DEG, 5.4 * DEG, 5.4 * DEG),
        ("-270 deg ± 2 %", Kind.ANGLE, -270 * DEG, 5.4 * DEG, 5.4 * DEG),
        ("3600 deg +10 / -0", Kind.ANGLE, 3600 * DEG, 0.0, 10 * DEG),
        ("3600 deg +10 deg / -0 deg", Kind.ANGLE, 3600 * DEG, 0.0, 10 * DEG),
        ("3600 deg +10 \u22120", Kind.ANGLE, 3600 * DEG, 0.0, 10 * DEG),
        ("3600 deg -0/+10", Kind.ANGLE, 3600 * DEG, 0.0, 10 * DEG),
        ("-20 deg -2/+1", Kind.ANGLE, -20 * DEG, 2 * DEG, 1 * DEG),
        ("1e-3 m +1e-4 / -2e-4", Kind.LENGTH, 1e-3, 2e-4, 1e-4),
        ("±3 deg", Kind.ANGLE, 0.0, 3 * DEG, 3 * DEG),
        ("0 deg ± 3 deg", Kind.ANGLE, 0.0, 3 * DEG, 3 * DEG),
        ("50 % ± 2 %", Kind.FRACTION, 0.5, 0.02, 0.02),
        ("0.5 ± 2 %", Kind.FRACTION, 0.5, 0.02, 0.02),
        ("±1 %", Kind.FRACTION, 0.0, 0.01, 0.01),
        ("10 MHz ± 50 ppm", Kind.FREQUENCY, 10e6, 500.0, 500.0),
        ("25 degC ± 5 degC", Kind.TEMPERATURE, 298.15, 5.0, 5.0),
        ("50 ppm/degC +10 ppm/degC / -5 ppm/degC", Kind.TEMPERATURE_COEFFICIENT, 50e-6, 5e-6, 10e-6),
    ],
)
def test_a_tolerance_is_read_as_distances_from_the_middle(
    text: str, kinds: Kind, value: float, below: float, above: float
) -> None:
    quantity = read_quantity(text, kinds=kinds)
    assert (quantity.value, quantity.below, quantity.above) == pytest.approx((value, below, above), rel=1e-12)


def test_a_tolerance_becomes_a_rectangular_spread_that_lasts() -> None:
    spread = read_quantity("10 kohm ± 20 %", kinds=Kind.RESISTANCE).spread()
    assert spread.shape is Shape.RECTANGULAR
    assert spread.persistence is Persistence.BUILD
    # GUM 4.3.7: half-width over the square root of three
    assert spread.standard_uncertainty == pytest.approx(2000.0 / math.sqrt(3.0))


@pytest.mark.parametrize(
    ("text", "nominal", "sigma"),
    [
        ("0.4 mV rms", 0.0, 0.4e-3),
        ("±0.4 mV rms", 0.0, 0.4e-3),
        ("0.4 mVrms", 0.0, 0.4e-3),
        ("3.3 V ± 5 mV rms", 3.3, 5e-3),
        ("0 V rms", 0.0, 0.0),
    ],
)
def test_an_rms_value_becomes_a_normal_spread(text: str, nominal: float, sigma: float) -> None:
    quantity = read_quantity(text, kinds=Kind.VOLTAGE)
    spread = quantity.spread(persistence=Persistence.READING)
    assert quantity.rms
    assert spread.shape is Shape.NORMAL
    assert spread.persistence is Persistence.READING
    assert spread.nominal == pytest.approx(nominal)
    assert spread.standard_uncertainty == pytest.approx(sigma)
