"""A kind of sensor that the package has never heard of is found everywhere once it is added."""

from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar

import pytest

from anglewright.errors import RigError
from anglewright.jobs.budgeting import budget_of
from anglewright.jobs.explaining import explain
from anglewright.jobs.simulating import simulate
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.rig import Rig
from anglewright.rigfile import kinds
from anglewright.rigfile.document import load_document
from anglewright.rigfile.reading import build_rig

ROVER = Path(__file__).resolve().parents[2] / "examples" / "rover" / "rig.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class FoilPart(PotentiometerPart):
    """An invented foil track, read like a potentiometer."""

    kind: ClassVar[str] = "foil"
    label: ClassVar[str] = "Foil track"

    def describe(self) -> str:
        """Its kind."""
        return "Foil track, invented"


@pytest.fixture
def with_foil(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kind is known for one test."""
    monkeypatch.setattr(kinds, "_ADDED", {})
    kinds.add_part(FoilPart)


def rover() -> Rig:
    """The rover with a foil track on its shoulder."""
    document = load_document(ROVER)
    document["axis"]["shoulder"]["sensor"]["kind"] = "foil"
    return build_rig(document, source=str(ROVER))


def test_before_it_is_added_a_rig_file_does_not_know_it() -> None:
    with pytest.raises(RigError, match="sensor: kind 'foil' is not known"):
        rover()


@pytest.mark.usefixtures("with_foil")
def test_rig_file_budget_bench_and_explanation_find_it() -> None:
    rig = rover()
    assert rig.axis("shoulder").part("sensor").describe() == "Foil track, invented"
    shares = budget_of(rig, axis="shoulder").as_json()["contributions"]
    assert any(row["link"] == "sensor" and row["quantity"] == "linearity" for row in shares)
    assert len(simulate(rig, "shoulder", seed=1).sweep.raw) == 72
    steps = explain(rig, axis="shoulder").as_json()["axes"][0]["steps"]
    assert any(step["link"] == "sensor" for step in steps)
    assert "foil" in kinds.kinds_in("sensor")
