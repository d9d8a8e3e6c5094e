"""Theme: source resistance and capacitor against sampling, and how a broken wire shows in time."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from anglewright.circuits import parallel, reservoir, sampled, settling_time
from anglewright.findings import Finding, Severity
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.review.design import Analogue
from anglewright.steps import Step

KEYS: Mapping[str, str] = {
    "source-resistance": "largest resistance that the converter sees, against 10 kohm",
    "reservoir": "dip of the pin when the converter takes its sample, against half a code",
    "settling": "time that a sample needs without a capacitor at the pin",
    "slide": "how long the pin slides through legal codes while a wire opens, and the hold-off that follows",
}

SAMPLING_F = 14e-12  # assumed sampling capacitor of the converter [F]
MOST_SOURCE = 10e3  # source resistance that a converter of that class is made for [ohm]
HALF_CODE = 0.5  # most that a sample may pull the pin down [count]
TIME_CONSTANTS = 3.0  # of hold-off, at least [1]
HOLD_OFF = (20e-3, 50e-3)  # usual hold-off of a fault code [s]
_OHM, _FARAD, _SECOND = UNITS["ohm"], UNITS["F"], UNITS["s"]


def findings(circuit: Analogue) -> tuple[Finding, ...]:
    """Source resistance, sampling, and the slide of the pin while a wire opens."""
    filtered = circuit.wiring.capacitor_f.nominal > 0.0
    sampling = _reservoir(circuit) if filtered else _settling(circuit)
    slide = (_slide(circuit),) if circuit.pulled and filtered else ()
    return (_source_resistance(circuit), sampling, *slide)


def _widest(circuit: Analogue) -> float:
    """Share of the track nearest to the middle, where its source resistance is largest. [1]"""
    shares = circuit.shares
    return float(np.clip(0.5, shares.min(), shares.max()))


def worst_source(circuit: Analogue) -> float:
    """Largest resistance that the pin sees over the working range, pulls included. [ohm]"""
    return float(circuit.net.at_pin(_widest(circuit)).ohms)


def source_steps(circuit: Analogue) -> tuple[Step, ...]:
    """The source resistance where it is largest: what drives the wire, then all that hangs beside it."""
    wiring, share = circuit.wiring, _widest(circuit)
    source = circuit.net.explain(share)[1]
    pulls = _present({"R_down": wiring.pull_down_ohm, "R_up": wiring.pull_up_ohm})
    hanging = _present({"R_lower": wiring.lower_ohm, "R_own": wiring.pull_own_ohm})
    numbers, formula = {"R_s": source.result} | pulls | hanging, _beside("R_s", pulls)
    series = _present({"R_series": wiring.series_ohm, "R_upper": wiring.upper_ohm})
    if wiring.pull_at == "lead":
        numbers, formula = numbers | series, f"{formula} + {' + '.join(series)}"
    formula = _beside(formula, hanging)
    step = Step(
        symbol="R",
        meaning="source resistance that the pin sees where it is largest",
        formula=formula,
        numbers=numbers,
        result=worst_source(circuit),
        unit="ohm",
        source="thevenin",
        link="wiring",
    )
    return (replace(source, link="wiring"), step)


def _present(given: Mapping[str, Spread | None]) -> dict[str, float]:
    """Those resistors that are there. [ohm]"""
    return {name: ohms.nominal for name, ohms in given.items() if ohms is not None}


def _beside(formula: str, shunts: Mapping[str, float]) -> str:
    """A resistance with others beside it, in symbols."""
    if not shunts:
        return formula
    return f"1 / (1 / ({formula}){''.join(f' + 1 / {name}' for name in shunts)})"


def _source_resistance(circuit: Analogue) -> Finding:
    ohms = worst_source(circuit)
    fine = ohms <= MOST_SOURCE
    return Finding(
        key="source-resistance",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"The converter sees up to {show(ohms, _OHM)}; a common one is made for about "
            f"{show(MOST_SOURCE, _OHM)} or less (assumed)."
        ),
        remedy="" if fine else "Take a track of fewer ohms, a smaller series resistor, or a buffer.",
        source="atmega-adc",
        measured=ohms,
        limit=MOST_SOURCE,
        unit="ohm",
        steps=source_steps(circuit),
    )


def _sampling(circuit: Analogue) -> tuple[float, str]:
    """The sampling capacitor as the rig file has it, else the assumed one, and as one reads it. [F]"""
    given = circuit.converting.sampling_f
    if given is None:
        return SAMPLING_F, f"{show(SAMPLING_F, _FARAD)} (assumed)"
    return given.nominal, show(given.nominal, _FARAD)


def _dip_step(circuit: Analogue) -> Step:
    hold, pin = _sampling(circuit)[0], circuit.wiring.capacitor_f.nominal
    numbers = {"N": float(circuit.converter.bits), "C_s": hold, "C": pin}
    shared = sampled(worst_source(circuit), pin_f=pin, switch_ohm=0.0, hold_f=hold).left(0.0)
    return Step(
        symbol="dip",
        meaning="codes that the sample takes from the pin, full swing",
        formula="2 ** N * C_s / (C_s + C)",
        numbers=numbers,
        result=2.0 ** numbers["N"] * float(shared),
        unit="count",
        source="derived",
        link="converter",
    )


def _reservoir_step(circuit: Analogue) -> Step:
    bits, hold = circuit.converter.bits, _sampling(circuit)[0]
    return Step(
        symbol="C_least",
        meaning="capacitor that keeps the dip at half a code",
        formula="1e9 * (2 ** (N + 1) - 1) * C_s",
        numbers={"N": float(bits), "C_s": hold},
        result=1e9 * reservoir(bits, farad=hold),
        unit="nF",
        source="derived",
        link="converter",
    )


def _reservoir(circuit: Analogue) -> Finding:
    dip, least = _dip_step(circuit), _reservoir_step(circuit)
    fine, wanted = dip.result <= HALF_CODE, show(least.result * 1e-9, _FARAD)
    return Finding(
        key="reservoir",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"A sampling capacitor of {_sampling(circuit)[1]} takes up to {dip.result:.3g} "
            f"codes from the {show(dip.numbers['C'], _FARAD)} at the pin, after a channel that stood at the "
            f"far rail; half a code needs {wanted}."
        ),
        remedy="" if fine else f"Fit {wanted} or more, or read twice and drop the first.",
        source="derived",
        measured=dip.result,
        limit=HALF_CODE,
        unit="count",
        steps=(dip, least),
    )


def _settling_step(circuit: Analogue) -> Step:
    ohms, bits, hold = worst_source(circuit), circuit.converter.bits, _sampling(circuit)[0]
    if circuit.converting.sampling_ohm is not None:
        ohms += circuit.converting.sampling_ohm.nominal
    return Step(
        symbol="t",
        meaning="time to settle to half a code",
        formula="1e6 * (N + 1) * log(2) * R * C_s",
        numbers={"N": float(bits), "R": ohms, "C_s": hold},
        result=1e6 * settling_time(bits, ohms=ohms, farad=hold),
        unit="us",
        source="slyw038",
        link="converter",
    )


def _settling(circuit: Analogue) -> Finding:
    step, given = _settling_step(circuit), circuit.converting.sampling_s
    ohms = step.numbers["R"]
    limit = None if given is None else given.nominal / 1e-6
    fine = limit is not None and step.result <= limit
    return Finding(
        key="settling",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"There is no capacitor at the pin: a sample of {_sampling(circuit)[1]} needs "
            f"at least {step.result:.3g} us through {show(ohms, _OHM)}, and nothing filters what the cable "
            "picks up." + ("" if limit is None else f" It has {limit:.3g} us.")
        ),
        remedy="" if fine else "Fit 100 nF at the pin, or give the converter that long to sample.",
        source="slyw038",
        measured=step.result,
        limit=limit,
        unit="us",
        steps=(*source_steps(circuit), step),
    )


def _hold_step(circuit: Analogue) -> Step:
    """The pull alone moves the capacitor once the wiper is off."""
    wiring = circuit.wiring
    pulls = [ohms.nominal for ohms in (wiring.pull_down_ohm, wiring.pull_up_ohm) if ohms is not None]
    pull = pulls[0] if len(pulls) == 1 else float(parallel(pulls[0], pulls[1]))
    series = wiring.series_ohm.nominal if wiring.pull_at == "lead" else 0.0
    return Step(
        symbol="t_hold",
        meaning="three time constants of pull and capacitor",
        formula="1e3 * k * (R_pull + R_series) * C",
        numbers={"k": TIME_CONSTANTS, "R_pull": pull, "R_series": series, "C": wiring.capacitor_f.nominal},
        result=1e3 * TIME_CONSTANTS * (pull + series) * wiring.capacitor_f.nominal,
        unit="ms",
        source="practice",
        link="wiring",
    )


def _slide(circuit: Analogue) -> Finding:
    step = _hold_step(circuit)
    hold = max(step.result / 1e3, HOLD_OFF[0])
    fine = hold <= HOLD_OFF[1]
    return Finding(
        key="slide",
        severity=Severity.NOTE if fine else Severity.CAUTION,
        axis=circuit.axis.name,
        link="wiring",
        text=(
            f"While the wiper opens, the pin slides through legal codes with a time constant of "
            f"{show(step.result / (1e3 * TIME_CONSTANTS), _SECOND)}. Hold the fault code off for 3 samples "
            f"and at least {show(hold, _SECOND)}; the usual is {show(HOLD_OFF[0], _SECOND)} to "
            f"{show(HOLD_OFF[1], _SECOND)}."
        ),
        remedy=(
            "The valid band alone is too late for a position loop: add checks for a motion that cannot be."
            if fine
            else "Take a smaller pull or capacitor, or check for a motion that cannot be."
        ),
        source="practice",
        measured=1e3 * hold,
        limit=1e3 * HOLD_OFF[1],
        unit="ms",
        steps=(step,),
    )
