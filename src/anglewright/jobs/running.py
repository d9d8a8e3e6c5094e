"""A run as it is asked for, in text: which motion, how long, how often a row; and the path it becomes."""

from dataclasses import dataclass
from pathlib import Path as File

import numpy as np

from anglewright.errors import AnglewrightError, DataError, Problem, UsageError
from anglewright.jobs.expecting import place_named
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.units import Kind, Unit
from anglewright.rig import Axis
from anglewright.simulation.paths import MOTIONS, USUAL_RATE_HZ, Motion, Path, plan_path, run_path

PLAN = "plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of the simulated bench; each value as text, empty for the usual one.

    `motion` is ``plan``, ``sweep``, ``trapezoid``, ``sine``, ``steps``, ``hold``, ``marks``, or a CSV file of
    times and positions. `at` is the middle of the motion, or the place of a hold: a mark or a position.
    Without `reference` the log has no reference column.
    """

    motion: str = PLAN
    seconds: str = ""
    rate: str = ""
    amplitude: str = ""
    frequency: str = ""
    at: str = ""
    reference: bool = True


def path_of(axis: Axis, run: Run) -> Path:
    """The path of a run.

    Parameters
    ----------
    axis : Axis
        The axis that moves.
    run : Run
        What is asked for.

    Returns
    -------
    Path
        Samples and rows.

    Raises
    ------
    UsageError
        What is asked for cannot be read, or cannot be done by this axis.
    DataError
        The file of the motion cannot be read.
    """
    if run.motion != PLAN:
        return run_path(axis, _motion(axis, run))
    for name in ("seconds", "rate", "amplitude", "frequency", "at"):
        if getattr(run, name):
            found = "the readings of the plan are taken at its places, one rest each"
            raise UsageError(
                Problem(f"--{name}", found, "", f"Leave it out, or name a --motion: {_known()}.")
            )
    return plan_path(axis)


def _known() -> str:
    return ", ".join(name for name in MOTIONS if name != "file")


def _motion(axis: Axis, run: Run) -> Motion:
    file = run.motion if run.motion.lower().endswith((".csv", ".txt", ".tsv")) else ""
    length = (Kind.ANGLE,) if axis.unit.kind is Kind.ANGLE else (Kind.LENGTH,)
    rate = _value("--rate", run.rate, (Kind.FREQUENCY,), "Hz")
    return Motion(
        kind="file" if file else run.motion,
        seconds=_value("--seconds", run.seconds, (Kind.TIME,), "s"),
        rate_hz=USUAL_RATE_HZ if rate is None else rate,
        amplitude=_value("--amplitude", run.amplitude, length, axis.unit.name),
        frequency_hz=_value("--frequency", run.frequency, (Kind.FREQUENCY,), "Hz"),
        at=place_named(axis, run.at)[0] if run.at else None,
        track=_track(axis, File(file)) if file else None,
    )


def _value(option: str, text: str, kinds: tuple[Kind, ...], unit: str) -> float | None:
    """A value above zero, a bare number in the usual unit; None where nothing is given. [SI]"""
    if not text:
        return None
    try:
        bare = float(text)
    except ValueError:
        bare = None
    try:
        value = read_quantity(text if bare is None else f"{text} {unit}", kinds=kinds).value
    except AnglewrightError as fault:
        raise UsageError([problem.within(option) for problem in fault.problems]) from None
    if value <= 0.0:
        raise UsageError(
            Problem(option, f"'{text}' is not above 0", "", f"Write it as in {option} 10{unit}.")
        )
    return value


def _track(axis: Axis, file: File) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Times [s] and positions [m or rad] of a file; a header may name the unit of the positions."""
    from anglewright.tables.text import read_grid

    grid = read_grid(file)
    numbers = [(row, [grid.number(cell) for cell in row.cells[:2]]) for row in grid.rows]
    rows = [(row, pair[0], pair[1]) for row, pair in numbers if len(pair) == 2 and None not in pair]
    first = next((k for k, (_, pair) in enumerate(numbers) if len(pair) == 2 and None not in pair), 0)
    bad = [row.line for row, pair in numbers[first:] if len(pair) < 2 or None in pair]
    if bad:
        remedy = "Write a time in seconds and a position in each row."
        raise DataError(Problem(f"{file}, line {bad[0]}", "it holds no time and position", "", remedy))
    if len(rows) < 2:
        raise DataError(
            Problem(str(file), "it has no two rows of time and position", "", "Name another file.")
        )
    times = [float(time or 0.0) for _, time, _ in rows]
    backward = np.flatnonzero(np.diff(times) <= 0.0)
    if len(backward):
        line = rows[int(backward[0]) + 1][0].line
        found = "its time is not later than that of the row before"
        raise DataError(Problem(f"{file}, line {line}", found, "", "Put the rows in the order of time."))
    unit = _unit(axis, grid.rows[first - 1].cells if first else ())
    return tuple(times), tuple(unit.to_si(float(place or 0.0)) for _, _, place in rows)


def _unit(axis: Axis, names: tuple[str, ...]) -> Unit:
    from anglewright.quantities.units import find_unit

    words = (
        names[1].replace("(", " ").replace(")", " ").replace("_", " ").replace("/", " ").split()
        if len(names) > 1
        else []
    )
    found = find_unit(words[-1], kinds=axis.unit.kind) if words else None
    return found or axis.unit
