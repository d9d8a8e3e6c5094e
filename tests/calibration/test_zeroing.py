"""A zero moved alone: the line that comes of it and what it is worth, by arithmetic written out here."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from anglewright.calibration.fitting import Known, fit_curve
from anglewright.calibration.line import uncertainty_at
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.record import CalibrationRecord, RecordError, RecordParameter
from anglewright.calibration.uncertainty import ReferenceUncertainty
from anglewright.calibration.zeroing import Conditions, PlaceReading, move_zero, steady
from anglewright.errors import DataError

SLOPE = 0.001  # rad a count
ENDS = (0.0, 2.0)
STILL = Conditions()


def record(points: Sequence[CalibrationPoint], *, offset: float = 0.0) -> CalibrationRecord:
    """A calibration of a line of known slope, slope u 1e-6 rad a count, and 0.002 rad at code 1000."""
    return CalibrationRecord(
        name="2026-05-12-1",
        date="2026-05-12",
        rig="bench",
        axis="arm",
        chain="",
        sensor="",
        offset=offset,
        slope=SLOPE,
        covariance=((5e-6, -1e-9), (-1e-9, 1e-12)),
        residual_sd=0.0,
        half_width_95=0.01,
        verdict="meets",
        points=tuple(points),
    )


def swept(*, play: float = 0.0, noise: float = 1.0) -> list[CalibrationPoint]:
    """Nine places up and down on the straight line, four readings each, with play in all. [rad, count]"""
    up = [(q, 1) for q in np.linspace(0.0, 2.0, 9)]
    return [
        CalibrationPoint(
            reference=q,
            raw=(q - side * play / 2.0) / SLOPE,
            readings=4,
            raw_sd=noise,
            approach=side,
        )
        for q, side in [*up, *[(q, -1) for q, _ in reversed(up)]]
    ]


def test_the_new_line_is_right_at_the_place_and_keeps_its_slope() -> None:
    base = record(swept())
    found = move_zero(
        base, PlaceReading(at=0.5, within=0.001, codes=(509.0, 511.0)), in_use=base, ends=ENDS, known=STILL
    )
    assert found.slope == SLOPE
    assert found.offset + SLOPE * 510.0 == pytest.approx(0.5, abs=1e-15)
    assert found.moved == pytest.approx(0.010, abs=1e-12)  # the old line said 0.51 rad there


@pytest.mark.parametrize(("side", "offset"), [(1, 0.010), (-1, -0.010), (0, 0.0)])
def test_a_place_reached_going_up_is_shown_half_the_play_short(side: int, offset: float) -> None:
    base = record(swept(play=0.02))
    # The sensor trails by 0.010 rad: at 0.5 rad it shows the code of 0.490 rad after going up. The line in
    # the middle of up and down has its zero at code 0; a place reached from a side must give that line.
    code = (0.5 - side * 0.010) / SLOPE
    found = move_zero(
        base, PlaceReading(at=0.5, within=0.0, codes=(code,), side=side), in_use=base, ends=ENDS, known=STILL
    )
    assert found.offset == pytest.approx(0.0, abs=1e-9)
    assert found.offset + SLOPE * code == pytest.approx(0.5 - offset, abs=1e-9)


def test_the_parts_of_the_error_are_those_of_the_arithmetic() -> None:
    base = record(swept())
    place = PlaceReading(at=0.5, within=0.002, codes=(500.0,) * 4, side=1)
    found = move_zero(base, place, in_use=base, ends=ENDS, known=Conditions(changes=0.003))
    # Four readings of 1 count of noise, and rounding, which averages out above half a count of noise.
    noise = SLOPE * math.hypot(1.0 / 2.0, 1.0 / math.sqrt(12.0) / 2.0)
    # No play in the points; what hides in rounding is the mean of 9 pairs of two rounded readings each.
    play_u = SLOPE / math.sqrt(6.0) / math.sqrt(9.0) / 2.0
    assert found.error.reference == pytest.approx(math.sqrt(0.002**2 + noise**2 + play_u**2), rel=1e-9)
    assert found.error.fit == pytest.approx(1e-6 * 1500.0)  # 500 counts to one end, 1500 to the other
    assert found.error.structure == pytest.approx(0.0, abs=1e-12)
    assert found.error.noise == pytest.approx(SLOPE * math.hypot(1.0, 1.0 / math.sqrt(12.0)))
    assert found.error.changes == 0.003
    # The covariance says the same of the line itself: at the place only the zero, further off the slope too.
    at_place, at_end = (float(uncertainty_at(found.covariance, code)) for code in (500.0, 2000.0))
    assert at_place == pytest.approx(found.error.reference, rel=1e-6)
    assert at_end == pytest.approx(math.hypot(found.error.reference, 1e-6 * 1500.0), rel=1e-6)


def test_a_side_that_is_not_known_costs_half_the_play() -> None:
    base = record(swept(play=0.02))
    known, unknown = (
        move_zero(
            base,
            PlaceReading(at=0.5, within=0.001, codes=(500.0,), side=side),
            in_use=base,
            ends=ENDS,
            known=STILL,
        ).error.reference
        for side in (1, 0)
    )
    assert unknown > 0.010
    assert known < 0.002


def test_a_table_through_every_point_leaves_what_its_interval_says() -> None:
    """Nine places and nine parameters: no residual tells what lies between, the interval does."""
    base = record(swept(noise=1.0))
    nodes = tuple(RecordParameter(name=f"n{k}", value=0.0, standard_uncertainty=0.0) for k in range(9))
    table = replace(base, parameters=nodes, half_width_95=0.02)
    place = PlaceReading(at=0.5, within=0.0, codes=(500.0,), side=1)
    found = move_zero(table, place, in_use=table, ends=ENDS, known=STILL)
    # What is left of 0.02 / 1.96 beside the noise of 1 count; twice, at the place and at the reading.
    left = math.sqrt((0.02 / 1.959964) ** 2 - SLOPE**2)
    assert found.error.structure == pytest.approx(math.sqrt(2.0) * left, rel=1e-6)


def test_a_place_beyond_the_calibrated_codes_is_as_uncertain_as_a_reading_there() -> None:
    base = replace(record(swept()), domain=(0.0, 2000.0))
    inside, outside = (
        move_zero(
            base,
            PlaceReading(at=q, within=0.001, codes=(q / SLOPE,), side=1),
            in_use=base,
            ends=ENDS,
            known=STILL,
        ).error.reference
        for q in (2.0, 2.5)
    )
    # 500 codes beyond, twice the slope's 1e-6 each: a half-width of 0.001, half of that as u.
    assert outside == pytest.approx(math.hypot(inside, 0.0005), rel=1e-9)


def test_two_positions_are_too_few_to_say_what_a_reading_is_worth() -> None:
    base = record([CalibrationPoint(reference=q, raw=q / SLOPE) for q in (0.0, 1.0)])
    with pytest.raises(DataError) as caught:
        move_zero(base, PlaceReading(at=0.0, within=0.0, codes=(0.0,)), in_use=base, ends=ENDS, known=STILL)
    assert str(caught.value) == (
        "zero: calibration 2026-05-12-1 has 2 positions, 3 or more are needed to say what a reading is "
        "worth. Calibrate at 5 positions or more."
    )


@pytest.mark.slow
def test_the_stated_move_holds_the_true_one_in_95_of_100(long: bool) -> None:
    """Drawn at random: a mark off by a rectangular error, noisy rounded readings, a base off by its own u."""
    rng, trials, held = np.random.default_rng(5), 4000 if long else 400, 0
    base = record(swept(noise=2.0))
    for _ in range(trials):
        truth = rng.uniform(-0.02, 0.02)
        start = record(base.points, offset=rng.normal(0.0, 0.002))  # 5e-6 - 2e-6 + 1e-6 is 0.002 squared
        at = 1.0 + rng.uniform(-0.004, 0.004)
        codes = tuple(np.rint((at + truth) / SLOPE + rng.normal(0.0, 2.0, 5)))
        place = PlaceReading(at=1.0, within=0.004 / math.sqrt(3.0), codes=codes, side=1)
        found = move_zero(base, place, in_use=start, ends=ENDS, known=STILL)
        held += abs(found.moved - truth) <= found.moved_95
    assert 0.93 <= held / trials <= 0.985


def drawn(rng: np.random.Generator, *, noise: float, readings: int) -> CalibrationRecord:
    """A calibration of a straight sensor at nine places up and down, as `calibrate` makes it of them."""
    points, up = [], np.linspace(0.0, 2.0, 9)
    for q, side in [*((q, 1) for q in up), *((q, -1) for q in up[::-1])]:
        rows = np.rint(q / SLOPE + noise * rng.standard_normal(readings))
        spread = float(rows.std(ddof=1)) if readings > 1 else None
        points.append(
            CalibrationPoint(
                reference=q, raw=float(rows.mean()), readings=readings, raw_sd=spread, approach=side
            )
        )
    error = fit_curve(points, known=Known(reference=ReferenceUncertainty(), noise=noise)).error
    offset, slope = error.fitted.values
    (first, both), (_, second) = error.covariance.tolist()
    made = replace(record(points), offset=float(offset), slope=float(slope))
    return replace(made, covariance=((first, both), (both, second)))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("readings", "at_place", "told"), [(1, 1, True), (1, 3, True), (1, 1, False), (4, 1, False)]
)
def test_move_and_reading_hold_their_share_where_little_was_repeated(
    long: bool, readings: int, at_place: int, told: bool
) -> None:
    """One reading a point and one at the place, of 3 counts of noise, told by the rig file or not."""
    rng, trials, held = np.random.default_rng(6), 1500 if long else 200, {"move": 0, "reading": 0}
    for _ in range(trials):
        base = drawn(rng, noise=3.0, readings=readings)
        truth = rng.uniform(-0.02, 0.02)
        codes = tuple(np.rint((1.0 + truth) / SLOPE + 3.0 * rng.standard_normal(at_place)).tolist())
        found = move_zero(
            base,
            PlaceReading(at=1.0, within=0.0, codes=codes, side=1),
            in_use=base,
            ends=ENDS,
            known=Conditions(noise=3.0 if told else 0.0),
        )
        held["move"] += abs(found.moved - truth) <= found.moved_95
        at = rng.uniform(0.0, 2.0)
        code = float(np.rint((at + truth) / SLOPE + 3.0 * rng.standard_normal()))
        held["reading"] += abs(found.offset + found.slope * code - at) <= found.error.half_width_95
    for name, count in held.items():
        assert 0.92 <= count / trials <= 0.99, name


def test_noise_of_the_rig_file_serves_where_nothing_was_repeated() -> None:
    points = [replace(point, readings=1, raw_sd=None) for point in swept()]
    base, place = record(points), PlaceReading(at=0.5, within=0.0, codes=(500.0,), side=1)
    quiet, noisy = (
        move_zero(base, place, in_use=base, ends=ENDS, known=Conditions(noise=noise)).error
        for noise in (0.0, 3.0)
    )
    one = SLOPE * math.hypot(3.0, 1.0 / math.sqrt(12.0))
    assert noisy.noise == noisy.zero_noise == pytest.approx(one)
    assert quiet.noise == pytest.approx(SLOPE / math.sqrt(12.0))


def test_readings_that_are_surely_restless_count_by_their_own_few_degrees() -> None:
    base = record(swept(noise=1.0))
    calm, restless = (
        move_zero(
            base, PlaceReading(at=0.5, within=0.0, codes=codes, side=1), in_use=base, ends=ENDS, known=STILL
        ).error
        for codes in ((499.0, 500.0, 501.0), (490.0, 500.0, 510.0))
    )
    assert calm.noise_dof == 54  # 18 points of 4 readings
    assert restless.noise_dof == 2
    assert restless.noise == pytest.approx(SLOPE * math.hypot(10.0, 12**-0.5))
    # The noise of a reading and of the mean of three are one number: hardly more than its 2 degrees.
    assert restless.dof == pytest.approx(2.0, rel=0.05)


def test_what_the_record_knows_of_its_curve_goes_before_its_points() -> None:
    behind = RecordError(dof=3.0, structure=0.004, structure_dof=5)
    base, place = record(swept()), PlaceReading(at=0.5, within=0.0, codes=(500.0,), side=1)
    plain, told = (
        move_zero(each, place, in_use=each, ends=ENDS, known=STILL)
        for each in (base, replace(base, error=behind))
    )
    assert plain.error.structure == 0.0
    assert plain.error.fit_dof == 16  # 18 points less 2 of a line
    assert told.error.structure == pytest.approx(0.004 * math.sqrt(2.0))
    assert told.error.structure_dof == 5
    assert told.error.fit_dof == 3
    assert (told.behind.structure, told.behind.structure_dof, told.behind.reference) == (0.004, 5, None)


@pytest.mark.parametrize(
    ("codes", "noise", "still"),
    [([5.0], 0.0, True), ([5.0, 6.0], 0.0, True), ([5.0, 7.0], 0.0, False), ([0.0, 13.0], 2.0, True)],
)
def test_readings_at_rest_spread_no_more_than_noise_and_one_count(
    codes: list[float], noise: float, still: bool
) -> None:
    assert steady(codes, noise=noise) is still
