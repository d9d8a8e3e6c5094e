"""The bench files that the example ships are what the command in its README makes."""

from pathlib import Path

from anglewright.jobs.opening import open_rig
from anglewright.jobs.simulating import simulate

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover"


def test_the_bench_file_and_its_truth_come_from_their_seed(tmp_path: Path) -> None:
    rig = open_rig(ROVER / "rig.toml")
    simulate(rig, "shoulder", seed=3, plant=["play=3deg"], out=tmp_path / "shoulder-bench.csv")
    for name in ("shoulder-bench.csv", "shoulder-bench.csv.truth.toml"):
        assert (tmp_path / name).read_bytes() == (ROVER / name).read_bytes()
