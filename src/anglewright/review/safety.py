"""Theme: cautions that follow from what the mechanism does when its motor is off."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review.cautions import (
    BEFORE_WORK,
    CALIBRATING,
    FIRST_POWER_UP,
    FROZEN,
    NO_SAFETY_DEVICE,
    WHO_DECIDES,
)
from anglewright.review.design import Design
from anglewright.rig import Unpowered

KEYS: Mapping[str, str] = {
    "no-safety-device": "the sensor is no safety device: hard stops and a means to cut the power come first",
    "frozen-reading": "a shaft out of its coupling freezes the reading at a legal value",
    "first-power-up": "how to find an inverted sign without an accident",
    "calibrating": "sensor's power on, motor's power physically removed, load supported",
    "before-work": "cut, lock out, support, discharge, disconnect, in this order",
    "who-decides": "the risk assessment, the standards, the local codes, the people licensed for the work",
}

_ALWAYS = (
    ("no-safety-device", "sensor", NO_SAFETY_DEVICE, "iso13849"),
    ("frozen-reading", "coupling", FROZEN, "practice"),
    ("first-power-up", "motion", FIRST_POWER_UP, "practice"),
)
_WHERE_IT_MOVES = (
    ("calibrating", "motion", CALIBRATING, "practice"),
    ("before-work", "motion", BEFORE_WORK, "practice"),
)


def findings(design: Design) -> tuple[Finding, ...]:
    """Cautions where the mechanism moves by itself with the motor off, notes where it holds."""
    holds = design.axis.when_unpowered is Unpowered.HOLDS
    by_itself = Severity.NOTE if holds else Severity.CAUTION
    rows = [(*row, Severity.NOTE) for row in _ALWAYS]
    rows += [(*row, by_itself) for row in _WHERE_IT_MOVES]
    rows.append(("who-decides", "motion", WHO_DECIDES, "iso12100", Severity.NOTE))
    return tuple(
        Finding(
            key=key, severity=severity, axis=design.axis.name, link=link, text=text, remedy="", source=source
        )
        for key, link, text, source, severity in rows
    )
