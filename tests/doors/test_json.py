"""Every command prints one object with the keys that are promised to other programs."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Door = Callable[..., Any]

# The promise, as the project's definitions of its JSON state it (docs/json.md says the same at more length).
BUDGET = {
    "axis", "unit", "permissible_error", "resolution", "worst_at", "interval_by", "states", "contributions",
    "first_order_trusted", "builds", "next",
}  # fmt: skip
STATE = {"bias", "standard_uncertainty", "half_width_95", "worst_case", "meets"}
CONTRIBUTION = {"link", "quantity", "persistence", "state", "standard_uncertainty", "share", "cured_by"}
EXPECT = {
    "position", "unit", "sensor_angle", "volts_wiper", "volts_pin", "code", "code_low", "code_high", "state",
    "record",
}  # fmt: skip
READ = {"raw", "position", "unit", "half_width_95", "valid", "fault", "state", "record"}
FINDING = {
    "key", "severity", "axis", "link", "text", "measured", "limit", "unit", "remedy", "source", "steps",
}  # fmt: skip
CALIBRATE = {
    "axis", "unit", "record", "model", "n_points", "parameters", "covariance", "residual_sd", "linearity",
    "hysteresis", "repeatability", "play", "outliers", "candidates", "chosen_because", "columns", "read",
    "compared_with_last", "compared_with_budget", "findings", "verdict",
}  # fmt: skip
COMMANDS = {
    "check": ["check", "rig.toml"],
    "choose": ["choose", "rig.toml", "--parts"],
    "budget": ["budget", "rig.toml", "shoulder"],
    "expect": ["expect", "rig.toml"],
    "read": ["read", "rig.toml", "shoulder", "2048"],
    "mount": ["mount", "rig.toml"],
    "wire": ["wire", "rig.toml"],
    "plan": ["plan", "rig.toml"],
    "simulate": ["simulate", "rig.toml", "shoulder", "--out", "bench.csv"],
    "calibrate": ["calibrate", "rig.toml", "shoulder", "shoulder-bench.csv"],
    "handover": ["handover", "rig.toml", "--out", "code"],
    "explain": ["explain", "rig.toml"],
    "report": ["report", "rig.toml"],
    "new": ["new", "a", "--moves=a", "--from=0deg", "--to=9deg", "--error=1deg", "--sensor=potentiometer",
            "--ratio=1"],
}  # fmt: skip


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_prints_one_object_and_nothing_else(door: Door, name: str) -> None:
    said = door(*COMMANDS[name], "--json")
    assert said.code in (0, 1), said.err
    assert isinstance(said.json, dict)
    assert said.err == ""


def test_the_budget_of_one_axis_has_its_keys(door: Door) -> None:
    found = door("budget", "rig.toml", "shoulder", "--json").json
    assert set(found) >= BUDGET
    assert set(found["states"]) == {"datasheet", "zeroed", "calibrated"}
    assert all(set(state) >= STATE for state in found["states"].values())
    assert all(set(row) >= CONTRIBUTION for row in found["contributions"])
    assert sum(row["share"] for row in found["contributions"]) == pytest.approx(1.0)
    assert all(set(row) >= {"change", "half_width_95", "cost"} for row in found["next"])
    assert found["interval_by"] == "first order"


def test_the_budget_of_all_axes_is_a_list(door: Door, two_axes: Path) -> None:
    found = door("budget", two_axes.name, "--json").json
    assert [row["axis"] for row in found["axes"]] == ["shoulder", "wrist"]


def test_the_card_and_the_reading_have_their_keys(door: Door) -> None:
    card = door("expect", "rig.toml", "shoulder", "pin", "--json").json["readings"]
    read = door("read", "rig.toml", "shoulder", "2048", "4096", "--json").json["readings"]
    assert set(card[0]) >= EXPECT
    assert set(read[0]) >= READ
    assert (read[1]["position"], read[1]["valid"], read[1]["fault"]) == (None, False, "not a code")


def test_findings_have_their_keys(door: Door) -> None:
    found = door("check", "rig.toml", "--json").json["findings"]
    assert found
    assert all(set(row) >= FINDING for row in found)


def test_a_calibration_has_its_keys(door: Door) -> None:
    found = door(*COMMANDS["calibrate"], "--json").json
    assert set(found) >= CALIBRATE
    assert set(found["parameters"]) == {"slope", "offset"}
    assert set(found["linearity"]) == {"independent", "zero_based", "terminal_based", "absolute", "span"}
    assert set(found["read"]) == {"rows", "rows_used", "refused_cells", "refused", "decisions"}
    assert found["verdict"] in ("meets", "fails", "cannot tell")


@pytest.mark.parametrize("name", ["check", "budget", "expect", "read", "explain"])
def test_a_what_if_stands_beside_the_present_result(door: Door, name: str) -> None:
    plain = door(*COMMANDS[name], "--json").json
    both = door(*COMMANDS[name], "--json", "--set", "shoulder.sensor.linearity=0.2 %").json
    changed = both.pop("what_if")
    assert both == plain
    assert changed.pop("changes") == ["shoulder.sensor.linearity=0.2 %"]
    assert set(changed) == set(plain)


def test_a_what_if_makes_the_budget_smaller(door: Door) -> None:
    found = door("budget", "rig.toml", "shoulder", "--set", "coupling.play=0 deg", "--json").json
    after = found["what_if"]["states"]["calibrated"]["half_width_95"]
    assert after < found["states"]["calibrated"]["half_width_95"]


@pytest.mark.parametrize("name", ["plan", "handover", "report", "simulate", "calibrate"])
def test_a_writing_command_uses_the_what_if_alone(door: Door, name: str) -> None:
    said = door(*COMMANDS[name], "--set", "shoulder.plan.points=3", "--json")
    assert said.code in (0, 1), said.err
    assert "what_if" not in said.json


def test_a_what_if_is_never_kept_as_a_record(door: Door, rover: Path) -> None:
    said = door(*COMMANDS["calibrate"], "--set", "need.error=5 deg", "--json")
    assert said.json["record"] is None
    assert not (rover / "rig.calibrations").exists()


def test_code_of_a_what_if_says_so(door: Door, rover: Path) -> None:
    door("handover", "rig.toml", "--out", "code", "--set", "coupling.play=0 deg")
    header = (rover / "code" / "shoulder.h").read_text(encoding="ascii")
    assert "What if: coupling.play=0 deg, not as in the file." in header


def test_an_error_is_an_object_too(door: Door) -> None:
    said = door("read", "rig.toml", "shoulder", "x", "--json")
    assert said.code == 3
    assert said.json == {
        "errors": [
            {
                "where": "raw",
                "found": "'x' is not a number",
                "limit": "",
                "remedy": "Give what the controller shows, as in 2048.",
            }
        ],
        "exit_code": 3,
    }


def test_a_number_that_json_does_not_know_becomes_null(door: Door, monkeypatch: pytest.MonkeyPatch) -> None:
    from anglewright.jobs.budgeting import BudgetResult

    monkeypatch.setattr(BudgetResult, "as_json", lambda self: {"a": float("nan"), "b": [float("inf"), 1.5]})
    assert door("budget", "rig.toml", "--json").json == {"a": None, "b": [None, 1.5]}
