"""Single numbers of handbooks and standards that the links and spreads must give."""

import math

import numpy as np
import pytest
from scipy import stats

from anglewright.links.converter import Converter
from anglewright.links.gears import backlash_angle, ratio_of
from anglewright.quantities.spread import Shape, Spread


@pytest.mark.parametrize(
    ("shape", "reference"),
    [
        (Shape.RECTANGULAR, stats.uniform(-1.0, 2.0)),  # JCGM 100:2008, 4.3.7: a / sqrt 3
        (Shape.TRIANGULAR, stats.triang(0.5, -1.0, 2.0)),  # 4.3.9: a / sqrt 6
        (Shape.ARCSINE, stats.arcsine(-1.0, 2.0)),  # U-shaped: a / sqrt 2
        (Shape.NORMAL, stats.norm(0.0, 1.0)),
    ],
)
def test_half_widths_become_standard_uncertainties_as_in_the_guide(shape, reference):
    spread = Spread(nominal=5.0, below=1.0, above=1.0, shape=shape)
    assert spread.standard_uncertainty == pytest.approx(reference.std(), rel=1e-12)
    drawn = spread.draw(np.random.default_rng(1), (20_000,)) - 5.0
    assert stats.kstest(drawn, reference.cdf).pvalue > 1e-3


def test_backlash_on_a_pitch_circle_of_50_mm():
    # 2 j / d: 0.1 mm on 50 mm is 0.22918 deg (handbook formula, plain arithmetic)
    free = backlash_angle(0.1e-3, module_m=2e-3, teeth=25)
    assert math.degrees(free) == pytest.approx(0.22918, abs=5e-6)


def test_a_train_of_two_pairs_multiplies():
    # 60:20 then 45:15 is 3 times 3
    assert ratio_of((60, 20, 45, 15)) == 9.0


@pytest.mark.parametrize(("bits", "reference_v", "millivolts"), [(10, 5.0, 4.8828), (12, 3.3, 0.80566)])
def test_one_count_of_a_converter(bits, reference_v, millivolts):
    # V_ref / 2^N: 10 bit on 5 V is 4.8828 mV, 12 bit on 3.3 V is 0.80566 mV
    converter = Converter(bits=bits, reference_v=reference_v, noise_counts=0.0, offset_counts=0.0)
    step = converter.backward(101.0) - converter.backward(100.0)
    assert 1e3 * step == pytest.approx(millivolts, abs=5e-5)


def test_a_converter_rounds_down_and_stops_at_its_ends():
    # ideal code floor(2^N V / V_ref), clamped
    converter = Converter(bits=12, reference_v=4.096, noise_counts=0.0, offset_counts=0.0)
    volts = np.array([-1.0, 0.0, 0.0009, 0.00101, 1.0005, 4.0949, 4.0951, 4.096, 9.0])
    assert converter.forward(volts).tolist() == [0, 0, 0, 1, 1000, 4094, 4095, 4095, 4095]
    assert converter.backward(1000.0) == pytest.approx(1.0005, rel=1e-12)
