"""A long recording becomes points without being held whole: peak memory, measured in a process of its own."""

import subprocess
import sys
from pathlib import Path

PROGRAM = """
import resource, sys
from anglewright.jobs.calibrating import calibrate
from anglewright.jobs.opening import open_rig
result = calibrate(open_rig(sys.argv[1]), "shoulder", file=sys.argv[2], date="2026-05-12", keep=False)
print(result.calibration.n_points, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""
HOLD, PLACES = 2000, 9


def written(path: Path, size: int) -> int:
    """A recording of holds at nine places, up and down again and again, until it is so large; rows. [1]"""
    up = [-20.0 + 135.0 * k / (PLACES - 1) for k in range(PLACES)]
    rows, begin = 0, 0.0
    with path.open("w", encoding="utf-8") as file:
        file.write("time_s,reference_deg,raw\n")
        while file.tell() < size:
            for here, there in zip([*up, *up[::-1]], [*up[1:], *up[::-1], up[0]], strict=True):
                lines = []
                for k in range(HOLD + 200):
                    q = here if k < HOLD else here + (there - here) * (k - HOLD) / 200.0
                    noise = (k * 7919) % 5 - 2
                    lines.append(
                        f"{begin + 0.001 * k:.3f},{q:.4f},{round(2048 + (q - 47.5) * 24.094) + noise}\n"
                    )
                file.write("".join(lines))
                begin, rows = begin + 0.001 * (HOLD + 200), rows + HOLD + 200
    return rows


def test_a_long_recording_stays_small_in_memory(rover: Path, tmp_path: Path, long: bool) -> None:
    megabytes = 2000 if long else 50
    log = tmp_path / "log.csv"
    rows = written(log, megabytes * 1_000_000)
    assert rows > 10_000
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(rover / "rig.toml"), str(log)],
        capture_output=True,
        text=True,
        check=True,
        timeout=3600,
    )
    points, peak = map(int, done.stdout.split())
    assert points < rows / 100
    assert peak < 1000  # MB: less than a gigabyte, whatever the size of the file
