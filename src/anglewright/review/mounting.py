"""Theme: what the mechanism does without power, marks that can be found again, how the sensor is held."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.links.coupling import ElasticTubePart, FlexiblePart, RigidPart
from anglewright.links.mount import ClampPart, HomedPart
from anglewright.quantities.spread import Spread
from anglewright.review.cautions import fault_action
from anglewright.review.design import Circuit, Design
from anglewright.rig import Unpowered
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "unpowered": "what the mechanism does with the motor off, and what the controller must do at a fault",
    "marks": "places of the axis that can be found again after a repair",
    "zero-mark": "how well the axis stands at the mark where it is zeroed, against a third of the need",
    "clamping": "how far off the position is after clamping by hand, before any zeroing",
    "body": "whether one of shaft and body is free to float: two rigid bearings in line wear each other out",
    "shaft-and-bore": "bore of what sits on the sensor's shaft, against the diameter of the shaft",
}

FITS = 0.05e-3  # by which nominal sizes of bore and shaft may differ [m]
REFERENCE_RATIO = 3.0  # a reference is to be so many times better than the need [1]


def findings(design: Design) -> tuple[Finding, ...]:
    """Fault action, marks, how body and shaft are held, and the clamping of a track."""
    clamping = (_clamping(design),) if isinstance(design, Circuit) else ()
    mount = design.axis.part("mount")
    held = _held(design, mount) if isinstance(mount, ClampPart | HomedPart) else ()
    return (_unpowered(design), _marks(design), _zero_mark(design), *clamping, *held)


def _held(design: Design, mount: ClampPart | HomedPart) -> tuple[Finding, ...]:
    """Body and shaft: one of them must be free to float, and the bore must fit."""
    bore = () if mount.shaft_m is None or mount.bore_m is None else (mount.shaft_m, mount.bore_m)
    return (_body(design, mount.body), *((_bore(design, *bore),) if bore else ()))


def _body(design: Design, body: str) -> Finding:
    rigid = isinstance(design.axis.part("coupling"), RigidPart)
    loose = isinstance(design.axis.part("coupling"), FlexiblePart | ElasticTubePart)
    severity, text, remedy = _BODY[(rigid, loose, body)] if rigid or loose else _BODY[(False, False, "")]
    return Finding(
        key="body",
        severity=severity,
        axis=design.axis.name,
        link="mount",
        text=text,
        remedy=remedy,
        source="practice",
    )


_FLOAT = "Clamp the shaft rigidly and hold the body only against rotation, or fix the body and take a "
_FLOAT += "flexible coupling without play."
_ONE_FLOATS = (Severity.NOTE, "One of shaft and body is free to float, as it should be.", "")
_BODY: Mapping[tuple[bool, bool, str], tuple[Severity, str, str]] = {
    (False, False, ""): (
        Severity.NOTE,
        "The coupling gives way by its own play or joints where shaft and body are out of line.",
        "",
    ),
    (True, False, "not said"): (
        Severity.NOTE,
        "The coupling is rigid, and it is not said how the sensor's body is held.",
        "See that it is held only against rotation and free to float, and write mount.body.",
    ),
    (True, False, "held against rotation"): _ONE_FLOATS,
    (True, False, "fixed"): (
        Severity.CAUTION,
        "Shaft and body are both held rigidly: two bearings in line bend the shaft, wear the bush and add an "
        "error once a turn.",
        _FLOAT,
    ),
    (False, True, "not said"): (
        Severity.NOTE,
        "The coupling is flexible, and it is not said how the sensor's body is held.",
        "See that it is fixed, and write mount.body.",
    ),
    (False, True, "held against rotation"): (
        Severity.CAUTION,
        "Neither shaft nor body is held: behind a flexible coupling a body that floats hangs on its shaft.",
        "Fix the body, or clamp the shaft rigidly.",
    ),
    (False, True, "fixed"): _ONE_FLOATS,
}


def _bore(design: Design, shaft: Spread, bore: Spread) -> Finding:
    apart = bore.nominal - shaft.nominal
    fine = abs(apart) <= FITS
    sizes = f"The bore is {1e3 * bore.nominal:g} mm, the sensor's shaft {1e3 * shaft.nominal:g} mm"
    wide = "it sits off its centre and slips" if apart > 0.0 else "it does not go on"
    step = Step(
        symbol="c",
        meaning="bore less shaft",
        formula="D_bore - D_shaft",
        numbers={"D_bore": 1e3 * bore.nominal, "D_shaft": 1e3 * shaft.nominal},
        result=1e3 * apart,
        unit="mm",
        source="practice",
        link="mount",
    )
    return Finding(
        key="shaft-and-bore",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=design.axis.name,
        link="mount",
        text=f"{sizes}: {'they are of one size' if fine else wide}.",
        remedy="" if fine else "Take the bore of the shaft's size, or have it bored or bushed.",
        source="practice",
        measured=1e3 * apart,
        limit=1e3 * FITS,
        unit="mm",
        steps=(step,),
    )


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
        numbers={"share": share, "span": circuit.number(circuit.travel_span)},
        result=share * circuit.number(circuit.travel_span),
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
