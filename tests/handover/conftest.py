"""A C compiler for the emitted code, and the shoulder of the demo rover as a plan."""

import subprocess
from collections.abc import Callable, Mapping
from pathlib import Path
from string import Template

import pytest

from anglewright.handover.cautions import fault_action
from anglewright.handover.languages import emit
from anglewright.handover.plan import HandoverPlan, Provenance
from anglewright.links.protocol import CodeRange

FLAGS = ("-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror", "-O2")
Build = Callable[[Path, Mapping[str, str]], Path]
Rows = list[tuple[int, float, bool, int]]
HARNESS = Template("""
#include "$stem.h"
#include <stdio.h>

int main(void)
{
    long raw;
    while (scanf("%ld", &raw) == 1) {
        const ${stem}_reading reading = ${stem}_position((int32_t)raw);
        printf("%ld %.9g %d %d\\n", raw, (double)reading.position, (int)reading.valid, (int)reading.fault);
    }
    return 0;
}
""")


@pytest.fixture(scope="session")
def build(gcc: str) -> Build:
    """Writes C files into a folder and makes a program of them, every warning an error."""

    def program(folder: Path, texts: Mapping[str, str]) -> Path:
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="ascii", newline="\n")
        sources = sorted(name for name in texts if name.endswith(".c"))
        done = subprocess.run(
            [gcc, *FLAGS, *sources, "-o", "program", "-lm"],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return folder / "program"

    return program


@pytest.fixture(scope="session")
def run(build: Build) -> Callable[[Path, HandoverPlan, list[int]], Rows]:
    """What the emitted function answers to each raw value."""

    def answers(folder: Path, plan: HandoverPlan, raws: list[int]) -> Rows:
        files = emit(plan, language="c")
        texts = {name: text for name, text in files.items() if "_selftest" not in name}
        texts["harness.c"] = HARNESS.substitute(stem=plan.stem)
        program = build(folder, texts)
        asked = "\n".join(str(raw) for raw in raws)
        done = subprocess.run([program], input=asked, capture_output=True, text=True, check=True)
        rows = [line.split() for line in done.stdout.splitlines()]
        return [(int(raw), float(place), valid == "1", int(fault)) for raw, place, valid, fault in rows]

    return answers


@pytest.fixture(scope="session")
def tested(build: Build) -> "Callable[[Path, Mapping[str, str]], subprocess.CompletedProcess[str]]":
    """The emitted self-test, built and run."""

    def done(folder: Path, files: Mapping[str, str]) -> "subprocess.CompletedProcess[str]":
        return subprocess.run([build(folder, files)], capture_output=True, text=True, check=False)

    return done


@pytest.fixture(scope="session")
def shoulder() -> HandoverPlan:
    """Shoulder as in the project's worked numbers: 170 deg of joint over 4096 codes, 47.5 deg at half."""
    slope = 170.0 / 4096.0
    return HandoverPlan(
        rig="Vine rover (simulated)",
        axis="shoulder",
        unit="deg",
        codes=CodeRange.of_bits(12),
        slope=slope,
        offset=47.5 - 85.0 + slope / 2.0,
        low_code=229,
        high_code=3866,
        when_unpowered="drops",
        fault_action=fault_action("drops"),
        hold_off_ms=32.5,
        provenance=Provenance(
            state="calibrated",
            record="2025-03-01-1",
            date="2025-03-01",
            chain_hash="ab12cd34",
            version="0.1.0",
        ),
        half_width_95=0.42,
    )
