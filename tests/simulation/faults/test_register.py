"""Every family is found, and every fault shows in a log of an axis that it can happen to."""

import importlib
import pkgutil

import numpy as np
import pytest

import anglewright.simulation.faults
from anglewright.jobs.planting import catalogue, read_planting
from anglewright.simulation.faults.register import all_faults
from anglewright.simulation.paths import MOTIONS

STAYS = {"protocol", "register"}
RUN = {"seconds": "4 s", "frequency": "0.25 Hz"}


def test_every_module_of_the_folder_is_a_family():
    names = {module.name for module in pkgutil.iter_modules(anglewright.simulation.faults.__path__)}
    for name in names - STAYS:
        family = importlib.import_module(f"anglewright.simulation.faults.{name}")
        assert family.FAULTS
        assert all(all_faults()[fault.name] is fault for fault in family.FAULTS)
    assert len(all_faults()) > 50


@pytest.mark.parametrize("name", all_faults())
def test_every_fault_says_where_it_acts_and_where_it_was_seen(name):
    fault = all_faults()[name]
    assert fault.sites
    assert fault.notes.startswith(("F", "list "))
    assert fault.meaning[0].islower()
    assert not fault.meaning.endswith(".")
    assert name == name.lower()


def test_the_catalogue_has_a_line_for_each_fault():
    lines = list(catalogue())
    assert [line.split(":")[0].split("=")[0].split("@")[0] for line in lines] == list(all_faults())


def written(sweep):
    return [sweep.time_s, sweep.reference, sweep.raw, *sweep.columns.values()]


def changes(sound, faulty):
    """Whether the log differs in any way from the sound one."""
    if len(sound.raw) != len(faulty.raw) or sound.columns.keys() != faulty.columns.keys():
        return True
    return not all(map(np.array_equal, written(sound), written(faulty)))


def logs_of(log, rig, name, **given):
    """A sound log and one with the fault, or None where it cannot happen to the axis."""
    fault = all_faults()[name]
    axis = next(iter(rig.axes.values()))
    size = read_planting(axis, [name], end_s=4.0).faults[0].size if not fault.fits(axis, 8.0) else 8.0
    if fault.fits(axis, size):
        return None
    return log(rig, **given).sweep, log(rig, name, **given).sweep


@pytest.mark.slow
@pytest.mark.parametrize("name", all_faults())
def test_every_fault_shows_in_the_log_of_an_axis_that_it_can_happen_to(name, shoulder, turning, log):
    stops = 'shoulder.stops={ low="-40 deg", high="140 deg" }'
    whole = {"at": "47.5 deg", "amplitude": "86 deg"}  # to both ends of the track
    found = [
        logs_of(log, shoulder("shoulder.converter.noise=2 LSB rms", stops), name, **RUN, **whole),
        *(logs_of(log, turning(kind), name, **RUN) for kind in ("lines", "pulse", "word")),
    ]
    there = [pair for pair in found if pair is not None]
    assert there
    assert any(changes(*pair) for pair in there)


def test_the_same_seed_gives_the_same_faults_and_another_one_others(shoulder, log):
    plants = ("jitter=1ms", "spikes", "dropped", "hand-read-reference")
    one, again, other = (log(shoulder(), *plants, seed=seed).sweep for seed in (4, 4, 5))
    assert all(map(np.array_equal, written(one), written(again)))
    assert len(one.raw) != len(other.raw) or not np.array_equal(one.raw, other.raw)


def test_a_fault_changes_nothing_of_the_secret_machine_or_of_other_faults(shoulder, log):
    rig = shoulder("shoulder.converter.noise=2 LSB rms", "shoulder.sensor.linearity=1 %")
    alone, more = log(rig, "spikes").sweep, log(rig, "spikes", "jitter=1ms", "unsigned-reference").sweep
    assert np.array_equal(alone.raw, more.raw)
    for key, value in alone.truth.numbers.items():
        assert np.array_equal(value, more.truth.numbers[key])


def test_the_page_of_the_bench_has_a_row_for_each_fault(root):
    page = (root / "docs" / "simulation.md").read_text(encoding="utf-8")
    rows = [line for line in page.splitlines() if line.startswith("| `")]
    for name, fault in all_faults().items():
        sites = ", ".join(site.value for site in fault.sites)
        size = fault.size.usual if fault.size else ""
        assert f"| `{name}` | {size} | {sites} | {fault.meaning} |" in rows


def test_the_page_of_the_bench_has_a_row_for_each_motion(root):
    page = (root / "docs" / "simulation.md").read_text(encoding="utf-8")
    for name, kind in MOTIONS.items():
        takes = ", ".join(f"`{option}`" for option in kind.takes)
        shown = "a CSV file" if name == "file" else f"`{name}`"
        row = next(line for line in page.splitlines() if line.startswith(f"| {shown} |"))
        assert row.endswith(f"| {takes} |")
