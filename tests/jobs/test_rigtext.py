"""The file of `new`: every assumption stands in it as a line that only waits for its hash to go."""

import re
import tomllib
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from anglewright.budget.states import STATES
from anglewright.budget.totals import budget_axis
from anglewright.errors import UsageError
from anglewright.jobs.answers import Answers
from anglewright.jobs.drafting import drafted
from anglewright.jobs.turnedby import FEWEST_TEETH, teeth_of
from anglewright.links.protocol import Signal
from anglewright.rig import Axis, at_mean, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.kinds import kinds_in
from anglewright.rigfile.reading import build_rig

ELBOW = Answers(moves="elbow", low="-45 deg", high="60 deg", error="2 deg", ratio="2")


def axis_of(text: str) -> Axis:
    """The one axis of a rig file."""
    return next(iter(build_rig(parse_document(text, source="rig.toml"), source="rig.toml").axes.values()))


def opened(text: str) -> str:
    """The text with the hash taken from every line that says what was assumed."""
    return re.sub(r"^# (.*# assumed: )", r"\1", text, flags=re.MULTILINE)


@pytest.mark.parametrize(
    "answers",
    [
        ELBOW,
        Answers(moves="neck", low="0 deg", high="180 deg", error="3 deg"),
        Answers(moves="wrist", low="-1.5 rad", high="1.5 rad", error="0.05 rad", ratio="36:24"),
        Answers(moves="lift", low="0 mm", high="560 mm", error="6 mm", sensor="ten-turn"),
        Answers(moves="lift", low="0 mm", high="560 mm", error="6 mm", sensor="magnetic"),
        Answers(moves="jib", low="0 m", high="2 m", error="9 mm", sensor="gear-pair", drive="drum 120 mm"),
        Answers(moves="head", low="-180 deg", high="180 deg", error="3 deg", sensor="serial", endless=True),
        Answers(moves="wheel", low="0 deg", high="360 deg", error="3 deg", sensor="pulse-width"),
        Answers(moves="hose", low="0 m", high="20 m", error="0.2 m", sensor="incremental"),
    ],
)
def test_with_every_hash_taken_away_it_is_the_same_machine(answers: Answers) -> None:
    text = drafted(answers).text
    closed, open_ = axis_of(text), axis_of(opened(text))
    assert closed.assumptions
    assert open_.assumptions == ()
    halves = [[budget_axis(axis).of(state).half_width_95 for state in STATES] for axis in (closed, open_)]
    assert halves[1] == pytest.approx(halves[0], rel=1e-9)
    assert (open_.stops.low, open_.stops.high) == pytest.approx((closed.stops.low, closed.stops.high))
    assert open_.plan == closed.plan


def test_every_assumption_of_the_program_stands_in_the_file() -> None:
    text = drafted(ELBOW).text
    shown = [line for line in text.splitlines() if line.startswith("# ") and "# assumed: " in line]
    for assumption in axis_of(text).assumptions:
        key = assumption.key.split(".")[-1]
        assert any(re.search(rf"\b{'middle' if key == 'marks' else key} = ", line) for line in shown), key


@settings(max_examples=12)
@given(
    sensor=st.sampled_from(kinds_in("sensor")),
    low=st.floats(-1e3, 1e3),
    span=st.floats(0.5, 900.0),
    unit=st.sampled_from(["deg", "mm", "in"]),
)
def test_any_range_is_reached_by_an_assumed_drive(sensor: str, low: float, span: float, unit: str) -> None:
    ends = f"{low:.6g} {unit}", f"{low + span:.6g} {unit}"
    answers = Answers(moves="a", low=ends[0], high=ends[1], error=f"{span / 50:.3g} {unit}", sensor=sensor)
    axis = axis_of(drafted(answers).text)
    assert axis.part("sensor").kind == sensor
    if not axis.needs_homing:
        shares = [share for q in (axis.stops.low, axis.stops.high) for share in [share_at(axis, q)]]
        assert 0.0 < min(shares) < max(shares) < 1.0


def share_at(axis: Axis, q: float) -> float:
    """What the sensor gives at a position, as a share of its output."""
    value = q
    for link in realise(axis, at_mean).links:
        value = float(link.forward(value))
        if link.gives is Signal.OUTPUT:
            break
    return value


@given(st.text(st.characters(codec="utf-8"), min_size=1, max_size=20).filter(str.strip))
def test_any_name_makes_a_file_that_is_read_back(name: str) -> None:
    text = drafted(Answers(moves=name, low="-45 deg", high="60 deg", error="2 deg")).text
    assert list(tomllib.loads(text)["axis"]) == [name]


@pytest.mark.parametrize(
    ("ratio", "teeth"),
    [
        ("48:24", (48, 24)),
        ("12:40", (12, 40)),
        ("2", (48, 24)),
        ("2:1", (48, 24)),
        ("1:3", (24, 72)),
        ("2.5", (60, 24)),
        (" 3 : 2 ", (36, 24)),
        ("0.5", (24, 48)),
    ],
)
def test_a_ratio_becomes_teeth_that_mesh(ratio: str, teeth: tuple[int, int]) -> None:
    assert teeth_of(ratio) == teeth


@given(st.integers(1, 60), st.integers(1, 60))
def test_teeth_make_the_ratio_that_was_asked_for(first: int, second: int) -> None:
    teeth = teeth_of(f"{first}:{second}")
    assert Fraction(*teeth) == Fraction(first, second)
    assert min(teeth) >= FEWEST_TEETH


@pytest.mark.parametrize("ratio", ["", "0", "-2", "two", "1:0", "48:24:12", "1e99", "nan", "2,5", "0:1"])
def test_what_is_no_ratio_is_refused(ratio: str) -> None:
    with pytest.raises(UsageError) as caught:
        teeth_of(ratio)
    assert str(caught.value) == (
        f"ratio: '{ratio}' is no ratio. Write the teeth from axis to sensor, 48:24, or turns of the sensor "
        "per turn of the axis, 2."
    )
