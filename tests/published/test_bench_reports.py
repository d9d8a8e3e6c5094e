"""Calibrations that people reported, reworked: what the line says of their numbers.

The readings and results are those of the project's field notes, where they were computed afterwards by hand
and with a reference library; no wording is theirs.
"""

import numpy as np
import pytest

from anglewright.calibration.line import fit_line

# nine points every 45 deg on a rotator potentiometer, read with a needle instrument [V]
ROTATOR_V = [0.024, 0.606, 1.270, 1.864, 2.489, 3.074, 3.690, 4.350, 5.000]
# a knob at so many per cent, hexadecimal as it was logged, which saturated in the program's own scaling
KNOB = {0: "0000", 2: "0032", 5: "0052", 7: "0070", 25: "0276", 50: "03D4", 100: "07FE"}


def test_the_rotator_has_72_6_deg_a_volt_and_scatters_by_2_deg() -> None:
    position = np.arange(0.0, 361.0, 45.0)
    line = fit_line(np.array(ROTATOR_V), position)
    assert line.slope == pytest.approx(72.59, abs=0.005)
    assert np.sqrt(line.covariance[1, 1]) == pytest.approx(0.40, abs=0.005)
    assert line.residual_sd == pytest.approx(1.90, abs=0.005)
    assert np.abs(line.residuals).max() == pytest.approx(2.55, abs=0.005)


def test_a_line_through_the_ends_of_the_rotator_errs_by_4_77_deg() -> None:
    position = np.arange(0.0, 361.0, 45.0)
    volts = np.array(ROTATOR_V)
    through = 360.0 * (volts - volts[0]) / (volts[-1] - volts[0])
    assert np.abs(position - through).max() == pytest.approx(4.77, abs=0.005)


def test_the_raw_reading_of_the_knob_was_sound_and_its_scaling_was_not() -> None:
    share, raw = np.array(list(KNOB)), np.array([int(text, 16) for text in KNOB.values()])
    assert raw[-1] == 2046
    counts = (raw[-1] - raw[0]) / 100.0
    assert counts == pytest.approx(20.46)  # counts per cent between the ends
    off = raw / counts - share
    assert off[list(KNOB).index(25)] == pytest.approx(5.8, abs=0.05)  # per cent, cause not settled
