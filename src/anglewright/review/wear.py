"""Theme: the life of track and wiper, the small hunting moves while the axis holds counted in."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.angles import TURN
from anglewright.findings import Finding, Severity
from anglewright.links.potentiometer import PotentiometerPart
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "life": "strokes and hunting moves that the sensor goes through, against its life",
}

PANEL_STROKES, SERVO_STROKES, MULTI_TURNS = 10e3, 1e6, 300e3  # the least of their classes [1]
PRECISE = 0.02  # linearity from which a single turn is taken for a servo-mount one [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Life:
    """How long a sensor lasts, in strokes or in turns of its shaft, and whether that is assumed. [1]"""

    lasts: float
    in_turns: bool
    assumed: str = ""

    @property
    def unit(self) -> str:
        """What is counted."""
        return "turns of the shaft" if self.in_turns else "strokes"


def findings(design: Design) -> tuple[Finding, ...]:
    """The life of a sensor that wears: one with a track."""
    sensor, duty = design.axis.part("sensor"), design.axis.duty
    if not isinstance(sensor, PotentiometerPart):
        return ()
    life = _life(sensor)
    if duty.strokes is None and duty.hunting is None:
        return (_not_said(design, life),)
    return (_worn(design, life),)


def _life(sensor: PotentiometerPart) -> _Life:
    """The life that is stated, else the least of the class that the sensor looks like."""
    if sensor.life_turns is not None:
        return _Life(lasts=float(sensor.life_turns), in_turns=True)
    if sensor.life_strokes is not None:
        return _Life(lasts=float(sensor.life_strokes), in_turns=False)
    if sensor.travel_rad.nominal > 1.5 * TURN:
        return _Life(lasts=MULTI_TURNS, in_turns=True, assumed="a multi-turn class")
    if sensor.mechanical_rad is None or sensor.shape.limit <= PRECISE:
        return _Life(lasts=SERVO_STROKES, in_turns=False, assumed="a servo-mount class")
    return _Life(lasts=PANEL_STROKES, in_turns=False, assumed="a panel class")


def _lasts_said(life: _Life) -> str:
    assumed = f" (assumed, the least of {life.assumed})" if life.assumed else ""
    return f"it lasts {life.lasts:.0f} {life.unit}{assumed}"


def _not_said(design: Design, life: _Life) -> Finding:
    return Finding(
        key="life",
        severity=Severity.NOTE,
        axis=design.axis.name,
        link="sensor",
        text=f"It is not said how much the sensor goes through; {_lasts_said(life)}.",
        remedy="Give need.strokes, and need.hunting with hunting_size for the small moves while it holds.",
        source="typical-sheets",
    )


def _strokes_step(design: Design) -> Step:
    duty = design.axis.duty
    numbers = {"strokes": float(duty.strokes or 0), "hunting": float(duty.hunting or 0)}
    return Step(
        symbol="n",
        meaning="passes over the same place of the track, a small move counted as a stroke",
        formula="strokes + hunting",
        numbers=numbers,
        result=sum(numbers.values()),
        unit="strokes",
        source="practice",
        link="sensor",
    )


def _turns_step(design: Design) -> Step:
    duty, motion = design.axis.duty, design.axis.motion
    stroke = abs(float(design.turn(motion.high)) - float(design.turn(motion.low)))
    small = (duty.hunting_size or 0.0) * design.rad_per_unit
    numbers = {
        "strokes": float(duty.strokes or 0),
        "hunting": float(duty.hunting or 0),
        "stroke": float(np.degrees(stroke)),
        "small": float(np.degrees(small)),
    }
    swept = numbers["strokes"] * numbers["stroke"] + numbers["hunting"] * numbers["small"]
    return Step(
        symbol="n",
        meaning="turns of the shaft, there and back, of all strokes and small moves",
        formula="2 * (strokes * stroke + hunting * small) / 360",
        numbers=numbers,
        result=2.0 * swept / 360.0,
        unit="turns",
        source="derived",
        link="sensor",
    )


def _worn(design: Design, life: _Life) -> Finding:
    step = _turns_step(design) if life.in_turns else _strokes_step(design)
    fine = step.result <= life.lasts
    return Finding(
        key="life",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="sensor",
        text=(
            f"With the small moves while it holds the sensor goes through {step.result:.0f} {life.unit}; "
            f"{_lasts_said(life)}."
        ),
        remedy=""
        if fine
        else "Take a sensor of longer life, stop the hunting, or change it in time for a spare.",
        source="typical-sheets" if life.assumed else "practice",
        measured=step.result,
        limit=life.lasts,
        unit=life.unit,
        steps=(step,),
    )
