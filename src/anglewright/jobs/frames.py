"""The chain at each position of the slider: the value that leaves each link, and what moves its drawing."""

from collections.abc import Callable

import numpy as np

from anglewright.jobs.lines import LineInUse
from anglewright.jobs.passages import Passage, passages, phases
from anglewright.jobs.strip import drawing_of
from anglewright.links.protocol import Array, LinesPort, Signal
from anglewright.quantities.units import UNITS, Unit
from anglewright.report.document import Frame
from anglewright.rig import Axis

_Said = Callable[[float], str]
_Column = tuple[list[str], list[tuple[float, ...]]]  # a room's values and phases, one at each position


def frames(in_use: LineInUse) -> tuple[Frame, ...]:
    """Every link's value at each position of the slider, nothing left to compute in the page."""
    axis = in_use.axis
    found = passages(axis)
    positions = found[0].goes_in
    reported = np.asarray(axis.reported(in_use.line.forward(found[-1].comes_out)))
    said = _fixed(positions, axis.unit)
    columns = [*(_column(passage) for passage in found), _code(axis, reported)]
    return tuple(
        Frame(
            position=float(q) / axis.unit.size,
            position_text=said(float(q)),
            values=tuple(values[k] for values, _ in columns),
            phases=tuple(moving[k] for _, moving in columns),
        )
        for k, q in enumerate(positions)
    )


def _column(passage: Passage) -> _Column:
    said = _words(passage)
    return [said(value) for value in passage.comes_out.tolist()], _across(
        phases(passage, drawing_of(passage))
    )


def _across(moving: tuple[Array, ...]) -> list[tuple[float, ...]]:
    """The phases at each position."""
    return [tuple(float(each) for each in row) for row in zip(*moving, strict=True)]


def _code(axis: Axis, reported: Array) -> _Column:
    """What the code reports, and its place within the range."""
    motion, said = axis.motion, _fixed(reported, axis.unit)
    place = np.clip((reported - motion.low) / (motion.high - motion.low), 0.0, 1.0)
    return [said(q) for q in reported.tolist()], _across((place,))


def _words(passage: Passage) -> _Said:
    """How the value that leaves a link is said, by the signal that it gives."""
    signal, values = passage.link.gives, passage.comes_out
    if signal is Signal.OUTPUT:
        digits = 3 if isinstance(passage.link.port, LinesPort) else 4
        return lambda value: f"{round(value, digits) + 0.0:.{digits}f}"
    if signal is Signal.VOLTAGE:
        return lambda value: f"{round(value, 4) + 0.0:.4f} V"
    if signal is Signal.CODE:
        return lambda value: f"{value + 0.0:.0f}"
    return _fixed(values, passage.axis.unit if signal is Signal.POSITION else UNITS["deg"])


def _fixed(values: Array, unit: Unit) -> _Said:
    """A way to say each of some values: two decimals, fewer from a thousand on, no minus before a nought."""
    largest = float(np.max(np.abs(values))) / unit.size
    decimals = 2 - (largest >= 1e3) - (largest >= 1e4)
    return lambda value: f"{round(value / unit.size, decimals) + 0.0:.{decimals}f} {unit.name}"
