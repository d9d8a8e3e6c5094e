"""Life with the hunting moves; expected values by the hand arithmetic beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
PANEL = ("sensor.mechanical_travel=360 deg", "sensor.linearity=5 %")


@pytest.mark.parametrize(
    ("hunting", "severity"), [(5000, Severity.NOTE), (5001, Severity.CAUTION), (0, Severity.NOTE)]
)
def test_a_small_move_wears_as_a_stroke_does(found: Found, hunting: int, severity: Severity) -> None:
    # By hand: 5000 strokes and 5000 small moves are the 10 000 of a panel class, from memory of data sheets.
    life = found(*PANEL, "need.strokes=5000", f"need.hunting={hunting}")["life"]
    assert (life.severity, life.measured, life.limit) == (severity, 5000.0 + hunting, 10e3)


def test_the_assumed_life_is_said_to_be_assumed(found: Found) -> None:
    life = found(*PANEL, "need.strokes=12000")["life"]
    assert life.text == (
        "With the small moves while it holds the sensor goes through 12000 strokes; it lasts 10000 strokes "
        "(assumed, the least of a panel class)."
    )
    assert life.remedy == "Take a sensor of longer life, stop the hunting, or change it in time for a spare."


@pytest.mark.parametrize(
    ("changes", "lasts", "unit"),
    # Typical data sheets, from memory: panel 10 000, servo-mount a million strokes, ten-turn 300 000 turns.
    [(PANEL, 10e3, "strokes"), ((), 1e6, "strokes"),
     (("sensor.electrical_travel=3600 deg", "sensor.mechanical_travel=3610 deg"), 300e3,
      "turns of the shaft"),
     (("sensor.life={strokes=25000}",), 25e3, "strokes"),
     (("sensor.life={turns=5000000}",), 5e6, "turns of the shaft")],
)  # fmt: skip
def test_the_class_stands_in_where_no_life_is_stated(
    found: Found, changes: tuple[str, ...], lasts: float, unit: str
) -> None:
    life = found(*changes, "need.strokes=100")["life"]
    assert (life.limit, life.unit) == (lasts, unit)


def test_turns_add_up_there_and_back(found: Found) -> None:
    changes = (
        "sensor.life={turns=1000}",
        "need.strokes=600",
        "need.hunting=36000",
        "need.hunting_size=0.5 deg",
    )
    life = found(*changes)["life"]
    # By hand: 600 strokes of 135 deg and 36 000 of 0.5 deg, there and back, at 2 turns of the sensor a turn:
    # 2 * 2 * (81 000 + 18 000) / 360 = 1100 turns.
    assert life.measured == pytest.approx(1100.0)
    assert life.severity is Severity.CAUTION


def test_where_nothing_is_said_it_is_asked_for(found: Found) -> None:
    life = found()["life"]
    assert (life.severity, life.measured) == (Severity.NOTE, None)
    assert life.remedy.startswith("Give need.strokes, and need.hunting with hunting_size")


def test_a_magnet_does_not_wear(found: Found) -> None:
    assert "life" not in found("sensor={kind='magnetic'}", "need.strokes=100")
