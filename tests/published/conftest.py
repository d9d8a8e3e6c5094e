"""The circuit simulator that the published checks run beside our own formulas."""

import os
import re
import shutil
import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import pytest

Spice = Callable[[str], Mapping[str, float]]


@pytest.fixture(scope="session")
def ngspice() -> str:
    """The simulator; missing, it fails unless it was left out on purpose."""
    program = shutil.which("ngspice")
    if program is None and "ngspice" in os.environ.get("ANGLEWRIGHT_WITHOUT", ""):
        pytest.skip("ngspice was left out by ANGLEWRIGHT_WITHOUT")
    if program is None:
        pytest.fail("ngspice is missing: install it, or set ANGLEWRIGHT_WITHOUT=ngspice to leave it out.")
    return program


def _run(program: str, folder: Path, elements: str, commands: str) -> str:
    file = folder / "circuit.cir"
    lines = ("* a title", elements, ".control", "set numdgt=15", commands, "quit", ".endc", ".end", "")
    file.write_text("\n".join(lines), encoding="utf-8")
    done = subprocess.run(
        [program, "-b", file.name], cwd=folder, capture_output=True, text=True, timeout=120, check=False
    )
    return done.stdout


@pytest.fixture
def at_rest(ngspice: str, tmp_path: Path) -> Callable[[str, list[str]], np.ndarray]:
    """Voltages of nodes at rest, by the simulator."""

    def solve(elements: str, nodes: list[str]) -> np.ndarray:
        text = _run(ngspice, tmp_path, elements, "op\n" + "\n".join(f"print v({node})" for node in nodes))
        found = dict(re.findall(r"v\((\w+)\) = (\S+)", text))
        assert set(found) == set(nodes), text
        return np.array([float(found[node]) for node in nodes])

    return solve


@pytest.fixture
def in_time(ngspice: str, tmp_path: Path) -> Callable[..., tuple[np.ndarray, np.ndarray]]:
    """Times [s] and voltages of one node, from given charges of the capacitors, by the simulator."""

    def solve(elements: str, node: str, *, step_s: float, end_s: float) -> tuple[np.ndarray, np.ndarray]:
        commands = f"tran {step_s!r} {end_s!r} 0 {step_s!r} uic\nset wr_singlescale\nwrdata out.txt v({node})"
        text = _run(ngspice, tmp_path, elements, commands)
        file = tmp_path / "out.txt"
        assert file.exists(), text
        times, volts = np.loadtxt(file).T
        return times, volts

    return solve
