"""Errors that come round with the sensor: found and named where planted, kept quiet about where not."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.calibration.offers import models_for
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.result import Calibration, Task, calibrate_points
from anglewright.calibration.waves import turn_waves
from anglewright.findings import Finding, Severity
from anglewright.jobs.benchpoints import reference_of, requirement_of
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig
from anglewright.jobs.turnwaves import harmonics_findings
from anglewright.rig import Axis

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover" / "rover.toml"
SETS = 200
WHEEL = """
rig = "Vine rover, the wheel alone"
simulated = true
[axis.wheel]
motion = { from = "-180 deg", to = "180 deg", endless = true, speed = "200 deg/s" }
need = { error = "2 deg" }
when_unpowered = "holds"
[axis.wheel.marks]
ahead = { at = "0 deg", within = "0.2 deg", how = "straightedge along both wheels" }
[axis.wheel.drive]
kind = "gears"
gears = [40, 40]
[axis.wheel.coupling]
kind = "rigid"
[axis.wheel.sensor]
kind = "serial"
bits = 12
[axis.wheel.plan]
reference = { per_point = "0.2 deg", shared = "0.2 deg" }
"""


class Bench:
    """An axis on a bench of plain arithmetic: 15 places up and down, 4 readings each. [deg]"""

    def __init__(self, axis: Axis, *, turn: float, size: float, span: tuple[float, float]) -> None:
        self.axis, self.turn, self.size, self.span = axis, turn, size, span
        requirement = requirement_of(axis, budget_axis(axis).of(State.CALIBRATED))
        self.task = Task(
            requirement=requirement, reference=reference_of(axis), codes=axis.codes, unit=axis.unit
        )
        self.offers = models_for(axis)

    def calibrated(self, seed: int, *, once: float = 0.0, twice: float = 0.0) -> Calibration:
        """A calibration of a sensor with waves of such heights at random phases. [deg]"""
        rng = np.random.default_rng(seed)
        phases = rng.uniform(0.0, 2.0 * math.pi, 2)
        up = np.linspace(*self.span, 15)
        points = []
        for side, places in ((1, up), (-1, up[::-1])):
            for q in places:
                true = q + rng.normal(0.0, 0.1)
                angle = 2.0 * math.pi * true / (self.turn * self.size)
                shown = true - 0.1 * side
                shown += once * math.cos(angle + phases[0]) + twice * math.cos(2.0 * angle + phases[1])
                codes = np.floor(2048.0 + shown / self.size + rng.normal(0.0, 1.5, 4))
                points.append(
                    CalibrationPoint(
                        reference=math.radians(true + rng.normal(0.0, 0.2 / math.sqrt(3.0))),
                        raw=float(np.mean(codes)), readings=4, raw_sd=float(np.std(codes, ddof=1)),
                        approach=side,
                    )
                )  # fmt: skip
        return calibrate_points(points, task=self.task, offers=self.offers)

    def found(self, calibration: Calibration) -> Finding | None:
        """The finding, where there is one."""
        found = harmonics_findings(self.axis, calibration)
        assert len(found) <= 1
        return found[0] if found else None


@pytest.fixture(scope="module")
def pan() -> Bench:
    """The rover's camera head: by voltage, from 10 to 90 % of 4096 codes a turn, slope not known."""
    axis = open_rig(ROVER).axis("pan")
    return Bench(axis, turn=0.8 * 4096.0, size=360.0 / (0.8 * 4096.0), span=(-150.0, 150.0))


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """A wheel without ends on a 12-bit word: the slope is known."""
    file = tmp_path_factory.mktemp("wheel") / "rig.toml"
    file.write_text(WHEEL, encoding="utf-8")
    return Bench(open_rig(file).axis("wheel"), turn=4096.0, size=360.0 / 4096.0, span=(-175.0, 175.0))


@pytest.fixture(params=["pan", "wheel"])
def bench(request: pytest.FixtureRequest) -> Bench:
    """Each bench in turn."""
    made: Bench = request.getfixturevalue(request.param)
    return made


@pytest.mark.slow
@pytest.mark.parametrize(("order", "cause"), [(1, "off its centre"), (2, "tilted")])
def test_a_wave_of_half_the_need_is_found_and_its_cause_named_in_200_sets(
    bench: Bench, order: int, cause: str
) -> None:
    planted = math.degrees(bench.axis.permissible) / 2.0
    named = covered = 0
    for seed in range(SETS):
        heights = {"once": planted} if order == 1 else {"twice": planted}
        calibration = bench.calibrated(seed, **heights)
        finding = bench.found(calibration)
        named += finding is not None and cause in finding.remedy and "field status first" in finding.remedy
        wave = turn_waves(calibration.fit)[order - 1]
        covered += abs(math.degrees(wave.height) - planted) <= math.degrees(wave.u_95)
    assert named >= 0.95 * SETS
    # the uncertainty is one of 95 %; 200 sets scatter by 1.5 %
    assert covered >= 0.91 * SETS


@pytest.mark.slow
def test_200_clean_sets_are_left_in_peace(bench: Bench) -> None:
    found = [bench.found(bench.calibrated(seed)) for seed in range(1000, 1000 + SETS)]
    spoken = [finding for finding in found if finding is not None]
    assert len(spoken) <= 0.01 * SETS
    assert all(finding.severity is Severity.NOTE for finding in spoken)


@pytest.mark.parametrize(("share", "severity"), [(0.3, Severity.NOTE), (0.8, Severity.CAUTION)])
def test_a_wave_higher_than_half_the_need_is_a_caution(
    bench: Bench, share: float, severity: Severity
) -> None:
    need = math.degrees(bench.axis.permissible)
    finding = bench.found(bench.calibrated(7, once=share * need))
    assert finding is not None
    assert finding.severity is severity
    assert finding.measured == pytest.approx(share * need, abs=0.15 * need)
    assert finding.limit == pytest.approx(need / 2.0)


def test_the_wobble_of_the_reference_is_named_only_where_it_comes_round_as_often(
    bench: Bench, pan: Bench
) -> None:
    # sensor and axis turn together on both benches: once a turn may be the reference, twice cannot
    need = math.degrees(bench.axis.permissible)
    once = bench.found(bench.calibrated(3, once=0.5 * need))
    twice = bench.found(bench.calibrated(3, twice=0.5 * need))
    assert once is not None
    assert twice is not None
    assert "the reference itself wobbles" in once.remedy
    assert "wobble" not in twice.remedy


def test_a_line_that_was_asked_for_is_said_to_know_no_waves(pan: Bench) -> None:
    asked = replace(pan.task, model="line")
    calibration = pan.calibrated(5, once=1.0)
    again = calibrate_points(calibration.points, task=asked, offers=pan.offers)
    finding = pan.found(again)
    assert finding is not None
    assert "The model in use, line, knows no waves." in finding.text
    used = pan.found(calibration)
    assert used is not None
    assert "The model takes that out, for as long as nothing is moved." in used.text


def test_waves_that_were_asked_for_and_are_not_there_say_so(pan: Bench) -> None:
    asked = replace(pan.task, model="harmonics")
    again = calibrate_points(pan.calibrated(1001).points, task=asked, offers=pan.offers)
    finding = pan.found(again)
    assert finding is not None
    assert finding.severity is Severity.NOTE
    assert finding.text.endswith("Neither stands out of the scatter: a simpler model would do.")


def test_one_finding_takes_the_place_of_those_of_the_points_alone(tmp_path: Path) -> None:
    file = tmp_path / "rig.toml"
    file.write_text(WHEEL, encoding="utf-8")
    typed = [
        (float(q), (2048.0 + (q + 3.0 * math.sin(math.radians(q))) * 4096.0 / 360.0) % 4096.0 // 1.0, "")
        for q in range(-170, 180, 20)
    ]
    result = calibrate(open_rig(file), None, typed=typed, date="2026-05-12", keep=False)
    keys = [finding.key for finding in result.findings]
    assert keys.count("harmonics") == 1
    assert "once-per-turn" not in keys
    assert result.calibration.model == "harmonics"


def test_a_magnet_off_its_centre_is_not_taken_for_a_bent_converter(rover: Path) -> None:
    rig = open_rig(rover / "rover.toml", axis="pan")
    result = calibrate(rig, "pan", file=rover / "pan-bench.csv", date="2026-05-12", keep=False)
    assert [finding.key for finding in result.findings if finding.severity is not Severity.NOTE] == [
        "harmonics"
    ]
