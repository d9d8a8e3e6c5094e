"""The analogue-to-digital converter: voltage at the pin to a code."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import Key, QuantityKey, WholeKey
from anglewright.links.protocol import (
    Array,
    FeedPort,
    Number,
    Port,
    Signal,
    State,
    Values,
    numbers_of,
)
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Converter:
    """Code of a voltage; with `rounded` false the mean code of a busy input, for nudging.

    `noise_counts` is the noise of what is handed on: of the mean, where several conversions are averaged.
    """

    takes: ClassVar[Signal] = Signal.VOLTAGE
    gives: ClassVar[Signal] = Signal.CODE
    sense: ClassVar[int] = 1
    lag: ClassVar[float] = 0.0
    bits: int
    reference_v: Numeric
    noise_counts: Numeric
    offset_counts: Numeric
    gain_error: Numeric = 0.0
    rounded: bool = True

    @property
    def port(self) -> Port:
        """Nothing that a code could need."""
        return Port()

    @property
    def top_code(self) -> int:
        """The highest code. [count]"""
        return int(2**self.bits) - 1

    @property
    def _scale(self) -> Numeric:
        """Codes for a voltage as large as the reference. [count]"""
        return 2.0**self.bits * (1.0 + self.gain_error) if np.any(self.gain_error) else 2.0**self.bits

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Code of a settled voltage, clamped to the ends. [count]"""
        exact = self._scale * (u / self.reference_v) + self.noise_counts + self.offset_counts
        code = np.floor(exact) if self.rounded else exact - 0.5
        code = np.clip(code, 0.0, float(self.top_code))
        return code if np.ndim(code) else float(code)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Voltage in the middle of a code; at an end code it means "at or beyond". [V]"""
        return (y + 0.5 - self.offset_counts) / self._scale * self.reference_v

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the codes. [count]"""
        return np.asarray(self.forward(u)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """The code of a quiet input, before the ends clamp it; offset and gain show where there are any."""
        reference, offset = float(np.mean(self.reference_v)), float(np.mean(self.offset_counts))
        gain = float(np.mean(self.gain_error))
        numbers = {"N": float(self.bits), "V": u, "V_ref": reference}
        numbers |= ({"g": gain} if gain else {}) | ({"o": offset} if offset else {})
        inside = "2 ** N * V / V_ref" + (" * (1 + g)" if gain else "") + (" + o" if offset else "")
        step = Step(
            symbol="n",
            meaning="ideal code",
            formula=f"floor({inside})",
            numbers=numbers,
            result=float(np.floor(2.0**self.bits * u / reference * (1.0 + gain) + offset)),
            unit="count",
            source="practice",
        )
        return (step,)


@dataclass(frozen=True, slots=True, kw_only=True)
class ConverterPart:
    """A converter of so many bits that refers to the feed, or to a voltage of its own."""

    room: ClassVar[str] = "converter"
    kind: ClassVar[str] = "adc"
    label: ClassVar[str] = "Converter"
    KEYS: ClassVar[tuple[Key, ...]] = (
        WholeKey(
            name="bits",
            field="bits",
            meaning="bits of the code",
            least=4,
            most=24,
            default=12,
            kind=Kind.BITS,
        ),
        QuantityKey(
            name="reference",
            field="reference_v",
            meaning="full scale of the converter: a voltage, or the feed itself",
            kinds=(Kind.VOLTAGE,),
            words=("feed",),
            default="feed",
            persistence=Persistence.CONDITION,
            above=0.0,
            cured_by="a ratiometric converter",
        ),
        QuantityKey(
            name="noise",
            field="noise_counts",
            meaning="noise of one reading",
            kinds=(Kind.COUNT,),
            default="1.5 LSB rms",
            persistence=Persistence.READING,
            shape=Shape.NORMAL,
            cured_by="averaging",
            tolerance=True,
            unless="noise_voltage",
        ),
        QuantityKey(
            name="noise_voltage",
            field="noise_v",
            meaning="noise of one reading, as a voltage at the pin",
            kinds=(Kind.VOLTAGE,),
            persistence=Persistence.READING,
            shape=Shape.NORMAL,
            cured_by="averaging",
            tolerance=True,
            example="1 mV rms",
        ),
        WholeKey(
            name="average",
            field="average",
            meaning="conversions that the controller averages into one reading",
            least=1,
            most=65536,
        ),
        QuantityKey(
            name="offset",
            field="offset_counts",
            meaning="offset error of the converter",
            kinds=(Kind.COUNT,),
            default="2 LSB",
            cured_by="zeroing",
            tolerance=True,
        ),
        QuantityKey(
            name="gain",
            field="gain_error",
            meaning="gain error of the converter",
            kinds=(Kind.FRACTION,),
            tolerance=True,
            example="0.1 %",
        ),
    )
    bits: int
    reference_v: Spread | None
    noise_counts: Spread | None
    offset_counts: Spread
    noise_v: Spread | None = None
    average: int | None = None
    gain_error: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Reference, noise, offset and gain."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Converter:
        """The converter with plain numbers."""
        if not isinstance(upstream, FeedPort):
            raise RigError(
                Problem(
                    "converter",
                    "it must follow analogue wiring",
                    "",
                    "Change the wiring's or converter's kind.",
                )
            )
        reference = values.get("reference_v", upstream.feed_v)
        return Converter(
            bits=self.bits,
            reference_v=reference,
            noise_counts=self._noise(values, reference),
            offset_counts=values["offset_counts"],
            gain_error=values.get("gain_error", 0.0),
        )

    def _noise(self, values: Values, reference_v: Numeric) -> Numeric:
        """Noise of a reading, of the mean where conversions are averaged. [count]"""
        noise: Numeric
        if self.noise_counts is None:
            noise = values["noise_v"] / reference_v * 2.0**self.bits
        else:
            noise = values["noise_counts"]
        return noise if self.average is None else noise / float(np.sqrt(self.average))

    def describe(self) -> str:
        """Bits and reference."""
        reference = "ratiometric" if self.reference_v is None else f"{self.reference_v.nominal:g} V reference"
        averaged = "" if self.average in (None, 1) else f", {self.average} averaged"
        return f"{self.bits} bit, {reference}{averaged}"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (ConverterPart,)
