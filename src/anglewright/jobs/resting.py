"""A continuous recording of holds and moves, cut down to its rests."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import TURN
from anglewright.calibration.rests import Rest, find_rests, rest_places
from anglewright.errors import Problem, UsageError
from anglewright.recording import Recording
from anglewright.rig import Axis, code_of_raw, code_period, datasheet_line
from anglewright.tables.sheet import Sheet
from anglewright.tables.wishes import OPTION

PLACES = 5  # with rests, from which a recording is taken as a calibration by rests [1]
MANY = 10  # rows a rest, from which a recording is taken as continuous (common practice, no source) [1]


def rested(axis: Axis, sheet: Sheet, *, wished: bool | None = None) -> Sheet:
    """A sheet with the rests of a continuous recording alone, each row with the side it was reached from.

    A sheet that has no times, or few rows a place, or no rests, stays as it is.

    Parameters
    ----------
    axis : Axis
        The axis.
    sheet : Sheet
        What was read.
    wished : bool, optional
        True asks for rests whatever the sheet looks like, False for none.

    Returns
    -------
    Sheet
        With a sentence about it among its decisions.

    Raises
    ------
    UsageError
        Rests were asked for and there are none.
    """
    recording = sheet.recording
    if wished is False or recording.reference is None or (recording.time_s is None and not wished):
        return sheet
    way = np.unwrap(recording.reference, period=TURN) if axis.motion.endless else recording.reference
    rests = _rests(axis, recording, way)
    if wished and not rests:
        found = f"{recording.source} has no rests: the axis nowhere stands still between two moves"
        remedy = "Leave it out, or hold the axis for 8 rows and a quarter of a second at each place."
        raise UsageError(Problem(f"{OPTION} rests", found, "", remedy))
    kept = sum(rest.end - rest.first for rest in rests)
    few = rest_places(rests, way) < PLACES or kept < MANY * len(rests)
    if not rests or (few and not wished):
        return sheet
    said = (
        f"{len(rests)} rests were found in {len(recording)} rows; {len(recording) - kept} rows of motion and "
        f"settling are left out ({OPTION} rests=no overrules)"
    )
    return replace(sheet, recording=_cut(recording, rests, way), decisions=(*sheet.decisions, said))


def _rests(axis: Axis, recording: Recording, way: NDArray[np.float64]) -> tuple[Rest, ...]:
    period = code_period(axis, axis.codes, datasheet_line(axis))
    codes = np.asarray(code_of_raw(axis, recording.raw), dtype=float)
    return find_rests(way, codes, time_s=recording.time_s, period=period)


def _cut(recording: Recording, rests: tuple[Rest, ...], way: NDArray[np.float64]) -> Recording:
    """The rows of the rests, each at the mean position of its rest; sides that the file states are kept."""
    rows = np.concatenate([np.arange(rest.first, rest.end) for rest in rests])
    counts = [rest.end - rest.first for rest in rests]
    sides = np.repeat(np.array([rest.side for rest in rests], dtype=np.int8), counts)
    places = np.repeat([float(np.mean(way[rest.first : rest.end])) for rest in rests], counts)
    stated = recording.approach
    return Recording(
        raw=recording.raw[rows],
        reference=places,
        time_s=None if recording.time_s is None else recording.time_s[rows],
        approach=sides if stated is None else stated[rows],
        lines=rows + 1 if recording.lines is None else recording.lines[rows],
        source=recording.source,
        raw_meaning=recording.raw_meaning,
        row_word=recording.row_word,
    )
