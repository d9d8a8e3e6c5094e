"""How well two lines are known apart, by arithmetic written out here."""

import math

import pytest

from anglewright.calibration.record import RecordError
from anglewright.calibration.recordshift import KnownLine, slope_shift_95, zero_shift_95
from anglewright.calibration.uncertainty import ReferenceUncertainty

SHARED, SCALE, OWN, SLOPE, CODE = 0.03, 0.01, 0.004, 0.001, 2000.0
REFERENCE = ReferenceUncertainty(shared=SHARED, scale=SCALE)


def line(reference: ReferenceUncertainty | None, *, dof: float = math.inf, zeroed: bool = False) -> KnownLine:
    """A line of 0.001 rad a count through code 0, its own error 0.004 rad, the reference's beside it."""
    lasting = (SHARED**2, (SCALE * SLOPE) ** 2)
    error = RecordError(dof=dof, structure=0.02, structure_dof=0, reference=reference)
    return KnownLine(
        offset=0.0,
        slope=SLOPE,
        covariance=((OWN**2 + lasting[0], 0.0), (0.0, lasting[1])),
        dof=dof,
        error=error,
        zeroed=zeroed,
    )


def test_what_both_owe_to_one_reference_drops_out() -> None:
    alike = zero_shift_95(line(REFERENCE), line(REFERENCE), code=CODE, changes=0.0)
    assert alike == pytest.approx(1.959964 * OWN * math.sqrt(2.0), rel=1e-6)
    assert slope_shift_95(line(REFERENCE), line(REFERENCE)) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("other", [None, ReferenceUncertainty(shared=0.031, scale=SCALE)])
def test_another_reference_or_an_unknown_one_counts_in_full(other: ReferenceUncertainty | None) -> None:
    found = zero_shift_95(line(REFERENCE), line(other), code=CODE, changes=0.005)
    # Each is off by its own 0.004, by 0.03, and by 1 % of the 2 rad at the code; and 0.005 for the day.
    each = OWN**2 + SHARED**2 + (SCALE * SLOPE * CODE) ** 2
    assert found == pytest.approx(1.959964 * math.sqrt(2.0 * each + 0.005**2), rel=1e-6)
    slopes = slope_shift_95(line(REFERENCE), line(other))
    assert slopes == pytest.approx(1.959964 * SCALE * SLOPE * math.sqrt(2.0), rel=1e-6)


def test_degrees_of_freedom_that_are_known_widen_it() -> None:
    few = zero_shift_95(line(REFERENCE, dof=3.0), line(REFERENCE, dof=3.0), code=CODE, changes=0.0)
    # Two equal parts of 3 degrees of freedom each leave 6 (Welch and Satterthwaite): Student's 2.4469.
    assert few == pytest.approx(2.4469 * OWN * math.sqrt(2.0), rel=1e-4)


def test_a_zero_that_was_moved_holds_what_its_curve_cannot_follow_once() -> None:
    found = zero_shift_95(line(REFERENCE), line(REFERENCE, zeroed=True), code=CODE, changes=0.0)
    assert found == pytest.approx(1.959964 * math.sqrt(2.0 * OWN**2 + 0.02**2), rel=1e-6)
