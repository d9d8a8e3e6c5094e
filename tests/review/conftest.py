"""The rover's shoulder as it stands in its file, or changed for a what-if, and its findings by key."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from anglewright.findings import Finding
from anglewright.review.axis import review_axis
from anglewright.rig import Axis
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig

Findings = Mapping[str, Finding]


@pytest.fixture(scope="session")
def shoulder(root: Path) -> Callable[..., Axis]:
    """The shoulder with changes such as ``wiring.feed=5 V``."""

    def changed(*changes: str, rig: str = "rig") -> Axis:
        document = load_document(root / "examples" / "rover" / f"{rig}.toml")
        document = with_changes(document, [f"shoulder.{change}" for change in changes])
        return build_rig(document, source=f"{rig}.toml").axis("shoulder")

    return changed


@pytest.fixture(scope="session")
def found(shoulder: Callable[..., Axis]) -> Callable[..., Findings]:
    """Findings of the changed shoulder by key."""

    def by_key(*changes: str, rig: str = "rig") -> Findings:
        findings = review_axis(shoulder(*changes, rig=rig))
        assert len({each.key for each in findings}) == len(findings)
        return {each.key: each for each in findings}

    return by_key
