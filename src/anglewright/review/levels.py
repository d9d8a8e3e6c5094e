"""Theme: where every open and every short of this circuit leaves the code, against the valid band."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from anglewright.budget.band import Band, valid_band
from anglewright.circuits import OPEN, SHORT, Thevenin
from anglewright.findings import Finding, Severity
from anglewright.links.protocol import Array
from anglewright.links.wiring import WireFault
from anglewright.review.design import Analogue, Circuit
from anglewright.review.loading import node_step
from anglewright.steps import Step
from anglewright.stretches import true_runs

KEYS: Mapping[str, str] = {
    "open-feed": "codes with the feed's wire broken, against the valid band",
    "open-ground": "codes with the ground's wire broken, against the valid band",
    "open-wiper": "codes with the wiper's wire broken, or that the pin floats",
    "wiper-to-ground": "codes with the wiper shorted to ground, against the valid band",
    "wiper-to-feed": "codes with the wiper shorted to the feed, against the valid band",
    "lead-behind-pull": "a lead that breaks behind a pull at the sensor leaves the pin floating",
}

_NAMES = {
    WireFault.OPEN_FEED: ("open-feed", "An open feed"),
    WireFault.OPEN_GROUND: ("open-ground", "An open ground"),
    WireFault.OPEN_WIPER: ("open-wiper", "An open wiper"),
    WireFault.WIPER_TO_GROUND: ("wiper-to-ground", "A wiper shorted to ground"),
    WireFault.WIPER_TO_FEED: ("wiper-to-feed", "A wiper shorted to the feed"),
}


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """One finding a fault, and one more where a pull sits at the sensor's lead."""
    band = valid_band(circuit.axis)
    found = tuple(_level(circuit, fault, band) for fault in WireFault)
    behind = circuit.pulled and circuit.wiring.pull_at == "lead"
    return (*found, _behind_pull(circuit)) if behind else found


def fault_codes(circuit: Analogue, fault: WireFault) -> Array:
    """Codes over the working range with one wire at fault, nan where the pin floats. [count]

    Shape (3, 1351): a track at its nominal, lowest and highest resistance; the same thrice without one.
    """
    net = circuit.net
    if isinstance(circuit, Circuit):
        track = circuit.sensor.whole_ohm
        net = replace(net, track_ohm=np.array([[track.nominal], [track.limits[0]], [track.limits[1]]]))
    volts = np.asarray(net.at_pin(circuit.shares, fault=fault).volts, dtype=float)
    return np.asarray(circuit.converter.forward(np.broadcast_to(volts, (3, len(circuit.shares)))))


def _level(circuit: Analogue, fault: WireFault, band: Band) -> Finding:
    codes = fault_codes(circuit, fault)
    if np.any(np.isnan(codes)):
        return _floating(circuit, fault)
    hidden = np.any((codes >= band.low_code) & (codes <= band.high_code), axis=0)
    key, name = _named(circuit, fault)
    near, limit = _nearest(codes, band)
    steps = _steps(circuit, fault)
    seen = not np.any(hidden)
    return Finding(
        key=key,
        severity=Severity.NOTE if seen else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"{name} leaves {_codes_said(circuit, steps)}; the valid band is {band.low_code} to "
            f"{band.high_code}: {'it is seen everywhere' if seen else _where(circuit, hidden)}."
        ),
        remedy="" if seen else _PLAUSIBLE,
        source="thevenin",
        measured=near,
        limit=float(limit),
        unit="count",
        steps=steps,
    )


_PLAUSIBLE = (
    "Do not rest on the valid band there: check for a drive that does not move the axis, for a motion "
    "faster than the motor can, for the wrong way."
)


def _named(circuit: Analogue, fault: WireFault) -> tuple[str, str]:
    """Key of a fault, and its name: a driven output has no wiper but a signal."""
    key, name = _NAMES[fault]
    return key, name.replace("wiper", circuit.wire)


def _nearest(codes: Array, band: Band) -> tuple[float, int]:
    """The code deepest in the band, or nearest to it, and the edge that it is held against. [count]"""
    inner = np.minimum(codes - band.low_code, band.high_code - codes)
    code = float(codes.flat[int(np.argmax(inner))])
    return code, band.low_code if code - band.low_code < band.high_code - code else band.high_code


def _codes_said(circuit: Analogue, steps: tuple[Step, ...]) -> str:
    """The codes at both ends of the motion, as the steps have them."""
    first, last = (f"{step.result:.0f}" for step in steps if step.symbol == "n")
    if first == last:
        return f"code {first}"
    motion = circuit.axis.motion
    return f"codes {first} (at {circuit.text(motion.low)}) to {last} (at {circuit.text(motion.high)})"


def _where(circuit: Analogue, hidden: NDArray[np.bool_]) -> str:
    """Where a fault cannot be seen, in words; the track anywhere within its tolerance."""
    if np.all(hidden):
        return "it cannot be seen anywhere"
    places, top = circuit.positions, len(hidden)
    runs = []
    for start, stop in true_runs(hidden):
        low, high = (circuit.text(places[k], digits=3) for k in (start, stop - 1))
        inner = f"above {low}" if stop == top else f"between {low} and {high}"
        runs.append(f"below {high}" if start == 0 else inner)
    exact = not isinstance(circuit, Circuit) or circuit.sensor.whole_ohm.is_exact
    tolerance = "" if exact else ", with the track anywhere in its tolerance"
    return f"it cannot be seen {' and '.join(runs)}{tolerance}"


def _floating(circuit: Analogue, fault: WireFault) -> Finding:
    key, name = _named(circuit, fault)
    return Finding(
        key=key,
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"{name} leaves the pin floating: no resistor holds it, so that the code wanders, follows its "
            "neighbours or stands still at a legal value."
        ),
        remedy="Fit a pull-down of 100 to 220 kohm at the pin, and calibrate with it in place.",
        source="practice",
    )


def _behind_pull(circuit: Analogue) -> Finding:
    return Finding(
        key="lead-behind-pull",
        severity=Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text="The pull sits at the sensor's lead: if the lead breaks between it and the pin, the pin floats.",
        remedy="Put the pull at the pin; only there can it see a broken lead.",
        source="thevenin",
    )


def _source(circuit: Analogue, fault: WireFault, share: float) -> Thevenin:
    """What drives the node that the pulls hold, with one wire at fault. [V, ohm]"""
    track, feed = float(np.mean(circuit.net.track_ohm)), circuit.feed
    before = circuit.wiring.pull_at == "pin" or not circuit.pulled
    series = circuit.wiring.series_ohm.nominal if before else 0.0
    driven = {
        WireFault.OPEN_FEED: Thevenin(0.0, share * track),
        WireFault.OPEN_GROUND: Thevenin(feed, (1.0 - share) * track),
        WireFault.OPEN_WIPER: Thevenin(0.0, OPEN),
        WireFault.WIPER_TO_GROUND: Thevenin(0.0, SHORT),
        WireFault.WIPER_TO_FEED: Thevenin(feed, SHORT),
    }[fault]
    return Thevenin(driven.volts, driven.ohms + series)


def _steps(circuit: Analogue, fault: WireFault) -> tuple[Step, ...]:
    """Voltage and code at both ends of the motion."""
    steps: list[Step] = []
    for q in (circuit.axis.motion.low, circuit.axis.motion.high):
        where = f"{_NAMES[fault][0].replace('-', ' ')} at {circuit.text(q)}"
        nodes = _nodes(circuit, fault, float(circuit.share(q)), f"voltage, {where}")
        if nodes:
            steps += [*nodes, *_code_steps(circuit, nodes[-1].result, where)]
    return tuple(steps)


def _nodes(circuit: Analogue, fault: WireFault, share: float, meaning: str) -> tuple[Step, ...]:
    """Voltage at the pin with one wire at fault, node by node; nothing where it floats."""
    if circuit.net.furnished:
        steps = circuit.net.node_steps(share, fault=fault)
        return (*steps[:-1], replace(steps[-1], meaning=meaning)) if steps else ()
    node = node_step(circuit, _source(circuit, fault, share), meaning=meaning)
    return () if node is None else (node,)


def _code_steps(circuit: Analogue, volts: float, where: str) -> tuple[Step, ...]:
    """From the voltage to the code; what samples, bends or corrects it step by step."""
    converter = circuit.converter
    if not converter.furnished:
        return (_code_step(circuit, volts, where),)
    *before, last = converter.explain(volts)
    code, meaning = float(np.clip(last.result, 0.0, converter.top_code)), f"code, {where}"
    last = replace(last, symbol="n", meaning=meaning, link="converter")
    if code != last.result:
        last = replace(last, formula="n_end", numbers={"n_end": code}, result=code)
    read = {"n": "n_read"}  # the code that is corrected afterwards is not yet the one that is held
    return (
        *(replace(each, symbol=read.get(each.symbol, each.symbol), link="converter") for each in before),
        last,
    )


def _code_step(circuit: Analogue, volts: float, where: str) -> Step:
    converter = circuit.converter
    numbers = {"N": float(converter.bits), "V": volts, "V_ref": circuit.reference}
    exact, formula = 2.0**converter.bits * volts / circuit.reference, "2 ** N * V / V_ref"
    if converter.gain_error:
        numbers["gain"] = float(converter.gain_error)
        exact, formula = exact * (1.0 + numbers["gain"]), f"{formula} * (1 + gain)"
    if converter.offset_counts:
        numbers["offset"] = float(converter.offset_counts)
        exact, formula = exact + numbers["offset"], f"{formula} + offset"
    code = float(np.clip(np.floor(exact), 0.0, converter.top_code))
    if code != np.floor(exact):
        numbers, formula = {"n_end": code}, "n_end"
    else:
        formula = f"floor({formula})"
    return Step(
        symbol="n",
        meaning=f"code, {where}",
        formula=formula,
        numbers=numbers,
        result=code,
        unit="count",
        source="practice",
        link="converter",
    )
