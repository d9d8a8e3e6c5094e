"""How long a command takes to begin: ratios to a bare interpreter and to `import numpy`, in one run.

The programs run in turn, so that whatever else the computer does touches all of them alike; the
median of each is taken. Ends with 1 where a goal is missed.
"""

import os
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from typing import NamedTuple

ROOT = Path(__file__).resolve().parent.parent
RIG = str(ROOT / "examples" / "rover" / "rig.toml")
ROUNDS = 21
PROGRAM = ("-m", "anglewright")
CACHED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
COMMANDS: dict[str, tuple[str, ...]] = {
    "bare interpreter": ("-c", "pass"),
    "import numpy": ("-c", "import numpy"),
    "--version": (*PROGRAM, "--version"),
    "--help": (*PROGRAM, "--help"),
    "budget, one axis": (*PROGRAM, "budget", RIG, "shoulder"),
}


class Goal(NamedTuple):
    """A command, what it is compared with, and the largest ratio allowed."""

    command: str
    against: str
    ratio: float


GOALS = (
    Goal("--version", "bare interpreter", 1.5),
    Goal("--help", "bare interpreter", 4.0),
    Goal("budget, one axis", "import numpy", 3.0),
)


def seconds(arguments: Sequence[str]) -> float:
    """Wall time of one run. [s]"""
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=False, env=CACHED
    )
    taken = time.perf_counter() - begun
    answered = done.returncode == 0 or (done.returncode == 1 and done.stdout)  # 1: a need is not met
    if not answered:
        raise SystemExit(f"{' '.join(arguments)} ended with {done.returncode}: {done.stderr.strip()}")
    return taken


def medians(rounds: int) -> dict[str, float]:
    """Median wall time of every command over alternating runs, after one to warm up. [s]"""
    runs = [{name: seconds(arguments) for name, arguments in COMMANDS.items()} for _ in range(rounds + 1)]
    return {name: median(run[name] for run in runs[1:]) for name in COMMANDS}


def main() -> int:
    """Print the table; 1 where a goal is missed."""
    found = medians(ROUNDS)
    print(f"Median of {ROUNDS} alternating runs")
    for name, taken in found.items():
        print(f"  {name:<18}{1e3 * taken:8.1f} ms")
    missed = 0
    for goal in GOALS:
        ratio = found[goal.command] / found[goal.against]
        missed += ratio > goal.ratio
        verdict = "missed" if ratio > goal.ratio else "kept"
        print(f"  {goal.command} / {goal.against}: {ratio:.2f}, goal {goal.ratio}: {verdict}")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
