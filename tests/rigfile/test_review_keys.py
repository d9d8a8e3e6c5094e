"""Keys of the rig file that only the review reads: the loop, the motor's strength, how the body is held."""

from collections.abc import Callable
from pathlib import Path

import pytest

from anglewright.errors import RigError
from anglewright.rig import Axis, Loop, fingerprint
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig


@pytest.fixture
def shoulder(root: Path) -> Callable[..., Axis]:
    """The shoulder with changes."""

    def changed(*changes: str) -> Axis:
        document = load_document(root / "examples" / "rover" / "rig.toml")
        document = with_changes(document, [f"shoulder.{change}" for change in changes])
        return build_rig(document, source="rig.toml").axis("shoulder")

    return changed


def test_a_loop_is_read_in_hertz(shoulder: Callable[..., Axis]) -> None:
    assert shoulder("loop={crossover='2 Hz', sample='20 kHz'}").loop == Loop(crossover_hz=2.0, sample_hz=20e3)
    assert shoulder("loop.sample=50 Hz").loop == Loop(sample_hz=50.0)
    assert shoulder().loop == Loop()


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ("loop.crossover=2 s", "rig.toml, axis 'shoulder', loop.crossover: "),
        ("loop.crosover=2 Hz", "rig.toml, axis 'shoulder', loop: key 'crosover' is not known. Did you mean "),
        ("loop.sample=0 Hz", "rig.toml, axis 'shoulder', loop.sample: '0 Hz' is not above zero"),
        ("motion.strength=3 N", "rig.toml, axis 'shoulder', motion.strength: "),
        ("mount.body=loose", "rig.toml, axis 'shoulder', mount.body: 'loose' is none of its words"),
        (
            "sensor.life={strokes=5, turns=5}",
            "sensor.life.strokes: 'turns' stands beside it and says the same",
        ),
    ],
)
def test_what_does_not_belong_there_is_refused(
    shoulder: Callable[..., Axis], change: str, problem: str
) -> None:
    with pytest.raises(RigError) as refused:
        shoulder(change)
    assert problem in str(refused.value)


def test_strength_is_a_torque_of_a_turning_axis(shoulder: Callable[..., Axis]) -> None:
    strength = shoulder("motion.strength=120 N cm").motion.strength
    assert strength is not None
    assert strength.nominal == pytest.approx(1.2)


@pytest.mark.parametrize(
    ("change", "same"),
    [("loop.sample=50 Hz", True), ("motion.strength=3 N m", True), ("mount.body=not said", True),
     ("mount.output=rises", True), ("mount.body=fixed", False), ("mount.output=falls", False),
     ("mount.bore=6 mm", False)],
)  # fmt: skip
def test_a_calibration_outlives_what_says_nothing_new(
    shoulder: Callable[..., Axis], change: str, same: bool
) -> None:
    assert (fingerprint(shoulder(change)) == fingerprint(shoulder())) is same
