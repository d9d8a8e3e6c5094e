"""What must fit between an end of the motion and the end of what a sensor can tell."""

from collections.abc import Mapping

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.review.design import Design
from anglewright.steps import Step

MARGIN = float(np.radians(5.0))  # of the sensor's shaft, at each end [rad]

MORE_ROOM = (
    "Bring the mechanism's stops closer, clamp the sensor so that the motion is centred, "
    "or take a lower ratio of the drive."
)
"""What makes room."""


def needs(design: Design, end: float, stop: float) -> dict[str, float]:
    """What must fit in beyond an end of the motion, by name: angles of the sensor's shaft.

    Parameters
    ----------
    design : Design
        The axis with nominal numbers.
    end : float
        The end of the motion. [m or rad]
    stop : float
        The mechanism's stop beyond it. [m or rad]

    Returns
    -------
    dict of str to float
        Over-travel to the stop, play and hysteresis, clamping error, 5 deg to spare. [deg]

    References
    ----------
    practice
    """
    half = sum(design.half_plays.values())
    values = {
        "over_travel": abs(float(design.turn(stop)) - float(design.turn(end))),
        "play": abs(float(design.turn(end + half)) - float(design.turn(end - half))),
        "clamping": design.clamping_error,
        "margin": MARGIN,
    }
    return {name: float(np.degrees(value)) for name, value in values.items()}


def needed_step(needed: Mapping[str, float]) -> Step:
    """The sum of what must fit in. [deg]"""
    return Step(
        symbol="needed",
        meaning="over-travel at the shaft, play, clamping error and 5 deg to spare",
        formula=" + ".join(needed),
        numbers=needed,
        result=sum(needed.values()),
        unit="deg",
        source="practice",
        link="sensor",
    )


def stop_said(design: Design, stop: float) -> str:
    """The mechanism's stop, and that it is assumed where it is."""
    assumed = " (assumed)" if design.axis.stops_assumed else ""
    return f"the mechanism's stop at {design.text(stop)}{assumed}"


def needs_said(design: Design, stop: float, needed: Mapping[str, float]) -> str:
    """What must fit in, in words."""
    return (
        f"over-travel to {stop_said(design, stop)}, play, clamping and 5 deg to spare need "
        f"{sum(needed.values()):.3g} deg"
    )


def margin(
    design: Design, said: tuple[str, str], left: Step, *, needed: Mapping[str, float], gone: bool
) -> Finding:
    """Room at the tighter end against what must fit in.

    Parameters
    ----------
    design : Design
        The axis with nominal numbers.
    said : tuple of str
        Key and text of the finding.
    left : Step
        Room at the sensor's shaft. [deg]
    needed : mapping of str to float
        What must fit in, from `needs`. [deg]
    gone : bool
        True where the axis can be driven beyond what the sensor stands or tells.

    Returns
    -------
    Finding
        A note where it fits, else a caution; a stop where it is gone.

    References
    ----------
    practice
    """
    step = needed_step(needed)
    severity = Severity.NOTE if left.result >= step.result else Severity.CAUTION
    severity = Severity.STOP if gone else severity
    return Finding(
        key=said[0],
        severity=severity,
        axis=design.axis.name,
        link="sensor",
        text=said[1],
        remedy="" if severity is Severity.NOTE else MORE_ROOM,
        source="practice",
        measured=left.result,
        limit=step.result,
        unit="deg",
        steps=(left, step),
    )
