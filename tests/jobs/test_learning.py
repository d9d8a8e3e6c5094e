"""What a calibration found goes back into the rig file; the truth is that of the simulated bench."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.errors import UsageError
from anglewright.findings import Severity
from anglewright.jobs.calibrated import CalibrateResult
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.learned import Learned
from anglewright.jobs.learning import learn
from anglewright.jobs.measured import Measured, kept_text
from anglewright.jobs.opening import open_rig
from anglewright.jobs.simulating import simulate
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.units import Kind
from anglewright.rig import Rig
from anglewright.rigfile.records import record_in_use

DAY = "2026-05-12"
NOISY = 'noise = "3 LSB rms"'


def bench(
    rover: Path, *plant: str, change: tuple[str, str] | None = None, keep: bool = True
) -> CalibrateResult:
    """A calibration of the shoulder as its file has it, of a machine that is made otherwise."""
    file = rover / "rig.toml"
    simulate(open_rig(file), "shoulder", seed=5, plant=plant, out=rover / "bench.csv")
    if change is not None:
        text = file.read_text(encoding="utf-8")
        assert change[0] in text
        file.write_text(text.replace(*change), encoding="utf-8")
    return calibrate(open_rig(file), "shoulder", file=rover / "bench.csv", date=DAY, keep=keep)


def rig_of(rover: Path) -> Rig:
    return open_rig(rover / "rig.toml")


def by_key(result: CalibrateResult) -> dict[str, Learned]:
    return {each.measured.name: each for each in result.learned}


def half_width(rover: Path) -> float:
    return budget_axis(rig_of(rover).axis("shoulder")).of(State.CALIBRATED).half_width_95


def test_the_play_that_was_planted_stands_in_the_file_and_the_budget_is_narrower(rover: Path) -> None:
    """A file that says 3 deg, a coupling of 1.2 deg."""
    result = bench(rover, "play=1.2 deg")
    before = half_width(rover)
    learned = learn(rig_of(rover), result, date=DAY)
    play = by_key(learned)["coupling.play"]
    assert (play.written, play.measured.old, play.unit) == (True, "3 deg", "deg")
    assert play.low is not None
    assert play.high is not None
    assert play.low < 1.2 < play.high
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    assert f'play = "{play.measured.new}"' in text
    remark = "# total, at the sensor's shaft; measured on 2026-05-12, record 2026-05-12-1; it was 3 deg"
    assert remark in text
    written = read_quantity(play.measured.new, kinds=Kind.ANGLE).spread().limits
    assert [math.degrees(limit) for limit in written] == pytest.approx([play.low, play.high], abs=0.01)
    assert half_width(rover) < 0.85 * before


def test_the_record_stays_in_use_after_the_file_has_learned(rover: Path) -> None:
    learn(rig_of(rover), bench(rover, "play=1.2 deg"), date=DAY)
    rig = rig_of(rover)
    record = record_in_use(rig, rig.axis("shoulder")).record
    assert record is not None
    assert record.name == "2026-05-12-1"


def test_the_noise_is_written_where_the_file_is_surely_wrong(rover: Path) -> None:
    """Readings of 1.5 LSB rms, and a file that says 3: the limits of the repeats hold the one alone."""
    result = bench(rover, change=('noise = "1.5 LSB rms"', NOISY))
    noise = by_key(learn(rig_of(rover), result, date=DAY))["converter.noise"]
    assert noise.written
    assert noise.low is not None
    assert noise.high is not None
    assert noise.low < 1.5 < noise.high < 3.0
    assert noise.measured.new.endswith(" LSB rms")


def test_what_the_file_says_already_is_left_alone(rover: Path) -> None:
    result = bench(rover)
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    learned = learn(rig_of(rover), result, date=DAY)
    told = {key: each.why_not for key, each in by_key(learned).items() if key != "sensor.electrical_travel"}
    same = "the file says the same within its limits"
    assert told == {"converter.noise": same, "coupling.play": same}
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


def test_the_real_travel_is_told_and_not_written(rover: Path) -> None:
    """344 deg of a sensor of 340 deg give or take 5: the slope shows it."""
    result = bench(rover, "sensor.electrical_travel=344 deg", "play=1.2 deg")
    learned = learn(rig_of(rover), result, date=DAY)
    travel = by_key(learned)["sensor.electrical_travel"]
    assert travel.low is not None
    assert travel.high is not None
    assert travel.low < 344.0 < travel.high
    assert travel.why_not == (
        f"340 deg is really {travel.measured.new}, if the drive is as the file says: write it yourself if "
        "you change the sensor's entry; the record then no longer fits and you calibrate again"
    )
    assert '"340 deg ± 5 deg"' in (rover / "rig.toml").read_text(encoding="utf-8")
    assert not travel.written


def test_each_number_is_asked_for_and_none_is_written_without_a_yes(rover: Path) -> None:
    result = bench(rover, "play=1.2 deg", change=('noise = "1.5 LSB rms"', NOISY))
    asked: list[str] = []

    def only_noise(question: str) -> bool:
        asked.append(question)
        return question.startswith("converter.noise")

    learned = by_key(learn(rig_of(rover), result, date=DAY, agreed=only_noise))
    assert [question.partition(":")[0] for question in asked] == ["converter.noise", "coupling.play"]
    assert asked[1].startswith("coupling.play: 3 deg in the file, 1.")
    assert asked[1].endswith(" as measured. Write that into the rig file?")
    assert (learned["coupling.play"].written, learned["coupling.play"].why_not) == (False, "not agreed to")
    assert learned["converter.noise"].written
    assert 'play = "3 deg"' in (rover / "rig.toml").read_text(encoding="utf-8")


def test_a_trial_tells_and_writes_nothing(rover: Path) -> None:
    result = bench(rover, "play=1.2 deg", keep=False)
    before = (rover / "rig.toml").read_text(encoding="utf-8")
    play = by_key(learn(rig_of(rover), result, date=DAY))["coupling.play"]
    assert (play.written, play.why_not) == (False, "nothing is written in a trial")
    assert play.measured.new.startswith("1.")
    assert (rover / "rig.toml").read_text(encoding="utf-8") == before


@pytest.mark.parametrize(("key", "written"), [("two-boards", False), ("play", True)])
def test_nothing_is_learned_where_a_finding_stops_but_for_play_itself(
    rover: Path, key: str, written: bool
) -> None:
    result = bench(rover, "play=1.2 deg")
    stop = replace(result.findings[0], key=key, severity=Severity.STOP)
    play = by_key(learn(rig_of(rover), replace(result, findings=(stop,)), date=DAY))["coupling.play"]
    assert play.written is written
    assert play.why_not == ("" if written else "the calibration stops at 'two-boards': see to that first")


def test_two_readings_tell_no_noise(rover: Path) -> None:
    typed = [(-20.0, 422.0, "up"), (40.0, 1867.0, "up"), (115.0, 3674.0, "up"), (115.0, 3674.0, "down")]
    result = calibrate(rig_of(rover), "shoulder", typed=[*typed, (40.0, 1867.0, "down")], date=DAY)
    noise = by_key(learn(rig_of(rover), result, date=DAY))["converter.noise"]
    assert (
        noise.why_not == "the repeats leave 0 degrees of freedom, and it takes 8: read each place more often"
    )
    assert (noise.low, noise.measured.new) == (None, "")


def test_what_two_parts_share_is_not_laid_to_one_of_them(rover: Path) -> None:
    """The pan axis has noise of its sensor and of its converter, and only the sensor lags."""
    rig = open_rig(rover / "rover.toml")
    result = calibrate(rig, "pan", file=rover / "pan-bench.csv", date=DAY)
    learned = by_key(learn(rig, result, date=DAY))
    assert learned["converter.noise"].why_not == (
        "it comes from sensor.noise, converter.noise, and the repeats cannot tell what of it is noise"
    )
    assert learned["coupling.play"].why_not == (
        "it comes from sensor.hysteresis, and the points cannot tell what of it is where"
    )


def test_a_what_if_learns_nothing(rover: Path) -> None:
    result = bench(rover, keep=False)
    rig = open_rig(rover / "rig.toml", changes=["shoulder.coupling.play=1 deg"])
    with pytest.raises(UsageError, match="--learn: the rig is not as its file has it"):
        learn(rig, result, date=DAY)


HEAD = (
    'rig = "R"\n[axis.a]\nmotion = { from = "0 mm", to = "50 mm" }\nneed = { error = "1 mm" }\n'
    'when_unpowered = "holds"\n[axis.a.sensor]\nkind = "potentiometer"\nelectrical_travel = "340 deg"\n'
)
FOUND = Measured(room="drive", key="backlash", old="", new="0.2 mm ± 0.1 mm", remark="measured on 2026-05-12")
IN_STAGE = Measured(room="drive", key="stages.1.backlash", old="", new="0.2 mm ± 0.1 mm", remark=FOUND.remark)
STAGES = '[[axis.a.drive.stages]]\nkind = "rack"\nteeth = 20\nmodule = "1 mm"\n'
GEARS = '[[axis.a.drive.stages]]\nkind = "gears"\ngears = [20, 20]\n'


@pytest.mark.parametrize(
    ("drive", "found", "line"),
    [
        (
            '[axis.a.drive]\nkind = "rack"\nteeth = 20\nmodule = "1 mm"\nbacklash = "1 mm" # assumed: it\n',
            FOUND,
            'backlash = "0.2 mm ± 0.1 mm" # measured on 2026-05-12\n',
        ),
        (
            '[axis.a.drive]\nkind = "rack"\nteeth = 20\nmodule = "1 mm"\n'
            'backlash = "1 mm" # by feel; measured on 2026-01-02; it was 2 mm\n',
            FOUND,
            'backlash = "0.2 mm ± 0.1 mm" # by feel; measured on 2026-05-12\n',
        ),
        (
            '[axis.a]\ndrive = { kind = "rack", teeth = 20, module = "1 mm", backlash = "1 mm" }\n',
            FOUND,
            'backlash = "0.2 mm ± 0.1 mm" } # measured on 2026-05-12\n',
        ),
        (
            f'[axis.a.drive]\nkind = "stages"\n{STAGES}{GEARS}',
            IN_STAGE,
            'backlash = "0.2 mm ± 0.1 mm" # measured on 2026-05-12\n',
        ),
    ],
    ids=["assumed", "measured before", "in one line", "in a stage"],
)  # fmt: skip
def test_a_number_gets_its_remark_wherever_it_stands(drive: str, found: Measured, line: str) -> None:
    text = HEAD.replace("[axis.a]\n", drive) if drive.startswith("[axis.a]\n") else HEAD + drive
    changed = kept_text(text, "a", (found,), source="r.toml")
    assert line in changed
    assert "assumed: it" not in changed
    assert "2026-01-02" not in changed
