"""Theme: the free motion of gears and coupling against the need."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review.design import Design
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "play": "free motion of gears and coupling at the axis, against the permissible error",
}

SMALL_SHARE = 1.0 / 3.0  # of the permissible error, below which play is only noted [1]


def findings(design: Design) -> tuple[Finding, ...]:
    """The play at the axis, total and either way."""
    halves = design.half_plays
    return (_play(design, halves) if halves else _none(design),)


def _none(design: Design) -> Finding:
    return Finding(
        key="play",
        severity=Severity.NOTE,
        axis=design.axis.name,
        link="coupling",
        text="No link of the chain has play.",
        remedy="",
        source="play-operator",
        measured=0.0,
        limit=design.number(design.axis.permissible),
        unit=design.axis.unit.name,
    )


def _play_step(design: Design, halves: Mapping[str, float]) -> Step:
    axis = design.axis
    numbers = {room: design.number(half) for room, half in halves.items()}
    return Step(
        symbol="r",
        meaning="half the play at the axis, of all links that have any",
        formula=" + ".join(numbers),
        numbers=numbers,
        result=sum(numbers.values()),
        unit=axis.unit.name,
        source="play-operator",
        link="coupling",
    )


def _play(design: Design, halves: Mapping[str, float]) -> Finding:
    axis = design.axis
    step = _play_step(design, halves)
    limit = design.number(axis.permissible)
    worst = max(step.numbers, key=lambda room: step.numbers[room])
    return Finding(
        key="play",
        severity=_severity(step.result, limit, axis.motion.settles),
        axis=axis.name,
        link=worst,
        text=(
            f"Play at the axis is {2.0 * step.result:.4g} {axis.unit.name} in total, ±{step.result:.4g} "
            f"{axis.unit.name}, most of it in the {worst} (±{step.numbers[worst]:.4g} {axis.unit.name}); "
            f"the need is {limit:.4g} {axis.unit.name}. The axis comes to rest {axis.motion.settles}."
        ),
        remedy=(
            "Calibration does not remove it. Take a clamped or preloaded coupling, or always come to rest "
            "from the same side and say so with motion.settles."
        ),
        source="play-operator",
        measured=step.result,
        limit=limit,
        unit=axis.unit.name,
        steps=(step,),
    )


def _severity(half: float, limit: float, settles: str) -> Severity:
    """One-sided rest takes play out; otherwise half of it counts in full."""
    if settles == "one-sided" or half <= SMALL_SHARE * limit:
        return Severity.NOTE
    return Severity.STOP if half > limit else Severity.CAUTION
