"""Motions of a run: how the axis moves over time, and at which moments a row of the log is written."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.angles import TURN
from anglewright.errors import Problem, UsageError, nearest
from anglewright.links.protocol import Array
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS, Kind, Unit
from anglewright.rig import Axis
from anglewright.simulation.motions import BENCH_SPEED, USUAL_TIME_S, Visits, places_up_and_down, visit

READING_S = 0.01  # between readings at one place of the plan [s]
USUAL_RATE_HZ = 100.0  # rows of a log [Hz]
MOST_ROWS = 1_000_000  # of one log [1]
_FINE_S = 0.001  # between samples of the path, between which the shaft is taken as moving straight [s]
_MOST_SAMPLES = 300_000  # of a path, unless its rows are more [1]
_HOLD_S = 10.0  # of a hold where no time is given [s]
_MOVING = 0.8  # share of a trapezoid's stroke in which the axis moves; it rests for what is left [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Path:
    """A path, and the rows that are written on it.

    `t` (N,) [s], `q` (N,) [m or rad]; of each row the sample `index` (R,), the time `stamp` (R,) [s], the
    side of `approach` (R,) and the `look` at the reference (R,), counted from 0.
    """

    t: Array
    q: Array
    index: NDArray[np.intp]
    stamp: Array
    approach: tuple[int, ...]
    look: NDArray[np.intp]

    @property
    def end_s(self) -> float:
        """Time of the last row. [s]"""
        return float(self.stamp[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A motion asked for: its kind, and what was given of it; None takes what is usual. [SI]

    `track` is a path from a file: times [s] and positions [m or rad].
    """

    kind: str
    seconds: float | None = None
    rate_hz: float = USUAL_RATE_HZ
    amplitude: float | None = None
    frequency_hz: float | None = None
    at: float | None = None
    track: tuple[tuple[float, ...], tuple[float, ...]] | None = None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Course:
    """Position by time, how long it usually lasts [s] and its highest speed. [m/s or rad/s]"""

    place: Callable[[Array], Array]
    lasts_s: float
    speed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MotionKind:
    """A kind of motion: its meaning, the options it takes, how it is made."""

    meaning: str
    takes: tuple[str, ...]
    course: Callable[[Axis, Motion], Course]


def plan_path(axis: Axis) -> Path:
    """The places of the calibration plan, up and down, read at the end of each rest."""
    visits = visit(axis, places_up_and_down(axis, both_sides=axis.plan.both_sides))
    return _read_at_rest(visits, repeats=axis.plan.readings)


def _read_at_rest(visits: Visits, *, repeats: int) -> Path:
    places = len(visits.index)
    late = np.arange(repeats * places) * READING_S  # the axis waits until a place has been read
    return Path(
        t=visits.t,
        q=visits.q,
        index=np.repeat(visits.index, repeats),
        stamp=np.repeat(visits.t[list(visits.index)], repeats) + late,
        approach=tuple(int(side) for side in np.repeat(visits.approach, repeats)),
        look=np.repeat(np.arange(places), repeats),
    )


def run_path(axis: Axis, motion: Motion) -> Path:
    """A motion of an axis, logged at a rate.

    Parameters
    ----------
    axis : Axis
        The axis whose stops and top speed bound the motion.
    motion : Motion
        What was asked for.

    Returns
    -------
    Path
        Samples and rows.

    Raises
    ------
    UsageError
        There is no such motion, it takes no part of what was given, it is faster than the axis, or leads
        beyond its stops.
    """
    if motion.kind not in MOTIONS:
        found = f"there is no motion '{motion.kind}'"
        raise UsageError(Problem("--motion", found, "", nearest(motion.kind, ["plan", *MOTIONS])))
    _refuse_unused(motion)
    course = MOTIONS[motion.kind].course(axis, motion)
    _refuse_too_fast(axis, motion, course)
    seconds = course.lasts_s if motion.seconds is None else motion.seconds
    path = _logged(course, seconds=seconds, rate_hz=motion.rate_hz)
    _refuse_beyond_stops(axis, motion, path)
    return path


def _refuse_unused(motion: Motion) -> None:
    given = {
        "seconds": motion.seconds,
        "amplitude": motion.amplitude,
        "frequency": motion.frequency_hz,
        "at": motion.at,
    }
    takes = MOTIONS[motion.kind].takes
    unused = [name for name, value in given.items() if value is not None and name not in takes]
    if unused:
        found = f"it plays no part in the motion '{motion.kind}'"
        raise UsageError(Problem(f"--{name}", found, "", "Leave it out.") for name in unused)


def _speed_unit(unit: Unit) -> Unit:
    usual = "deg/s" if unit.kind is Kind.ANGLE else "m/s"
    return UNITS.get(f"{unit.name}/s", UNITS[usual])


def _refuse_too_fast(axis: Axis, motion: Motion, course: Course) -> None:
    top = axis.motion.speed.nominal if axis.motion.speed else np.inf
    if course.speed <= top * (1.0 + 1e-9):
        return
    unit = _speed_unit(axis.unit)
    found = f"the motion '{motion.kind}' reaches {show(course.speed, unit, digits=3)}"
    remedy = "Slow the file down."
    if motion.frequency_hz is not None:
        most = show(motion.frequency_hz * top / course.speed, UNITS["Hz"], digits=3)
        remedy = f"Take a frequency of at most {most}, or a smaller amplitude."
    raise UsageError(Problem(f"axis '{axis.name}'", found, f"it moves at {show(top, unit)} at most", remedy))


def _refuse_beyond_stops(axis: Axis, motion: Motion, path: Path) -> None:
    low, high, slack = axis.stops.low, axis.stops.high, 1e-9
    if axis.motion.endless or (path.q.min() >= low - slack and path.q.max() <= high + slack):
        return
    beyond = float(path.q.min() if path.q.min() < low - slack else path.q.max())
    found = f"the motion '{motion.kind}' leads to {show(beyond, axis.unit)}"
    limit = f"its stops are at {show(low, axis.unit)} and {show(high, axis.unit)}"
    raise UsageError(
        Problem(f"axis '{axis.name}'", found, limit, "Take a smaller amplitude, or another place.")
    )


def _logged(course: Course, *, seconds: float, rate_hz: float) -> Path:
    """Rows at a rate, with finer samples between them."""
    rows = int(np.floor(seconds * rate_hz + 1e-9)) + 1
    if rows > MOST_ROWS:
        found = f"{show(seconds, UNITS['s'])} at {show(rate_hz, UNITS['Hz'])} are {rows} rows"
        raise UsageError(Problem("simulate", found, f"a log has {MOST_ROWS} at most", "Take fewer seconds."))
    between = max(1, min(int(np.ceil(1.0 / (rate_hz * _FINE_S) - 1e-9)), _MOST_SAMPLES // rows))
    t = np.arange((rows - 1) * between + 1) / (rate_hz * between)
    q = np.asarray(course.place(t), dtype=np.float64)
    index = np.arange(rows) * between
    sides = _sides(q)[index]
    return Path(
        t=t,
        q=q,
        index=index,
        stamp=t[index],
        approach=tuple(int(side) for side in sides),
        look=np.arange(rows),
    )


def _sides(q: Array) -> NDArray[np.int64]:
    """Which way the axis went last, at each sample; 0 before it has moved."""
    way = np.sign(np.diff(q, prepend=q[:1])).astype(np.int64)
    last = np.maximum.accumulate(np.where(way != 0, np.arange(len(q)), 0))
    return np.asarray(way[last])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Swing:
    """Middle, amplitude [m or rad] and frequency [Hz] of a motion to and fro; its top speed by them."""

    middle: float
    amplitude: float
    frequency_hz: float
    steep: float

    @property
    def speed(self) -> float:
        return self.steep * self.amplitude * self.frequency_hz


def _swing(axis: Axis, motion: Motion, *, steep: float) -> _Swing:
    """What was given, and where nothing was, the whole range at a quarter of the top speed."""
    low, high = axis.motion.low, axis.motion.high
    middle = (low + high) / 2.0 if motion.at is None else motion.at
    room = min(middle - low, high - middle)
    amplitude = max(room, 0.0) if motion.amplitude is None else motion.amplitude
    top = axis.motion.speed.nominal if axis.motion.speed else (high - low) / USUAL_TIME_S
    usual = BENCH_SPEED * top / (steep * amplitude) if amplitude > 0.0 else 1.0
    frequency = usual if motion.frequency_hz is None else motion.frequency_hz
    return _Swing(middle=middle, amplitude=amplitude, frequency_hz=frequency, steep=steep)


def _to_and_fro(swing: _Swing, wave: Callable[[Array], Array]) -> Course:
    """A wave from -1 to 1 over one period, which is 1 long."""
    return Course(
        place=lambda t: swing.middle + swing.amplitude * wave(np.mod(t * swing.frequency_hz, 1.0)),
        lasts_s=1.0 / swing.frequency_hz,
        speed=swing.speed,
    )


def _sweep(axis: Axis, motion: Motion) -> Course:
    return _to_and_fro(_swing(axis, motion, steep=4.0), lambda x: 1.0 - np.abs(4.0 * x - 2.0))


def stroke(x: Array) -> Array:
    """Share of a stroke that is done: a third of it gains speed, a third is steady, a third slows.

    Parameters
    ----------
    x : array
        Share of the stroke's time. [1]

    Returns
    -------
    array
        Share of its way. [1]

    References
    ----------
    derived

    Examples
    --------
    The steady third is half of the way, at one and a half times the mean speed:

    >>> [round(float(each), 3) for each in stroke(np.array([1 / 3, 0.5, 2 / 3, 1.0]))]
    [0.25, 0.5, 0.75, 1.0]
    """
    x = np.clip(x, 0.0, 1.0)
    middle = 0.25 + 1.5 * (x - 1.0 / 3.0)
    return np.asarray(
        np.select([x < 1.0 / 3.0, x <= 2.0 / 3.0], [2.25 * x**2, middle], 1.0 - 2.25 * (1.0 - x) ** 2)
    )


def _trapezoid(axis: Axis, motion: Motion) -> Course:
    def wave(x: Array) -> Array:
        gone = stroke(np.mod(2.0 * x, 1.0) / _MOVING)
        return np.where(x < 0.5, 2.0 * gone - 1.0, 1.0 - 2.0 * gone)

    return _to_and_fro(_swing(axis, motion, steep=6.0 / _MOVING), wave)


def _sine(axis: Axis, motion: Motion) -> Course:
    return _to_and_fro(_swing(axis, motion, steep=TURN), lambda x: np.sin(TURN * x))


def _through(axis: Axis, places: tuple[float, ...]) -> Course:
    """From place to place at bench speed, with a rest at each."""
    visits = visit(axis, tuple((place, 1) for place in (places[0], *places)))
    speeds = np.abs(np.diff(visits.q)) / np.diff(visits.t)
    return Course(
        place=lambda t: np.interp(t, visits.t, visits.q),
        lasts_s=float(visits.t[-1]),
        speed=float(speeds.max(initial=0.0)),
    )


def _steps(axis: Axis, motion: Motion) -> Course:
    swing = _swing(axis, motion, steep=4.0)
    up = np.linspace(swing.middle - swing.amplitude, swing.middle + swing.amplitude, axis.plan.points)
    return _through(axis, tuple(float(place) for place in (*up, *up[-2::-1])))


def _marks(axis: Axis, motion: Motion) -> Course:
    return _through(axis, tuple(mark.at.nominal for mark in axis.marks.values()))


def _hold(axis: Axis, motion: Motion) -> Course:
    middle = axis.motion.middle if motion.at is None else motion.at
    return Course(place=lambda t: np.full(len(t), middle), lasts_s=_HOLD_S, speed=0.0)


def _file(axis: Axis, motion: Motion) -> Course:
    assert motion.track is not None
    times, places = (np.array(each) for each in motion.track)
    speeds = np.abs(np.diff(places)) / np.diff(times)
    return Course(
        place=lambda t: np.interp(t + times[0], times, places),
        lasts_s=float(times[-1] - times[0]),
        speed=float(speeds.max(initial=0.0)),
    )


_TO_AND_FRO = ("seconds", "amplitude", "frequency", "at")

MOTIONS: Mapping[str, MotionKind] = {
    "sweep": MotionKind(meaning="there and back at a steady speed", takes=_TO_AND_FRO, course=_sweep),
    "trapezoid": MotionKind(
        meaning="from end to end, gaining speed, steady, slowing, then a rest",
        takes=_TO_AND_FRO,
        course=_trapezoid,
    ),
    "sine": MotionKind(meaning="to and fro as a sine", takes=_TO_AND_FRO, course=_sine),
    "steps": MotionKind(
        meaning="through the plan's places, up and down, with a rest at each",
        takes=("seconds", "amplitude", "at"),
        course=_steps,
    ),
    "hold": MotionKind(meaning="at rest at one place", takes=("seconds", "at"), course=_hold),
    "marks": MotionKind(meaning="from mark to mark, with a rest at each", takes=("seconds",), course=_marks),
    "file": MotionKind(
        meaning="as a file says, time and position in a row", takes=("seconds",), course=_file
    ),
}
"""Motions beside the plan's own, by name."""
