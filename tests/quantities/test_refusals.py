"""Texts that are no quantity: each is refused in a whole sentence with one remedy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from anglewright.errors import QuantityError
from anglewright.quantities.reading import Quantity, read_quantity
from anglewright.quantities.units import Kind

POSITION = (Kind.ANGLE, Kind.LENGTH)


@pytest.mark.parametrize(
    ("text", "kinds", "message"),
    [
        (
            "1,5 mm",
            Kind.LENGTH,
            "'1,5 mm' has a comma in its number, numbers are written with a point and without marks between "
            "thousands. Write 1.5.",
        ),
        (
            "1,500 ohm",
            Kind.RESISTANCE,
            "'1,500 ohm' has a comma in its number, numbers are written with a point and without marks "
            "between thousands. Write 1.500 or 1500, whichever is meant.",
        ),
        (
            "10 ohm ± 1,5 %",
            Kind.RESISTANCE,
            "'10 ohm ± 1,5 %' has a comma in its number, numbers are written with a point and without marks "
            "between thousands. Write 1.5.",
        ),
        (
            " ",
            Kind.ANGLE,
            "the text is empty, an angle is asked for. Write a number and its unit, such as '10 deg'.",
        ),
        (
            "deg",
            Kind.ANGLE,
            "'deg' has no number that can be read, an angle is asked for. "
            "Write a number and its unit, such as '10 deg'.",
        ),
        (
            "rms",
            Kind.VOLTAGE,
            "'rms' has no number that can be read, a voltage is asked for. "
            "Write a number and its unit, such as '10 V'.",
        ),
        (
            True,
            Kind.BITS,
            "'True' has no number that can be read, a number of bits is asked for. "
            "Write a number and its unit, such as '10 bit'.",
        ),
        (
            "nan V",
            Kind.VOLTAGE,
            "'nan V' is not a finite number, a voltage is asked for. "
            "Write a number and its unit, such as '10 V'.",
        ),
        (
            "-inf V",
            Kind.VOLTAGE,
            "'-inf V' is not a finite number, a voltage is asked for. "
            "Write a number and its unit, such as '10 V'.",
        ),
        (
            math.inf,
            Kind.COUNT,
            "'inf' is not a finite number, a number of counts is asked for. "
            "Write a number and its unit, such as '10 count'.",
        ),
        (
            "1e999 V",
            Kind.VOLTAGE,
            "'1e999 V' is not a finite number, a voltage is asked for. Write a number such as '10 V'.",
        ),
        (
            "1/0 in",
            Kind.LENGTH,
            "'1/0 in' is not a finite number, a length is asked for. Write a number such as '10 mm'.",
        ),
        (
            "10 20 deg",
            Kind.ANGLE,
            "'10 20 deg' has two numbers, an angle is asked for. "
            "Write one number and its unit, such as '10 deg'; a tolerance follows the sign ±.",
        ),
        (
            "0-5 V",
            Kind.VOLTAGE,
            "'0-5 V' has two numbers, a voltage is asked for. "
            "Write one number and its unit, such as '10 V'; a tolerance follows the sign ±.",
        ),
        (
            "90 deg + 1",
            Kind.ANGLE,
            "'90 deg + 1' has two numbers, an angle is asked for. "
            "Write one number and its unit, such as '10 deg'; a tolerance follows the sign ±.",
        ),
        (
            "10 deg ± 5 ± 6",
            Kind.ANGLE,
            "the tolerance of '10 deg ± 5 ± 6' has two numbers, an angle is asked for. "
            "Write one number and its unit, such as '10 deg'; a tolerance follows the sign ±.",
        ),
        (
            "270 dge",
            Kind.ANGLE,
            "the unit 'dge' of '270 dge' is not known, an angle is asked for. Did you mean 'deg'?",
        ),
        (
            "4k7J",
            Kind.RESISTANCE,
            "the unit 'k7J' of '4k7J' is not known, a resistance is asked for. "
            "Known: Gohm, Mohm, kohm, mohm, ohm.",
        ),
        (
            "10 kohm",
            Kind.ANGLE,
            "'10 kohm' is a resistance, an angle is asked for. Write it in deg, rad or turn.",
        ),
        (
            "4k7",
            POSITION,
            "'4k7' is a resistance, an angle or a length is asked for. Write it in deg, rad, mm or m.",
        ),
        (
            "4K7",
            Kind.TEMPERATURE,
            "'4K7' is a resistance, a temperature is asked for. Write it in degC, K or degF.",
        ),
        (
            "300 K",
            Kind.ANGLE,
            "'300 K' is a temperature, an angle is asked for. Write it in deg, rad or turn.",
        ),
        (
            "1 Hz",
            Kind.ANGULAR_SPEED,
            "'1 Hz' is a frequency, a speed of turning is asked for. Write it in deg/s, rpm or rad/s.",
        ),
        (
            "10 m",
            Kind.RESISTANCE,
            "'10 m' is a length, a resistance is asked for. Write it in ohm, kohm or Mohm.",
        ),
        (270, Kind.ANGLE, "'270' has no unit, an angle is asked for. Write it in deg, rad or turn."),
        (
            50,
            Kind.FRACTION,
            "'50' has no unit and is not between 0 and 1, a fraction is asked for. "
            "Write '50 %' if per cent is meant.",
        ),
        (
            "10 kohm ± -5 %",
            Kind.RESISTANCE,
            "the tolerance of '10 kohm ± -5 %' is negative, a tolerance is a distance. "
            "Write it without a sign of its own.",
        ),
        (
            "0 deg ± 5 %",
            Kind.ANGLE,
            "the tolerance of '0 deg ± 5 %' is a percentage of zero, which leaves no tolerance at all. "
            "Write it in deg.",
        ),
        (
            "±5 %",
            Kind.ANGLE,
            "the tolerance of '±5 %' is a percentage of zero, which leaves no tolerance at all. "
            "Write it in deg, rad or turn.",
        ),
        (
            "25 degC ± 10 %",
            Kind.TEMPERATURE,
            "the tolerance of '25 degC ± 10 %' is a percentage of a temperature, whose zero is a convention. "
            "Write it in degC.",
        ),
        (
            "10 kohm ± 5 deg",
            Kind.RESISTANCE,
            "the tolerance of '10 kohm ± 5 deg' has the unit 'deg', a resistance is asked for. "
            "Write it in ohm, kohm or Mohm.",
        ),
        (
            "10 kohm ±",
            Kind.RESISTANCE,
            "the tolerance of '10 kohm ±' has no number that can be read, a resistance is asked for. "
            "Write a number and its unit, such as '10 ohm'.",
        ),
        (
            "-0.4 mV rms",
            Kind.VOLTAGE,
            "'-0.4 mV rms' is negative, an rms value is a size. Write it without the sign.",
        ),
        (
            "5 V +1/-2 rms",
            Kind.VOLTAGE,
            "'5 V +1/-2 rms' has two sizes, an rms value is the same on both sides. "
            "Write one of them after the sign ±.",
        ),
    ],
)
def test_a_text_that_cannot_be_trusted_is_refused_with_a_remedy(
    text: str | float, kinds: Kind | tuple[Kind, ...], message: str
) -> None:
    with pytest.raises(QuantityError) as refusal:
        read_quantity(text, kinds=kinds)
    assert str(refusal.value) == message
    assert refusal.value.problems[0].where == ""


TRADE_SIGNS = "0123456789.,+-/±% \u2212\u00b5\u03a9()eEkKmMuRnVAdegrturnin\"'"


def read_or_refusal(text: str, kind: Kind) -> Quantity | QuantityError:
    try:
        return read_quantity(text, kinds=kind)
    except QuantityError as refusal:
        return refusal


@given(st.text(alphabet=TRADE_SIGNS, max_size=24), st.sampled_from(Kind))
def test_any_text_is_read_or_refused_in_words(text: str, kind: Kind) -> None:
    answer = read_or_refusal(text, kind)
    if isinstance(answer, QuantityError):
        assert answer.problems[0].remedy
        return
    assert answer.kind is kind
    assert all(math.isfinite(size) for size in (answer.value, answer.below, answer.above))
    assert min(answer.below, answer.above) >= 0.0


@given(st.integers(0, 999), st.integers(0, 9999), st.sampled_from(["mm", "deg", "V", "kohm"]))
def test_a_decimal_comma_is_never_guessed(whole: int, part: int, unit: str) -> None:
    with pytest.raises(QuantityError):
        read_quantity(f"{whole},{part} {unit}", kinds=tuple(Kind))
