"""From the rows of a log to calibration points: one a position and side of approach."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import circular_mean, resultant, shortest
from anglewright.errors import DataError, Problem
from anglewright.links.protocol import CodeRange
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.recording import Recording

Array = NDArray[np.float64]

SAME_PLACE = 0.002  # share of the span that still is one position (common practice, no source) [1]
SPREAD_OUT = 0.5  # mean resultant length below which readings point nowhere (common practice, no source) [1]
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
    recording: Recording,
    *,
    unit: Unit,
    codes: CodeRange,
    tolerance: float | None = None,
    period: float | None = None,
    turn: float | None = None,
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
    period : float or None
        After so many codes the reading comes round again; None where it never does. [count]
    turn : float or None
        After how much the reference comes round again, of an axis without ends. [rad]

    Returns
    -------
    tuple of CalibrationPoint
        At least two points, at two different positions or more. [count, rad or m]

    Raises
    ------
    DataError
        No reference, no numbers, fewer than two different positions, raw readings beyond full scale, or
        readings of one position all round the turn.

    Notes
    -----
    The mean of readings that come round again is taken the short way round from their mean direction:
    16383 and 1 of a 14-bit sensor make 0, never 8192.

    Where the recording has no approach it is derived from the order: a point above the one before it was
    reached going up. The first point has none, nor has a turning point with more than one and a half
    times the usual number of rows (the way up and the way down may be mixed in it), nor one that lies less
    than a third of the usual step from the one before.

    References
    ----------
    practice, mardia-jupp

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
    around = _Around(period=period, turn=turn)
    groups = _groups(recording, reference, near, turn)
    _hold_together(recording, groups, period)
    sides = _sides(recording, [around.position(reference[rows]) for rows in groups], groups, turn)
    return tuple(_point(recording, around, rows, side) for rows, side in zip(groups, sides, strict=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Around:
    """After how much readings and positions come round again; None where they never do."""

    period: float | None
    turn: float | None

    def position(self, values: Array) -> float:
        """Mean position of some rows. [rad or m]"""
        return _mean(values, self.turn)

    def departures(self, raw: Array) -> tuple[float, Array]:
        """Mean reading, and what each reading lies off it. [count]"""
        mean = _mean(raw, self.period)
        away = raw - mean
        return mean, away if self.period is None else np.asarray(shortest(away, period=self.period))


def _mean(values: Array, period: float | None) -> float:
    """The mean; of what comes round again, the short way round, in the turn of the first value."""
    if period is None:
        return float(np.mean(values))
    centre = circular_mean(values, period=period)
    mean = centre + float(np.mean(shortest(values - centre, period=period)))
    return float(values[0] + shortest(mean - values[0], period=period))


def _hold_together(recording: Recording, groups: list[NDArray[np.int64]], period: float | None) -> None:
    """Refuse readings of one position that lie all round the turn.

    Raises
    ------
    DataError
        They do.
    """
    if period is None:
        return
    scattered = [rows for rows in groups if resultant(recording.raw[rows], period=period) < SPREAD_OUT]
    remedy = "Look for a magnet that is missing or too far, an open input, or an axis that turned meanwhile."
    problems = [
        Problem(
            recording.place(int(rows[0])),
            f"the {len(rows)} readings from here on are of one position and lie all round the turn",
            "and their mean means nothing",
            remedy,
        )
        for rows in scattered
    ]
    if problems:
        raise DataError(_shortened(problems, recording))


def _reference(recording: Recording) -> Array:
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


def _one_place(recording: Recording, reference: Array, unit: Unit) -> Problem:
    place, count = show(float(np.mean(reference)), unit), len(recording)
    taken = "the one reading was" if count == 1 else f"all {count} readings were"
    return Problem(
        recording.source,
        f"{taken} taken at one position, {place}",
        "and a line needs two different ones",
        "Take at least 5 positions, better 9, spread over the motion.",
    )


def _groups(
    recording: Recording, reference: Array, near: float, turn: float | None
) -> list[NDArray[np.int64]]:
    """Rows of each point: in sequence, near the first of them, reached from the same side."""
    round_trip = math.inf if turn is None else turn
    places = reference.tolist()
    sides = [0] * len(places) if recording.approach is None else recording.approach.tolist()
    starts, begin = [0], places[0]
    for row in range(1, len(places)):
        away = abs(places[row] - begin)
        if min(away, abs(round_trip - away)) > near or sides[row] != sides[row - 1]:
            starts.append(row)
            begin = places[row]
    return list(np.split(np.arange(len(places)), starts[1:]))


def _sides(
    recording: Recording, positions: list[float], groups: list[NDArray[np.int64]], turn: float | None
) -> list[int]:
    """Side of approach of each point: as recorded, else from the order."""
    if recording.approach is not None:
        return [int(recording.approach[rows[0]]) for rows in groups]
    steps = np.diff(positions) if turn is None else np.asarray(shortest(np.diff(positions), period=turn))
    steps[np.abs(steps) < np.median(np.abs(steps)) / 3] = 0.0
    sides = [0, *np.sign(steps).astype(int).tolist()]
    usual = float(np.median([len(rows) for rows in groups]))
    for k in range(1, len(groups) - 1):
        if len(groups[k]) > 1.5 * usual and sides[k + 1] != sides[k]:
            sides[k] = 0
    return sides


def _point(recording: Recording, around: _Around, rows: NDArray[np.int64], side: int) -> CalibrationPoint:
    mean, departures = around.departures(recording.raw[rows])
    return CalibrationPoint(
        reference=around.position(_reference(recording)[rows]),
        raw=mean,
        readings=len(rows),
        raw_sd=float(np.std(departures, ddof=1)) if len(rows) > 1 else None,
        approach=side,
        row=int(rows[0]),
    )


def at_an_end(raw: Array, codes: CodeRange) -> NDArray[np.bool_]:
    """Which readings stand at an end code that means "at or beyond"."""
    if codes.ends_valid:
        return np.zeros(raw.shape, dtype=bool)
    return np.asarray((raw <= codes.low) | (raw >= codes.high))
