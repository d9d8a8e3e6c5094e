"""Meets, fails, cannot tell: each branch with its whole sentence."""

import math
from dataclasses import replace

import pytest

from anglewright.calibration.play import PlayEstimate
from anglewright.calibration.uncertainty import ReadingError
from anglewright.calibration.verdict import Evidence, Requirement, Verdict, judge
from anglewright.quantities.units import Unit


def _rad(degrees: float) -> float:
    return math.radians(degrees)


NEED = Requirement(low=_rad(-20.0), high=_rad(115.0), permissible_error=_rad(1.0))
# one part of 0.4 deg known from very many readings: half-width 1.96 * 0.4 = 0.784 deg
QUIET = ReadingError(
    structure=0.0, noise=0.0, fit=0.0, play=0.0, reference=_rad(0.4), structure_dof=7, fit_dof=16, noise_dof=0
)
NO_PLAY = PlayEstimate(value=0.0, low=0.0, high=_rad(0.1), standard_uncertainty=_rad(0.05), dof=8)
GOOD = Evidence(
    error=QUIET,
    play=NO_PLAY,
    largest_rest=_rad(0.2),
    reference_95=_rad(0.1),
    calibrated=(_rad(-20.0), _rad(115.0)),
    clipped=0,
)


def test_a_half_width_inside_the_need_meets_it(deg: Unit) -> None:
    verdict, reason = judge(GOOD, requirement=NEED, unit=deg)
    assert verdict is Verdict.MEETS
    assert reason == "95 % of readings are within ±0.784 deg, and the need is ±1 deg."


def test_a_half_width_beyond_the_need_fails_it(deg: Unit) -> None:
    wide = replace(GOOD, error=replace(QUIET, reference=_rad(0.6)))
    verdict, reason = judge(wide, requirement=NEED, unit=deg)
    assert verdict is Verdict.FAILS
    assert reason == "95 % of readings are within ±1.18 deg, and the need is ±1 deg."


def test_a_reference_that_is_not_three_times_better_cannot_tell(deg: Unit) -> None:
    coarse = replace(GOOD, reference_95=_rad(0.5))
    assert judge(coarse, requirement=NEED, unit=deg) == (
        Verdict.CANNOT_TELL,
        "The reference is known to ±0.5 deg and should be 3 times better than the need of ±1 deg. "
        "Use a better reference.",
    )
    assert judge(replace(GOOD, reference_95=_rad(0.333)), requirement=NEED, unit=deg)[0] is Verdict.MEETS


def test_play_beyond_the_need_fails_even_on_a_coarse_reference(deg: Unit) -> None:
    play = PlayEstimate(
        value=_rad(3.0), low=_rad(2.4), high=_rad(3.6), standard_uncertainty=0.005, dof=8, seen=True
    )
    loose = replace(GOOD, play=play, reference_95=_rad(0.5))
    assert judge(loose, requirement=NEED, unit=deg) == (
        Verdict.FAILS,
        "Half the play is at least 1.2 deg, beyond the need of ±1 deg.",
    )


def test_play_whose_half_is_inside_the_need_does_not_fail_by_itself(deg: Unit) -> None:
    play = PlayEstimate(
        value=_rad(1.6), low=_rad(1.5), high=_rad(1.7), standard_uncertainty=0.001, dof=8, seen=True
    )
    assert judge(replace(GOOD, play=play), requirement=NEED, unit=deg)[0] is Verdict.MEETS


def test_a_point_beyond_what_the_reference_can_explain_fails(deg: Unit) -> None:
    bent = replace(GOOD, largest_rest=_rad(1.8), reference_95=_rad(0.5))
    assert judge(bent, requirement=NEED, unit=deg) == (
        Verdict.FAILS,
        "A point departs from the line by at least 1.3 deg, beyond the need of ±1 deg.",
    )


@pytest.mark.parametrize(
    ("clipped", "start"), [(1, "1 point stands at an end code"), (2, "2 points stand at an end code")]
)
def test_points_at_an_end_code_cannot_tell(clipped: int, start: str, deg: Unit) -> None:
    assert judge(replace(GOOD, clipped=clipped), requirement=NEED, unit=deg) == (
        Verdict.CANNOT_TELL,
        f"{start}, which means at or beyond. Turn the sensor, or leave them out.",
    )


def test_points_over_part_of_the_motion_cannot_tell(deg: Unit) -> None:
    part = replace(GOOD, calibrated=(_rad(0.0), _rad(60.0)))
    assert judge(part, requirement=NEED, unit=deg) == (
        Verdict.CANNOT_TELL,
        "The points span 0 deg to 60 deg of a motion from -20 deg to 115 deg. Take points near both ends.",
    )


def test_one_side_alone_cannot_tell_unless_use_is_one_sided(deg: Unit) -> None:
    unseen = replace(GOOD, play=PlayEstimate(why="all positions were reached from one side"))
    assert judge(unseen, requirement=NEED, unit=deg) == (
        Verdict.CANNOT_TELL,
        "Play is not known: all positions were reached from one side.",
    )
    assert judge(unseen, requirement=replace(NEED, one_sided=True), unit=deg)[0] is Verdict.MEETS


def test_too_few_positions_cannot_tell_where_more_might_meet(deg: Unit) -> None:
    # 0.4 deg from three degrees of freedom: 3.182 * 0.4 = 1.273 deg, with many 1.96 * 0.4 = 0.784 deg
    few = replace(GOOD, error=replace(QUIET, reference=0.0, structure=_rad(0.4), structure_dof=3))
    verdict, reason = judge(few, requirement=NEED, unit=deg)
    assert verdict is Verdict.CANNOT_TELL
    assert reason == (
        "With so few positions the half-width of ±1.27 deg is mostly ignorance; with many it could be "
        "±0.784 deg. Take more positions."
    )


def test_what_changes_from_day_to_day_counts_in_a_reading_and_fails_beyond_the_need(deg: Unit) -> None:
    # by hand: 0.4 deg of reference and 0.3 deg of changes are 0.5 deg together, times 1.960
    daily = replace(QUIET, changes=_rad(0.3))
    assert math.degrees(daily.half_width_95) == pytest.approx(0.98, abs=1e-3)
    beyond = replace(NEED, changes=_rad(0.6))
    assert judge(GOOD, requirement=beyond, unit=deg) == (
        Verdict.FAILS,
        "What changes from one day to another is worth ±1.18 deg, beyond the need of ±1 deg.",
    )
    assert judge(GOOD, requirement=replace(NEED, changes=_rad(0.5)), unit=deg)[0] is Verdict.MEETS


def test_a_point_beyond_the_need_is_never_met_even_where_the_reference_could_explain_it(deg: Unit) -> None:
    # 1.05 deg off, of which the reference may be 0.1 deg: 0.95 deg is sure, and 1 deg was asked for
    verdict, reason = judge(replace(GOOD, largest_rest=_rad(1.05)), requirement=NEED, unit=deg)
    assert verdict is Verdict.CANNOT_TELL
    assert reason == (
        "A point departs from the line by 1.05 deg, beyond the need of ±1 deg, and the reference could "
        "explain a part. Take that point again."
    )
