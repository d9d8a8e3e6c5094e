"""Theme: power in the track, and the current through its wiper in use and when something is shorted."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.quantities.units import UNITS
from anglewright.review.design import Circuit
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "track-power": "power in the track at its lowest resistance, against its rating where it is hottest",
    "wiper-current": "largest current through the wiper in use, against what a wiper should carry",
    "pin-current": "resistor that limits the wiper's current if the pin is driven by mistake",
    "lead-short": "current through the track if the wiper's lead touches feed or ground",
}

WIPER_CURRENT = 10e-3  # most that a wiper should carry [A]
NO_LOAD = 1e-6  # recommended for a precision track, data sheet of one [A]
DERATED = 0.5  # share of the power rating that is left unremarked [1]
_VOLT, _OHM, _AMPERE, _WATT = UNITS["V"], UNITS["ohm"], UNITS["A"], UNITS["W"]


def findings(circuit: Circuit) -> tuple[Finding, ...]:
    """Power, the wiper's current in use, and what a short circuit would do to the track."""
    return (_power(circuit), _wiper_current(circuit), _pin_current(circuit), _lead_short(circuit))


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


def _rating_step(circuit: Circuit) -> Step | None:
    """The rating where it is hottest; None where its fall with temperature is not stated in full."""
    sensor, celsius = circuit.sensor, UNITS["degC"]
    given = (sensor.full_power_k, sensor.no_power_k, sensor.hottest_k)
    full, none, hot = (None if each is None else celsius.from_si(each.nominal) for each in given)
    if full is None or none is None or hot is None or none <= full:
        return None
    numbers = {"P_r": 1e3 * sensor.power_w.nominal, "T_1": full, "T_0": none, "T": min(max(hot, full), none)}
    return Step(
        symbol="P_hot",
        meaning="power rating in the hottest surroundings, falling in a straight line from T_1 to T_0",
        formula="P_r * (T_0 - T) / (T_0 - T_1)",
        numbers=numbers,
        result=numbers["P_r"] * (none - numbers["T"]) / (none - full),
        unit="mW",
        source="ten-turn-sheet",
        link="sensor",
    )


def _power(circuit: Circuit) -> Finding:
    track, feed = circuit.sensor.whole_ohm.limits[0], circuit.wiring.feed_v.limits[1]
    step, hot = _power_step(feed, track), _rating_step(circuit)
    rating = 1e3 * circuit.sensor.power_w.nominal if hot is None else hot.result
    most = DERATED * rating if hot is None else rating
    severity = Severity.CAUTION if step.result > most else Severity.NOTE
    severity = Severity.STOP if step.result > rating else severity
    said = ", to be derated where it is hot" if hot is None else " in the hottest surroundings"
    return Finding(
        key="track-power",
        severity=severity,
        axis=circuit.axis.name,
        link="sensor",
        text=(
            f"The track takes {show(step.result / 1e3, _WATT)} at {show(feed, _VOLT)} across its lowest "
            f"{show(track, _OHM)}; its rating is {show(rating / 1e3, _WATT)}{said}."
        ),
        remedy="" if severity is Severity.NOTE else "Take a track of more ohms, or a lower feed.",
        source="practice",
        measured=step.result,
        limit=rating,
        unit="mW",
        steps=(step, *((hot,) if hot else ())),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draw:
    """A resistor that draws current from a node behind the wiper to a voltage; symbols beside. [ohm, V]"""

    name: str
    ohms: float
    node: str
    far: str = ""
    far_v: float = 0.0

    @property
    def term(self) -> str:
        """Its current, in symbols."""
        return f"({self.node} - {self.far}) / {self.name}" if self.far else f"{self.node} / {self.name}"

    @property
    def numbers(self) -> dict[str, float]:
        """Its symbols but that of the node."""
        return {self.name: self.ohms} | ({self.far: self.far_v} if self.far else {})


def _draws(circuit: Circuit) -> tuple[_Draw, ...]:
    """Every resistor that draws current from the wiper."""
    wiring, node = circuit.wiring, "V_lead" if circuit.wiring.pull_at == "lead" else "V_pin"
    own_v = float(np.mean(circuit.net.pull_own_v))
    rows = (
        ("R_down", wiring.pull_down_ohm, node, "", 0.0),
        ("R_up", wiring.pull_up_ohm, node, "V_s", circuit.feed),
        ("R_lower", wiring.lower_ohm, "V_pin", "", 0.0),
        ("R_own", wiring.pull_own_ohm, "V_pin", "V_own", own_v),
    )
    return tuple(
        _Draw(name=name, ohms=ohms.nominal, node=at, far=far, far_v=volts)
        for name, ohms, at, far, volts in rows
        if ohms is not None
    )


def _drawn_step(circuit: Circuit) -> Step:
    """Current through the wiper where it is largest: all that the resistors behind it draw."""
    net, shares, draws = replace(circuit.net, lead_wiper_ohm=0.0), circuit.shares, _draws(circuit)
    volts = {"V_pin": np.asarray(net.at_pin(shares).volts), "V_lead": np.asarray(net.at_wiper(shares))}
    leak = float(np.mean(net.leakage_a))
    drawn = np.zeros_like(shares) - leak
    for draw in draws:
        drawn = drawn + (volts[draw.node] - draw.far_v) / draw.ohms
    worst = int(np.argmax(np.abs(drawn)))
    numbers = {draw.node: float(volts[draw.node][worst]) for draw in draws} | ({"I": leak} if leak else {})
    for draw in draws:
        numbers |= draw.numbers
    terms = " + ".join(draw.term for draw in draws) + (" - I" if leak else "")
    return Step(
        symbol="I_w",
        meaning="current through the wiper where it is largest, drawn by all that hangs behind it",
        formula=f"1e6 * ({terms or '0'})",
        numbers=numbers,
        result=1e6 * float(drawn[worst]),
        unit="uA",
        source="thevenin",
        link="wiring",
    )


def _wiper_current(circuit: Circuit) -> Finding:
    step = _drawn_step(circuit)
    drawn, limit = abs(step.result), 1e6 * WIPER_CURRENT
    fine = drawn <= limit
    carried = f"up to {show(drawn * 1e-6, _AMPERE)}" if drawn else "nothing"
    precise = f"the figures of a precision track hold up to about {1e6 * NO_LOAD:g} uA, behind a buffer"
    return Finding(
        key="wiper-current",
        severity=Severity.NOTE if fine else Severity.STOP,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"In use the wiper carries {carried}; {precise}, and "
            f"{show(WIPER_CURRENT, _AMPERE)} is the most in a fault."
        ),
        remedy="" if fine else "Take a pull or a divider of more ohms.",
        source="precision-sheet",
        measured=drawn,
        limit=limit,
        unit="uA",
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
    track, feed = circuit.sensor.whole_ohm.limits[0], circuit.wiring.feed_v.limits[1]
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
