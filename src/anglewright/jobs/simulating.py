"""Job: readings of a bench that does not exist, with the truth written beside them."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from anglewright.errors import AnglewrightError, Problem, UsageError, nearest
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.fields import QuantityKey
from anglewright.links.protocol import flat_keys
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm, Rig, raw_scale
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.simulation.bench import BenchSweep, bench_sweep
from anglewright.tables.writing import decimal, places_for
from anglewright.version import VERSION

SIGN = "# simulated by anglewright"
"""Begins every file of simulated readings: a file that begins otherwise is not written over."""

SHORT = {"play": "coupling.play", "backlash": "drive.backlash", "clamp": "mount.within"}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SimulateResult(Shown):
    """A bench sweep and the files it was written to."""

    axis: Axis
    sweep: BenchSweep
    file: Path | None
    truth_file: Path | None

    @property
    def headline(self) -> str:
        """How many readings, with which play."""
        play = show(self.sweep.truth.play_total, self.axis.unit, digits=3)
        return f"{len(self.sweep.raw)} simulated readings of {self.axis.name}, with {play} of play in all."

    def tables(self) -> tuple[Table, ...]:
        """Where the readings and the truth lie."""
        rows = (("readings", str(self.file)), ("truth", str(self.truth_file)))
        return (Table(title=self.headline, columns=("what", "file"), rows=rows),) if self.file else ()

    def as_json(self) -> Json:
        """Files, seed and truth."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "file": str(self.file) if self.file else None,
            "truth_file": str(self.truth_file) if self.truth_file else None,
            "rows": len(self.sweep.raw),
            "simulated": True,
            "truth": truth_table(self.axis, self.sweep),
        }


def simulate(
    rig: Rig, axis: str | None, *, seed: int = 1, plant: Sequence[str] = (), out: str | Path | None = None
) -> SimulateResult:
    """A seeded bench sweep of one machine drawn from the rig's spreads, with faults planted.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    seed : int
        Everything random comes from it; not below 0. [1]
    plant : sequence of str
        Numbers that the secret machine takes: ``play=1.5 deg``, ``sensor.track=9 kohm``.
    out : str or Path, optional
        CSV file for the readings; the truth goes beside it as ``FILE.truth.toml``.

    Returns
    -------
    SimulateResult
        Readings, truth, files.

    Raises
    ------
    UsageError
        No such axis, nothing of that name to plant, or a seed below 0.
    DataError
        The file cannot be written, or there is one with readings that are not simulated.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> len(simulate(rig, "shoulder", seed=7, plant=["play=1.5 deg"]).sweep.raw)
    72
    """
    chosen = the_axis(rig, axis)
    if seed < 0:
        raise UsageError(Problem("seed", f"{seed} is below 0", "", "Give a whole number from 0 on."))
    planted = dict(_planted(chosen, text) for text in plant)
    sweep = bench_sweep(chosen, seed=seed, planted=planted)
    if out is None:
        return SimulateResult(axis=chosen, sweep=sweep, file=None, truth_file=None)
    import tomlkit

    file = Path(out)
    truth_file = file.with_name(f"{file.name}.truth.toml")
    hold_foreign(file, SIGN)
    hold_foreign(truth_file, "simulated = true")
    write_whole(file, _csv(chosen, sweep))
    write_whole(truth_file, tomlkit.dumps(truth_table(chosen, sweep)))
    return SimulateResult(axis=chosen, sweep=sweep, file=file, truth_file=truth_file)


def _planted(axis: Axis, text: str) -> tuple[str, float]:
    """Key and SI value of one fault to plant."""
    name, equals, value = (part.strip() for part in text.partition("="))
    name = SHORT.get(name, name)
    keys = {
        f"{part.room}.{inner}": key
        for part in axis.chain_parts
        for inner, key in flat_keys(part.KEYS)
        if isinstance(key, QuantityKey)
        and any(number.key == f"{part.room}.{inner}" for number in part.numbers)
    }
    if not equals or name not in keys:
        known = [*SHORT, *keys]
        raise UsageError(
            Problem("--plant", f"'{text}' plants nothing in {axis.name}", "", nearest(name, known))
        )
    try:
        quantity = read_quantity(value, kinds=keys[name].kinds)
    except AnglewrightError as fault:
        raise UsageError([problem.within(f"--plant {name}") for problem in fault.problems]) from None
    least = keys[name].least
    if least is not None and quantity.value < least:
        raise UsageError(Problem(f"--plant {name}", f"'{value}' is below 0", "", "Give 0 or more."))
    return name, quantity.value


def truth_table(axis: Axis, sweep: BenchSweep) -> Json:
    """The bench's secrets: angles of play and reference in the axis's unit, numbers in SI units."""
    truth, unit = sweep.truth, axis.unit
    return {
        "simulated": True,
        "program": f"anglewright {VERSION}",
        "axis": axis.name,
        "unit": unit.name,
        "seed": truth.seed,
        "planted_si": dict(truth.planted),
        "play_total": unit.difference_from_si(truth.play_total),
        "reference_shared": unit.difference_from_si(truth.reference_shared),
        "reference_scale": truth.reference_scale,
        "numbers_si": {key: _plain(value) for key, value in truth.numbers.items()},
        "positions": [round(unit.from_si(float(q)), 9) for q in truth.positions],
    }


def _plain(value: Any) -> Any:
    array = np.asarray(value, dtype=float)
    return array.tolist() if array.ndim else float(array)


def _csv(axis: Axis, sweep: BenchSweep) -> str:
    """Rows with the reference as a reader would write it down: to a thousandth of the need."""
    text = io.StringIO()
    text.write(f"{SIGN}: no real machine was measured\n")
    out = csv.writer(text, lineterminator="\n")
    out.writerow(["time_s", f"reference_{axis.unit.name}", "raw", "approach"])
    whole, places = axis.raw is RawForm.COUNTS, places_for(raw_scale(axis)[1] / 1e2)
    for time, reference, raw, side in zip(
        sweep.time_s, sweep.reference, sweep.raw, sweep.approach, strict=True
    ):
        shown = f"{raw:.0f}" if whole else f"{raw:.{places}f}"
        reading = decimal(float(reference), axis.unit, fine=axis.permissible)
        out.writerow([f"{time:.3f}", reading, shown, "up" if side > 0 else "down"])
    return text.getvalue()
