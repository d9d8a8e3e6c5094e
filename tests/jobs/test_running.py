"""A run as it is asked for in text: its options, its file, its log, and what is refused."""

import csv

import numpy as np
import pytest

from anglewright.cli.options import MOTION_KINDS
from anglewright.errors import AnglewrightError
from anglewright.jobs.opening import open_rig
from anglewright.jobs.running import Run, path_of
from anglewright.jobs.simulating import simulate
from anglewright.simulation.paths import MOTIONS


@pytest.fixture
def rig(rover):
    """The rover."""
    return open_rig(rover / "rig.toml")


def rows_of(path):
    with path.open(encoding="utf-8") as file:
        return list(csv.reader(line for line in file if not line.startswith("#")))


def test_values_come_with_their_unit_or_without(rig):
    axis = rig.axis("shoulder")
    given = {"motion": "sine", "at": "pin"}
    with_units = Run(seconds="4 s", rate="50 Hz", amplitude="30 deg", frequency="0.2 Hz", **given)
    bare = Run(seconds="4", rate="50", amplitude="30", frequency="0.2", **given)
    one, other = path_of(axis, with_units), path_of(axis, bare)
    assert np.array_equal(one.q, other.q)
    assert len(one.index) == 201
    assert np.degrees(one.q[0]) == pytest.approx(47.5)  # the mark 'pin'


def test_a_file_of_time_and_position_is_a_motion(rig, rover):
    file = rover / "move.csv"
    file.write_text("time_s,angle_rad\n0,0.1\n1,0.2\n3,0.2\n", encoding="utf-8")
    path = path_of(rig.axis("shoulder"), Run(motion=str(file)))
    assert path.end_s == 3.0
    assert path.q[[0, -1]] == pytest.approx([0.1, 0.2])
    file.write_text("0 10\n1 20\n", encoding="utf-8")
    assert np.degrees(path_of(rig.axis("shoulder"), Run(motion=str(file))).q[-1]) == pytest.approx(20.0)


def test_a_log_has_its_columns_and_no_reference_where_none_is_wanted(rig, rover):
    run = Run(motion="sweep", seconds="2 s", rate="10 Hz")
    simulate(rig, None, out=rover / "a.csv", run=run)
    simulate(
        rig, None, out=rover / "b.csv", run=Run(motion="sweep", seconds="2 s", rate="10 Hz", reference=False)
    )
    with_it, without = rows_of(rover / "a.csv"), rows_of(rover / "b.csv")
    assert with_it[0] == ["time_s", "reference_deg", "raw", "approach"]
    assert without[0] == ["time_s", "raw", "approach"]
    assert [row[:1] + row[2:] for row in with_it] == without
    assert [row[2] for row in without[1:]] == ["", *["up"] * 20]
    assert len(without) == 22


@pytest.mark.parametrize("motion", [kind for kind in MOTION_KINDS if kind != "plan"])
def test_the_same_seed_gives_the_same_bytes(rig, rover, motion):
    run = Run(motion=motion, seconds="3 s", rate="50 Hz")
    plant = ["play=2deg", "jitter", "spikes", "slip@1s"]
    for name in ("a.csv", "b.csv"):
        simulate(rig, None, seed=9, plant=plant, out=rover / name, run=run)
    simulate(rig, None, seed=10, plant=plant, out=rover / "c.csv", run=run)
    one, again, other = ((rover / name).read_bytes() for name in ("a.csv", "b.csv", "c.csv"))
    assert one == again != other
    assert (rover / "a.csv.truth.toml").read_bytes() == (rover / "b.csv.truth.toml").read_bytes()


def test_faults_can_be_planted_in_the_plan_too(rig):
    plain = simulate(rig, None, seed=3).sweep
    slipped = simulate(rig, None, seed=3, plant=["slip=5deg@20s"])
    before = slipped.sweep.time_s < 20.0
    assert np.array_equal(plain.raw[before], slipped.sweep.raw[before])
    shift = (slipped.sweep.raw - plain.raw)[slipped.sweep.time_s > 21.0]
    assert len(shift) > 8
    assert shift.mean() == pytest.approx(5.0 * 4096.0 / 340.0, rel=0.1)
    assert len(slipped.as_json()["truth"]["positions"]) == 72


def test_the_door_names_the_motions_that_there_are():
    assert set(MOTION_KINDS) == {"plan", *MOTIONS} - {"file"}


KNOWN = "sweep, trapezoid, sine, steps, hold, marks"
REFUSED = [
    (
        {"rate": "10 Hz"},
        "--rate: the readings of the plan are taken at its places, one rest each. "
        f"Leave it out, or name a --motion: {KNOWN}.",
    ),
    ({"motion": "swep"}, "--motion: there is no motion 'swep'. Did you mean 'sweep' or 'steps'?"),
    ({"motion": "sine", "seconds": "0"}, "--seconds: '0' is not above 0. Write it as in --seconds 10s."),
    ({"motion": "sine", "rate": "-5 Hz"}, "--rate: '-5 Hz' is not above 0. Write it as in --rate 10Hz."),
    (
        {"motion": "sine", "amplitude": "3 mm"},
        "--amplitude: '3 mm' is a length, an angle is asked for. Write it in deg, rad or turn.",
    ),
    (
        {"motion": "sine", "seconds": "long"},
        "--seconds: 'long' has no number that can be read, a time is asked for. "
        "Write a number and its unit, such as '10 s'.",
    ),
    (
        {"motion": "hold", "frequency": "1 Hz"},
        "--frequency: it plays no part in the motion 'hold'. Leave it out.",
    ),
    (
        {"motion": "hold", "at": "attic"},
        "axis 'shoulder': 'attic' is neither a mark nor a position. Known: pin, stow. "
        "Or write a position in deg.",
    ),
]


@pytest.mark.parametrize(("given", "said"), REFUSED)
def test_what_cannot_be_run_is_said_in_a_sentence(rig, given, said):
    with pytest.raises(AnglewrightError) as caught:
        path_of(rig.axis("shoulder"), Run(**given))
    assert str(caught.value) == said
    assert caught.value.exit_code == 2


FILES = [
    (
        "time,angle\n0,1\n1,x\n",
        "line 3: it holds no time and position. Write a time in seconds and a position in each row.",
    ),
    (
        "0,1\n1,2\n1,3\n",
        "line 3: its time is not later than that of the row before. Put the rows in the order of time.",
    ),
]


@pytest.mark.parametrize(("text", "said"), FILES)
def test_a_file_that_is_no_motion_is_refused(rig, rover, text, said):
    file = rover / "move.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(AnglewrightError) as caught:
        path_of(rig.axis("shoulder"), Run(motion=str(file)))
    assert str(caught.value) == f"{file}, {said}"
    assert caught.value.exit_code == 3


def test_a_file_with_one_row_is_refused(rig, rover):
    file = rover / "move.csv"
    file.write_text("0,1\n", encoding="utf-8")
    with pytest.raises(AnglewrightError, match="it has no two rows of time and position"):
        path_of(rig.axis("shoulder"), Run(motion=str(file)))
