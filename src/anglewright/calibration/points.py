"""From the rows of a log to calibration points: one a position and side of approach."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.errors import DataError, Problem
from anglewright.links.protocol import CodeRange
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.recording import Recording

SAME_PLACE = 0.002  # share of the span that still is one position (common practice, no source) [1]
_SHOWN = 10  # problems of one kind that are listed before the rest is counted


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationPoint:
    """Mean of the readings taken at one position, reached from one side.

    Parameters
    ----------
    reference : float
        Position by the reference, mean of its rows. [rad or m]
    raw : float
        Mean reading. [count]
    readings : int
        Number of rows behind the means. [1]
    raw_sd : float or None
        Standard deviation of one reading; None where there is only one. [count]
    approach : int
        +1 reached going up, -1 coming down, 0 not known. [1]
    row : int
        First row of the recording that belongs to the point, from 0. [1]
    """

    reference: float
    raw: float
    readings: int = 1
    raw_sd: float | None = None
    approach: int = 0
    row: int = 0


def calibration_points(
    recording: Recording, *, unit: Unit, codes: CodeRange, tolerance: float | None = None
) -> tuple[CalibrationPoint, ...]:
    """Points of a recording, in the order in which they were taken.

    Parameters
    ----------
    recording : Recording
        Rows with a reference. [count, rad or m]
    unit : Unit
        The user's unit of the axis, for messages.
    codes : CodeRange
        The codes that the converter can give; readings beyond them are refused, unless the sensor wraps:
        those were put into their turn before. [count]
    tolerance : float or None
        Rows in sequence whose reference lies this near to the first of them are one point;
        None takes 0.2 % of the span of the references. [rad or m]

    Returns
    -------
    tuple of CalibrationPoint
        At least two points, at two different positions or more. [count, rad or m]

    Raises
    ------
    DataError
        No reference, no numbers, fewer than two different positions, or raw readings beyond full scale.

    Notes
    -----
    Where the recording has no approach it is derived from the order: a point above the one before it was
    reached going up. The first point has none, nor has a turning point with more than one and a half
    times the usual number of rows (the way up and the way down may be mixed in it), nor one that lies less
    than a third of the usual step from the one before.

    References
    ----------
    practice

    Examples
    --------
    Two positions, each read twice, the shaft turning up:

    >>> from anglewright.quantities.units import Kind, unit_named
    >>> log = Recording(raw=[400, 402, 1600, 1600], reference=[0.0, 0.0, 1.0, 1.0])
    >>> [(p.raw, p.readings, p.approach) for p in
    ...  calibration_points(log, unit=unit_named("deg", kinds=Kind.ANGLE), codes=CodeRange.of_bits(12))]
    [(401.0, 2, 0), (1600.0, 2, 1)]
    """
    problems = list(_objections(recording, codes))
    if problems:
        raise DataError(problems)
    reference = _reference(recording)
    near = SAME_PLACE * float(np.ptp(reference)) if tolerance is None else tolerance
    if np.ptp(reference) <= near:
        raise DataError(_one_place(recording, reference, unit))
    groups = _groups(recording, reference, near)
    sides = _sides(recording, reference, groups)
    return tuple(_point(recording, reference, rows, side) for rows, side in zip(groups, sides, strict=True))


def _reference(recording: Recording) -> NDArray[np.float64]:
    """The reference column, which must be there."""
    if recording.reference is None:
        found = "no column holds the reference"
        remedy = "Measure where the axis stood at each reading, and add that column."
        raise DataError(Problem(recording.source, found, remedy=remedy))
    return recording.reference


def _objections(recording: Recording, codes: CodeRange) -> Iterator[Problem]:
    """Everything that is wrong with the numbers themselves."""
    reference, raw = _reference(recording), recording.raw
    whole = np.isfinite(raw) & np.isfinite(reference)
    if not whole.any():
        found = "no row holds both a reference and a reading"
        remedy = "Fill in the sheet, or name the right columns."
        yield Problem(recording.source, found, remedy=remedy)
        return
    holes = [_hole(recording, row) for row in _rows(~whole)]
    outside = (raw < codes.low) | (raw > codes.high)
    beyond = [_beyond(recording, row, codes) for row in _rows(outside) if codes.period is None]
    yield from _shortened(holes, recording)
    yield from _shortened(beyond, recording)


def _rows(where: NDArray[np.bool_]) -> list[int]:
    return [int(row) for row in np.flatnonzero(where)]


def _hole(recording: Recording, row: int) -> Problem:
    missing = "reading" if not math.isfinite(recording.raw[row]) else "reference"
    remedy = "Fill it in or take the row out."
    return Problem(recording.place(row), f"the {missing} is no number", remedy=remedy)


def _beyond(recording: Recording, row: int, codes: CodeRange) -> Problem:
    where, value = f"{recording.place(row)}, column 'raw'", recording.raw[row]
    remedy = "Name another column, or correct converter.bits."
    if value < codes.low:
        return Problem(where, f"{value:.6g} is below {codes.low}", "the lowest reading there is", remedy)
    bits = math.log2(codes.count)
    whose = f"the top code of the {bits:.0f}-bit converter" if bits.is_integer() else "full scale"
    return Problem(where, f"{value:.6g} is above {codes.high}", whose, remedy)


def _shortened(problems: list[Problem], recording: Recording) -> list[Problem]:
    """The first problems of a kind, and how many more there are."""
    more = len(problems) - _SHOWN
    if more <= 0:
        return problems
    return [*problems[:_SHOWN], Problem(recording.source, f"the same holds for {more} more rows")]


def _one_place(recording: Recording, reference: NDArray[np.float64], unit: Unit) -> Problem:
    place = show(float(np.mean(reference)), unit)
    return Problem(
        recording.source,
        f"all {len(recording)} readings were taken at one position, {place}",
        "and a line needs two different ones",
        "Take at least 5 positions, better 9, spread over the motion.",
    )


def _groups(recording: Recording, reference: NDArray[np.float64], near: float) -> list[NDArray[np.int64]]:
    """Rows of each point: in sequence, near the first of them, reached from the same side."""
    starts = [0]
    for row in range(1, len(recording)):
        moved = abs(reference[row] - reference[starts[-1]]) > near
        turned = recording.approach is not None and recording.approach[row] != recording.approach[row - 1]
        if moved or turned:
            starts.append(row)
    return list(np.split(np.arange(len(recording)), starts[1:]))


def _sides(
    recording: Recording, reference: NDArray[np.float64], groups: list[NDArray[np.int64]]
) -> list[int]:
    """Side of approach of each point: as recorded, else from the order."""
    if recording.approach is not None:
        return [int(recording.approach[rows[0]]) for rows in groups]
    steps = np.diff([float(np.mean(reference[rows])) for rows in groups])
    steps[np.abs(steps) < np.median(np.abs(steps)) / 3] = 0.0
    sides = [0, *np.sign(steps).astype(int).tolist()]
    usual = float(np.median([len(rows) for rows in groups]))
    for k in range(1, len(groups) - 1):
        if len(groups[k]) > 1.5 * usual and sides[k + 1] != sides[k]:
            sides[k] = 0
    return sides


def _point(
    recording: Recording, reference: NDArray[np.float64], rows: NDArray[np.int64], side: int
) -> CalibrationPoint:
    raw = recording.raw[rows]
    return CalibrationPoint(
        reference=float(np.mean(reference[rows])),
        raw=float(np.mean(raw)),
        readings=len(rows),
        raw_sd=float(np.std(raw, ddof=1)) if len(rows) > 1 else None,
        approach=side,
        row=int(rows[0]),
    )


def at_an_end(raw: NDArray[np.float64], codes: CodeRange) -> NDArray[np.bool_]:
    """Which readings stand at an end code that means "at or beyond"."""
    if codes.ends_valid:
        return np.zeros(raw.shape, dtype=bool)
    return np.asarray((raw <= codes.low) | (raw >= codes.high))
