"""A counted reel and a mast with a pair of gears go through every job, from the rig file to a position."""

import csv

import numpy as np
import pytest

from anglewright.budget.builds import virtual_builds
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.budget.trials import HowMany
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.checking import check
from anglewright.jobs.expecting import expect
from anglewright.jobs.explaining import explain
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reading import read_raw
from anglewright.jobs.simulating import simulate

# Invented and simulated: a hose reel and a mast of a rover in a greenhouse
REEL = """
rig = "Vine rover"
simulated = true
[axis.reel]
motion = { from = "0 m", to = "12 m", speed = "0.5 m/s" }
need = { error = "30 mm" }
when_unpowered = "holds"
marks = { empty = { at = "0 m", within = "5 mm", how = "end of the hose on its stop" } }
drive = { kind = "drum", diameter = "200 mm", rope = "16 mm" }
coupling = { kind = "rigid" }
sensor = { kind = "incremental", lines = 100, index = "yes" }
mount = { clamped_at = "empty", onto = "index" }
plan = { points = 7, reference = { per_point = "5 mm", shared = "3 mm" } }
"""
MAST = """
rig = "Vine rover"
simulated = true
[axis.mast]
motion = { from = "0 mm", to = "560 mm", speed = "200 mm/s" }
need = { error = "1.5 mm" }
when_unpowered = "drops"
marks = { mid = { at = "300 mm", within = "0.2 mm", how = "10 mm pin through both plates" } }
drive = { kind = "rack", teeth = 20, module = "1 mm", backlash = "0.1 mm" }
coupling = { kind = "rigid" }
sensor = { kind = "gear-pair", driving_teeth = 24, first_teeth = 16, second_teeth = 17, play = "0.4 deg" }
plan = { points = 9, reference = { per_point = "0.1 mm", shared = "0.1 mm" } }
"""


@pytest.fixture(params=[("reel", REEL), ("mast", MAST)], ids=["reel", "mast"])
def name(request, tmp_path):
    """Name of the axis; its rig file lies in the folder of the test."""
    name, text = request.param
    (tmp_path / "rig.toml").write_text(text, encoding="utf-8")
    return name


@pytest.fixture
def rig(name, tmp_path):
    return open_rig(tmp_path / "rig.toml")


def rows_of(path):
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def test_nothing_in_its_design_stops_the_work(rig):
    assert [each["key"] for each in check(rig).as_json()["findings"] if each["severity"] == "stop"] == []


def test_first_order_agrees_with_the_builds(rig, name):
    axis = rig.axis(name)
    found = virtual_builds(axis, how_many=HowMany(most=40_000), seed=3)
    for by_hand in budget_axis(axis).states:
        built = found.of(by_hand.state)
        at = np.interp(built.positions, by_hand.positions, by_hand.standard_uncertainty)
        assert built.standard_uncertainty == pytest.approx(at, rel=0.05)


def test_a_simulated_bench_is_calibrated_and_read(rig, name, tmp_path):
    simulate(rig, name, seed=4, out=tmp_path / "bench.csv")
    result = calibrate(rig, name, file=tmp_path / "bench.csv", date="2026-05-04").as_json()
    assert result["verdict"] == "meets"
    rows, size = rows_of(tmp_path / "bench.csv"), {"reel": 1.0, "mast": 1e-3}[name]
    unit = {"reel": "m", "mast": "mm"}[name]
    found = read_raw(rig, name, [float(row["raw"]) for row in rows]).readings
    assert {reading.fault.text for reading in found} == {None}
    off = [
        reading.position - size * float(row[f"reference_{unit}"])
        for reading, row in zip(found, rows, strict=True)
    ]
    assert np.max(np.abs(off)) < 2.0 * found[0].half_width_95


def test_what_is_expected_at_the_mark_is_where_the_sensor_stands(rig, name):
    # the reel is homed there, at count 0; the pair stands in the middle of 17 turns of 4096 positions
    (row,) = expect(rig, positions=["empty" if name == "reel" else "mid"]).readings
    assert row.code == pytest.approx({"reel": 0, "mast": 17 * 4096 // 2}[name], abs=1)


def test_the_arithmetic_can_be_shown(rig, name):
    steps = explain(rig, axis=name).as_json()["axes"][0]["steps"]
    links = [step["link"] for step in steps]
    assert {"sensor", "converter"} <= set(links)


@pytest.mark.parametrize("code", [0, 1, 4000])
def test_turns_of_a_counter_are_those_of_its_sensor(tmp_path, code):
    (tmp_path / "rig.toml").write_text(REEL, encoding="utf-8")
    plain = read_raw(open_rig(tmp_path / "rig.toml"), "reel", [code]).readings[0]
    turning = open_rig(tmp_path / "rig.toml", changes=["reel.converter.raw=turns"])
    found = read_raw(turning, "reel", [(code + 0.5) / 400.0]).readings[0]  # 400 counts a turn
    assert found.position == pytest.approx(plain.position, abs=1e-12)


def test_the_states_of_both_budgets_are_the_three(rig, name):
    assert [each.state for each in budget_axis(rig.axis(name)).states] == list(State)[:3]
