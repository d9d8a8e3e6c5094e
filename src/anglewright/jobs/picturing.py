"""What is drawn of a calibration, new or kept: points, curve, loop, and the history of its axis."""

from collections.abc import Sequence

import numpy as np

from anglewright.calibration.line import fit_line
from anglewright.calibration.pairing import places, runs
from anglewright.calibration.points import CalibrationPoint
from anglewright.jobs.history import history, history_plot
from anglewright.links.code import CodeLine
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.report.document import Loop, Point, Side
from anglewright.report.history import HistoryPlot
from anglewright.rig import Axis, Rig

NOUGHT = 1e-9  # of the permissible error: what is smaller came of rounding and is shown as 0 [1]
ALONG = 97  # places along a curve that is drawn [1]
SIDES: dict[int, Side] = {1: 1, -1: -1}
NO_LOOP = (
    "No place was reached from both sides, so going up and coming down cannot be held against each other."
)


def seen(value: float, axis: Axis) -> float:
    """A length or angle, nought where nothing but rounding is left of it. [m or rad]"""
    return value if abs(value) >= NOUGHT * axis.permissible else 0.0


def residuals_of(axis: Axis, line: CodeLine, points: Sequence[CalibrationPoint]) -> Array:
    """Reading less reference of each point; on an axis without ends the short way round. [m or rad]"""
    return np.array([axis.apart(float(line.forward(p.raw)) - p.reference) for p in points])


def drawn_points(axis: Axis, line: CodeLine, points: Sequence[CalibrationPoint]) -> tuple[Point, ...]:
    """The points as a plot has them, in the unit of the axis."""
    off = residuals_of(axis, line, points)
    size, unit = axis.unit.size, axis.unit
    return tuple(
        Point(
            position=unit.from_si(point.reference),
            residual=seen(float(residual), axis) / size,
            side=SIDES.get(point.approach, 0),
            raw=point.raw,
        )
        for point, residual in zip(points, off, strict=True)
    )


def drawn_curve(
    axis: Axis, line: CodeLine, points: Sequence[CalibrationPoint]
) -> tuple[tuple[float, float], ...]:
    """Readings and positions along the curve, as far as the points go. [count, unit of the axis]"""
    raws = [point.raw for point in points]
    codes = np.linspace(min(raws), max(raws), ALONG)
    if codes[0] == codes[-1]:
        return ()
    return tuple((float(n), axis.unit.from_si(float(line.forward(float(n))))) for n in codes)


def drawn_loop(axis: Axis, points: Sequence[CalibrationPoint]) -> Loop | None:
    """Departures from the straight line through the points, going up and coming down.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit.
    points : sequence of CalibrationPoint
        Points in the order in which they were taken. [count, m or rad]

    Returns
    -------
    Loop or None
        Both ways by rising position, several runs as their mean; None where fewer than two places were
        reached from both sides. [unit of the axis]

    Notes
    -----
    The straight line of least squares of position over reading: what is bent shows as a bow of both ways,
    play and hysteresis as the gap between them.

    References
    ----------
    cfr3175
    """
    if len({point.raw for point in points}) < 2:
        return None
    raw = np.array([point.raw for point in points])
    reference = np.array([point.reference for point in points])
    found, line = places(points), fit_line(raw, reference)
    off = line.offset + line.slope * raw - reference
    up, down = (_means(way) for way in runs(found, off))
    where = np.array([np.mean(reference[list(place.members)]) for place in found])
    both = np.isfinite(up) & np.isfinite(down)
    if np.count_nonzero(both) < 2:
        return None
    gap = np.where(both, down - up, 0.0)
    worst = int(np.argmax(np.abs(gap)))
    return Loop(
        up=_way(axis, where, up), down=_way(axis, where, down), gap_text=_gap(axis, where[worst], gap[worst])
    )


def _means(way: Array) -> Array:
    """Mean over the runs at each place; nan where none came there. [m or rad]"""
    known = np.isfinite(way)
    count = np.count_nonzero(known, axis=0)
    total = np.where(known, way, 0.0).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _way(axis: Axis, where: Array, off: Array) -> tuple[tuple[float, float], ...]:
    unit, there = axis.unit, np.isfinite(off)
    return tuple(
        (unit.from_si(float(q)), unit.difference_from_si(seen(float(e), axis)))
        for q, e in zip(where[there], off[there], strict=True)
    )


def _gap(axis: Axis, where: float, gap: float) -> str:
    """The widest place of the loop, in words."""
    if not seen(gap, axis):
        return "Going up and coming down read the same."
    side = "more" if gap > 0.0 else "less"
    size = show(abs(gap), axis.unit, digits=2)
    return f"Widest at {show(where, axis.unit, digits=4)}: coming down reads {size} {side} than going up."


def drawn_history(rig: Rig, axis: Axis) -> HistoryPlot | None:
    """The zero over the days; None before a second record or a line of the diary is there."""
    found = history(rig, axis.name)
    if not found.entries or len(found.entries) + len(found.diary) < 2:
        return None
    return history_plot(rig, found)
