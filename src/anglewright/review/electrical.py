"""Theme: feed against reference, power in the track, current through the wiper when something is shorted."""

import math
from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show, show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.review.design import Circuit
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "feed-above-reference": "the feed is above the converter's full scale: it clips and may be damaged",
    "feed-below-reference": "the feed is below the converter's full scale: the upper codes are never reached",
    "ratiometric": "the feed is the converter's reference, so that its changes cancel",
    "feed-spread": "what the tolerances of feed and of a reference of its own do to the position",
    "track-power": "power in the track at its lowest resistance, against its rating",
    "pin-current": "resistor that limits the wiper's current if the pin is driven by mistake",
    "lead-short": "current through the track if the wiper's lead touches feed or ground",
}

WIPER_CURRENT = 10e-3  # most that a wiper should carry [A]
DERATED = 0.5  # share of the power rating that is left unremarked [1]
_VOLT, _OHM, _AMPERE, _WATT = UNITS["V"], UNITS["ohm"], UNITS["A"], UNITS["W"]


def findings(circuit: Circuit) -> tuple[Finding, ...]:
    """Feed and reference, power, and what a short circuit would do to the track."""
    return (*_feed(circuit), _power(circuit), _pin_current(circuit), _lead_short(circuit))


def _feed(circuit: Circuit) -> tuple[Finding, ...]:
    reference = circuit.axis.converter.reference_v
    if reference is None:
        return (_ratiometric(circuit),)
    spread = _feed_spread(circuit, reference)
    if math.isclose(circuit.feed, circuit.reference, rel_tol=1e-9) or _divided(circuit):
        return (spread,)
    return (_above(circuit) if circuit.feed > circuit.reference else _below(circuit), spread)


def _divided(circuit: Circuit) -> bool:
    """True where a divider at the pin brings the feed to full scale or below."""
    top = float(circuit.net.at_pin(1.0).volts)
    return circuit.wiring.lower_ohm is not None and top <= circuit.reference * (1.0 + 1e-9)


def _ratiometric(circuit: Circuit) -> Finding:
    return Finding(
        key="ratiometric",
        severity=Severity.NOTE,
        axis=circuit.axis.name,
        link="converter",
        text=f"The converter refers to the feed ({show(circuit.feed, _VOLT)}): changes of the feed cancel.",
        remedy="Keep it so: take feed and reference from the same pin.",
        source="practice",
    )


def _clip_step(circuit: Circuit) -> Step:
    share = circuit.reference / circuit.feed
    return Step(
        symbol="x_clip",
        meaning="share of the track at which the unloaded reading meets full scale",
        formula="100 * V_ref / V_s",
        numbers={"V_ref": circuit.reference, "V_s": circuit.feed},
        result=100.0 * share,
        unit="%",
        source="derived",
        link="converter",
    )


def _above(circuit: Circuit) -> Finding:
    """The feed beyond full scale, by the unloaded track: a load moves the clip point further up."""
    share = circuit.reference / circuit.feed
    step = _clip_step(circuit)
    return Finding(
        key="feed-above-reference",
        severity=Severity.STOP,
        axis=circuit.axis.name,
        link="converter",
        text=(
            f"The track is fed with {show(circuit.feed, _VOLT)}, the converter's full scale is "
            f"{show(circuit.reference, _VOLT)}: the reading clips at {100.0 * share:.3g} % of the track, at "
            f"{circuit.text(circuit.place(share))}, and the pin can be damaged."
        ),
        remedy="Feed the track from the converter's reference, or divide it down at the pin.",
        source="practice",
        measured=circuit.feed,
        limit=circuit.reference,
        unit="V",
        steps=(step,),
    )


def _top_step(circuit: Circuit) -> Step:
    bits = circuit.converter.bits
    return Step(
        symbol="n_top",
        meaning="highest code that the unloaded track can give",
        formula="floor(2 ** N * V_s / V_ref)",
        numbers={"N": float(bits), "V_s": circuit.feed, "V_ref": circuit.reference},
        result=float(math.floor(2.0**bits * circuit.feed / circuit.reference)),
        unit="count",
        source="practice",
        link="converter",
    )


def _below(circuit: Circuit) -> Finding:
    step = _top_step(circuit)
    return Finding(
        key="feed-below-reference",
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="converter",
        text=(
            f"The track is fed with {show(circuit.feed, _VOLT)}, the converter's full scale is "
            f"{show(circuit.reference, _VOLT)}: the codes end at {step.result:.0f} "
            f"of {circuit.converter.top_code}."
        ),
        remedy="Refer the converter to the feed, or feed the track from the reference.",
        source="practice",
        measured=step.result,
        limit=float(circuit.converter.top_code),
        unit="count",
        steps=(step,),
    )


def _relative(spread: Spread) -> float:
    """Largest departure of a number from its nominal, as a share of it."""
    return max(abs(limit - spread.nominal) for limit in spread.limits) / spread.nominal


def _feed_step(circuit: Circuit, reference: Spread) -> Step:
    numbers = {
        "x": float(max(circuit.shares)),
        "feed": _relative(circuit.wiring.feed_v),
        "reference": _relative(reference),
        "span": circuit.number(circuit.span),
    }
    return Step(
        symbol="e",
        meaning="error of the position at the top of the track's use, both at their limits",
        formula="x * (feed + reference) * span",
        numbers=numbers,
        result=numbers["x"] * (numbers["feed"] + numbers["reference"]) * numbers["span"],
        unit=circuit.axis.unit.name,
        source="derived",
        link="converter",
    )


def _feed_spread(circuit: Circuit, reference: Spread) -> Finding:
    feed, axis = circuit.wiring.feed_v, circuit.axis
    step = _feed_step(circuit, reference)
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


def _power_step(feed: float, track: float) -> Step:
    return Step(
        symbol="P",
        meaning="power in the track at its lowest resistance and the highest feed",
        formula="1e3 * V_s ** 2 / R_T",
        numbers={"V_s": feed, "R_T": track},
        result=1e3 * feed**2 / track,
        unit="mW",
        source="practice",
        link="sensor",
    )


def _power(circuit: Circuit) -> Finding:
    track, feed = circuit.sensor.track_ohm.limits[0], circuit.wiring.feed_v.limits[1]
    rating = circuit.sensor.power_w.nominal
    step = _power_step(feed, track)
    watts = step.result / 1e3
    severity = Severity.CAUTION if watts > DERATED * rating else Severity.NOTE
    severity = Severity.STOP if watts > rating else severity
    return Finding(
        key="track-power",
        severity=severity,
        axis=circuit.axis.name,
        link="sensor",
        text=(
            f"The track takes {show(watts, _WATT)} at {show(feed, _VOLT)} across its lowest "
            f"{show(track, _OHM)}; its rating is {show(rating, _WATT)}, to be derated where it is hot."
        ),
        remedy="" if severity is Severity.NOTE else "Take a track of more ohms, or a lower feed.",
        source="practice",
        measured=step.result,
        limit=1e3 * rating,
        unit="mW",
        steps=(step,),
    )


def _series_step(feed: float) -> Step:
    return Step(
        symbol="R_least",
        meaning="resistor that holds the wiper to 10 mA with the feed across it",
        formula="V_s / I",
        numbers={"V_s": feed, "I": WIPER_CURRENT},
        result=feed / WIPER_CURRENT,
        unit="ohm",
        source="practice",
        link="wiring",
    )


def _pin_current(circuit: Circuit) -> Finding:
    series, feed = circuit.wiring.series_ohm.limits[0], circuit.wiring.feed_v.limits[1]
    step = _series_step(feed)
    fine = series >= step.result
    return Finding(
        key="pin-current",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"If the pin is driven by mistake, {show(series, _OHM)} in series stand between it and the "
            f"wiper; {show(feed, _VOLT)} and {show(WIPER_CURRENT, _AMPERE)} ask for at least "
            f"{show(step.result, _OHM)}."
        ),
        remedy="" if fine else f"Put {show(step.result, _OHM)} or more in series; 1 kohm is usual.",
        source="practice",
        measured=series,
        limit=step.result,
        unit="ohm",
        steps=(step,),
    )


def _lead_short(circuit: Circuit) -> Finding:
    """The lead touches a rail before any series resistor: only a part of the track limits the current."""
    stops = circuit.axis.stops
    shares = [float(circuit.share(q)) for q in (stops.low, stops.high)]
    part = min(*shares, *(1.0 - share for share in shares))
    track, feed = circuit.sensor.track_ohm.limits[0], circuit.wiring.feed_v.limits[1]
    step = _sliver_step(feed, track, part)
    fine = step.result <= 1e3 * WIPER_CURRENT
    current = f"{step.result:.3g} mA" if math.isfinite(step.result) else "a current that nothing limits"
    return Finding(
        key="lead-short",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"If the wiper's lead touches the far rail, the last {100.0 * part:.3g} % of the track carries "
            f"{current}; a wiper should carry at most {show(WIPER_CURRENT, _AMPERE)}. A resistor at the pin "
            "does not help there."
        ),
        remedy=(
            "Check the resistances of the harness before its first power; "
            "put the series resistor at the sensor."
        ),
        source="practice",
        measured=step.result if math.isfinite(step.result) else None,
        limit=1e3 * WIPER_CURRENT,
        unit="mA",
        steps=(step,) if math.isfinite(step.result) else (),
    )


def _sliver_step(feed: float, track: float, part: float) -> Step:
    return Step(
        symbol="I",
        meaning="current through the part of the track between the wiper and the far rail",
        formula="1e3 * V_s / (R_T * part)",
        numbers={"V_s": feed, "R_T": track, "part": part},
        result=1e3 * feed / (track * part) if part > 0.0 else math.inf,
        unit="mA",
        source="practice",
        link="wiring",
    )
