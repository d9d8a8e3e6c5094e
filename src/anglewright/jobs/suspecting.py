"""The points of a calibration before any line is drawn through them: findings."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import nearest_turn
from anglewright.budget.band import step_size
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.calibration.checks import suspicions
from anglewright.calibration.layout import Expectation, Layout
from anglewright.calibration.outliers import SCALE
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.spacing import coarse_readings
from anglewright.calibration.suspicion import Suspicion
from anglewright.calibration.uncertainty import A_COUNT
from anglewright.calibration.verdict import TIMES_BETTER
from anglewright.findings import Finding, Severity
from anglewright.harmonics import UnknownWaves
from anglewright.jobs.benchpoints import left_by_steps, reference_of
from anglewright.jobs.suspected import BETTER_REFERENCE, WORDS, Bench
from anglewright.recording import Recording
from anglewright.rig import Axis, at_nominal, code_of_raw, code_period, datasheet_line, nudged, realise
from anglewright.tables.sheet import Sheet

Array = NDArray[np.float64]

FEWEST_BESIDE = 3  # readings of a point, from which one may be called odd [1]
SURELY_ODD = 10.0  # times the usual noise, from which a reading is odd [1]
FEWEST_COUNTS = 5.0  # at least, whatever the noise [count]
WORTH_A_LINE = 0.1  # of the permissible error, that it must move the mean of its point [1]
MOST_ODD = 3  # such readings; more are no slips of the pen [1]
SHAPE_REACH = 4.0  # standard deviations of an unknown shape that count as its limit [1]
SHAPE_LIKELY = 2.0  # standard deviations of an unknown shape within which it mostly stays [1]


def checked(
    axis: Axis, points: Sequence[CalibrationPoint], *, sheet: Sheet | None = None
) -> tuple[Finding, ...]:
    """Findings about the points of a calibration, before any curve is drawn through them.

    Parameters
    ----------
    axis : Axis
        The axis.
    points : sequence of CalibrationPoint
        Points in the order in which they were taken, in their turns.
    sheet : Sheet, optional
        The rows that they came from, to look at single readings, and the marks that were named in it.

    Returns
    -------
    tuple of Finding
        The gross faults first.
    """
    positions = np.array([point.reference for point in points])
    expected = expected_codes(axis, positions)
    named = () if sheet is None else sheet.named
    layout = Layout(points, expected, expectation_of(axis, positions, expected, named=named))
    bench = Bench(axis=axis, layout=layout, points=points)
    rows = [] if sheet is None else _readings(axis, points, sheet.recording)
    found = [_finding(each, bench) for each in suspicions(layout, readings=[each for _, each in rows])]
    odd = [] if sheet is None else _odd_readings(bench, rows, sheet)
    return (*found, *odd, *_coarse(bench))


def expected_codes(axis: Axis, positions: Array) -> Array:
    """Codes, not rounded, that the nominal chain gives at positions, without the wrap. [count]

    Where it would clip, and on an axis without ends, those of the line of the data sheet.
    """
    line = datasheet_line(axis)
    straight = np.asarray(line.backward(positions), dtype=float)
    if axis.motion.endless:
        return straight
    codes = axis.codes
    chain = np.asarray(realise(axis, at_nominal).unrounded().forward(positions), dtype=float)
    period = code_period(axis, codes, line)
    if period is not None:
        return np.asarray(nearest_turn(chain, straight, period=period))
    inside = np.isfinite(chain) & (chain > codes.low + 1.0) & (chain < codes.high - 1.0)
    return chain if inside.all() else straight


def expectation_of(
    axis: Axis, positions: Array, expected: Array, *, named: tuple[str, ...] = ()
) -> Expectation:
    """What plan and data sheet say of the points of an axis. [m or rad, count]"""
    run = float(np.ptp(expected))
    line = datasheet_line(axis)
    size = math.copysign(float(np.ptp(positions)) / run, line.slope) if run else line.slope
    period = code_period(axis, axis.codes, line)
    itself, spreads = (0.0, 0.0) if axis.motion.endless else bends(axis)
    return Expectation(
        codes=axis.codes if period is None else replace(axis.codes, ends_valid=True),
        size=size,
        need=axis.permissible,
        low=axis.motion.low,
        high=axis.motion.high,
        reference=reference_of(axis, named=named),
        steps=left_by_steps(axis),
        period=period,
        endless=axis.motion.endless,
        waves=_waves(axis, size),
        exact=None if axis.codes.period is None else slope_spread(axis),
        bend=spreads,
        bow=itself + spreads,
        zero=budget_axis(axis).of(State.DATASHEET).half_width_95,
    )


def _waves(axis: Axis, size: float) -> float:
    """Largest departure that comes round with the sensor by its data sheet, at the axis. [m or rad]"""
    limits = [number.variate.limit for number in axis.numbers if isinstance(number.variate, UnknownWaves)]
    period = code_period(axis, axis.codes, datasheet_line(axis))
    return 0.0 if period is None else sum(limits) / (2.0 * math.pi) * period * abs(size)


def slope_spread(axis: Axis) -> float:
    """How far the spreads of the parts may turn the slope off the data sheet's, all at their limits. [1]

    A track of unknown shape counts with 4 standard deviations of what it does to the slope.
    """
    ends, spread = axis.positions(2), 0.0
    usual = _slope(axis, ends, "", None)
    for number in axis.numbers:
        if number.variate.is_exact:
            continue
        if np.ndim(number.variate.mean) == 0:
            slopes = [_slope(axis, ends, number.key, limit) for limit in number.variate.limits]
            spread += max(abs(slope / usual - 1.0) for slope in slopes)
        else:
            slopes = [_slope(axis, ends, number.key, high) for _, high in number.variate.nudges]
            spread += SHAPE_REACH * math.hypot(*(slope / usual - 1.0 for slope in slopes))
    return spread


def bends(axis: Axis) -> tuple[float, float]:
    """What bends the reading at mid-travel off the line through both ends of the motion. [m or rad]

    First what the nominal parts do, then what their spreads may do as well: the root of the squares of their
    limits, of an unknown shape 2 standard deviations of it, which is about 95 %.
    """
    usual = _bow(axis, "", None)
    spreads = []
    for number in axis.numbers:
        if number.variate.is_exact:
            continue
        if np.ndim(number.variate.mean) == 0:
            spreads.append(max(abs(_bow(axis, number.key, end) - usual) for end in number.variate.limits))
        else:
            shapes = [_bow(axis, number.key, high) - usual for _, high in number.variate.nudges]
            spreads.append(SHAPE_LIKELY * math.hypot(*shapes))
    return abs(usual), math.hypot(*spreads)


def _bow(axis: Axis, key: str, value: Any) -> float:
    """How far mid-travel reads off the line through both ends, with one number at a value. [m or rad]"""
    places = axis.positions(3)
    line = datasheet_line(axis)
    codes = np.asarray(realise(axis, nudged(key, value)).unrounded().forward(places), dtype=float)
    period = code_period(axis, axis.codes, line)
    if period is not None:
        codes = np.asarray(nearest_turn(codes, np.asarray(line.backward(places)), period=period))
    low, middle, high = codes.tolist()
    run = high - low
    return (middle - (low + high) / 2.0) / run * float(np.ptp(places)) if run else 0.0


def _slope(axis: Axis, ends: Array, key: str, value: Any) -> float:
    """Codes over the motion with one number at a value. [count]"""
    codes = np.asarray(realise(axis, nudged(key, value)).unrounded().forward(ends))
    return float(codes[1] - codes[0])


def _readings(
    axis: Axis, points: Sequence[CalibrationPoint], recording: Recording
) -> list[tuple[CalibrationPoint, Array]]:
    """Each point that has several readings, and all of them around its mean. [count]"""
    raw = np.asarray(code_of_raw(axis, recording.raw), dtype=float)
    rows = [(point, raw[point.row : point.row + point.readings]) for point in points if point.readings > 1]
    period = code_period(axis, axis.codes, datasheet_line(axis))
    if period is None:
        return rows
    return [(point, np.asarray(nearest_turn(each, point.raw, period=period))) for point, each in rows]


def _odd_readings(
    bench: Bench, rows: Sequence[tuple[CalibrationPoint, Array]], sheet: Sheet
) -> list[Finding]:
    """Single readings far off the others of their point, by more than ten times the usual noise."""
    many = [(point, each) for point, each in rows if len(each) >= FEWEST_BESIDE]
    if not many or not math.isfinite(bench.layout.count_size):
        return []
    away = [each - np.median(each) for _, each in many]
    limit = max(SURELY_ODD * SCALE * float(np.median(np.abs(np.concatenate(away)))), FEWEST_COUNTS)
    limit += step_size(bench.axis, bench.axis.motion.middle) - A_COUNT
    found = []
    for (point, each), off in zip(many, away, strict=True):
        size = np.abs(off) * bench.layout.count_size
        worth = size / len(each) > WORTH_A_LINE * bench.axis.permissible
        for k in np.flatnonzero(worth & (np.abs(off) > limit)):
            worst, row = float(size[k]), point.row + int(k)
            where = sheet.recording.place(row)
            text = (
                f"{where}: {sheet.recording.raw[row]:.7g} stands {bench.size(worst)} off the {len(each) - 1} "
                "others of its point: mistyped, or a contact that opened for a moment."
            )
            suspicion = Suspicion(
                key="odd-reading",
                severity=Severity.CAUTION,
                measured=worst,
                limit=limit * bench.layout.count_size,
            )
            remedy = f"Look at {where}: mend it or take it out, and calibrate again."
            found.append(_worded(suspicion, bench, text, remedy))
    return found if len(found) <= MOST_ODD else []


def _coarse(bench: Bench) -> list[Finding]:
    """A reference that was read in steps coarser than the need bears."""
    axis, layout = bench.axis, bench.layout
    values = [axis.unit.from_si(float(q)) for q in layout.means(layout.position)]
    need = axis.unit.difference_from_si(axis.permissible)
    step = coarse_readings(values, need=need, scatter=axis.unit.difference_from_si(layout.pair_sd))
    if not step:
        return []
    text = f"All references are whole multiples of {step:g} {axis.unit.name}: it was read no finer."
    suspicion = Suspicion(
        key="coarse-reference",
        severity=Severity.CAUTION,
        measured=_si(axis, step / 2.0),
        limit=axis.permissible / TIMES_BETTER,
    )
    return [_worded(suspicion, bench, text, BETTER_REFERENCE)]


def _si(axis: Axis, difference: float) -> float:
    return difference / axis.unit.difference_from_si(1.0)


def _finding(suspicion: Suspicion, bench: Bench) -> Finding:
    text, remedy = WORDS[suspicion.key](suspicion, bench)
    return _worded(suspicion, bench, text, remedy)


_PLAIN = ("taper", "two-points", "few-points", "backwards", "wrap-inside")


def _worded(suspicion: Suspicion, bench: Bench, text: str, remedy: str) -> Finding:
    unit, plain = bench.axis.unit, suspicion.key in _PLAIN
    shown = (lambda value: value) if plain else unit.difference_from_si
    return Finding(
        key=suspicion.key,
        severity=suspicion.severity,
        axis=bench.axis.name,
        link="calibration",
        text=text,
        remedy=remedy,
        source="practice",
        measured=shown(suspicion.measured),
        limit=shown(suspicion.limit),
        unit="" if plain else unit.name,
    )
