"""Values as people read them, and the way back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import THIN_SPACE, in_unit, show, show_measured, show_spread
from anglewright.quantities.spread import Shape, Spread
from anglewright.quantities.units import UNITS, Unit

DEG = math.pi / 180


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (47.5 * DEG, "deg", "47.5 deg"),
        (-20 * DEG, "deg", "-20 deg"),
        (0.0, "deg", "0 deg"),
        (-0.0, "deg", "0 deg"),
        (3600 * DEG, "deg", "3600 deg"),
        (10e3, "ohm", "10 kohm"),
        (10e3, "kohm", "10 kohm"),
        (0.22, "ohm", "220 mohm"),
        (999.96, "ohm", "1 kohm"),
        (999.94, "ohm", "999.9 ohm"),
        (47e9, "ohm", "47 Gohm"),
        (100e-9, "F", "100 nF"),
        (4.7e-6, "F", "4.7 uF"),
        (0.5e-12, "F", "0.5 pF"),
        (3.3, "V", "3.3 V"),
        (-0.0025, "V", "-2.5 mV"),
        (0.33e-3, "A", "330 uA"),
        (0.05, "W", "50 mW"),
        (1e3, "Hz", "1 kHz"),
        (347.4e-6, "s", "347.4 us"),
        (90.0, "min", "1.5 min"),
        (0.5, "%", "50 %"),
        (0.5, "", "0.5"),
        (298.15, "degC", "25 degC"),
        (123456.0, "count", f"123{THIN_SPACE}500 count"),
        (1e-9, "m", "1e-09 m"),
        (math.nan, "deg", "nan deg"),
    ],
)
def test_a_value_is_shown_in_the_unit_and_multiple_of_the_trade(value: float, unit: str, text: str) -> None:
    assert show(value, UNITS[unit]) == text


def test_digits_are_significant_ones() -> None:
    third = 100.0 / 3.0
    assert [show(third, UNITS["m"], digits=digits) for digits in (1, 2, 3, 6)] == [
        "30 m",
        "33 m",
        "33.3 m",
        "33.3333 m",
    ]


def test_a_value_is_counted_in_a_unit() -> None:
    assert in_unit(math.pi, UNITS["deg"]) == pytest.approx(180.0, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        # GUM 7.2.6: 10.057 62 ohm with 27 mohm is to be rounded to 10.058 ohm
        (10.05762, 0.027, "ohm", "10.058 ohm ± 0.027 ohm"),
        # GUM H.1: the gauge block, 50.000 838 mm with 32 nm
        (0.050000838, 32e-9, "mm", "50.000838 mm ± 0.000032 mm"),
        # GUM H.2: resistance, 127.732 ohm with 0.071 ohm
        (127.732, 0.071, "ohm", "127.732 ohm ± 0.071 ohm"),
        # by hand
        (47.512 * DEG, 0.0996 * DEG, "deg", "47.51 deg ± 0.10 deg"),
        (-0.004 * DEG, 0.12 * DEG, "deg", "0.00 deg ± 0.12 deg"),
        (298.15, 0.5, "degC", "25.00 degC ± 0.50 degC"),
        (12345.0, 1234.0, "count", f"12{THIN_SPACE}300 count ± 1200 count"),
        (47.5 * DEG, 0.0, "deg", "47.5 deg"),
        (47.5 * DEG, math.inf, "deg", "47.5 deg ± inf"),
    ],
)
def test_two_digits_of_the_uncertainty_decide_the_digits_shown(
    value: float, uncertainty: float, unit: str, text: str
) -> None:
    assert show_measured(value, uncertainty, UNITS[unit]) == text


@pytest.mark.parametrize(
    ("spread", "unit", "text"),
    [
        (Spread(nominal=10e3, below=2e3, above=2e3), "ohm", "10 kohm ± 2 kohm"),
        (Spread(nominal=3600 * DEG, above=10 * DEG), "deg", "3600 deg +10 deg / -0 deg"),
        (Spread(nominal=0.0, below=3 * DEG, above=3 * DEG), "deg", "0 deg ± 3 deg"),
        (Spread(nominal=298.15, below=5.0, above=5.0), "degC", "25 degC ± 5 degC"),
        (Spread(nominal=0.0, below=4e-4, above=4e-4, shape=Shape.NORMAL), "V", "400 uV rms"),
        (Spread(nominal=3.3, below=5e-3, above=5e-3, shape=Shape.NORMAL), "V", "3.3 V ± 5 mV rms"),
        (Spread(nominal=24.0), "teeth", "24 teeth"),
    ],
)
def test_a_spread_is_shown_as_people_write_it(spread: Spread, unit: str, text: str) -> None:
    assert show_spread(spread, UNITS[unit]) == text


UNITS_THAT_ARE_WRITTEN = st.sampled_from([unit for unit in UNITS.values() if unit.name])
NUMBERS = st.floats(-1e6, 1e6).filter(lambda number: number == 0.0 or abs(number) > 1e-6)
SIZES = st.floats(1e-3, 1e3)


@given(NUMBERS, UNITS_THAT_ARE_WRITTEN, st.integers(1, 12))
def test_what_is_shown_reads_back_to_the_digits_shown(number: float, unit: Unit, digits: int) -> None:
    read = read_quantity(show(unit.to_si(number), unit, digits=digits), kinds=unit.kind)
    back = unit.from_si(read.value)
    assert back == pytest.approx(
        number, rel=0.5000001 * 10.0 ** (1 - digits), abs=1e-12 * unit.zero / unit.size
    )


@given(NUMBERS, SIZES, SIZES, UNITS_THAT_ARE_WRITTEN)
def test_a_spread_that_is_shown_reads_back_as_the_same_spread(
    number: float, below: float, above: float, unit: Unit
) -> None:
    spread = Spread(
        nominal=unit.to_si(number), below=unit.difference_to_si(below), above=unit.difference_to_si(above)
    )
    read = read_quantity(show_spread(spread, unit), kinds=unit.kind).spread()
    assert read.below == pytest.approx(spread.below, rel=5.1e-4)
    assert read.above == pytest.approx(spread.above, rel=5.1e-4)
    assert unit.from_si(read.nominal) == pytest.approx(number, rel=5.1e-4, abs=1e-12 * unit.zero / unit.size)


@given(NUMBERS, SIZES, UNITS_THAT_ARE_WRITTEN)
def test_a_measured_value_reads_back_within_its_own_uncertainty(
    number: float, size: float, unit: Unit
) -> None:
    text = show_measured(unit.to_si(number), unit.difference_to_si(size), unit)
    read = read_quantity(text, kinds=unit.kind)
    assert read.above == pytest.approx(unit.difference_to_si(size), rel=0.0501)
    assert abs(unit.from_si(read.value) - number) <= 0.0501 * size + 1e-9 * abs(number)
