"""Kinds of part are found by their names, and no module is loaded that the rig does not need."""

import subprocess
import sys
from pathlib import Path

import pytest

from anglewright.errors import RigError
from anglewright.rigfile.kinds import ROOMS, kinds_in, part_named

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover" / "rig.toml"
LOADED = """
import sys
from pathlib import Path
from anglewright.rigfile.reading import read_rig
read_rig(Path(sys.argv[1]))
print(*sorted(name.rpartition(".")[2] for name in sys.modules if name.startswith("anglewright.links.")))
"""


def test_every_kind_of_a_room_is_found_by_its_name() -> None:
    for room in ROOMS:
        for kind in kinds_in(room):
            assert (part_named(room, kind).room, part_named(room, kind).kind) == (room, kind)


def test_reading_a_rig_loads_no_kind_of_part_that_is_not_in_it() -> None:
    command = [sys.executable, "-c", LOADED, str(ROVER)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    assert {"gears", "coupling", "mount", "potentiometer", "wiring", "converter"} <= set(told)
    assert not {"linkage", "belt_chain", "incremental", "counter", "pulse_timer", "universal"} & set(told)


@pytest.mark.parametrize("kind", ["protocol", "motion", "../rack", "os", "", "Potentiometer", "gears"])
def test_the_name_of_a_module_is_no_kind_of_sensor(kind: str) -> None:
    with pytest.raises(RigError, match="is not known"):
        part_named("sensor", kind)
