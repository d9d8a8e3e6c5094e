"""The public interface, and how results show themselves in a notebook."""

import json
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest

import anglewright as aw
from anglewright.jobs.shown import Shown
from anglewright.rig import Rig

HOSTILE = "</td><script>alert(1)</script>&\"'"
JOBS: dict[str, Callable[[Rig, Path], Shown]] = {
    "check": lambda rig, folder: aw.check(rig),
    "choose": lambda rig, folder: aw.choose(rig, parts=True),
    "budget": lambda rig, folder: aw.budget_of(rig, axis=HOSTILE),
    "expect": lambda rig, folder: aw.expect(rig, positions=["-20 deg"]),
    "read": lambda rig, folder: aw.read_raw(rig, None, [2048]),
    "plan": lambda rig, folder: aw.plan_calibration(rig),
    "simulate": lambda rig, folder: aw.simulate(rig, None, out=folder / "b.csv"),
    "calibrate": lambda rig, folder: aw.calibrate(
        rig, HOSTILE, file=folder / "shoulder-bench.csv", date="2026-05-12"
    ),
    "handover": lambda rig, folder: aw.hand_over(rig, out=folder / "code"),
    "explain": lambda rig, folder: aw.explain(rig),
    "report": lambda rig, folder: aw.write_report(rig, out=folder / "r.html", date="2026-05-12"),
}


class Tags(HTMLParser):
    """The tags that a browser would see."""

    def __init__(self) -> None:
        """None yet."""
        super().__init__()
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One more."""
        self.seen.append(tag)


@pytest.fixture
def hostile(rover: Path) -> Rig:
    """The rover whose names mean harm."""
    text = (rover / "rig.toml").read_text(encoding="utf-8")
    text = text.replace("axis.shoulder", f"axis.{json.dumps(HOSTILE)}").replace(
        '"Vine rover"', json.dumps(HOSTILE)
    )
    (rover / "rig.toml").write_text(text, encoding="utf-8")
    return aw.open_rig(rover / "rig.toml")


@pytest.mark.parametrize("name", JOBS)
def test_a_result_shows_itself_and_no_name_gets_out(hostile: Rig, rover: Path, name: str) -> None:
    result = JOBS[name](hostile, rover)
    shown = result._repr_html_()
    tags = Tags()
    tags.feed(shown)
    if name == "report":
        assert "alert(1)</script>" not in shown
    else:
        assert set(tags.seen) <= {"h3", "h4", "table", "tr", "th", "td", "p"}
        assert "table" in tags.seen
    assert isinstance(json.dumps(result.as_json()), str)


def test_the_example_of_the_readme_is_this_short(rover: Path) -> None:
    rig = aw.open_rig(rover / "rig.toml")
    assert aw.budget_of(rig, axis="shoulder").headline.startswith("shoulder, calibrated: good to ±")
    assert aw.expect(rig, axis="shoulder", positions=["pin"]).readings[0].mark == "pin"


def test_errors_are_one_family(rover: Path) -> None:
    rig = aw.open_rig(rover / "rig.toml")
    with pytest.raises(aw.AnglewrightError) as caught:
        aw.budget_of(rig, axis="shoulder", state="zroed")
    assert str(caught.value) == "state: there is no state 'zroed'. Did you mean 'zeroed'?"
