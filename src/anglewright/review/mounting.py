"""Theme: what the mechanism does without power, marks that can be found again, the clamping."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review.cautions import fault_action
from anglewright.review.design import Circuit, Design
from anglewright.rig import Unpowered
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "unpowered": "what the mechanism does with the motor off, and what the controller must do at a fault",
    "marks": "places of the axis that can be found again after a repair",
    "zero-mark": "how well the axis stands at the mark where it is zeroed, against a third of the need",
    "clamping": "how far off the position is after clamping by hand, before any zeroing",
}

REFERENCE_RATIO = 3.0  # a reference is to be so many times better than the need [1]


def findings(design: Design) -> tuple[Finding, ...]:
    """Fault action, marks, and the clamping where the sensor is clamped."""
    clamping = (_clamping(design),) if isinstance(design, Circuit) else ()
    return (_unpowered(design), _marks(design), _zero_mark(design), *clamping)


def _unpowered(design: Design) -> Finding:
    word = design.axis.when_unpowered
    return Finding(
        key="unpowered",
        severity=Severity.NOTE if word is Unpowered.HOLDS else Severity.CAUTION,
        axis=design.axis.name,
        link="motion",
        text=f"With the motor off the mechanism {_SAID[word]}.",
        remedy=fault_action(word.value),
        source="practice",
    )


_SAID = {
    Unpowered.HOLDS: "is said to hold still by itself",
    Unpowered.SINKS: "sinks",
    Unpowered.DROPS: "drops",
    Unpowered.SPRINGS: "is driven by springs, cords or gas struts",
}


def _marks(design: Design) -> Finding:
    axis = design.axis
    unsaid = {name for name, mark in axis.marks.items() if not mark.how or mark.how.startswith("assumed")}
    nameless = sorted(unsaid)
    named = sorted(set(axis.marks) - set(nameless))
    shown = ", ".join(f"'{name}' at {design.text(axis.marks[name].at.nominal)}" for name in named)
    if nameless:
        words = ", ".join(f"'{name}'" for name in nameless)
        text = f"It is not said how to find {words} again" + (f"; {shown} can be found." if named else ".")
    else:
        text = f"Marks that can be found again: {shown}."
    return Finding(
        key="marks",
        severity=Severity.CAUTION if nameless else Severity.NOTE,
        axis=axis.name,
        link="mount",
        text=text,
        remedy=(
            "Make a place of the axis that a pin, a rest or a stop fixes, and write it under marks "
            "with at, within and how."
            if nameless
            else "Zero there again after any change of part."
        ),
        source="practice",
    )


def _third_step(design: Design) -> Step:
    axis = design.axis
    return Step(
        symbol="limit",
        meaning="a reference is to be three times better than the need",
        formula="E / k",
        numbers={"E": design.number(axis.permissible), "k": REFERENCE_RATIO},
        result=design.number(axis.permissible) / REFERENCE_RATIO,
        unit=axis.unit.name,
        source="practice",
        link="mount",
    )


def _zero_mark(design: Design) -> Finding:
    axis = design.axis
    mark, limit = axis.mark(axis.plan.zero_at), axis.permissible / REFERENCE_RATIO
    within = mark.at.half_width
    stated = within > 0.0
    fine = stated and within <= limit
    stands = f"within {design.text(within)}" if stated else "nobody says how well"
    step = _third_step(design)
    return Finding(
        key="zero-mark",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="mount",
        text=(
            f"The axis is zeroed at '{axis.plan.zero_at}', where it stands {stands}; "
            f"a third of the need is {design.text(limit)}."
        ),
        remedy=_ZERO_REMEDY[(fine, stated)],
        source="practice",
        measured=design.number(within) if stated else None,
        limit=step.result,
        unit=axis.unit.name,
        steps=(step,),
    )


_ZERO_REMEDY = {
    (True, True): "",
    (False, True): "Zero at a mark that a pin or a hard stop fixes better.",
    (False, False): "Give the mark its within: how far off the axis can be when it stands there.",
}


def _clamping_step(circuit: Circuit) -> Step:
    share = circuit.clamping_error / circuit.sensor.travel_rad.nominal
    return Step(
        symbol="e",
        meaning="clamping error at the axis",
        formula="share * span",
        numbers={"share": share, "span": circuit.number(circuit.span)},
        result=share * circuit.number(circuit.span),
        unit=circuit.axis.unit.name,
        source="derived",
        link="mount",
    )


def _clamping(circuit: Circuit) -> Finding:
    axis = circuit.axis
    step = _clamping_step(circuit)
    limit = circuit.number(axis.permissible)
    fine = step.result <= limit
    return Finding(
        key="clamping",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="mount",
        text=(
            f"Clamped by hand the position can be off by {step.result:.4g} {axis.unit.name} "
            f"before it is zeroed; the need is {limit:.4g} {axis.unit.name}."
        ),
        remedy="" if fine else f"Zero at '{axis.plan.zero_at}' before the position is used.",
        source="practice",
        measured=step.result,
        limit=limit,
        unit=axis.unit.name,
        steps=(step,),
    )
