"""An axis that turns round and round: one turn reported, the shortest way counts, no mean over a wrap."""

from pathlib import Path

import numpy as np
import pytest

from anglewright.errors import AnglewrightError
from anglewright.jobs.budgeting import budget_of
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.expecting import expect
from anglewright.jobs.handing import hand_over
from anglewright.jobs.opening import open_rig
from anglewright.jobs.reading import read_raw
from anglewright.jobs.simulating import simulate
from anglewright.rig import Rig

WHEEL = Path(__file__).with_name("wheel.toml").read_text(encoding="utf-8")


@pytest.fixture
def wheel(tmp_path: Path) -> Rig:
    file = tmp_path / "wheel.toml"
    file.write_text(WHEEL, encoding="utf-8")
    return open_rig(file)


def _refused(tmp_path: Path, text: str) -> str:
    file = tmp_path / "wheel.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(AnglewrightError) as refused:
        open_rig(file)
    return str(refused.value)


@pytest.mark.parametrize(
    # clamped at half output in the middle, 4096 codes a turn: 0 deg is the edge of code 2048 (by hand)
    ("code", "place"),
    [(0, -180.0 + 0.5 * 360 / 4096), (2048, 0.5 * 360 / 4096), (4095, 180.0 - 0.5 * 360 / 4096)],
)
def test_every_code_is_a_position_within_the_one_turn(wheel: Rig, code: int, place: float) -> None:
    (reading,) = read_raw(wheel, "wheel", [code]).readings
    assert reading.fault.text is None
    assert reading.position == pytest.approx(np.radians(place), abs=1e-9)


def test_both_ends_of_the_range_are_one_place_with_one_code(wheel: Rig) -> None:
    low, high = expect(wheel, axis="wheel", positions=["-180 deg", "180 deg"]).readings
    assert low.code == high.code == 0
    assert low.volts_pin is None
    assert "multimeter" not in expect(wheel).headline


def test_an_error_near_the_wrap_counts_the_shortest_way(wheel: Rig) -> None:
    found = budget_of(wheel, axis="wheel", builds=4000, seed=1)
    states = found.as_json()["states"]
    # counted the long way a build that wraps at the end of the range would be wrong by about 360 deg
    assert all(state["half_width_95"] < 10.0 for state in states.values())
    assert states["calibrated"]["half_width_95"] < states["datasheet"]["half_width_95"]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_no_mean_is_taken_across_the_wrap_in_a_calibration(wheel: Rig, tmp_path: Path, seed: int) -> None:
    log = tmp_path / "bench.csv"
    simulate(wheel, "wheel", seed=seed, out=log)
    found = calibrate(wheel, "wheel", file=log, date="2026-01-01", keep=False).as_json()
    # one turn is 4096 codes; a single point off by a turn would move the slope by a third and more
    assert found["code"]["slope"] == pytest.approx(360 / 4096, rel=5e-3)
    assert found["residual_sd"] < 2.0


def test_the_code_handed_over_reports_within_the_turn(wheel: Rig, tmp_path: Path) -> None:
    plan = hand_over(wheel, axis="wheel", out=tmp_path / "code").plans[0]
    header = (tmp_path / "code" / "wheel.h").read_text()
    assert (plan.turn, plan.turn_from, plan.lowest_valid, plan.highest_valid) == (360.0, -180.0, 0, 4095)
    assert "WHEEL_TURN " in header
    assert "good frames in a row" in header


def test_a_range_that_is_not_one_turn_is_refused(tmp_path: Path) -> None:
    text = WHEEL.replace('to = "180 deg"', 'to = "90 deg"')
    assert _refused(tmp_path, text) == (
        "wheel.toml, axis 'wheel', motion: it is endless, and its range is not one whole turn. "
        'Write from = "-180 deg", to = "180 deg".'
    )


def test_a_ratio_that_leaves_the_turn_open_is_refused(tmp_path: Path) -> None:
    text = WHEEL.replace('kind = "direct"', "gears = [40, 20]")
    assert "turns 2 times" in _refused(tmp_path, text)


def test_a_flag_takes_true_or_false_only(tmp_path: Path) -> None:
    text = WHEEL.replace("endless = true", 'endless = "yes"')
    assert _refused(tmp_path, text) == (
        "wheel.toml, axis 'wheel', motion.endless: 'yes' is not true or false. "
        "Write true or false, without quotes."
    )


def test_a_wrap_inside_the_range_of_the_machine_at_hand_is_named(tmp_path: Path) -> None:
    text = WHEEL.replace("-180 deg", "-150 deg").replace('"180 deg", endless = true', '"150 deg"')
    file = tmp_path / "wheel.toml"
    file.write_text(text, encoding="utf-8")
    rig = open_rig(file)
    # by hand: clamped at 50 %, 0 deg reads 2048; this one was clamped 40 deg off, so 150 deg reads past 4095
    typed = [(q, (2048 + (q + 40) / 360 * 4096) % 4096, "") for q in (-150.0, -75.0, 0.0, 75.0, 150.0)]
    with pytest.raises(AnglewrightError) as refused:
        calibrate(rig, "wheel", typed=typed, date="2026-01-01", keep=False)
    assert "the reading wraps inside the range, at 150 deg or before" in str(refused.value)
    assert "until the middle of the range reads half of full output" in str(refused.value)


def test_what_to_change_is_said_for_a_converter_that_has_no_bits_of_its_own(tmp_path: Path) -> None:
    file = tmp_path / "wheel.toml"
    file.write_text(WHEEL.replace('"4 deg"', '"0.2 deg"'), encoding="utf-8")
    found = budget_of(open_rig(file), axis="wheel").as_json()
    assert not found["states"]["calibrated"]["meets"]
    assert all(row["half_width_95"] > 0.0 for row in found["next"])
