"""What a sampling capacitor holds at the end of its sample: the pin, and a rest of the channel before."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from anglewright.circuits import Numeric, Relaxation, Thevenin, reached, sampled
from anglewright.links.taps import number
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sampler:
    """A sampling capacitor that is switched to a pin for a time, with what it held before. [V, F, ohm, s]

    `pin` gives voltage and resistance at the pin for a share of the sensor's output, and `pin_f` is the
    capacitor there, which is taken to have recovered from the sample before.
    """

    pin: Callable[[Numeric], Thevenin]
    pin_f: Numeric
    hold_f: Numeric
    switch_ohm: Numeric
    time_s: Numeric
    before_v: Numeric

    def left(self, share: Numeric) -> Numeric:
        """Share of the step from the channel before that the sample ends with. [1]"""
        ohms = self.pin(share).ohms
        at = sampled(ohms, pin_f=self.pin_f, switch_ohm=self.switch_ohm, hold_f=self.hold_f)
        return at.left(self.time_s)

    def held(self, volts: Numeric) -> Numeric:
        """What the capacitor holds at the end, for a voltage at the pin. [V]"""
        left = self.left(reached(lambda share: self.pin(share).volts, volts))
        held = volts + (self.before_v - np.asarray(volts)) * left
        return held if np.ndim(held) else float(held)

    def at_pin(self, held: Numeric) -> Numeric:
        """Voltage at the pin for what the capacitor holds at the end. [V]"""
        left = np.asarray(self.left(reached(self._held_at, held)))
        volts = (held - self.before_v * left) / (1.0 - left)
        return volts if np.ndim(volts) else float(volts)

    def _held_at(self, share: Numeric) -> Numeric:
        settled = np.asarray(self.pin(share).volts)
        return settled + (self.before_v - settled) * self.left(share)

    def steps(self, volts: float) -> tuple[Step, Step]:
        """Arithmetic of the rest of the channel before, and of the voltage that is held."""
        share = reached(lambda share: self.pin(share).volts, volts)
        rest, before = self._rest(float(np.mean(share))), number(self.before_v)
        held = Step(
            symbol="V_held",
            meaning="voltage that the sampling capacitor holds in the end",
            formula="V + (V_before - V) * k",
            numbers={"V": volts, "V_before": before, "k": rest.result},
            result=volts + (before - volts) * rest.result,
            unit="V",
            source="derived",
        )
        return rest, held

    def _rest(self, share: float) -> Step:
        ohms, time = number(self.pin(share).ohms), number(self.time_s)
        switch, hold = number(self.switch_ohm), number(self.hold_f)
        bare = not np.any(self.pin_f)
        relaxation = sampled(ohms, pin_f=number(self.pin_f), switch_ohm=switch, hold_f=hold)
        formula, numbers = _two_times(relaxation)
        if bare:
            formula, numbers = "exp(-t / ((R + R_s) * C_s))", {"R": ohms, "R_s": switch, "C_s": hold}
        return Step(
            symbol="k",
            meaning="share of the step from the channel before that is left",
            formula=formula,
            numbers={"t": time} | numbers,
            result=float(relaxation.left(time)),
            unit="",
            source="slyw038" if bare else "derived",
        )


def _two_times(relaxation: Relaxation) -> tuple[str, dict[str, float]]:
    """The charge shared at once and refilled slowly, then what the switch delays."""
    numbers = {"a": number(relaxation.first), "T_1": number(relaxation.slow_s)}
    fast = number(relaxation.fast_s)
    if not fast:
        return "a * exp(-t / T_1)", numbers
    return "a * exp(-t / T_1) + (1 - a) * exp(-t / T_2)", numbers | {"T_2": fast}
