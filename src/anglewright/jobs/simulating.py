"""Job: readings of a bench that does not exist, with the truth written beside them."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from anglewright.errors import Problem, UsageError
from anglewright.jobs.opening import the_axis
from anglewright.jobs.planting import read_planting
from anglewright.jobs.running import PLAN, Run, path_of
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.rig import Axis, RawForm, Rig, raw_scale
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.simulation.bench import BenchSweep, bench_sweep
from anglewright.simulation.faults.protocol import Planted, Site
from anglewright.tables.writing import decimal, places_for
from anglewright.version import VERSION

_DIGITS = 10  # of a secret number: fewer than the arithmetic of two computers differs in [1]
_NOTHING = 1e-16  # a secret number below it is what the arithmetic leaves of nothing [SI]
SIGN = "# simulated by anglewright"
"""Begins every file of simulated readings: a file that begins otherwise is not written over."""

_SIDES = {1: "up", -1: "down", 0: ""}
_ROWS = ("positions", "times_s")  # of the truth, one number for each row of the log
_FINE_DIGITS = 6  # of a number that the user's program has made [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SimulateResult(Shown):
    """A run of the bench and the files it was written to."""

    axis: Axis
    sweep: BenchSweep
    file: Path | None
    truth_file: Path | None
    run: Run = field(default_factory=Run)

    @property
    def headline(self) -> str:
        """How many readings, with which play and which faults."""
        play = show(self.sweep.truth.play_total, self.axis.unit, digits=3)
        names = ", ".join(each.fault.name for each in self.sweep.truth.faults)
        planted = f"; planted: {names}" if names else ""
        count = len(self.sweep.raw)
        return f"{count} simulated readings of {self.axis.name}, with {play} of play in all{planted}."

    def tables(self) -> tuple[Table, ...]:
        """Where the readings and the truth lie, and which faults are in them."""
        rows = (("readings", str(self.file)), ("truth", str(self.truth_file)))
        files = (Table(title=self.headline, columns=("what", "file"), rows=rows),) if self.file else ()
        return (*files, *self._planted())

    def _planted(self) -> tuple[Table, ...]:
        truth = self.sweep.truth
        rows = tuple(
            (each.fault.name, show(each.begins(truth.end_s), UNITS["s"]), each.fault.meaning)
            for each in truth.faults
        )
        return (Table(title="Planted", columns=("fault", "from", "meaning"), rows=rows),) if rows else ()

    def as_json(self) -> Json:
        """Files, motion, seed and truth."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "file": str(self.file) if self.file else None,
            "truth_file": str(self.truth_file) if self.truth_file else None,
            "rows": len(self.sweep.raw),
            "motion": self.run.motion,
            "simulated": True,
            "truth": truth_table(self.axis, self.sweep, run=self.run),
        }


def simulate(
    rig: Rig,
    axis: str | None,
    *,
    seed: int = 1,
    plant: Sequence[str] = (),
    out: str | Path | None = None,
    run: Run | None = None,
) -> SimulateResult:
    """A seeded run of one machine drawn from the rig's spreads, with faults planted.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    seed : int
        Everything random comes from it; not below 0. [1]
    plant : sequence of str
        Numbers that the secret machine takes, ``play=1.5 deg``, ``sensor.track=9 kohm``, and faults with
        their size and time, ``slip=5 deg@12 s``.
    out : str or Path, optional
        CSV file for the readings; the truth goes beside it as ``FILE.truth.toml``.
    run : Run, optional
        The motion and how it is logged; the sweep over the calibration plan where none is given.

    Returns
    -------
    SimulateResult
        Readings, truth, files.

    Raises
    ------
    UsageError
        No such axis or motion, nothing of that name to plant, or a seed below 0.
    DataError
        The file cannot be written, or there is one with readings that are not simulated.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> len(simulate(rig, "shoulder", seed=7, plant=["play=1.5 deg"]).sweep.raw)
    72

    A log of 20 s whose shaft slips after 12 s:

    >>> swing = Run(motion="sine", seconds="20 s", rate="50 Hz", amplitude="30 deg", frequency="0.2 Hz")
    >>> len(simulate(rig, "shoulder", plant=["slip=5 deg@12 s"], run=swing).sweep.raw)
    1001
    """
    chosen, run = the_axis(rig, axis), run or Run()
    if seed < 0:
        raise UsageError(Problem("seed", f"{seed} is below 0", "", "Give a whole number from 0 on."))
    path = path_of(chosen, run)
    planting = read_planting(chosen, plant, end_s=path.end_s)
    sweep = bench_sweep(chosen, seed=seed, planted=planting.numbers, faults=planting.faults, path=path)
    if out is None:
        return SimulateResult(axis=chosen, sweep=sweep, file=None, truth_file=None, run=run)
    file = Path(out)
    truth_file = file.with_name(f"{file.name}.truth.toml")
    hold_foreign(file, SIGN)
    hold_foreign(truth_file, "simulated = true")
    write_whole(file, _csv(chosen, sweep, run=run))
    write_whole(truth_file, _toml(truth_table(chosen, sweep, run=run)))
    return SimulateResult(axis=chosen, sweep=sweep, file=file, truth_file=truth_file, run=run)


def truth_table(axis: Axis, sweep: BenchSweep, *, run: Run) -> Json:
    """The bench's secrets: angles of play and reference in the axis's unit, numbers in SI units.

    A run, and a plan with faults, also tell the motion, each fault, and time and place of each row.
    """
    truth, unit = sweep.truth, axis.unit
    plain = run.motion == PLAN and not truth.faults
    places = truth.positions if plain else truth.positions[truth.rows]
    return {
        "simulated": True,
        "program": f"anglewright {VERSION}",
        "axis": axis.name,
        "unit": unit.name,
        "seed": truth.seed,
        "planted_si": {key: _plain(value) for key, value in truth.planted.items()},
        "play_total": _kept(unit.difference_from_si(truth.play_total)),
        "reference_shared": _kept(unit.difference_from_si(truth.reference_shared)),
        "reference_scale": _kept(truth.reference_scale),
        "numbers_si": {key: _plain(value) for key, value in truth.numbers.items()},
        "positions": [round(unit.from_si(float(q)), 9) for q in places],
    } | ({} if plain else _more_truth(sweep, run))


def _toml(table: Json) -> str:
    """The table as TOML; its long rows of numbers are put in by hand, which is far quicker."""
    import tomlkit

    rows = {key: value for key, value in table.items() if isinstance(value, list) and key in _ROWS}
    text = tomlkit.dumps({key: value for key, value in table.items() if key not in rows})
    head, table_begins, tail = text.partition("\n[")
    lines = [f"{key} = [{', '.join(map(repr, value))}]\n" for key, value in rows.items()]
    return "".join([head, *lines, table_begins, tail])


def _more_truth(sweep: BenchSweep, run: Run) -> Json:
    truth = sweep.truth
    return {
        "motion": run.motion,
        "ends_s": truth.end_s,
        "times_s": [round(float(time), 6) for time in truth.times],
        "faults": [_fault_table(each, truth.end_s) for each in truth.faults],
    }


def _fault_table(planted: Planted, end_s: float) -> Mapping[str, Any]:
    fault = planted.fault
    return {
        "name": fault.name,
        "size_si": planted.size,
        "from_s": planted.begins(end_s),
        "acts_on": [site.value for site in fault.sites],
        "meaning": fault.meaning,
    }


def _plain(value: Any) -> Any:
    """A number, or a row of them, to so many digits as every computer agrees on."""
    array = np.asarray(value, dtype=float)
    return [_kept(float(each)) for each in array] if array.ndim else _kept(float(array))


def _kept(value: float) -> float:
    return 0.0 if abs(value) < _NOTHING else float(f"{value:.{_DIGITS}g}")


def _csv(axis: Axis, sweep: BenchSweep, *, run: Run) -> str:
    """Rows with the reference as a reader would write it down: to a thousandth of the need."""
    text = io.StringIO()
    text.write(f"{SIGN}: no real machine was measured\n")
    out = csv.writer(text, lineterminator="\n")
    columns = {
        "time_s": _times(sweep, run),
        f"reference_{axis.unit.name}": [
            decimal(float(each), axis.unit, fine=axis.permissible) for each in sweep.reference
        ],
        "raw": _raws(axis, sweep.raw),
        "approach": [_SIDES[side] for side in sweep.approach],
    } | {name: [f"{each:.6g}" for each in column] for name, column in sweep.columns.items()}
    if not run.reference:
        del columns[f"reference_{axis.unit.name}"]
    out.writerow(columns)
    out.writerows(zip(*columns.values(), strict=True))
    return text.getvalue()


def _times(sweep: BenchSweep, run: Run) -> list[str]:
    """Times to a millisecond by the plan, to a microsecond in a run or by a poor clock."""
    odd = any(Site.TIME in each.fault.acts for each in sweep.truth.faults)
    places = 3 if run.motion == PLAN and not odd else 6
    return [f"{time:.{places}f}" for time in sweep.time_s]


def _raws(axis: Axis, raw: np.ndarray[Any, np.dtype[np.float64]]) -> list[str]:
    """Counts as whole numbers, unless the user's program makes others of them."""
    if axis.raw is not RawForm.COUNTS:
        places = places_for(raw_scale(axis)[1] / 1e2)
    elif np.all(raw == np.floor(raw)):
        places = 0
    else:
        places = _FINE_DIGITS
    return [f"{each:.{places}f}" for each in raw]
