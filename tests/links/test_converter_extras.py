"""Gain error, noise given as a voltage, and averaging, as keys of a rig file."""

import math

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.errors import RigError
from anglewright.links.converter import Converter
from anglewright.rig import at_nominal, datasheet_line, drawn, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

FRAME = """
[axis.pan]
motion = {{ from = "0 deg", to = "270 deg" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
sensor = {{ track = "10 kohm", electrical_travel = "300 deg" }}
converter = {{ bits = 12, {converter} }}
"""
VOLT = 4096.0 / 3.3  # counts of 12 bits at the usual feed of 3.3 V [1/V]


def pan(converter):
    document = parse_document(FRAME.format(converter=converter), source="pan.toml")
    return build_rig(document, source="pan.toml").axis("pan")


def row(axis, quantity):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(7))
    return next(each for each in contributions(errors, Play.TWO_SIDED) if each.quantity == quantity)


def test_a_noise_in_volts_is_one_in_counts():
    axis = pan('noise_voltage = "1 mV rms"')
    noise = row(axis, "noise_voltage")
    counts = noise.standard_uncertainty[3] / abs(datasheet_line(axis).slope)
    assert counts == pytest.approx(1e-3 * VOLT, rel=1e-6)
    assert (noise.persistence.value, noise.cured_by) == ("reading", "averaging")
    assert "converter.noise" not in {each.key for each in axis.assumptions}


@pytest.mark.parametrize("average", [1, 4, 16])
def test_an_average_of_so_many_has_the_noise_over_their_root(average):
    axis = pan(f'noise = "6 LSB rms", average = {average}')
    counts = row(axis, "noise").standard_uncertainty[3] / abs(datasheet_line(axis).slope)
    assert counts == pytest.approx(6.0 / math.sqrt(average), rel=1e-6)


def test_averaged_readings_scatter_as_means_of_single_ones():
    # independent: means of four drawn readings of a converter that does not average
    rng = np.random.default_rng(8)
    single = realise(pan('noise = "6 LSB rms"'), drawn(rng, builds=1, readings=40_000)).links[-1]
    averaged = realise(pan('noise = "6 LSB rms", average = 4'), drawn(rng, builds=1, readings=10_000)).links[
        -1
    ]
    means = np.asarray(single.forward(1.65)).reshape(-1, 4).mean(axis=1)
    assert np.std(averaged.forward(1.65)) == pytest.approx(np.std(means), rel=0.03)


def test_a_gain_error_grows_with_the_reading():
    axis = pan('gain = "0.3 %"')
    gain = row(axis, "gain")
    assert (gain.persistence.value, gain.meaning) == ("build", "gain error of the converter")
    code = np.asarray(realise(axis, at_nominal).unrounded().forward(axis.positions(7)))
    expected = 0.003 / math.sqrt(3.0) * (code + 0.5) * abs(datasheet_line(axis).slope)
    assert gain.standard_uncertainty == pytest.approx(expected, rel=2e-3)


def test_a_known_gain_is_in_the_code_and_in_its_explanation():
    link = realise(pan('gain = "1 % ± 0.1 %", offset = "0 LSB"'), at_nominal).links[-1]
    assert link.forward(1.65) == math.floor(2048 * 1.01)
    (step,) = link.explain(1.65)
    assert (step.formula, step.result) == ("floor(2 ** N * V / V_ref * (1 + g))", 2068.0)


REFUSED = [
    (
        'noise = "1 LSB rms", noise_voltage = "1 mV rms"',
        "converter.noise: 'noise_voltage' stands beside it and says the same. Leave one of them out.",
    ),
    (
        "average = 0",
        "converter.average: it is '0', a whole number from 1 to 65536 belongs here. "
        "Give the conversions that the controller averages into one reading.",
    ),
]


@pytest.mark.parametrize(("converter", "sentence"), REFUSED)
def test_a_converter_that_cannot_be_is_refused_with_a_sentence(converter, sentence):
    with pytest.raises(RigError) as refused:
        pan(converter)
    assert [str(each) for each in refused.value.problems] == [f"pan.toml, axis 'pan', {sentence}"]


@pytest.mark.parametrize(("below_v", "code"), [(0.0, 2048), (4e-16, 2048), (1e-6, 2047)])
def test_a_voltage_on_the_edge_of_a_code_belongs_to_the_code_above(below_v: float, code: int) -> None:
    # 1.65 V of 3.3 V at 12 bit is 2048; what the arithmetic of the computer leaves below it is no voltage
    converter = Converter(bits=12, reference_v=3.3, noise_counts=0.0, offset_counts=0.0)
    assert converter.forward(1.65 - below_v) == code
    (step,) = converter.explain(1.65 - below_v)
    assert step.result == code
