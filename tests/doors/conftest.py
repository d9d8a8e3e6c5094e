"""The command line as a student uses it: in a copy of the rover, with everything it says kept."""

import io
import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from anglewright.cli.program import run


@dataclass(frozen=True, slots=True)
class Answer:
    """What a command said, and the code it ended with."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The object that it printed."""
        return json.loads(self.out)


Door = Callable[..., Answer]


@pytest.fixture
def door(rover: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Door:
    """Runs a command line in a copy of the rover, with a text on its standard input."""
    monkeypatch.chdir(rover)

    def answer(*words: str, typed: str = "") -> Answer:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        code = run(list(words))
        said = capsys.readouterr()
        return Answer(code, said.out, said.err)

    return answer


@pytest.fixture
def two_axes(rover: Path) -> Path:
    """A rig of two axes: the rover's shoulder, and a wrist like it that shows volts."""
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    shoulder = text[text.index("[axis.shoulder]") :]
    wrist = shoulder.replace("axis.shoulder", "axis.wrist").replace('raw = "counts"', 'raw = "volts"')
    path = rover / "two.toml"
    path.write_text(f"{text}\n{wrist}", encoding="utf-8")
    return path
