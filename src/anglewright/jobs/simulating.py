"""Job: readings of a bench that does not exist, with the truth written beside them."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from anglewright.version import VERSION
from anglewright.errors import AnglewrightError, Problem, UsageError, nearest
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.fields import QuantityKey
from anglewright.links.protocol import flat_keys
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.showing import show
from anglewright.rig import Axis, RawForm, Rig
from anglewright.rigfile.storing import write_whole
from anglewright.simulation.bench import BenchSweep, bench_sweep

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
    rig: Rig, axis: str, *, seed: int = 1, plant: Sequence[str] = (), out: str | Path | None = None
) -> SimulateResult:
    """A seeded bench sweep of one machine drawn from the rig's spreads, with faults planted.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str
        Name of an axis.
    seed : int
        Everything random comes from it. [1]
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
        No such axis, or nothing of that name to plant.
    DataError
        The file cannot be written.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> len(simulate(rig, "shoulder", seed=7, plant=["play=1.5 deg"]).sweep.raw)
    72
    """
    chosen = rig.axis(axis)
    planted = dict(_planted(chosen, text) for text in plant)
    sweep = bench_sweep(chosen, seed=seed, planted=planted)
    if out is None:
        return SimulateResult(axis=chosen, sweep=sweep, file=None, truth_file=None)
    import tomlkit

    file = Path(out)
    truth_file = file.with_name(f"{file.name}.truth.toml")
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
        if isinstance(key, QuantityKey) and any(number.key == f"{part.room}.{inner}" for number in part.numbers)
    }
    if not equals or name not in keys:
        known = [*SHORT, *keys]
        raise UsageError(Problem("--plant", f"'{text}' plants nothing in {axis.name}", "", nearest(name, known)))
    try:
        quantity = read_quantity(value, kinds=keys[name].kinds)
    except AnglewrightError as fault:
        raise UsageError([problem.within(f"--plant {name}") for problem in fault.problems]) from None
    least = keys[name].least
    if least is not None and quantity.value < least:
        raise UsageError(Problem(f"--plant {name}", f"'{value}' is below nothing", "", "Give 0 or more."))
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
        "play_total": truth.play_total / unit.size,
        "reference_shared": truth.reference_shared / unit.size,
        "reference_scale": truth.reference_scale,
        "numbers_si": {key: _plain(value) for key, value in truth.numbers.items()},
        "positions": [round(float(q) / unit.size, 9) for q in truth.positions],
    }


def _plain(value: Any) -> Any:
    array = np.asarray(value, dtype=float)
    return array.tolist() if array.ndim else float(array)


def _csv(axis: Axis, sweep: BenchSweep) -> str:
    """Rows with the reference as a reader would write it down: to 0.001 of the unit."""
    text = io.StringIO()
    text.write("# simulated by anglewright: no real machine was measured\n")
    out = csv.writer(text, lineterminator="\n")
    out.writerow(["time_s", f"reference_{axis.unit.name}", "raw", "approach"])
    whole = axis.raw is RawForm.COUNTS
    for time, reference, raw, side in zip(
        sweep.time_s, sweep.reference, sweep.raw, sweep.approach, strict=True
    ):
        shown = f"{raw:.0f}" if whole else f"{raw:.6f}"
        out.writerow([f"{time:.3f}", f"{reference / axis.unit.size:.3f}", shown, "up" if side > 0 else "down"])
    return text.getvalue()
