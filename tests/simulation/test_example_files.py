"""The files that the example ships are what the commands in its README make, byte for byte."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from anglewright.__main__ import main
from anglewright.jobs.opening import open_rig
from anglewright.rig import Axis

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"
README = (ROVER / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^(?:\$ )?anglewright (simulate .*)$", README, re.MULTILINE)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command.rsplit(" ", 1)[-1])
def test_a_bench_file_and_its_truth_come_from_their_seed(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for rig in ROVER.glob("*.toml"):
        if not rig.name.endswith(".truth.toml"):
            shutil.copy(rig, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", ["anglewright", *shlex.split(command)])
    with pytest.raises(SystemExit, match="0"):
        raise SystemExit(main())
    out = command.rsplit(" ", 1)[-1]
    for name in (out, f"{out}.truth.toml"):
        assert (tmp_path / name).read_bytes() == (ROVER / name).read_bytes()


def test_every_bench_file_has_its_command() -> None:
    shipped = {file.name for file in ROVER.glob("*.csv")}
    assert shipped == {command.rsplit(" ", 1)[-1] for command in COMMANDS}


def test_the_shoulder_of_the_whole_rover_is_the_one_of_the_first_ten_minutes() -> None:
    def shown(axis: Axis) -> str:
        return repr((axis.motion, axis.parts, axis.permissible, axis.stops, axis.marks, axis.plan, axis.raw))

    alone, whole = open_rig(ROVER / "rig.toml"), open_rig(ROVER / "rover.toml")
    assert shown(whole.axis("shoulder")) == shown(alone.axis("shoulder"))
    assert list(whole.axes) == ["shoulder", "mast", "pan", "tilt", "steer", "reel"]
