"""How fast a long recording is read: CSV to a checked recording, against the engine's own text and cast.

Writes a file of three columns (time, reference, raw) of simulated readings, reads it three ways, each in
a process of its own, and prints the times of the processor, their ratios and the peaks of memory:

- the streaming engine alone, everything as text and then cast;
- a checked recording, whole;
- the same in blocks, none of which is kept.

One million rows; ten million, the size of the goals, with ``--long``, or as many as ``--rows`` says.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from anglewright.quantities.units import UNITS
from anglewright.tables.proposing import Wanted
from anglewright.tables.reading import open_sheet

ROWS, LONG = 1_000_000, 10_000_000
GOAL_RATIO, GOAL_WHOLE_MB, GOAL_BLOCKS_MB = 2.5, 1000.0, 300.0
WRITTEN = 500_000  # rows written at a time
WAYS = ("engine", "whole", "blocks")
WANTED = Wanted(unit=UNITS["deg"], raw_meaning="counts")


def write_recording(path: Path, rows: int) -> None:
    """A simulated shoulder that swings, sampled a thousand times a second."""
    rng = np.random.default_rng(1)
    with path.open("w", encoding="utf-8") as stream:
        stream.write("# simulated\ntime_s,reference_deg,raw\n")
        for start in range(0, rows, WRITTEN):
            times = np.arange(start, min(start + WRITTEN, rows)) * 1e-3
            angles = 60.0 * np.sin(times / 7.0) + 45.0
            codes = np.rint(24.0 * angles + 1000.0 + rng.normal(0.0, 1.5, times.size)).astype(int)
            lines = zip(times.tolist(), angles.tolist(), codes.tolist(), strict=True)
            stream.write("".join(f"{t:.3f},{q:.3f},{n}\n" for t, q, n in lines))


def read(way: str, path: Path) -> int:
    """Read a file in one of the ways; gives the rows read. [1]"""
    if way == "engine":
        import polars as pl

        lazy = pl.scan_csv(path, infer_schema=False, comment_prefix="#")
        return lazy.select(pl.all().cast(pl.Float64, strict=False)).collect(engine="streaming").height
    reader = open_sheet(path, wanted=WANTED)
    if way == "whole":
        return len(reader.whole().recording)
    return sum(len(block) for block in reader.recordings())


def measured(way: str, path: Path) -> dict[str, float]:
    """Time of the processor, time of the clock and peak of memory of one way, in a process of its own."""
    words = [sys.executable, __file__, "--way", way, "--file", str(path)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def one_way(way: str, path: Path) -> None:
    """Read in this process and print what it took."""
    clock, processor = time.perf_counter(), time.process_time()
    rows = read(way, path)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    spent = {"clock": time.perf_counter() - clock, "processor": time.process_time() - processor}
    print(json.dumps({"rows": rows, "peak": peak, **spent}))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rows", type=int, default=ROWS)
    parser.add_argument("--long", action="store_const", dest="rows", const=LONG)
    parser.add_argument("--way", choices=WAYS)
    parser.add_argument("--file", type=Path)
    options = parser.parse_args()
    if options.way:
        one_way(options.way, options.file)
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "swing.csv"
        write_recording(path, options.rows)
        found = {way: measured(way, path) for way in WAYS}
        size = path.stat().st_size / 1e6
    print(f"{options.rows} rows of time, reference and raw, {size:.0f} MB; best is small")
    print(f"{'':10}{'processor s':>12}{'clock s':>10}{'of engine':>11}{'goal':>7}{'peak MB':>10}{'goal':>7}")
    for way, peak in zip(WAYS, ("", GOAL_WHOLE_MB, GOAL_BLOCKS_MB), strict=True):
        each, goal = found[way], "" if way == "engine" else GOAL_RATIO
        ratio = each["processor"] / found["engine"]["processor"]
        line = f"{way:10}{each['processor']:12.2f}{each['clock']:10.2f}{ratio:11.2f}{goal!s:>7}"
        print(f"{line}{each['peak']:10.0f}{peak!s:>7}")


if __name__ == "__main__":
    main()
