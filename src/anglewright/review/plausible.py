"""Theme: what the controller can check by itself, for the failure that no level shows: a frozen reading."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "not-moving": "how far the axis gets while it is driven, against what a check for a frozen reading needs",
    "too-fast": "how far the axis can get from one sample to the next, as a limit for a check",
}

DRIVE, WAIT_S = (
    0.20,
    0.250,
)  # share of the drive, and how long it lasts, before a still reading is a fault [1, s]
LEAST_DEG = 1.0  # motion that counts as one, of a turning axis [deg]


def findings(design: Design) -> tuple[Finding, ...]:
    """Driven but not moving, and faster than the motor can."""
    speed, sample = design.axis.motion.speed, design.axis.loop.sample_hz
    if speed is None:
        return (_unknown(design),)
    found = _not_moving(design, speed.nominal)
    return (found,) if sample is None else (found, _too_fast(design, speed.nominal, sample))


def _unknown(design: Design) -> Finding:
    return Finding(
        key="not-moving",
        severity=Severity.CAUTION,
        axis=design.axis.name,
        link="motion",
        text="No top speed is stated: it cannot be said how soon a driven axis must be seen to move.",
        remedy=(
            f"Give motion.speed. The usual check: over {100 * DRIVE:g} % drive for {1e3 * WAIT_S:g} ms with "
            f"less than {LEAST_DEG:g} deg moved is a fault."
        ),
        source="practice",
    )


def _moved_step(design: Design, speed: float) -> Step:
    numbers = {"d": DRIVE, "v": design.number(speed), "t": WAIT_S}
    return Step(
        symbol="moved",
        meaning="how far the axis gets meanwhile, its speed taken as in proportion to the drive",
        formula="d * v * t",
        numbers=numbers,
        result=DRIVE * numbers["v"] * WAIT_S,
        unit=design.axis.unit.name,
        source="practice",
        link="motion",
    )


def _seen_step(design: Design) -> Step:
    """What must be moved to be seen: all the play, and what counts as a motion."""
    least = LEAST_DEG
    if not design.axis.motion.rotary:
        least = 2.0 * design.number(design.axis.permissible)
    numbers = {"least": least, "play": 2.0 * design.number(sum(design.half_plays.values()))}
    return Step(
        symbol="seen",
        meaning="motion that must be seen: the least that counts, behind all the play",
        formula="least + play",
        numbers=numbers,
        result=sum(numbers.values()),
        unit=design.axis.unit.name,
        source="practice",
        link="coupling",
    )


def _not_moving(design: Design, speed: float) -> Finding:
    moved, seen, unit = _moved_step(design, speed), _seen_step(design), design.axis.unit.name
    fine = moved.result >= seen.result
    wait = 1e3 * seen.result / (DRIVE * moved.numbers["v"])
    loose = seen.numbers["play"] > seen.numbers["least"] / 2.0
    check = f"Let the code stop the drive when it is over {100 * DRIVE:g} % for {1e3 * WAIT_S:g} ms"
    return Finding(
        key="not-moving",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="motion",
        text=(
            f"At {100 * DRIVE:g} % drive the axis gets {moved.result:.3g} {unit} in {1e3 * WAIT_S:g} ms; "
            f"{seen.result:.3g} {unit} must be seen, "
            f"the least that counts{' and all the play' if loose else ''}."
        ),
        remedy=(
            f"{check} and the reading moved less than {seen.numbers['least']:.3g} {unit}."
            if fine
            else f"Wait {wait:.0f} ms before a reading that stands still is a fault"
            + (", or take out the play." if loose else ".")
        ),
        source="practice",
        measured=moved.result,
        limit=seen.result,
        unit=unit,
        steps=(moved, seen),
    )


def _too_fast(design: Design, speed: float, sample_hz: float) -> Finding:
    unit, numbers = design.axis.unit.name, {"v": design.number(speed), "f_s": sample_hz}
    step = Step(
        symbol="dq",
        meaning="how far the axis gets from one sample to the next at top speed",
        formula="v / f_s",
        numbers=numbers,
        result=numbers["v"] / sample_hz,
        unit=unit,
        source="derived",
        link="motion",
    )
    return Finding(
        key="too-fast",
        severity=Severity.NOTE,
        axis=design.axis.name,
        link="motion",
        text=f"From one sample to the next the axis gets {step.result:.4g} {unit} at most.",
        remedy="Take a reading that moved further, noise and play added, for a fault and not for a motion.",
        source="practice",
        measured=step.result,
        unit=unit,
        steps=(step,),
    )
