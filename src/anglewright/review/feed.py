"""Theme: the sensor's feed against the converter's full scale, and the divider that cures a feed too high."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show, show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue, Circuit
from anglewright.review.divider import FEED, Divider, divider_for
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "feed-above-reference": "the output can exceed the converter's full scale: it clips and may do damage",
    "feed-below-reference": "the feed is below the converter's full scale: the upper codes are never reached",
    "ratiometric": "the feed is the converter's reference, so that its changes cancel",
    "feed-measured": "what the divider of a feed measured on its own channel does to the position",
    "feed-spread": "what the tolerances of feed and of a reference of its own do to the position",
}

_VOLT = UNITS["V"]


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """Feed against full scale, and what their tolerances do where they do not cancel."""
    reference = circuit.converting.reference_v
    if reference is None:
        return (_ratiometric(circuit),)
    ratio = circuit.converting.feed_ratio
    spread = _feed_spread(circuit, reference) if ratio is None else _measured(circuit, ratio)
    if circuit.full_level * circuit.feed > circuit.reference * (1.0 + 1e-9):
        return (spread,) if _divided(circuit) else (_above(circuit), spread)
    if circuit.feed < circuit.reference * (1.0 - 1e-9) and not _divided(circuit):
        return (_below(circuit), spread)
    return (spread,)


def _divided(circuit: Analogue) -> bool:
    """True where a divider at the pin brings full output to full scale or below."""
    top = float(np.mean(circuit.net.at_pin(1.0).volts))
    return circuit.wiring.lower_ohm is not None and top <= circuit.reference * (1.0 + 1e-9)


def _ratiometric(circuit: Analogue) -> Finding:
    return Finding(
        key="ratiometric",
        severity=Severity.NOTE,
        axis=circuit.axis.name,
        link="converter",
        text=f"The converter refers to the feed ({show(circuit.feed, _VOLT)}): changes of the feed cancel.",
        remedy="Keep it so: take feed and reference from the same pin.",
        source="practice",
    )


def _measured(circuit: Analogue, ratio: Spread) -> Finding:
    axis, limit = circuit.axis, circuit.number(circuit.axis.permissible)
    step = _share_step(circuit, {"ratio": _relative(ratio)})
    fine = step.result <= limit
    return Finding(
        key="feed-measured",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=axis.name,
        link="converter",
        text=(
            "The feed is measured and divided out, so that feed and reference cancel: its divider, "
            f"{show_spread(ratio, UNITS['%'])}, can put the position off by {step.result:.3g} "
            f"{axis.unit.name}; the need is {limit:.3g} {axis.unit.name}."
        ),
        remedy="Take that channel from the sensor's feed itself, and calibrate with its divider in place.",
        source="practice",
        measured=step.result,
        limit=limit,
        unit=axis.unit.name,
        steps=(step,),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Clip:
    """Where the unloaded output meets full scale: the step that says so, the share of the output. [%, 1]"""

    step: Step
    share: float
    what: str


def _clip(circuit: Analogue) -> _Clip:
    """A load moves the clip point further up."""
    numbers = {"V_ref": circuit.reference, "V_s": circuit.feed}
    share, formula, what = circuit.reference / circuit.feed, "V_ref / V_s", "track"
    if isinstance(circuit, Circuit) and np.any(circuit.track.end_ohm):
        ends = {"R_T": circuit.track.track_ohm, "R_e": circuit.track.end_ohm}
        numbers |= {name: float(np.mean(ohms)) for name, ohms in ends.items()}
        formula = "(V_ref / V_s * (R_T + 2 * R_e) - R_e) / R_T"
    elif circuit.net.output is not None:
        low, high = float(np.mean(circuit.net.output.low)), circuit.full_level
        numbers |= {"low": low, "high": high}
        share, formula, what = (share - low) / (high - low), "(V_ref / V_s - low) / (high - low)", "output"
    place = float(circuit.on_track(share)) if isinstance(circuit, Circuit) else share
    step = Step(
        symbol="x_clip",
        meaning=f"share of the {what} at which the unloaded reading meets full scale",
        formula=f"100 * {formula}",
        numbers=numbers,
        result=100.0 * place,
        unit="%",
        source="derived",
        link="converter",
    )
    return _Clip(step=step, share=share, what=what)


def _cure(circuit: Analogue) -> Divider | None:
    """The divider for this feed, at its stated limit or 5 % up, and this reference at its lowest."""
    feed, reference = circuit.wiring.feed_v, circuit.converting.reference_v
    most = feed.nominal * (1.0 + FEED) if feed.is_exact else feed.limits[1]
    limit = circuit.reference if reference is None else reference.limits[0]
    level = circuit.full_level
    return divider_for(level * feed.nominal, asked_v=level * most, limit_v=limit)


def _bend_step(circuit: Circuit, divider: Divider) -> Step:
    """What the divider itself does to the reading of the track."""
    k, shares = circuit.sensor.whole_ohm.nominal / divider.total_ohm, circuit.shares
    worst = float(shares[int(np.argmax(shares**2 * (1.0 - shares) / (1.0 + k * shares * (1.0 - shares))))])
    numbers = {
        "R_T": circuit.sensor.whole_ohm.nominal,
        "R_L": divider.total_ohm,
        "x": worst,
        "span": circuit.number(circuit.span),
    }
    bent = k * worst**2 * (1.0 - worst) / (1.0 + k * worst * (1.0 - worst))
    return Step(
        symbol="e_div",
        meaning="what the divider's own load takes from the reading where it takes most, at the axis",
        formula="R_T / R_L * x ** 2 * (1 - x) / (1 + R_T / R_L * x * (1 - x)) * span",
        numbers=numbers,
        result=bent * numbers["span"],
        unit=circuit.axis.unit.name,
        source="thevenin",
        link="wiring",
    )


def _remedy(circuit: Analogue, divider: Divider | None, bend: Step | None) -> str:
    fed = "Feed the sensor from the converter's reference"
    if divider is None:
        return f"{fed}; no divider of usual parts does it."
    text = (
        f"{fed}, or divide it down, {divider.said}. The divider takes the place of series resistor and pull."
    )
    if bend is None:
        return text
    percent = 100.0 * bend.result / bend.numbers["span"]
    return (
        f"{text} It loads the track, by up to {percent:.3g} % of travel = {bend.result:.3g} {bend.unit}: "
        "calibrate with it in place."
    )


def _where(circuit: Analogue, share: float) -> str:
    """Where the output stands at a share of the whole; a linkage need not reach it."""
    place = circuit.place(share)
    return f"at {circuit.text(place)}" if np.isfinite(place) else "where the drive never comes"


def _above(circuit: Analogue) -> Finding:
    clip, divider = _clip(circuit), _cure(circuit)
    bend = _bend_step(circuit, divider) if divider and isinstance(circuit, Circuit) else None
    top = circuit.full_level * circuit.feed
    driven = circuit.net.output is not None
    fed = f"The {'sensor' if driven else 'track'} is fed with {show(circuit.feed, _VOLT)}"
    gives = f" and gives up to {show(top, _VOLT)}" if driven else ""
    return Finding(
        key="feed-above-reference",
        severity=Severity.STOP,
        axis=circuit.axis.name,
        link="converter",
        text=(
            f"{fed}{gives}, the converter's full scale is "
            f"{show(circuit.reference, _VOLT)}: the reading clips at {clip.step.result:.3g} % of the "
            f"{clip.what}, {_where(circuit, clip.share)}, and the pin can be damaged."
        ),
        remedy=_remedy(circuit, divider, bend),
        source="practice",
        measured=top,
        limit=circuit.reference,
        unit="V",
        steps=(clip.step, *((divider.top,) if divider else ()), *((bend,) if bend else ())),
    )


def _top_step(circuit: Analogue) -> Step:
    bits = circuit.converter.bits
    return Step(
        symbol="n_top",
        meaning="highest code that the unloaded output can give",
        formula="floor(2 ** N * h * V_s / V_ref)",
        numbers={
            "N": float(bits),
            "h": circuit.full_level,
            "V_s": circuit.feed,
            "V_ref": circuit.reference,
        },
        result=float(math.floor(2.0**bits * circuit.full_level * circuit.feed / circuit.reference)),
        unit="count",
        source="practice",
        link="converter",
    )


def _below(circuit: Analogue) -> Finding:
    step = _top_step(circuit)
    fed = "track" if circuit.net.output is None else "sensor"
    return Finding(
        key="feed-below-reference",
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="converter",
        text=(
            f"The {fed} is fed with {show(circuit.feed, _VOLT)}, the converter's full scale is "
            f"{show(circuit.reference, _VOLT)}: the codes end at {step.result:.0f} "
            f"of {circuit.converter.top_code}."
        ),
        remedy=f"Refer the converter to the feed, or feed the {fed} from the reference.",
        source="practice",
        measured=step.result,
        limit=float(circuit.converter.top_code),
        unit="count",
        steps=(step,),
    )


def _relative(spread: Spread) -> float:
    """Largest departure of a number from its nominal, as a share of it."""
    return max(abs(limit - spread.nominal) for limit in spread.limits) / spread.nominal


def _share_step(circuit: Analogue, off: Mapping[str, float]) -> Step:
    """Error at the top of the output's use, the relative errors of its scale at their limits. [axis unit]"""
    numbers = {"x": float(max(circuit.shares)), **off, "span": circuit.number(circuit.span)}
    summed, size = " + ".join(off), numbers["x"]
    formula = f"x * ({summed}) * span"
    if circuit.net.output is not None:
        low, high = float(np.mean(circuit.net.output.low)), circuit.full_level
        numbers |= {"low": low, "high": high}
        formula = f"(x + low / (high - low)) * ({summed}) * span"
        size += low / (high - low)
    return Step(
        symbol="e",
        meaning="error of the position at the top of the output's use, all at their limits",
        formula=formula,
        numbers=numbers,
        result=size * sum(off.values()) * numbers["span"],
        unit=circuit.axis.unit.name,
        source="derived",
        link="converter",
    )


def _feed_spread(circuit: Analogue, reference: Spread) -> Finding:
    feed, axis = circuit.wiring.feed_v, circuit.axis
    step = _share_step(circuit, {"feed": _relative(feed), "reference": _relative(reference)})
    limit = circuit.number(axis.permissible)
    stated = not (feed.is_exact and reference.is_exact)
    said = (
        f"with {show_spread(feed, _VOLT)} and {show_spread(reference, _VOLT)} the position can be off by "
        f"{step.result:.3g} {axis.unit.name}; the need is {limit:.3g} {axis.unit.name}."
    )
    return Finding(
        key="feed-spread",
        severity=Severity.NOTE if stated and step.result <= limit else Severity.CAUTION,
        axis=axis.name,
        link="converter",
        text="The converter has a reference of its own, so that the feed does not cancel: "
        + (said if stated else "no tolerance is stated for either, so that no budget holds their error."),
        remedy="Refer the converter to the feed, or measure the feed on a second channel and divide.",
        source="practice",
        measured=step.result if stated else None,
        limit=limit if stated else None,
        unit=axis.unit.name,
        steps=(step,) if stated else (),
    )
