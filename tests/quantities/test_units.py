"""The table of units, against the general units library wherever that one is right."""

import math
import subprocess
import sys
from functools import cache
from typing import Any

import pint
import pytest

from anglewright.errors import QuantityError
from anglewright.quantities.units import UNITS, Kind, find_unit, plain_spelling, unit_named

# What the reference calls each unit. It has no fractions, counts and bits of a kind of their own, so
# the six units of WITHOUT_REFERENCE have nothing to be compared with: each is the number one.
REFERENCE = {
    "deg": "degree",
    "rad": "radian",
    "turn": "turn",
    "mrad": "milliradian",
    "arcmin": "arcminute",
    "arcsec": "arcsecond",
    "mm": "mm",
    "m": "m",
    "in": "inch",
    "cm": "cm",
    "um": "um",
    "ft": "foot",
    "thou": "thou",
    "ohm": "ohm",
    "kohm": "kohm",
    "Mohm": "Mohm",
    "mohm": "mohm",
    "Gohm": "Gohm",
    "nF": "nF",
    "uF": "uF",
    "pF": "pF",
    "mF": "mF",
    "F": "F",
    "V": "V",
    "mV": "mV",
    "uV": "uV",
    "kV": "kV",
    "mA": "mA",
    "A": "A",
    "uA": "uA",
    "nA": "nA",
    "W": "W",
    "mW": "mW",
    "uW": "uW",
    "kW": "kW",
    "s": "s",
    "ms": "ms",
    "us": "us",
    "ns": "ns",
    "min": "minute",
    "h": "hour",
    "Hz": "1/s",
    "kHz": "1/ms",
    "MHz": "1/us",
    "deg/s": "degree/s",
    "rpm": "turn/minute",
    "rad/s": "radian/s",
    "turn/s": "turn/s",
    "mm/s": "mm/s",
    "m/s": "m/s",
    "cm/s": "cm/s",
    "mm/min": "mm/minute",
    "m/min": "m/minute",
    "in/s": "inch/s",
    "ft/s": "foot/s",
    "degC": "delta_degC",
    "K": "kelvin",
    "degF": "delta_degF",
    "ppm/degC": "ppm/delta_degC",
    "%/degC": "percent/delta_degC",
    "1/K": "1/kelvin",
    "N m": "N*m",
    "N mm": "N*mm",
    "N cm": "N*cm",
    "kgf cm": "kgf*cm",
    "ozf in": "force_ounce*inch",
    "lbf in": "force_pound*inch",
    "N": "N",
    "mN": "mN",
    "kN": "kN",
    "kgf": "kgf",
    "gf": "gram*standard_gravity",
    "lbf": "force_pound",
    "N m/rad": "N*m/radian",
    "N m/deg": "N*m/degree",
    "N mm/deg": "N*mm/degree",
    "N mm/rad": "N*mm/radian",
    "%": "percent",
    "ppm": "ppm",
}
WITHOUT_REFERENCE = {"", "bit", "count", "LSB", "pulses", "teeth"}


@cache
def registry() -> "pint.UnitRegistry[Any]":
    return pint.UnitRegistry()


def test_every_unit_has_a_reference_or_is_the_number_one() -> None:
    assert set(UNITS) == set(REFERENCE) | WITHOUT_REFERENCE
    assert all(UNITS[name].size == 1.0 for name in WITHOUT_REFERENCE)


@pytest.mark.parametrize("name", sorted(REFERENCE))
def test_the_size_of_a_unit_is_that_of_the_reference(name: str) -> None:
    expected = registry().Quantity(1.0, REFERENCE[name]).to_base_units().magnitude
    assert UNITS[name].size == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", ["degC", "degF", "K"])
def test_the_zero_of_a_temperature_scale_is_that_of_the_reference(name: str) -> None:
    reference = {"K": "kelvin"}.get(name, name)
    expected = registry().Quantity(20.0, reference).to("kelvin").magnitude
    assert UNITS[name].to_si(20.0) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("unit", list(UNITS.values()), ids=lambda unit: unit.name or "bare")
def test_the_name_of_a_unit_reads_as_that_unit(unit: Any) -> None:
    assert unit_named(unit.name, kinds=unit.kind) == unit


@pytest.mark.parametrize("unit", list(UNITS.values()), ids=lambda unit: unit.name or "bare")
def test_a_number_turned_into_si_and_back_is_the_same_number(unit: Any) -> None:
    assert unit.from_si(unit.to_si(47.5)) == pytest.approx(47.5, rel=1e-12)
    assert unit.difference_from_si(unit.difference_to_si(47.5)) == pytest.approx(47.5, rel=1e-12)


def test_a_power_of_ten_leaves_no_rounding_behind() -> None:
    # 100 * 1e-9 is 1.0000000000000001e-07 in binary; the nearest number to 100 nF is 1e-07
    assert UNITS["nF"].to_si(100.0) == 1e-7
    assert UNITS["mm"].to_si(0.1) == 1e-4
    assert UNITS["ppm/degC"].to_si(50.0) == 5e-5


@pytest.mark.parametrize(
    ("kind", "name", "spellings"),
    [
        (Kind.RESISTANCE, "ohm", "ohm|ohms|Ohm|OHM|\u2126|\u03a9|R|r"),
        (Kind.RESISTANCE, "kohm", "kohm|kOhm|KOhm|KOHM|k ohm|k\u2126|k\u03a9|k|K|kilohm|kR"),
        (Kind.RESISTANCE, "Mohm", "Mohm|MOhm|M\u2126|M|megohm|meg"),
        (Kind.RESISTANCE, "mohm", "mohm|mOhm|m\u2126"),
        (Kind.CAPACITANCE, "uF", "uF|\u00b5F|\u03bcF|u|\u00b5|\u03bc|microfarad"),
        (Kind.LENGTH, "um", "um|\u00b5m|\u03bcm|micron"),
        (Kind.LENGTH, "in", 'in|inch|inches|"|\u2033|\u201d'),
        (Kind.LENGTH, "ft", "ft|foot|feet|'|\u2032|\u2019"),
        (Kind.ANGLE, "deg", "deg|Deg|degree|degrees|\u00b0|\u00ba"),
        (Kind.ANGLE, "turn", "turn|turns|rev|revs|revolution"),
        (Kind.ANGULAR_SPEED, "rpm", "rpm|RPM|rev/min|rev / min|rev per min|r/min"),
        (Kind.ANGULAR_SPEED, "deg/s", "deg/s|deg / s|\u00b0/s|degrees per second"),
        (Kind.TORQUE, "N m", "N m|Nm|N*m|N\u00b7m|N\u22c5m|N-m"),
        (Kind.TEMPERATURE, "degC", "degC|deg C|\u00b0C|\u2103|C|celsius"),
        (Kind.TEMPERATURE_COEFFICIENT, "ppm/degC", "ppm/degC|ppm/\u00b0C|ppm/K|ppm per degC"),
        (Kind.FRACTION, "%", "%|percent|per cent"),
    ],
)
def test_all_spellings_of_a_unit_are_one_unit(kind: Kind, name: str, spellings: str) -> None:
    found = {unit_named(spelling, kinds=kind).name for spelling in spellings.split("|")}
    assert found == {name}


def test_a_spelling_of_two_kinds_is_settled_by_the_kind_asked_for() -> None:
    assert unit_named("F", kinds=Kind.CAPACITANCE).name == "F"
    assert unit_named("F", kinds=Kind.TEMPERATURE).name == "degF"
    assert unit_named("K", kinds=Kind.TEMPERATURE).name == "K"
    assert unit_named("K", kinds=Kind.RESISTANCE).name == "kohm"


@pytest.mark.parametrize(
    ("text", "kind"), [("MM", Kind.LENGTH), ("MV", Kind.VOLTAGE), ("mHz", Kind.FREQUENCY)]
)
def test_milli_is_never_taken_for_mega(text: str, kind: Kind) -> None:
    assert find_unit(text, kinds=kind) is None


def test_hertz_is_no_unit_of_turning() -> None:
    # the general library turns 1 Hz into 9.549 rpm, because its cycle is one radian
    with pytest.raises(QuantityError):
        unit_named("Hz", kinds=Kind.ANGULAR_SPEED)
    assert UNITS["rpm"].from_si(math.tau) == pytest.approx(60.0, rel=1e-12)


def test_the_two_signs_of_micro_are_spelled_alike() -> None:
    assert plain_spelling("\u00b5F") == plain_spelling("\u03bcF") == "uF"


@pytest.mark.parametrize(
    ("text", "kinds", "message"),
    [
        ("dge", Kind.ANGLE, "the unit 'dge' is not known, an angle is asked for. Did you mean 'deg'?"),
        (
            "xyz",
            Kind.ANGULAR_SPEED,
            "the unit 'xyz' is not known, a speed of turning is asked for. Known: deg/s, rad/s, rpm, turn/s.",
        ),
        (
            "kohm",
            (Kind.ANGLE, Kind.LENGTH),
            "'kohm' is the unit of a resistance, an angle or a length is asked for. "
            "Write it in deg, rad, mm or m.",
        ),
        ("", Kind.VOLTAGE, "no unit is given, a voltage is asked for. Write it in V, mV or uV."),
    ],
)
def test_a_unit_that_is_not_asked_for_is_refused_with_a_remedy(
    text: str, kinds: Kind | tuple[Kind, ...], message: str
) -> None:
    with pytest.raises(QuantityError) as refusal:
        unit_named(text, kinds=kinds)
    assert str(refusal.value) == message


def test_reading_and_showing_quantities_loads_no_library_of_numbers() -> None:
    program = (
        "import sys, anglewright.quantities.reading, anglewright.quantities.showing; "
        "print(sorted({'numpy', 'scipy', 'pint', 'decimal', 'fractions'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
