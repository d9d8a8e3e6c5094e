"""Lines of many machines at once are the lines of each."""

import numpy as np
import pytest

from anglewright.calibration.line import fit_line
from anglewright.calibration.lines import fit_lines


def test_rows_agree_with_the_fit_of_each_row():
    # the other route is the orthogonal triangularisation that `calibrate` uses
    rng = np.random.default_rng(3)
    codes = rng.uniform(0.0, 4095.0, (50, 18))
    shown = -0.3 + 7e-4 * codes + rng.normal(0.0, 0.01, codes.shape)
    offsets, slopes = fit_lines(codes, shown)
    for k in range(50):
        line = fit_line(codes[k], shown[k])
        assert offsets[k] == pytest.approx(line.offset, rel=1e-11, abs=1e-13)
        assert slopes[k] == pytest.approx(line.slope, rel=1e-11)


def test_a_machine_that_reads_the_same_everywhere_has_no_line_and_harms_no_neighbour():
    offsets, slopes = fit_lines(np.array([[5.0, 5.0], [1.0, 2.0]]), np.array([[0.0, 1.0], [3.0, 5.0]]))
    assert np.isnan([offsets[0], slopes[0]]).all()
    assert [offsets[1], slopes[1]] == [1.0, 2.0]
