"""The kernel of every linear model against certified values, digit for digit.

NIST Statistical Reference Datasets, linear regression (data and certified values from a public-domain
transcription; Longley's data from memory, held to its certified values here).
"""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from anglewright.calibration.least_squares import LinearFit, fit_linear
from anglewright.errors import DataError

SETS = json.loads((Path(__file__).parent / "data" / "strd.json").read_text())
# digits that a column-scaled triangularisation in double precision is to reach, the worst coefficient
DIGITS = {
    "NoInt1": 13.0,
    "Pontius": 11.0,
    "Filip": 7.0,
    "Wampler1": 9.0,
    "Wampler2": 11.0,
    "Wampler3": 9.0,
    "Wampler4": 7.0,
    "Wampler5": 5.0,
}


def _digits(found: np.ndarray, certified: list[str]) -> float:
    """Common digits of the worst value: minus the log of its relative error. [1]"""
    values = np.array([float(text) for text in certified])
    error = np.abs(found - values) / np.abs(values)
    return float(-np.log10(max(float(error.max()), 1e-16)))


def _fit(entry: dict[str, Any]) -> LinearFit:
    x, y = (np.array([float(text) for text in entry[key]]) for key in ("x", "y"))
    first = 1 if len(entry["beta"]) == 1 else 0  # a line through the origin has no constant
    powers = range(first, first + len(entry["beta"]))
    return fit_linear(np.stack([x**power for power in powers], axis=1), y)


@pytest.mark.parametrize("name", DIGITS)
def test_certified_coefficients_are_reached(name: str) -> None:
    assert _digits(_fit(SETS[name]).values, SETS[name]["beta"]) >= DIGITS[name]


@pytest.mark.parametrize("name", ["NoInt1", "Pontius", "Filip", "Wampler3", "Wampler4", "Wampler5"])
def test_certified_standard_deviations_are_reached(name: str) -> None:
    found = np.sqrt(np.diag(_fit(SETS[name]).covariance))
    assert _digits(found, SETS[name]["se"]) >= min(DIGITS[name], 7.0)


LONGLEY = """
83.0 234289 2356 1590 107608 1947 60323
88.5 259426 2325 1456 108632 1948 61122
88.2 258054 3682 1616 109773 1949 60171
89.5 284599 3351 1650 110929 1950 61187
96.2 328975 2099 3099 112075 1951 63221
98.1 346999 1932 3594 113270 1952 63639
99.0 365385 1870 3547 115094 1953 64989
100.0 363112 3578 3350 116219 1954 63761
101.2 397469 2904 3048 117388 1955 66019
104.6 419180 2822 2857 118734 1956 67857
108.4 442769 2936 2798 120445 1957 68169
110.8 444546 4681 2637 121950 1958 66513
112.6 482704 3813 2552 123366 1959 68655
114.2 502601 3931 2514 125368 1960 69564
115.7 518173 4806 2572 127852 1961 69331
116.9 554894 4007 2827 130081 1962 70551
"""


def test_longley_is_reached_to_nine_digits() -> None:
    rows = np.array([[float(text) for text in line.split()] for line in LONGLEY.split("\n") if line])
    found = fit_linear(np.column_stack([np.ones(16), rows[:, :6]]), rows[:, 6])
    certified = [
        *("-3482258.63459582", "15.0618722713733", "-0.0358191792925910", "-2.02022980381683"),
        *("-1.03322686717359", "-0.0511041056535807", "1829.15146461355"),
    ]
    assert _digits(found.values, certified) >= 9.0
    assert found.residual_sd == pytest.approx(304.854073561965, rel=1e-10)


def test_a_parameter_that_the_points_do_not_tell_is_refused() -> None:
    column = np.arange(5.0)
    with pytest.raises(DataError, match="do not tell 3 parameters from one another"):
        fit_linear(np.stack([np.ones(5), column, 2.0 * column], axis=1), column)


@pytest.mark.parametrize("seed", range(5))
def test_leverages_give_what_leaving_each_row_out_gives(seed: int) -> None:
    rng = np.random.default_rng(seed)
    design = np.column_stack([np.ones(8), rng.normal(size=(8, 2))])
    y, weights = rng.normal(size=8), rng.uniform(0.5, 2.0, 8)
    whole = fit_linear(design, y, weights=weights)
    for row in range(8):
        rest = np.arange(8) != row
        without = fit_linear(design[rest], y[rest], weights=weights[rest])
        missed = y[row] - design[row] @ without.values
        assert whole.residuals[row] / (1.0 - whole.leverage[row]) == pytest.approx(missed, rel=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_values_and_covariance_agree_with_a_reference_library(seed: int) -> None:
    # numpy.polyfit, cubic, covariance scaled by the residuals
    rng = np.random.default_rng(seed)
    x = rng.uniform(-1.0, 1.0, 14)
    y = 1.0 + x - 0.4 * x**3 + rng.normal(0.0, 0.01, 14)
    found = fit_linear(np.vander(x, 4), y)
    values, covariance = np.polyfit(x, y, 3, cov=True)
    assert found.values == pytest.approx(values, rel=1e-9)
    assert found.covariance == pytest.approx(covariance, rel=1e-7)
    assert math.isfinite(found.residual_sd)
