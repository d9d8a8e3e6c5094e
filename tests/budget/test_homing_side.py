"""Play is taken up on the side of the homing: the bias that it leaves, by hand and by virtual builds."""

from pathlib import Path

import numpy as np
import pytest

from anglewright.budget.builds import ALL_STATES, HowMany, virtual_builds
from anglewright.budget.totals import budget_axis
from anglewright.rig import Axis
from anglewright.rigfile.reading import read_rig

HOMED = """
rig = "a door, invented"
simulated = true
[axis.door]
motion = {{ from = "0 deg", to = "90 deg", settles = "{settles}" }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
[axis.door.marks]
shut = {{ at = "0 deg", within = "0.01 deg", how = "switch" }}
[axis.door.drive]
kind = "direct"
[axis.door.coupling]
kind = "d-bore"
play = "2 deg"
[axis.door.sensor]
kind = "incremental"
lines = 1000
[axis.door.mount]
kind = "homed"
side = "{side}"
within = "0.1 deg"
repeatability = "0.1 deg"
"""


def _door(tmp_path: Path, *, side: str, settles: str) -> Axis:
    file = tmp_path / "door.toml"
    file.write_text(HOMED.format(side=side, settles=settles), encoding="utf-8")
    return read_rig(file).axis("door")


@pytest.mark.parametrize(
    ("side", "settles", "biases"),
    # 2 deg of play in all, by hand. Homed rising, a reading from below is right and one from above 2 deg too
    # high: 1 deg in the middle. One-sided use comes from below. Zeroing takes off what is seen on the
    # sides of the plan, or on that of one-sided use; a plan of both puts its line in the middle.
    [
        ("rising", "two-sided", (1.0, 0.0, 0.0)),
        ("falling", "two-sided", (-1.0, 0.0, 0.0)),
        ("rising", "dithered", (1.0, 0.0, 0.0)),
        ("rising", "one-sided", (0.0, 0.0, -1.0)),
        ("falling", "one-sided", (-2.0, 0.0, -1.0)),
    ],
)
def test_half_the_play_stays_on_the_side_of_the_homing(
    tmp_path: Path, side: str, settles: str, biases: tuple[float, ...]
) -> None:
    door = _door(tmp_path, side=side, settles=settles)
    first = budget_axis(door)
    built = virtual_builds(door, how_many=HowMany(most=4000), seed=1, positions=3)
    for state, bias in zip(ALL_STATES, biases, strict=True):
        assert np.degrees(first.of(state).bias) == pytest.approx(bias, abs=0.01)
        # 4000 builds of at most 1 deg either way: the mean is good to about 0.02 deg
        assert np.degrees(built.of(state).bias) == pytest.approx(bias, abs=0.06)
