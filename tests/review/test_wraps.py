"""Room to the wrap of an absolute sensor, and the decision of a gear pair. Invented axes."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity
from anglewright.review.axis import review_axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

RIG = """
[axis.pan]
motion = {{ from = "-110 deg", to = "110 deg"{motion} }}
need = {{ error = "1 deg" }}
stops = {{ low = "{low}", high = "{high}" }}
when_unpowered = "holds"
drive = {drive}
coupling = {{ kind = "rigid" }}
sensor = {{ kind = "{kind}"{sensor} }}
mount = {{ within = "3 deg" }}
"""
USUAL = {
    "motion": ', speed = "90 deg/s"',
    "low": "-120 deg",
    "high": "120 deg",
    "drive": '{ kind = "direct" }',
    "kind": "serial",
    "sensor": "",
}
PAIR = (
    ", driving_teeth = {G}, first_teeth = {a}, second_teeth = {b}, first_error = '{e}', second_error = '{e}'"
)

Found = Callable[..., Mapping[str, Finding]]


@pytest.fixture
def pan() -> Found:
    """Findings of the camera's pan by key."""

    def by_key(**given: str) -> Mapping[str, Finding]:
        text = RIG.format(**USUAL | given)
        axis = build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("pan")
        findings = review_axis(axis)
        assert len({each.key for each in findings}) == len(findings)
        return {each.key: each for each in findings}

    return by_key


def test_both_ends_of_the_motion_are_said_and_the_tighter_one_is_judged(pan: Found) -> None:
    wrap = pan(low="-150 deg")["wrap"]
    # By hand: clamped at mid motion where it reads 50 %, 180 deg less 110 deg are left at either end; needed
    # 40 deg of over-travel, 0.1 deg of hysteresis, 3 deg of clamping, 5 deg.
    assert wrap.measured == pytest.approx(70.0)
    assert wrap.limit == pytest.approx(48.1)
    assert (wrap.severity, wrap.link, wrap.remedy) == (Severity.NOTE, "sensor", "")
    assert wrap.text == (
        "The reading begins anew 70 deg from -110 deg and 70 deg from 110 deg, of shaft; over-travel to the "
        "mechanism's stop at -150 deg, play, clamping and 5 deg to spare need 48.1 deg."
    )


@pytest.mark.parametrize(
    ("stop", "severity"),
    # By hand: 70 deg less 0.1, 3 and 5 deg are left for the over-travel: to 171.9 deg; at 180 deg it wraps.
    [("171.8 deg", Severity.NOTE), ("172 deg", Severity.CAUTION), ("179.9 deg", Severity.CAUTION),
     ("180.1 deg", Severity.STOP)],
)  # fmt: skip
def test_the_nearer_the_stop_to_the_wrap_the_worse(pan: Found, stop: str, severity: Severity) -> None:
    wrap = pan(high=stop)["wrap"]
    assert wrap.severity is severity
    assert ("driven through the wrap" in wrap.text) == (severity is Severity.STOP)
    assert wrap.remedy == (
        ""
        if severity is Severity.NOTE
        else "Bring the mechanism's stops closer, clamp the sensor so that the motion is centred, or take a "
        "lower ratio of the drive."
    )


@pytest.mark.parametrize("kind", ["serial", "pulse-width", "magnetic"])
def test_every_sensor_that_wraps_is_asked_for_room(pan: Found, kind: str) -> None:
    assert pan(kind=kind)["wrap"].measured == pytest.approx(70.0)


def test_an_output_that_falls_has_the_wrap_at_the_other_end(pan: Found) -> None:
    text = ' }\nmount = { output = "falls", reading = "60 %"'
    rig = RIG.replace('mount = {{ within = "3 deg" }}\n', "").format(**USUAL | {"sensor": text})
    axis = build_rig(parse_document(rig, source="rover.toml"), source="rover.toml").axis("pan")
    wrap = next(each for each in review_axis(axis) if each.key == "wrap")
    # By hand: 60 % is 216 deg; 110 deg up or down leave 106 deg to the low end, 34 deg to the high one, which
    # is met at -110 deg.
    assert wrap.measured == pytest.approx(34.0)
    assert wrap.text.startswith(
        "The reading begins anew 34 deg from -110 deg and 106 deg from 110 deg, of shaft"
    )


def test_an_endless_axis_has_no_room_to_ask_for() -> None:
    text = RIG.format(**USUAL).replace(
        '"-110 deg", to = "110 deg"', '"-180 deg", to = "180 deg", endless = true'
    )
    text = text.replace('stops = { low = "-120 deg", high = "120 deg" }\n', "")
    axis = build_rig(parse_document(text, source="rover.toml"), source="rover.toml").axis("pan")
    assert "wrap" not in {each.key for each in review_axis(axis)}


def pair(**given: object) -> dict[str, str]:
    return {"kind": "gear-pair", "sensor": PAIR.format(**{"G": 17, "a": 17, "b": 16, "e": "1 deg"} | given)}


def test_a_gear_pair_wraps_after_its_whole_range(pan: Found) -> None:
    # By hand: 17 and 16 teeth come round after 272 teeth, 16 turns of 17 teeth; half of it less 110 deg.
    assert pan(**pair())["wrap"].measured == pytest.approx(16 * 180.0 - 110.0)


@pytest.mark.parametrize(
    ("first", "second", "limit"),
    # Handbook of checks: coprime 17/16 is told up to 5.4545 deg; 24/18, common divisor 6, up to 25.714 deg.
    [(17, 16, 5.4545), (24, 18, 25.714)],
)
def test_the_limit_of_a_pair_is_the_published_one(pan: Found, first: int, second: int, limit: float) -> None:
    margin = pan(**pair(G=24, a=first, b=second))["pair-margin"]
    assert margin.limit == pytest.approx(limit, abs=5e-4)
    assert margin.severity is Severity.NOTE


def test_what_the_pair_errs_is_the_mean_by_teeth_with_the_steps(pan: Found) -> None:
    margin = pan(**pair())["pair-margin"]
    # By hand: both sensors 1 deg, so the mean by teeth is 1 deg, and half a step of 12 bits beside.
    assert margin.measured == pytest.approx(1.0 + 180.0 / 4096.0)
    assert margin.text == (
        "The pair tells its turn as long as both sensors err by less than 5.455 deg at their own gears; with "
        "their limits, steps and play they err by 1.044 deg."
    )


@pytest.mark.parametrize(("error", "severity"), [("4.7 deg", Severity.NOTE), ("4.8 deg", Severity.CAUTION)])
def test_seven_eighths_of_the_limit_are_allowed(pan: Found, error: str, severity: Severity) -> None:
    # Data sheets of nonius decoders give 7/8 of half the period as a window: 4.773 deg, 0.044 of it steps.
    assert pan(**pair(e=error))["pair-margin"].severity is severity
