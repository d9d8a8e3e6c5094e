"""A newcomer's walk from nothing to a machine that may be used, on axes that are not the rover's.

Ten commands at the real door, none of which needs a file to be edited by hand. The machine is arithmetic: the
sensor trails by half a play, its zero and scale are not those of the data sheet, it has a slow wave, and
every reading has noise and is rounded to a count.
"""

import io
import json
import math
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from anglewright.cli.program import run

MOST_COMMANDS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Newcomer:
    """An axis as its builder would tell it, and the places of its calibration and of its check."""

    name: str
    answers: tuple[str, ...]
    two: tuple[str, str]
    calibrated: tuple[float, ...]
    checked: tuple[float, ...]
    stands: float
    play: float
    period: float | None = None


WHEEL = Newcomer(
    name="wheel",
    answers=(
        *("--moves=wheel", "--endless", "--from=-180deg", "--to=180deg", "--error=3deg"),
        *("--sensor=pulse-width", "--ratio=1", "--mark=ahead=0deg"),
    ),
    two=("-90deg", "90deg"),
    calibrated=(-180.0, -135.0, -90.0, -45.0, 0.0, 45.0, 90.0, 135.0, 180.0),
    checked=(-165.0, -80.0, 10.0, 100.0, 165.0),
    stands=0.0,
    play=0.4,
    period=4096.0,
)
"""A steered wheel that turns without end, with an endless magnetic sensor on its own shaft. [deg]"""

LIFT = Newcomer(
    name="lift",
    answers=(
        *("--moves=lift", "--from=0mm", "--to=560mm", "--error=6mm"),
        *("--sensor=ten-turn", "--drive=rack m 1, z 20", "--mark=rest=0mm"),
    ),
    two=("100mm", "400mm"),
    calibrated=(0.0, 70.0, 140.0, 210.0, 280.0, 350.0, 420.0, 490.0, 560.0),
    checked=(5.0, 120.0, 260.0, 400.0, 555.0),
    stands=0.0,
    play=0.6,
)
"""A lift on a rack whose pinion turns a ten-turn potentiometer. [mm]"""


@dataclass(slots=True)
class Walk:
    """The walk of one newcomer in a folder of her own: every command counts."""

    capsys: pytest.CaptureFixture[str]
    monkeypatch: pytest.MonkeyPatch
    commands: int = 0

    def step(self, *words: str, typed: str = "", may: Sequence[int] = (0,)) -> Any:
        """Run a command, see how it ended, and give the object that it printed."""
        self.monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        self.commands += 1
        code = run([*words, "--json"])
        said = self.capsys.readouterr()
        assert code in may, f"{' '.join(words)} ended with {code}: {said.err}{said.out}"
        assert said.err == ""
        return json.loads(said.out)


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """What the controller shows of a machine that was built: its line, play, wave and noise. [count]"""

    newcomer: Newcomer
    at_0: float
    slope: float
    rng: np.random.Generator

    def reads(self, q: float, *, side: int) -> int:
        """One reading at a place reached from a side, in the unit of the axis. [count]"""
        span = self.newcomer.calibrated[-1] - self.newcomer.calibrated[0]
        wave = 0.0005 * span * math.sin(2.0 * math.pi * q / span)
        trailing = q + wave - side * self.newcomer.play / 2.0
        scale = 1.002 if self.newcomer.period is None else 1.0  # a whole turn is a whole turn
        code = self.at_0 + 9.0 + scale * self.slope * trailing + self.rng.normal(0.0, 0.8)
        return round(code if self.newcomer.period is None else code % self.newcomer.period)

    def typed(self, places: Sequence[float], *, readings: int) -> str:
        """What is typed after a sweep up and down: reference, raw, side."""
        sweep = [(q, 1) for q in places] + [(q, -1) for q in places[::-1]]
        rows = [
            f"{q} {self.reads(q, side=side)} {'up' if side > 0 else 'down'}"
            for q, side in sweep
            for _ in range(readings)
        ]
        return "\n".join(rows) + "\n"


@pytest.mark.parametrize("newcomer", [WHEEL, LIFT], ids=lambda each: each.name)
def test_from_five_answers_to_a_machine_that_may_be_used(
    newcomer: Newcomer, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    walk = Walk(capsys=capsys, monkeypatch=monkeypatch)
    name, rig = newcomer.name, "mine/rig.toml"
    assert walk.step("new", "mine", *newcomer.answers)["axis"] == name
    assert all(each["severity"] != "stop" for each in walk.step("check", rig)["findings"])
    assert walk.step("testsheet", rig, "--html", "sheet.html")["stages"]
    assert len(walk.step("plan", rig)["axes"][0]["visits"]) == 2 * len(newcomer.calibrated)
    card = walk.step("expect", rig, name, *newcomer.two)["readings"]
    low, high = ((row["position"], row["code"]) for row in card)
    slope = (high[1] - low[1]) / (high[0] - low[0])
    machine = Machine(
        newcomer=newcomer, at_0=low[1] - slope * low[0], slope=slope, rng=np.random.default_rng(11)
    )
    typed = machine.typed(newcomer.calibrated, readings=4)
    kept = walk.step("calibrate", rig, "--typed", "--date=2026-05-12", typed=typed)
    assert (kept["verdict"], kept["record"]) == ("meets", "2026-05-12-1")
    fresh = machine.typed(newcomer.checked, readings=2)
    assert walk.step("verify", rig, "--typed", "--date=2026-05-13", typed=fresh)["verdict"] == "pass"
    assert walk.step("handover", rig, "--out", "code")["axes"][0]["record"] == "2026-05-12-1"
    walk.step("note", rig, "sheet gone through", "--done=testsheet", "--date=2026-05-13")
    raws = ",".join(str(machine.reads(newcomer.stands, side=-1)) for _ in range(4))
    found = walk.step("ready", rig, f"{name}={raws}", "--html", "card.html", "--date=2026-05-14")
    assert found["ready"]
    assert walk.commands <= MOST_COMMANDS
