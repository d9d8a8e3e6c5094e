"""Sensors that send pulses, words or lines: level, start, broken wire."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
KINDS = {
    "serial": "sensor={kind='serial'}",
    "pulse-width": "sensor={kind='pulse-width'}",
    "gear-pair": "sensor={kind='gear-pair', driving_teeth=16, first_teeth=16, second_teeth=17}",
    "incremental": "sensor={kind='incremental', lines=500}",
}


def sent(kind: str, *, feed: str = "3.3 V") -> tuple[str, ...]:
    return (KINDS[kind], f"wiring={{feed='{feed}'}}", "converter={}", "mount={clamped_at='pin'}")


@pytest.mark.parametrize("kind", ["serial", "pulse-width", "gear-pair"])
def test_not_ready_at_power_up_is_said_of_pulses_and_words(found: Found, kind: str) -> None:
    assert found(*sent(kind))["power-up"].text == (
        "The sensor is not ready at power-up: no reading counts before 250 ms or 3 good frames."
    )


def test_a_voltage_and_a_count_are_ready_or_homed(found: Found) -> None:
    assert "power-up" not in found("sensor={kind='magnetic'}")
    counted = found(*sent("incremental"))
    assert "power-up" not in counted
    assert counted["homing"].severity is Severity.CAUTION


@pytest.mark.parametrize(("feed", "severity"), [("3.6 V", Severity.NOTE), ("3.7 V", Severity.CAUTION)])
def test_a_level_above_the_pin_is_a_caution(found: Found, feed: str, severity: Severity) -> None:
    assert found(*sent("pulse-width", feed=feed))["level-at-pin"].severity is severity


def test_5_volts_on_a_pin_are_told_what_cures_them(found: Found) -> None:
    level = found(*sent("pulse-width", feed="5 V"))["level-at-pin"]
    assert level.text == (
        "The sensor is fed with 5 V, and its levels are taken to be as high: a pin of 3.3 V (assumed) can be "
        "damaged by them."
    )
    # The divider is that of the handbook of checks: 20k/33k, 3.113 V, 3.293 V with 1 % parts and 5.25 V.
    assert level.remedy == (
        "See that the pin stands it; else feed the sensor lower, fit a level shifter or, for slow edges, a "
        "divider, 20 kohm over 33 kohm, 1 % parts: 3.113 V at the pin, at most 3.293 V with 5.25 V above "
        "them."
    )


@pytest.mark.parametrize(
    ("kind", "begins"),
    [("pulse-width", "When a wire breaks the pulses stop"),
     ("serial", "When a wire breaks the word reads all"),
     ("gear-pair", "When a wire breaks the word reads all"),
     ("incremental", "When a wire of one track breaks the count goes to and fro by one")],
)  # fmt: skip
def test_a_broken_wire_is_told_for_what_is_sent(found: Found, kind: str, begins: str) -> None:
    line = found(*sent(kind))["open-line"]
    assert line.severity is Severity.CAUTION
    assert line.text.startswith(begins)


def test_analogue_wiring_sends_nothing(found: Found) -> None:
    assert {"open-line", "level-at-pin", "power-up"}.isdisjoint(found())
