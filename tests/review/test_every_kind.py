"""Every kind of drive, coupling and sensor can be reviewed, with numbers throughout. Invented axes."""

import math
from collections.abc import Callable

import pytest

from anglewright.findings import Finding
from anglewright.review.axis import review_axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.kinds import kinds_in
from anglewright.rigfile.reading import build_rig

TEXT = """
[axis.part]
motion = {motion}
need = {{ error = "{error}", strokes = 1000 }}
when_unpowered = "holds"
loop = {{ crossover = "2 Hz", sample = "50 Hz" }}
drive = {drive}
sensor = {sensor}
coupling = {coupling}
mount = {mount}
"""
TURNS = ('{ from = "0 deg", to = "90 deg", speed = "90 deg/s", strength = "5 N m" }', "1 deg")
SLIDES = ('{ from = "0 mm", to = "200 mm", speed = "100 mm/s", strength = "50 N" }', "2 mm")
ENDLESS = ('{ from = "-180 deg", to = "180 deg", speed = "90 deg/s", endless = true }', "1 deg")
TEN_TURNS = '{ kind = "potentiometer", electrical_travel = "3600 deg", mechanical_travel = "3620 deg" }'
LINKAGE = (
    '{ kind = "four-bar", ground = "100 mm", input = "40 mm", coupler = "100 mm", output = "40 mm", '
    'input_at_zero = "45 deg" }'
)
DRIVES = {
    "direct": (TURNS, '{ kind = "direct" }'),
    "gears": (TURNS, '{ gears = [36, 24], module = "1 mm" }'),
    "four-bar": (TURNS, LINKAGE),
    "belt": (SLIDES, '{ kind = "belt", pitch = "2 mm", teeth = 20 }'),
    "chain": (SLIDES, '{ kind = "chain", pitch = "6.35 mm", teeth = 16 }'),
    "draw-wire": (SLIDES, '{ kind = "draw-wire", travel_per_turn = "200 mm" }'),
    "drum": (SLIDES, '{ kind = "drum", diameter = "50 mm", rope = "2 mm" }'),
    "rack": (SLIDES, '{ kind = "rack", module = "1 mm", teeth = 20 }'),
    "screw": (SLIDES, '{ kind = "screw", pitch = "40 mm" }'),
    "stages": (
        SLIDES,
        '{ kind = "stages", stages = [{ kind = "rack", module = "1 mm", teeth = 20 }, '
        '{ kind = "gears", gears = [20, 30], module = "1 mm" }] }',
    ),
}
COUPLINGS = {
    "d-bore": "{}",
    "rigid": '{ kind = "rigid" }',
    "flexible": '{ kind = "flexible" }',
    "elastic-tube": '{ kind = "elastic-tube" }',
    "friction": '{ kind = "friction", driving = "20 mm", driven = "20 mm" }',
    "universal": '{ kind = "universal", misalignment = "10 deg" }',
}
SENSORS = {
    "potentiometer": '{ kind = "potentiometer" }',
    "magnetic": '{ kind = "magnetic" }',
    "pulse-width": '{ kind = "pulse-width" }',
    "serial": '{ kind = "serial" }',
    "incremental": '{ kind = "incremental", lines = 500 }',
    "gear-pair": '{ kind = "gear-pair", driving_teeth = 17, first_teeth = 17, second_teeth = 16 }',
}


def reviewed(**given: str) -> tuple[Finding, ...]:
    """Findings of an axis whose file says what is given and little else."""
    usual = {
        "drive": "{ kind = 'direct' }",
        "coupling": "{}",
        "mount": "{}",
        "sensor": SENSORS["potentiometer"],
    }
    text = TEXT.format(**usual | given)
    return review_axis(build_rig(parse_document(text, source="x.toml"), source="x.toml").axis("part"))


def without_number(findings: tuple[Finding, ...]) -> list[str]:
    """Findings whose numbers are none, or whose words say so."""
    bad = []
    for each in findings:
        numbers = [each.measured, each.limit, *(step.result for step in each.steps)]
        if not all(math.isfinite(number) for number in numbers if number is not None):
            bad.append(f"{each.key}: {numbers}")
        if {"nan", "inf"} & set(each.text.replace(";", " ").split()):
            bad.append(f"{each.key}: {each.text}")
    return bad


@pytest.mark.parametrize("kind", DRIVES)
def test_every_drive_can_be_reviewed(kind: str, faults_of_steps: Callable[..., list[str]]) -> None:
    (motion, error), drive = DRIVES[kind]
    sensor = TEN_TURNS if motion == SLIDES[0] else SENSORS["potentiometer"]
    findings = reviewed(motion=motion, error=error, drive=drive, sensor=sensor)
    assert without_number(findings) == []
    assert faults_of_steps(findings) == []


@pytest.mark.parametrize("kind", COUPLINGS)
def test_every_coupling_can_be_reviewed(kind: str, faults_of_steps: Callable[..., list[str]]) -> None:
    findings = reviewed(motion=TURNS[0], error=TURNS[1], coupling=COUPLINGS[kind], mount='{ body = "fixed" }')
    assert without_number(findings) == []
    assert faults_of_steps(findings) == []


@pytest.mark.parametrize("kind", SENSORS)
def test_every_sensor_can_be_reviewed(kind: str, faults_of_steps: Callable[..., list[str]]) -> None:
    findings = reviewed(motion=TURNS[0], error=TURNS[1], sensor=SENSORS[kind])
    assert without_number(findings) == []
    assert faults_of_steps(findings) == []


@pytest.mark.parametrize("kind", ["magnetic", "pulse-width", "serial", "gear-pair"])
def test_an_axis_without_ends_can_be_reviewed(kind: str, faults_of_steps: Callable[..., list[str]]) -> None:
    findings = reviewed(motion=ENDLESS[0], error=ENDLESS[1], sensor=SENSORS[kind])
    assert without_number(findings) == []
    assert faults_of_steps(findings) == []
    assert "wrap" not in {each.key for each in findings}


def test_the_wrap_of_a_voltage_is_smeared_by_its_filter() -> None:
    findings = reviewed(motion=ENDLESS[0], error=ENDLESS[1], sensor=SENSORS["magnetic"])
    smear = next(each for each in findings if each.key == "wrap-smear")
    # By hand: 90 deg/s for 9.011 time constants (settling tables, 12 bits) of 1.1 kohm and 100 nF.
    assert smear.measured == pytest.approx(90.0 * 9.011 * 1.1e3 * 100e-9, rel=1e-4)


def test_a_linkage_clips_where_it_never_comes(faults_of_steps: Callable[..., list[str]]) -> None:
    sensor = '{ kind = "potentiometer" }\nwiring = { feed = "15 V" }\nconverter = { reference = "14.9 V" }'
    findings = reviewed(motion=TURNS[0], error=TURNS[1], drive=LINKAGE, sensor=sensor)
    above = next(each for each in findings if each.key == "feed-above-reference")
    assert "where the drive never comes" in above.text
    assert without_number(findings) == []
    assert faults_of_steps(findings) == []


def test_no_kind_is_forgotten_here() -> None:
    for room, kinds in (("drive", DRIVES), ("coupling", COUPLINGS), ("sensor", SENSORS)):
        assert set(kinds_in(room)) == set(kinds), room
